"""The car as its file says it: plain records of readings, ends resolved, nothing computed.

Every number is a leaf ``Working`` (see ``carwright.working``): value in mm, g or degrees at model size, with the key,
line and text of the file and the tolerance of the reading. A value that the file does not give is None or an empty
tuple. A key given once for both ends stands in both ends' records as the *same* leaf; a key given under ``.a`` or
``.b`` replaces it at that end.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Generic, Literal, TypeAlias, TypeVar

from carwright.working import Working

__all__ = [
    "ENDS",
    "BallastStock",
    "Block",
    "Body",
    "BolsterStock",
    "Car",
    "CarInfo",
    "Coupler",
    "CouplerStock",
    "DrillStock",
    "End",
    "Ends",
    "Finish",
    "Found",
    "FoundEnd",
    "GaugeReadings",
    "Grab",
    "Lug",
    "Notch",
    "OldHole",
    "Paint",
    "PieceChange",
    "RodStock",
    "ScrewStock",
    "Sheet",
    "Shelf",
    "Span",
    "Strip",
    "TakenPlan",
    "Tried",
    "Truck",
    "Underframe",
    "Washer",
    "WeightWish",
]

End = Literal["a", "b"]
"""An end of the car; B is the end with the hand brake."""

ENDS: tuple[End, End] = ("a", "b")
"""Both ends, in the order in which everything is told."""

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Ends(Generic[T]):
    """The same thing at both ends."""

    a: T
    b: T

    def at(self, end: End) -> T:
        """Return the one at ``end``."""
        return self.a if end == "a" else self.b


@dataclass(frozen=True, slots=True)
class CarInfo:
    """Section [car]: who the car is and how it was measured."""

    name: str = ""
    scale: str = "HO"  # as the data knows it: Z N TT HO H0 OO 00 S O 0 I ...
    ratio: Working | None = None  # 87.1 for "NMRA", 87 for "NEM"; a reference leaf
    type: str = ""  # reporting class as typed: XM, FM, GB ... or a plain word
    standard: Literal["NMRA", "NEM"] = "NMRA"
    year: int | None = None
    built: int | None = None
    rebuilt: int | None = None
    painted: int | None = None
    captive: bool = False
    units: Literal["in", "mm"] = "in"
    measured_with: str = "caliper"
    radius: Working | None = None
    capacity: Working | None = None  # nominal, short tons
    missing: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Notch:
    """[body.notch]: what is taken off each corner of the floor: along the car, across it."""

    along: Working
    across: Working


@dataclass(frozen=True, slots=True)
class Lug:
    """[[body.lug]]: something on the inside of a side that the floor must clear."""

    name: str
    x: Working | None  # middle of the lug, from mid-car, to the A end positive
    side: Literal["left", "right"]
    length: Working | None
    depth: Working | None  # how far it stands in from the side


@dataclass(frozen=True, slots=True)
class Block:
    """[[body.block]]: what plain keys cannot say: step, tank saddle, hopper bay, weight already there."""

    name: str
    kind: Literal["solid", "cavity", "step", "rod"]
    x: Working | None
    y: Working | None
    length: Working | None
    width: Working | None
    bottom: Working | None  # key ``from``: above the bottom of the sill
    top: Working | None  # key ``to``
    material: str = ""  # "" for part of the shell, weighed with it
    mass: Working | None = None  # weighed by itself, a load


@dataclass(frozen=True, slots=True)
class OldHole:
    """[[body.hole]]: a hole that is there already, open or plugged."""

    name: str
    part: Literal["floor", "bolster"] = "floor"
    x: Working | None = None  # middle, from mid-car, to the A end positive
    y: Working | None = None  # from the centre line, to the left positive
    diameter: Working | None = None
    stripped: str = ""  # the thread that no longer holds
    plugged: bool = False


@dataclass(frozen=True, slots=True)
class Grab:
    """[[body.grab]]: grab irons, treads of a ladder or sill steps that are to be fitted."""

    name: str
    kind: Literal["grab", "step"] = "grab"
    side: Literal["left", "right", "A end", "B end"] = "left"
    turned: bool = False
    x: Working | None = None  # from the middle of its side: toward A, on an end toward the left
    up: Working | None = None  # middle of the lowest wire above the bottom of the sill
    count: Working | None = None
    spacing: Working | None = None
    length: Working | None = None  # middle to middle of its legs
    wire: Working | None = None


@dataclass(frozen=True, slots=True)
class Body:
    """Section [body]."""

    length: Working | None = None
    over_buffers: Working | None = None
    width: Working | None = None
    inside_length: tuple[Working, ...] = ()  # one, or left and right
    inside_width: tuple[Working, ...] = ()  # one, or B end, middle, A end
    out_of_square: Working | None = None
    square: Working | None = None
    diagonals: tuple[Working, ...] = ()
    wall: Working | None = None
    end_wall: Working | None = None
    mount: Literal["drop-in", "underside", "saddles", "none"] = "drop-in"
    floor: Literal["new", "kept", "deck"] = "new"
    floor_thickness: Working | None = None  # of a kept floor or a deck
    floor_material: Literal["plastic", "metal", "wood"] = "plastic"  # of the same
    lip_depth: Working | None = None
    ledge: Literal["over", "under"] = "over"
    end_notch: Working | None = None
    height: Working | None = None
    sill_height: Working | None = None
    mass: Working | None = None
    notch: Notch | None = None
    lugs: tuple[Lug, ...] = ()
    blocks: tuple[Block, ...] = ()
    holes: tuple[OldHole, ...] = ()
    grabs: tuple[Grab, ...] = ()


@dataclass(frozen=True, slots=True)
class Truck:
    """Section [trucks], one end."""

    centers: Working | None = None  # the whole distance; the same leaf at both ends
    inset: Working | None = None  # end of the car to this truck's pivot
    seat_height: Working | None = None
    wheel_diameter: Working | None = None
    wheels: Working | None = None
    wheelbase: Working | None = None
    width: Working | None = None
    mass: Working | None = None
    washers: tuple[Working, ...] = ()  # thickness of each washer already fitted
    frame_length: Working | None = None
    frame_top: Working | None = None
    rock: Working | None = None
    play: Working | None = None
    bolster_thickness: Working | None = None
    boss_height: Working | None = None
    boss_diameter: Working | None = None
    hole: Working | None = None
    setting: str = ""  # "turns" | "rocks" | ""
    axle_length: Working | None = None
    insulated: Literal["", "left", "right", "both", "mixed", "none"] = ""  # side of the insulated wheels
    screw: str = ""
    screw_length: Working | None = None
    screw_head: str = ""


@dataclass(frozen=True, slots=True)
class Coupler:
    """Section [coupler], one end."""

    mount: Literal["body", "truck", "pocket"] = "body"
    height: Working | None = None  # truck-mounted: rail to the centre line
    drop: Working | None = None
    pivot_inset: Working | None = None
    length: Working | None = None
    side_play: Working | None = None
    swing: Working | None = None
    box_length: Working | None = None
    box_width: Working | None = None
    box_height: Working | None = None
    mass: Working | None = None
    screw_inset: Working | None = None  # end of the car to the box's screw; without it the screw is at the pivot
    shim: Working | None = None
    recess: Working | None = None
    shank_offset: Working | None = None
    droop: Working | None = None
    travel: Working | None = None
    screw: str = ""
    screw_length: Working | None = None
    target_height: Working | None = None
    tolerance: Working | None = None
    measured_at: Literal["", "centre line", "pocket top"] = ""


@dataclass(frozen=True, slots=True)
class Underframe:
    """Section [underframe]: what is wanted."""

    # bolster = "0.165" is one layer; ["0.080", "0.080"] is a laminate, lowest first; [underframe.a] and [underframe.b]
    # where the ends differ; "build" leaves the tuple empty and sets build_bolster
    bolster: Ends[tuple[Working, ...]] = field(default_factory=lambda: Ends((), ()))
    build_bolster: Ends[bool] = field(default_factory=lambda: Ends(False, False))
    bolster_length: Working | None = None
    bolster_width: Working | None = None
    fit: Working | None = None
    glue: Literal["solvent", "gap-filling"] = "solvent"
    center_sill: str = ""
    crossbearers: Working | None = None
    crossties: Working | None = None
    crossbearers_at: tuple[Working, ...] = ()  # middles, from mid-car, to the A end positive
    crossties_at: tuple[Working, ...] = ()
    train_line: Working | None = None
    brake: str = ""
    retention: str = ""
    screw_block: Working | None = None  # thickness; without it the plan chooses
    layers: tuple[Working, ...] = ()  # floor layers wanted, underside up; without it the plan chooses


@dataclass(frozen=True, slots=True)
class PieceChange:
    """[[piece]]: moves, resizes, drops or adds a piece."""

    name: str
    x: Working | None = None
    y: Working | None = None
    thickness: Working | None = None
    length: Working | None = None
    width: Working | None = None
    drop: bool = False


@dataclass(frozen=True, slots=True)
class WeightWish:
    """Section [weight]."""

    rule: str = ""
    target: Working | None = None
    tolerance: Working | None = None


@dataclass(frozen=True, slots=True)
class FoundEnd:
    """Section [found], one end."""

    coupler_height: Working | None = None


@dataclass(frozen=True, slots=True)
class Found:
    """Section [found]: what there is today, if it stands."""

    ends: Ends[FoundEnd] = field(default_factory=lambda: Ends(FoundEnd(), FoundEnd()))
    weight: Working | None = None
    wheel_diameter: Working | None = None


@dataclass(frozen=True, slots=True)
class GaugeReadings:
    """Section [gauge]: acceptance readings."""

    roll_rise: Working | None = None
    roll_length: Working | None = None
    check_gauge: Working | None = None
    span: Working | None = None
    coupler_height: Ends[Working | None] = field(default_factory=lambda: Ends(None, None))
    trip_pin: Ends[Working | None] = field(default_factory=lambda: Ends(None, None))


Span: TypeAlias = "tuple[Working, Working | None]"
"""A window of time, in minutes: when it opens, and when it closes or None."""


@dataclass(frozen=True, slots=True)
class Paint:
    """[[paint]]: the owner's label outranks a family default.

    ``windows`` are for the next coat of the same paint; ``dry``, ``handle``, ``mask``, ``letter`` and ``over`` (another
    paint) are the same for what else may follow.
    """

    name: str = ""
    family: str = ""
    colour: str = ""
    windows: tuple[Span, ...] = ()
    dry: tuple[Span, ...] = ()
    handle: tuple[Span, ...] = ()
    mask: tuple[Span, ...] = ()
    letter: tuple[Span, ...] = ()
    over: tuple[Span, ...] = ()
    sheen: Literal["", "gloss", "satin", "flat"] = ""
    contents: str = ""
    left: str = ""
    solids: Working | None = None  # percent of the volume


@dataclass(frozen=True, slots=True)
class Tried:
    """[[finish.log]]: a stripper that was tried on this car."""

    agent: str = ""
    minutes: Working | None = None
    result: str = ""  # "worked", "failed", "attacked"


@dataclass(frozen=True, slots=True)
class Finish:
    """Section [finish]; a list is None where nothing was said, and empty where there is nothing of it.

    ``minutes`` are the owner's own for an act, by its name.
    """

    scheme: str = ""
    plastic: str = ""
    old_coat: str = ""
    old_colour: str = ""
    old_family: str = ""
    glue_to: tuple[str, ...] | None = None
    glued: tuple[str, ...] | None = None
    fitted: tuple[str, ...] = ()
    lettering: str = ""
    lettered: tuple[str, ...] = ()
    gloss: bool | None = None
    weathering: tuple[str, ...] = ()
    temperature: str = ""
    humidity: str = ""
    light_first: bool | None = None
    order: tuple[str, ...] = ()
    apart: tuple[str, ...] | None = None
    seal: str = ""
    barrier: bool = False
    last_flat: bool = False
    glue_dry: tuple[Span, ...] = ()
    spray: str = ""
    minutes: Mapping[str, Working] = field(default_factory=dict)
    log: tuple[Tried, ...] = ()


@dataclass(frozen=True, slots=True)
class _Stock:
    """What every row of the shelf may have.

    ``count`` is None for "any"; ``cost`` is for one piece of stock, ``pack_price`` for a pack of ``pack`` pieces.
    """

    key: str  # "shelf.sheet[0]"
    name: str = ""
    material: str = "styrene"
    count: int | None = None
    cost: str = ""
    place: str = ""
    pack: int = 1
    pack_price: str = ""


@dataclass(frozen=True, slots=True)
class _Cuttable(_Stock):
    """What stock that is cut may have too: the size on the label, and whether it is left over, and of which plan."""

    nominal: Working | None = None
    offcut: bool = False
    of: str = ""

    @property
    def left_over(self) -> bool:
        """Whether it is an offcut: it says so, or its name begins with the word."""
        return self.offcut or self.name.casefold().startswith("offcut")


@dataclass(frozen=True, slots=True)
class Sheet(_Cuttable):
    """[[shelf.sheet]]; ``thickness`` as measured."""

    thickness: Working | None = None
    width: Working | None = None
    length: Working | None = None


@dataclass(frozen=True, slots=True)
class Strip(_Cuttable):
    """[[shelf.strip]]."""

    thickness: Working | None = None
    width: Working | None = None
    length: Working | None = None


@dataclass(frozen=True, slots=True)
class RodStock(_Cuttable):
    """[[shelf.rod]], [[shelf.tube]] or [[shelf.wire]]."""

    form: Literal["rod", "tube", "wire"] = "rod"
    diameter: Working | None = None
    inside: Working | None = None
    length: Working | None = None


@dataclass(frozen=True, slots=True)
class Washer(_Stock):
    """[[shelf.washer]]; ``inside`` is its hole."""

    thickness: Working | None = None
    inside: Working | None = None


@dataclass(frozen=True, slots=True)
class BolsterStock(_Stock):
    """[[shelf.bolster]], bought."""

    height: Working | None = None


@dataclass(frozen=True, slots=True)
class CouplerStock(_Stock):
    """[[shelf.coupler]]; ``shank_offset`` up positive."""

    shank_offset: Working | None = None
    drop: Working | None = None
    length: Working | None = None


@dataclass(frozen=True, slots=True)
class ScrewStock(_Stock):
    """[[shelf.screw]]."""

    thread: str = ""
    length: Working | None = None
    head: str = ""


@dataclass(frozen=True, slots=True)
class DrillStock(_Stock):
    """[[shelf.drill]]."""

    size: Working | None = None


@dataclass(frozen=True, slots=True)
class BallastStock(_Stock):
    """[[shelf.ballast]]."""

    form: Literal["sheet", "bar", "shot", "putty", "nut"] = "sheet"
    thickness: Working | None = None
    width: Working | None = None
    length: Working | None = None
    mass: Working | None = None


@dataclass(frozen=True, slots=True)
class TakenPlan:
    """[[shelf.taken]]: a cutting plan that was taken; ``drawn`` names table, place and number of each row."""

    key: str
    plan: str = ""
    on: str = ""
    pieces: int = 0
    offcuts: int = 0
    drawn: tuple[str, ...] = ()
    before: str = ""


@dataclass(frozen=True, slots=True)
class Shelf:
    """Section [shelf]: what the owner has. An empty shelf is one that was not written down, not one without stock."""

    sheets: tuple[Sheet, ...] = ()
    strips: tuple[Strip, ...] = ()
    rods: tuple[RodStock, ...] = ()
    washers: tuple[Washer, ...] = ()
    bolsters: tuple[BolsterStock, ...] = ()
    couplers: tuple[CouplerStock, ...] = ()
    screws: tuple[ScrewStock, ...] = ()
    drills: tuple[DrillStock, ...] = ()
    ballast: tuple[BallastStock, ...] = ()
    keep_length: Working | None = None
    keep_width: Working | None = None
    squaring: Working | None = None
    taken: tuple[TakenPlan, ...] = ()

    @property
    def cuttable(self) -> tuple[Sheet | Strip | RodStock, ...]:
        """Return the rows from which pieces can be cut."""
        return (*self.sheets, *self.strips, *self.rods)


@dataclass(frozen=True, slots=True)
class Car:
    """A whole car file."""

    info: CarInfo = field(default_factory=CarInfo)
    body: Body = field(default_factory=Body)
    trucks: Ends[Truck] = field(default_factory=lambda: Ends(Truck(), Truck()))
    coupler: Ends[Coupler] = field(default_factory=lambda: Ends(Coupler(), Coupler()))
    underframe: Underframe = field(default_factory=Underframe)
    weight: WeightWish = field(default_factory=WeightWish)
    found: Found = field(default_factory=Found)
    gauge: GaugeReadings = field(default_factory=GaugeReadings)
    finish: Finish = field(default_factory=Finish)
    paints: tuple[Paint, ...] = ()
    pieces: tuple[PieceChange, ...] = ()
    shelf: Shelf = field(default_factory=Shelf)
