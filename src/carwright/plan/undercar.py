"""What hangs round a truck and what a truck is made of, from the plan and the car file, for the angle of touching.

Each obstacle keeps the numbers that it is made of and how, so that its angle of touching can be found again with any of
them moved. A truck is two side frames outside of its wheels, and four wheels: nothing else of it is measured. The body
bolster that it bears on is an obstacle like any other: frames and wheels that stand above the bearing face must clear
it. What lies on top of the floor is none.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Final

from carwright.car.model import ENDS, Block, End
from carwright.pieces import Piece
from carwright.plan.inspace import Values, corners_in, seen_from_above
from carwright.plan.model import Plan
from carwright.reference import head
from carwright.reference import thread as thread_named
from carwright.reference.clearances import wheel_section
from carwright.track.touch import Obstacle, TruckPart
from carwright.working import Working, derive

__all__ = ["Made", "TruckSizes", "obstacles", "truck_sizes"]

_PASSED: Final = (
    "screw_block_",
    "block_",
    "step_",
    "floor",
    "coupler_box_",
    "roof",
    "running_board",
    "brake_wheel",
    "ladder",
)


@dataclass(frozen=True, slots=True)
class Made:
    """An obstacle as it is made of numbers.

    Args:
        name: of the part.
        inputs: symbol to number.
        build: makes the obstacle's pieces of the inputs' values.
        needs: keys of what is missing; with any there are no inputs.
    """

    name: str
    inputs: Mapping[str, Working]
    build: Callable[[Values], tuple[Obstacle, ...]]
    needs: tuple[str, ...] = ()

    def now(self) -> tuple[Obstacle, ...]:
        """Return the obstacle as the plan has it."""
        return self.build({symbol: each.value for symbol, each in self.inputs.items()})


def _unknown(name: str, *needs: str) -> Made:
    return Made(name, {}, lambda _: (Obstacle(name, None, None, needs),), needs)


def _box(name: str, length: float, width: float, x: float, y: float, bottom: float | None) -> Obstacle:
    left, right, low, high = x - length / 2.0, x + length / 2.0, y - width / 2.0, y + width / 2.0
    return Obstacle(name, ((left, low), (right, low), (right, high), (left, high)), bottom)


# ------------------------------------------------------------------------------------------------------------- trucks


@dataclass(frozen=True, slots=True)
class TruckSizes:
    """One truck's sizes for touching; what is not known is not in ``inputs``.

    Args:
        pivot: from mid-car, to the A end positive, mm.
        inputs: "frame_length", "frame_width", "frame_top" (above the rail), "rise" (of the side frame as it rocks),
            "wheel", "wheelbase", "flange", "inner", "outer".
        needs: size to the keys it waits for.
    """

    pivot: Working
    inputs: Mapping[str, Working]
    needs: Mapping[str, tuple[str, ...]]

    def parts(self, values: Values | None = None, *, tall: bool = False) -> tuple[TruckPart, ...]:
        """Return the truck's parts that are known.

        Args:
            values: other values for some inputs.
            tall: take each part as high as the sky, to see whether height matters at all.
        """
        moved = {symbol: each.value for symbol, each in self.inputs.items()} | dict(values or {})
        found: list[TruckPart] = []
        if "frame_length" in moved and "frame_width" in moved and ("frame_top" in moved or tall):
            half, out = moved["frame_length"] / 2.0, moved["frame_width"] / 2.0
            inner = moved.get("outer", 0.0)
            inner = inner if inner < out else 0.0
            top = math.inf if tall else moved["frame_top"]
            for low, high in ((inner, out), (-out, -inner)):
                outline = ((-half, low), (half, low), (half, high), (-half, high))
                found.append(TruckPart("side frame", outline, top, moved.get("rise", 0.0)))
        if all(each in moved for each in ("wheel", "wheelbase", "flange", "inner", "outer")):
            radius = moved["wheel"] / 2.0 + moved["flange"]
            share = moved["outer"] / (moved["frame_width"] / 2.0) if moved.get("frame_width") else 0.0
            rise = moved.get("rise", 0.0) * share
            top = math.inf if tall else moved["wheel"] + moved["flange"]
            for x in (moved["wheelbase"] / 2.0, -moved["wheelbase"] / 2.0):
                for low, high in ((moved["inner"], moved["outer"]), (-moved["outer"], -moved["inner"])):
                    outline = ((x - radius, low), (x + radius, low), (x + radius, high), (x - radius, high))
                    found.append(TruckPart("wheel", outline, top, rise, 0.0 if tall else 2.0 * radius))
        return tuple(found)

    def wanting(self, *names: str) -> tuple[str, ...]:
        """Return the keys that some sizes wait for."""
        return tuple(dict.fromkeys(key for name in names for key in self.needs.get(name, ())))


def truck_sizes(plan: Plan, end: End, pivot: Working) -> TruckSizes:
    """Return one truck's sizes.

    Args:
        plan: the plan, for the height of the truck's seat.
        end: which truck.
        pivot: its place from mid-car, to the A end positive, mm.
    """
    truck, info = plan.car.trucks.at(end), plan.car.info
    inputs: dict[str, Working] = {}
    needs: dict[str, tuple[str, ...]] = {}

    def put(name: str, size: Working | None, *keys: str) -> None:
        if size is not None:
            inputs[name] = size
        else:
            needs[name] = keys

    put("frame_length", truck.frame_length, "trucks.frame_length")
    put("frame_width", truck.width, "trucks.width")
    stack = plan.ride.ends.at(end).stack
    seat = stack[0].top if stack and stack[0].name != "coupler" else None
    top = None
    if seat is not None and truck.frame_top is not None:
        top = derive(f"top of side frame {end.upper()}", "s + t", s=seat, t=truck.frame_top)
    missing = [
        key for key, value in (("trucks.seat_height", seat), ("trucks.frame_top", truck.frame_top)) if value is None
    ]
    put("frame_top", top, *missing)
    rise = truck.play
    if rise is None and truck.rock is not None and truck.width is not None:
        rise = derive("rise of the side frame as the truck rocks", "W/2*tan(radians(r))", W=truck.width, r=truck.rock)
    put("rise", rise, "trucks.rock" if truck.rock is None else "trucks.width")
    put("wheel", truck.wheels or truck.wheel_diameter, "trucks.wheel_diameter")
    put("wheelbase", truck.wheelbase, "trucks.wheelbase")
    section = wheel_section(info.scale, info.standard)
    if section is not None:
        inputs |= {"inner": section.inner, "outer": section.outer, "flange": section.flange}
    return TruckSizes(pivot, inputs, needs)


# ---------------------------------------------------------------------------------------------------------- obstacles


def obstacles(plan: Plan) -> Iterator[Made]:
    """Yield everything under the car that a truck may touch, as far as plan and car file know it."""
    yield from _shell(plan)
    yield from _floor(plan)
    for piece in plan.pieces:
        if not piece.name.startswith(_PASSED):
            yield from _piece(piece)
    for end in ENDS:
        if plan.car.coupler.at(end).mount != "truck":
            yield _coupler_box(plan, end)
            yield from _coupler_screw(plan, end)
    for block in plan.car.body.blocks:
        yield _block(plan, block)


def _sills(plan: Plan) -> tuple[Mapping[str, Working], tuple[str, ...]]:
    """Return the height of the side sill's bottom over both trucks, or what it waits for."""
    a, b = plan.sill_heights.a, plan.sill_heights.b
    if a is None or b is None:
        return {}, ("body.lip_depth",) if plan.car.body.lip_depth is None else ("trucks.seat_height",)
    return ({"sill": a} if a.value == b.value else {"sill_a": a, "sill_b": b}), ()


def _sill_at(values: Values, x: float) -> float:
    if "sill" in values:
        return values["sill"]
    return values["sill_a"] if x > 0 else values["sill_b"] if x < 0 else min(values["sill_a"], values["sill_b"])


def _shell(plan: Plan) -> Iterator[Made]:
    """Yield the side sills and the end walls of the body's shell, each half for its own end."""
    body = plan.car.body
    if body.mount == "none":
        return
    heights, waiting = _sills(plan)
    needs = list(waiting)
    inside = min(body.inside_width, key=lambda each: each.value) if body.inside_width else None
    if body.length is None:
        needs.append("body.length")
    if body.width is None:
        needs.append("body.width")
    if inside is None and body.wall is None:
        needs.append("body.inside_width")
    if needs or body.length is None or body.width is None:
        yield _unknown("side sill", *needs)
        return
    inputs: dict[str, Working] = {**heights, "length": body.length, "width": body.width}
    if inside is not None:
        inputs["inside"] = inside
    elif body.wall is not None:
        inputs["wall"] = body.wall

    def sills(values: Values) -> tuple[Obstacle, ...]:
        out = values["width"] / 2.0
        inner = values["inside"] / 2.0 if "inside" in values else out - values["wall"]
        half, middle = values["length"] / 2.0, (out + inner) / 2.0
        return tuple(
            _box("side sill", half, out - inner, way * half / 2.0, side * middle, _sill_at(values, way))
            for way in (1.0, -1.0)
            for side in (1.0, -1.0)
        )

    yield Made("side sill", inputs, sills)
    if body.end_wall is None:
        return

    def ends(values: Values) -> tuple[Obstacle, ...]:
        thick, half = values["end_wall"], values["length"] / 2.0
        return tuple(
            _box("end wall", thick, values["width"], way * (half - thick / 2.0), 0.0, _sill_at(values, way))
            for way in (1.0, -1.0)
        )

    own = {symbol: each for symbol, each in inputs.items() if symbol not in ("inside", "wall")}
    yield Made("end wall", {**own, "end_wall": body.end_wall}, ends)


def _floor(plan: Plan) -> Iterator[Made]:
    """Yield the floor's underside, which wheels and side frames may meet as a truck rocks."""
    piece = next((each for each in plan.pieces if each.name == "floor"), None)
    a, b = plan.ride.ends.a.floor_underside, plan.ride.ends.b.floor_underside
    if piece is None or a is None or b is None:
        yield _unknown("floor", *(piece.needs if piece is not None else ("body.inside_length",)), "trucks.seat_height")
        return

    def build(values: Values) -> tuple[Obstacle, ...]:
        half, width = values["length"] / 2.0, values["width"]
        return tuple(
            _box("floor", half, width, way * half / 2.0, 0.0, values[key]) for way, key in ((1, "a"), (-1, "b"))
        )

    yield Made("floor", {"length": piece.length_mm, "width": piece.width_mm, "a": a, "b": b}, build)


def _coupler_box(plan: Plan, end: End) -> Made:
    """Return a coupler's box: from the end of the car inward, up to its mounting face."""
    coupler, body, letter = plan.car.coupler.at(end), plan.car.body, end.upper()
    name = f"coupler box {letter}"
    face = plan.ride.ends.at(end).mounting_face
    given = (
        ("coupler.box_length", coupler.box_length),
        ("coupler.box_width", coupler.box_width),
        ("coupler.box_height", coupler.box_height),
        ("body.length", body.length),
        ("coupler.drop", face),
    )
    needs = tuple(key for key, value in given if value is None)
    if needs:
        return _unknown(name, *needs)
    symbols = ("box_length", "box_width", "box_height", "length", "face")
    inputs = {symbol: value for symbol, (_, value) in zip(symbols, given, strict=True) if value is not None}
    way = 1.0 if end == "a" else -1.0

    def build(values: Values) -> tuple[Obstacle, ...]:
        long = values["box_length"]
        x = way * (values["length"] - long) / 2.0
        return (_box(name, long, values["box_width"], x, 0.0, values["face"] - values["box_height"]),)

    return Made(name, inputs, build)


def _coupler_screw(plan: Plan, end: End) -> Iterator[Made]:
    """Yield the head of a coupler's screw, below its box."""
    coupler, letter = plan.car.coupler.at(end), end.upper()
    if coupler.mount != "body":
        return
    name = f"coupler screw {letter}"
    hole = next((each for each in plan.holes if each.name == f"coupler_{end}"), None)
    face = plan.ride.ends.at(end).mounting_face
    if hole is None or hole.x_mm is None or face is None or coupler.box_height is None:
        wanting = [] if coupler.box_height is not None else ["coupler.box_height"]
        if hole is None or hole.x_mm is None:
            wanting.append("coupler.pivot_inset")
        if face is None:
            wanting.append("coupler.drop")
        yield _unknown(name, *wanting)
        return
    thread = thread_named(hole.tap) if hole.tap else None
    listed = head("pan", thread) if thread is not None else None
    if listed is None:
        yield _unknown(name, "coupler.screw")
        return
    inputs = {
        "x": hole.x_mm,
        "face": face,
        "box_height": coupler.box_height,
        "diameter": listed.diameter,
        "height": listed.height,
    }

    def build(values: Values) -> tuple[Obstacle, ...]:
        # Twelve sides outside the circle: never less than the head.
        radius = values["diameter"] / 2.0 / math.cos(math.pi / 12.0)
        corners = tuple(
            (values["x"] + radius * math.cos(n * math.pi / 6.0), radius * math.sin(n * math.pi / 6.0))
            for n in range(12)
        )
        return (Obstacle(name, corners, values["face"] - values["box_height"] - values["height"]),)

    yield Made(name, inputs, build)


def _block(plan: Plan, block: Block) -> Made:
    """Return a block of the car file; its heights are above the bottom of the sill."""
    heights, waiting = _sills(plan)
    given = (
        ("x", block.x),
        ("y", block.y),
        ("length", block.length),
        ("width", block.width),
        ("from", block.bottom),
    )
    at = next((n for n, each in enumerate(plan.car.body.blocks) if each is block), 0)
    needs = (*(f"body.block[{at}].{key}" for key, value in given if value is None), *waiting)
    if needs:
        return _unknown(block.name, *needs)
    inputs = {**heights, **{key.replace("from", "bottom"): value for key, value in given if value is not None}}

    def build(values: Values) -> tuple[Obstacle, ...]:
        bottom = _sill_at(values, values["x"]) + values["bottom"]
        return (_box(block.name, values["length"], values["width"], values["x"], values["y"], bottom),)

    return Made(block.name, inputs, build)


def _piece(piece: Piece) -> Iterator[Made]:
    """Yield a designed piece at each of its places."""
    thick = piece.thickness_mm or piece.diameter_mm
    for pose in (piece.pose, *piece.also):
        if thick is None or pose.z_mm is None:
            yield _unknown(piece.name, *(piece.needs or ("trucks.seat_height",)))
            return
        inputs = corners_in(piece, pose, thick, pose.z_mm)
        yield Made(piece.name, inputs, _builder(piece))


def _builder(piece: Piece) -> Callable[[Values], tuple[Obstacle, ...]]:
    count, wire = len(piece.path_mm or piece.outline_mm), bool(piece.path_mm)

    def build(values: Values) -> tuple[Obstacle, ...]:
        return tuple(
            Obstacle(piece.name, outline, bottom) for outline, bottom in seen_from_above(values, count, wire=wire)
        )

    return build
