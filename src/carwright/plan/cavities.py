"""Where a car has room for ballast: in a closed body, its centre sill, the bays under its floor, what its owner names.

Each cavity is the largest box with level sides that nothing designed or named reaches into, less a gap all round.
Inside the body and under the floor it is the same on both sides of the car, so that ballast does not lean; under the
floor it is the largest of such boxes of several depths.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from carwright.car.model import ENDS, Block, Ends
from carwright.frame.layout import truck_reach
from carwright.frame.underframe import usual_swing
from carwright.pieces import Piece
from carwright.plan.boxes import Bound, Box, Rectangle, bound, boxes_of, free_rectangle, mirrored, solid_box
from carwright.plan.model import Plan
from carwright.reference import practice_value
from carwright.weight.cavities import Cavity
from carwright.working import Working, chosen, derive

__all__ = ["CLOSED", "INSIDE", "Heights", "block_box", "cavities_of", "heights_of"]

CLOSED: Final = frozenset(
    {"box", "auto_box", "reefer_ice", "reefer_bunkerless", "reefer_mechanical", "stock", "covered_hopper", "caboose"}
)
"""Kinds of car with a roof, so that ballast may lie inside."""
INSIDE: Final = frozenset({"floor_a", "floor_middle", "floor_b", "roof"})
"""Cavities inside such a body."""

_MEMBERS: Final = ("crossbearer_", "crosstie_")
_LEAST_MM: Final = 0.2
"""Cavities shallower than this hold no sheet that is sold."""


_LINE: Final = chosen(0.0, "centre line", note="a room begins at the middle of the car, or at what stands there")


@dataclass(frozen=True, slots=True)
class Heights:
    """Heights above the rail at mid-car, mm; what is not known is None, and ``needs`` names it."""

    floor: Working | None
    top: Working | None
    sill: Working | None
    roof: Working | None
    needs: tuple[str, ...]


def heights_of(plan: Plan) -> Heights:
    """Return underside and top of the floor, bottom of the side sill, and underside of the roof."""
    body = plan.car.body
    base = next((each for each in plan.pieces if each.name == "floor"), None)
    under = None if base is None else base.pose.z_mm
    thick, rise = plan.floor.thickness, plan.floor.sill_rise
    needs = list(dict.fromkeys((*plan.floor.needs, *plan.ride.ends.a.needs, *plan.ride.ends.b.needs)))
    if under is None:
        return Heights(None, None, None, None, tuple(needs) or ("trucks.seat_height",))
    top = None if thick is None else derive("top of the floor at mid-car", "u + t", u=under, t=thick)
    sill = None if rise is None else derive("bottom of the side sill at mid-car", "u + s", u=under, s=rise)
    roof = None
    if sill is None:
        needs.append("body.lip_depth")
    if body.height is None:
        needs.append("body.height")
    elif sill is not None:
        sheet = body.wall or practice_value("roof_thickness")
        roof = derive("underside of the roof", "s + G - w", s=sill, G=body.height, w=sheet)
    return Heights(under, top, sill, roof, tuple(dict.fromkeys(needs)))


def block_box(block: Block, sill: Working | None) -> Box | None:
    """Return the box of a named block, mm in the car; None while a size of it, or the sill's height, is missing."""
    if sill is None or block.length is None or block.width is None or block.bottom is None or block.top is None:
        return None
    x = block.x or chosen(0.0, "mid-car", note="body.block.x is not given")
    y = block.y or chosen(0.0, "centre line", note="body.block.y is not given")
    name = block.name
    return solid_box(
        name,
        (
            derive(f"B side of {name}", "x - l/2", x=x, l=block.length),
            derive(f"A side of {name}", "x + l/2", x=x, l=block.length),
            derive(f"right side of {name}", "y - w/2", y=y, w=block.width),
            derive(f"left side of {name}", "y + w/2", y=y, w=block.width),
            derive(f"underside of {name}", "s + f", s=sill, f=block.bottom),
            derive(f"top of {name}", "s + t", s=sill, t=block.top),
        ),
    )


@dataclass(frozen=True, slots=True)
class _Site:
    """What cavities are cut out of: heights, the floor's edges, and the boxes of everything designed or named."""

    plan: Plan
    heights: Heights
    half_length: Working
    half_width: Working
    boxes: tuple[Box, ...]
    gap: Working

    def near(self, low: float, high: float, *, but: Sequence[str] = ()) -> list[Box]:
        """Return the boxes that reach into a layer of height, and are none of those named."""
        return [
            each
            for each in self.boxes
            if each.low[2] < high - 1e-6 and each.high[2] > low + 1e-6 and each.name not in but
        ]


def cavities_of(plan: Plan, heights: Heights) -> tuple[tuple[Cavity, ...], tuple[str, ...]]:
    """Return the cavities of a planned car, and the keys of the measurements that others wait for.

    Args:
        plan: the plan.
        heights: of floor, sill and roof at mid-car.

    Returns:
        At most as many as ``ballast_cavities`` says, the largest; those that the owner named come first.
    """
    floor = plan.floor
    needs = list(heights.needs)
    if floor.length is None or floor.width is None or heights.floor is None:
        return (), tuple(needs)
    named = [(each, box) for each in plan.car.body.blocks if (box := block_box(each, heights.sill)) is not None]
    solids = [box for each, box in named if each.kind != "cavity"]
    site = _Site(
        plan,
        heights,
        derive("half the floor's length", "L/2", L=floor.length),
        derive("half the floor's width", "W/2", W=floor.width),
        (*boxes_of([each for each in plan.pieces if each.name != "floor"]), *solids),
        practice_value("ballast_gap"),
    )
    found = [
        *_named(site, [(each, box) for each, box in named if each.kind == "cavity"]),
        *_inside(site),
        *_in_sill(site),
        *_bays(site),
    ]
    least = practice_value("ballast_least").value
    kept = [e for e in found if min(e.length.value, e.width.value) >= least and e.height.value >= _LEAST_MM]
    most = int(practice_value("ballast_cavities").value)
    ranked = sorted(kept, key=lambda each: -each.volume_mm3)[:most]
    wanted = {key for key in needs if key != "body.height" or plan.kind in CLOSED}
    return tuple(each for each in kept if each in ranked), tuple(key for key in needs if key in wanted)


def _cavity(
    site: _Site,
    name: str,
    where: str,
    room: Rectangle,
    low: Working,
    high: Working,
    *,
    hung: bool = False,
    pair: bool = False,
    closes: str = "",
) -> Cavity:
    """Return the cavity of a rectangle between two heights."""
    x0, x1, y0, y1 = (each.working() for each in (room.x0, room.x1, room.y0, room.y1))
    return Cavity(
        name,
        where,
        derive(f"middle of the room {where}", "(p + q)/2", p=x0, q=x1),
        derive(f"middle of the room {where}, to the left", "(p + q)/2", p=y0, q=y1),
        derive(f"length of the room {where}", "q - p - 2*g", p=x0, q=x1, g=site.gap),
        derive(f"width of the room {where}", "q - p - 2*g", p=y0, q=y1, g=site.gap),
        derive(f"height of the room {where}", "h - l", h=high, l=low),
        high if hung else low,
        hung,
        pair,
        closes,
    )


def _named(site: _Site, blocks: Sequence[tuple[Block, Box]]) -> Iterator[Cavity]:
    """Yield the cavities that the owner named, less what reaches into them."""
    for block, box in blocks:
        low, high = box.at("z0"), box.at("z1")
        within = Rectangle(*(Bound(box.at(face), box, face) for face in ("x0", "x1", "y0", "y1")))
        room = free_rectangle(within, site.near(low, high))
        if room is None or high <= low:
            continue
        slug = "_".join(block.name.lower().split())
        yield _cavity(
            site,
            slug,
            f"in {block.name}",
            room,
            box.working("z0"),
            box.working("z1"),
            closes=f"{block.name} is closed",
        )


def _inside(site: _Site) -> Iterator[Cavity]:
    """Yield the room on the floor and under the roof of a closed body: each half of the height between them."""
    plan, top, roof = site.plan, site.heights.top, site.heights.roof
    if plan.kind not in CLOSED or top is None or roof is None or roof.value <= top.value:
        return
    half = derive("half-way between floor and roof", "(t + r)/2", t=top, r=roof)
    ahead, behind = bound(site.half_length), bound(derive("B end of the floor", "-l", l=site.half_length))
    pivots = [pivot for end in ENDS if (pivot := plan.ride.ends.at(end).x_pivot) is not None]
    rooms = [("floor_middle", "on the floor", behind, ahead)]
    if len(pivots) == len(ENDS):
        at_a, at_b = (bound(each) for each in pivots)
        rooms = [
            ("floor_b", "on the floor, B end", behind, at_b),
            ("floor_middle", "on the floor, middle", at_b, at_a),
            ("floor_a", "on the floor, A end", at_a, ahead),
        ]
    closes = "the floor is fastened in the body"
    for name, where, x0, x1 in rooms:
        yield from _alike(site, name, where, (x0, x1), top, half, closes=closes)
    yield from _alike(site, "roof", "under the roof", (behind, ahead), half, roof, hung=True, closes=closes)


def _alike(
    site: _Site,
    name: str,
    where: str,
    along: tuple[Bound, Bound],
    low: Working,
    high: Working,
    *,
    hung: bool = False,
    closes: str,
) -> Iterator[Cavity]:
    """Yield the largest room of a layer that is the same left and right: one across the middle, or one on each side."""
    own = [*site.near(low.value, high.value), *_corners(site)]
    line = bound(_LINE)
    half = Rectangle(*along, line, bound(site.half_width))
    room = free_rectangle(half, [*own, *(mirrored(each) for each in own)])
    if room is None:
        return
    pair = room.y0 is not line
    if not pair:
        edge = room.y1.working()
        room = Rectangle(room.x0, room.x1, bound(derive(f"right side of the room {where}", "-y", y=edge)), room.y1)
    yield _cavity(site, name, where, room, low, high, hung=hung, pair=pair, closes=closes)


def _corners(site: _Site) -> Iterator[Box]:
    """Yield what is notched out of the floor's corners and lugged into its sides: no ballast lies there."""
    corner = site.plan.floor.corner
    low, high = -1e6, 1e6
    if corner is not None:
        along, across = (each.value for each in corner)
        length, width = site.half_length.value, site.half_width.value
        inner_x = derive("inner side of the corner notches", "l - c", l=site.half_length, c=corner[0])
        inner_y = derive("inner edge of the corner notches", "w - c", w=site.half_width, c=corner[1])
        for x in (1.0, -1.0):
            for y in (1.0, -1.0):
                faces = _four(x, y, site.half_length, inner_x, site.half_width, inner_y)
                yield Box(
                    "corner notch",
                    (min(x * length, x * (length - along)), min(y * width, y * (width - across)), low),
                    (max(x * length, x * (length - along)), max(y * width, y * (width - across)), high),
                    faces=faces,
                )


def _four(x: float, y: float, far_x: Working, near_x: Working, far_y: Working, near_y: Working) -> tuple[Working, ...]:
    """Return the faces of a corner, seen from above, in the order of ``Face``; heights are not asked for."""

    def side(sign: float, near: Working, far: Working, name: str) -> tuple[Working, Working]:
        if sign > 0.0:
            return near, far
        return derive(f"{name}, far side", "-p", p=far), derive(f"{name}, near side", "-p", p=near)

    x0, x1 = side(x, near_x, far_x, "corner notch along")
    y0, y1 = side(y, near_y, far_y, "corner notch across")
    return x0, x1, y0, y1, far_x, far_x


def _piece_boxes(site: _Site, name: str) -> list[Box]:
    return [each for each in site.boxes if each.name == name]


def _in_sill(site: _Site) -> Iterator[Cavity]:
    """Yield the room inside a centre sill of two webs: on its lower plate, or hung from the floor where it has none."""
    left, right = _piece_boxes(site, "center_sill_side_left"), _piece_boxes(site, "center_sill_side_right")
    if not left or not right or site.heights.floor is None:
        return
    top, bottom = _piece_boxes(site, "center_sill_top"), _piece_boxes(site, "center_sill_bottom")
    high = top[0].working("z0") if top else site.heights.floor
    low = bottom[0].working("z1") if bottom else left[0].working("z0")
    ends = bottom[0] if bottom else left[0]
    within = Rectangle(
        Bound(ends.at("x0"), ends, "x0"),
        Bound(ends.at("x1"), ends, "x1"),
        Bound(right[0].at("y1"), right[0], "y1"),
        Bound(left[0].at("y0"), left[0], "y0"),
    )
    if high.value <= low.value:
        return
    own = [each.name for each in (*left, *right, *top, *bottom)]
    room = free_rectangle(within, site.near(low.value + 0.1, high.value - 0.1, but=own))
    if room is not None:
        closes = "the lower plate of the centre sill is cemented on" if bottom else ""
        yield _cavity(site, "sill", "in the centre sill", room, low, high, hung=not bottom, closes=closes)


def _bays(site: _Site) -> Iterator[Cavity]:
    """Yield the room under the floor between the trucks, bay by bay from A, the same on both sides of the car."""
    under, sill = site.heights.floor, site.heights.sill
    pivots = Ends(site.plan.ride.ends.a.x_pivot, site.plan.ride.ends.b.x_pivot)
    if under is None or pivots.a is None or pivots.b is None:
        return
    turning = site.plan.steady
    swing = turning.truck_angle if turning is not None and turning.truck_angle is not None else usual_swing()
    first = derive("room under the floor, A side", "p - r", p=pivots.a, r=truck_reach(site.plan.car, "a", swing))
    last = derive("room under the floor, B side", "p + r", p=pivots.b, r=truck_reach(site.plan.car, "b", swing))
    members = _members(site.plan.pieces)
    deepest = min((b for b in site.boxes if b.name.startswith(_MEMBERS)), key=lambda b: b.low[2], default=None)
    low = sill
    if deepest is not None and (sill is None or deepest.low[2] < sill.value):
        low = deepest.working("z0")  # what hangs no lower than the cross members is not seen behind them
    if low is None or low.value >= under.value:
        return
    stations = [first, *(each for each in members if last.value < each.value < first.value), last]
    around = [each for each in site.near(low.value, under.value) if not each.name.startswith("coupler_box")]
    both = _folded(around)
    for number, (ahead, behind) in enumerate(pairwise(stations), start=1):
        within = Rectangle(bound(behind), bound(ahead), bound(_LINE), bound(site.half_width))
        best = _deepest(within, both, low, under)
        if best is not None:
            room, bottom = best
            where = f"under the floor, bay {number} from A"
            yield _cavity(site, f"bay_{number}", where, room, bottom, under, hung=True, pair=True)


def _folded(boxes: Sequence[Box]) -> list[Box]:
    """Return boxes and their pictures on the other side, as far as they reach to the left; of two alike one."""
    found: dict[tuple[float, ...], Box] = {}
    for each in (*boxes, *(mirrored(each) for each in boxes)):
        if each.high[1] > 0.0:
            found.setdefault(tuple(round(place, 6) for place in (*each.low, *each.high)), each)
    return list(found.values())


def _members(pieces: Sequence[Piece]) -> list[Working]:
    """Return where cross members stand, from A on; a member of two halves counts once, at its first place."""
    webs = [each for each in pieces if each.name.startswith(_MEMBERS) and not each.name.endswith("_flange")]
    return sorted((each.pose.x_mm for each in webs), key=lambda x: -x.value)


def _deepest(within: Rectangle, boxes: Sequence[Box], low: Working, under: Working) -> tuple[Rectangle, Working] | None:
    """Return the rectangle and lower side that hold most: down to the sill, or only to the top of what hangs there."""
    touched = [each for each in boxes if each.low[0] < within.x1.value and each.high[0] > within.x0.value]
    tops = {each.high[2]: each for each in touched if low.value < each.high[2] < under.value - _LEAST_MM}
    best: tuple[float, Rectangle, Bound] | None = None
    for bottom in (bound(low), *(Bound(height, each, "z1") for height, each in tops.items())):
        room = free_rectangle(within, [each for each in touched if each.high[2] > bottom.value + 1e-6])
        if room is None:
            continue
        volume = room.area_mm2 * (under.value - bottom.value)
        if best is None or volume > best[0] + 1e-6:
            best = (volume, room, bottom)
    return None if best is None else (best[1], best[2].working())
