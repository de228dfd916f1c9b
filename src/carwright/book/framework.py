"""The order of work from the underframe on: frame, train line and brake gear, weight, last check and paint."""

from __future__ import annotations

from typing import Final

from carwright.book.irons import irons
from carwright.book.order import CUT_AFTER, Order, named, names, rows
from carwright.book.studied import Studied
from carwright.book.weightpage import told_ballast
from carwright.draw.piecelist import how_many
from carwright.draw.settingout import set_out_under
from carwright.pieces import Hole, Piece
from carwright.plan.model import Plan
from carwright.plan.weighmodel import WeighAnswer

__all__ = ["framework"]

_SILL: Final = ("center_sill",)
_CROSS: Final = ("crossbearer", "crosstie")
_GEAR: Final = ("brake", "hand_brake")


def framework(studied: Studied, order: Order) -> None:
    """Add the steps from the underframe's pieces to paint."""
    plan, weight = studied.plan, studied.weight
    _underframe(plan, order, weight)
    _gear(plan, order)
    irons(plan, order)
    _weight(plan, order, weight)
    _last(plan, order)


def _underframe(plan: Plan, order: Order, weight: WeighAnswer) -> None:
    order.part = "Underframe"
    sill, cross, ends = named(plan, *_SILL), named(plan, *_CROSS), named(plan, "end_sill_", "step_")
    frame = (*sill, *cross, *ends)
    added = tuple(piece for piece in _further(plan) if piece not in frame)
    if frame or added:
        order.act(
            "cut_frame",
            f"Cut the pieces of the underframe from the cut table, longest first, and mark each: "
            f"{rows(plan, (*frame, *added))}.",
            after=CUT_AFTER,
            pieces=names((*frame, *added)),
            caution="knife",
        )
    wired = tuple(hole for hole in plan.holes if "train_line" in hole.name)
    if wired:
        order.hold(
            "wire_tried",
            f"Drill {wired[0].drill} in scrap of the same sheet: the wire of the train line slides through and does "
            "not rattle.",
        )
        order.act(
            "drill_frame",
            "Drill the train line's holes in sill and webs while they lie flat, with the spotting plate where there is "
            f"one: {_wire_drills(plan, wired)}.",
            after=("bars", "sheet", "wire_tried"),
            pieces=tuple(dict.fromkeys(hole.piece for hole in wired)),
            caution="drill",
        )
    if set_out_under(plan):
        order.act(
            "set_out",
            "Stick the setting-out template, the drawing from below, on the underside of the floor, end B to end B, or "
            "scribe it from its table. Prick the corners of every outline lightly, take the paper off, join them in "
            "pencil and write the numbers and names beside them.",
            after=("bars", "fit", "couplers_work"),
            irreversible=False,
        )
    if frame or added:
        passes = ", and the train line's wire passes through every hole" * bool(wired)
        order.hold(
            "dry_frame",
            "Lay everything on the floor at these marks, dry, with the trucks on and swung to both sides: nothing "
            f"touches a wheel, a truck or a coupler box{passes}.",
            pieces=names((*frame, *added)),
        )
    glued = ("height", "height_on_screws", "couplers_work", "bolster_height", "dry_frame")
    bolsters = named(plan, "bolster_")
    if bolsters:
        order.act(
            "glue_bolsters",
            "Cement the bolsters to the underside of the floor, each with its truck's screw in place to centre it; "
            "take the screw out before the cement has set.",
            after=("blank", "fit", *glued),
            pieces=names(bolsters),
            caution="cement",
        )
    inside = [each for each in weight.placed if each.cavity.name == "sill"]
    if sill and inside:
        order.hold(
            "sill_filled",
            f"Lay the ballast of the centre sill in it dry, and weigh it: {told_ballast(plan, inside)}. The lower "
            "plate goes on when it lies there and weighs that.",
            "g",
            pieces=names(sill),
        )
    if sill:
        order.act(
            "glue_sill",
            f"Build the centre sill on the floor along its centre line: {rows(plan, sill)}.{_sides_first(sill, wired)}",
            after=(*glued, "sill_filled"),
            pieces=names(sill),
            caution="cement",
        )
    if cross:
        order.act(
            "glue_cross",
            f"Cement the webs in pairs, from mid-car outward{_ON_A_WIRE * _bored(cross, wired)}; then their flanges.",
            after=glued,
            pieces=names(cross),
            caution="cement",
        )
    rest = (*ends, *added)
    if rest:
        order.act(
            "glue_rest",
            f"Cement {rows(plan, rest)}.",
            after=glued,
            pieces=names(rest),
            caution="cement",
        )


_ON_A_WIRE: Final = ", their holes in one line, a length of wire through them while they set"


def _bored(pieces: tuple[Piece, ...], holes: tuple[Hole, ...]) -> bool:
    """Return whether one of the holes is in one of the pieces."""
    return not {hole.piece for hole in holes}.isdisjoint(piece.name for piece in pieces)


def _sides_first(sill: tuple[Piece, ...], wired: tuple[Hole, ...]) -> str:
    """Return why a built-up sill's sides go on first; nothing of one that closes nothing."""
    closes = next((what for word, what in _CLOSES if any(word in piece.name for piece in sill)), "")
    if not closes or not any("side" in piece.name for piece in sill):
        return ""
    reach = ", while the train line's holes can still be reached" * _bored(sill, wired)
    return f" Sides before {closes}{reach}."


_CLOSES: Final = (("bottom", "the lower plate"), ("flange", "the flanges"))
"""What closes a centre sill from below, by a word of its piece's name."""


def _wire_drills(plan: Plan, holes: tuple[Hole, ...]) -> str:
    """Return how many holes of which drill go where: in the sill, and in both webs of each member."""
    alike: dict[str, list[Hole]] = {}
    for hole in holes:
        slant = f", at {hole.angle_deg.value:.0f}°" if hole.angle_deg is not None else ""
        where = "in the sill" if hole.piece.startswith("center_sill") else "in the webs, left and right half of each"
        alike.setdefault(f"{hole.drill}{slant}, {where}", []).append(hole)
    return "; ".join(f"{how_many(plan, mine)} of {what}" for what, mine in alike.items())


_ELSEWHERE: Final = (
    "floor",
    "bolster",
    "screw_block",
    "train_line",
    "clip",
    "retention_block",
    "grab_iron",
    "sill_step",
    *_GEAR,
    *_SILL,
    *_CROSS,
)


def _further(plan: Plan) -> tuple[Piece, ...]:
    """Return the pieces that no other step makes: those that the file adds by a name of its own."""
    return tuple(each for each in plan.pieces if each.made and not each.name.startswith(_ELSEWHERE))


def _gear(plan: Plan, order: Order) -> None:
    line, gear = named(plan, "train_line"), named(plan, *_GEAR)
    order.part = "Train line and brake gear" if line else "Brake gear"
    if line:
        order.act(
            "bend_line",
            f"Cut the wire ({rows(plan, line)}) and bend it over the bending board, with a little over at the ends.",
            after=("bars", "wire_tried"),
            pieces=names(line),
            caution="wire",
        )
        order.hold(
            "line_bent",
            "Lay each bent wire on its drawing. Thread its straight end outward through the webs, then set its bent "
            "end into the sill: it lies slack, and the two lengths read as one pipe.",
        )
        order.act(
            "glue_line",
            "Fix the train line with a trace of CA glue at each web, from the back.",
            after=("line_bent", "dry_frame"),
            pieces=names(line),
            caution="superglue",
        )
    if gear:
        order.act(
            "make_gear",
            f"Make the brake gear: {rows(plan, gear)}.",
            after=("bars", "sheet", "settled", "measured"),
            pieces=names(gear),
            caution="knife",
        )
        order.hold(
            "gear_clear",
            "Hold each part of the brake gear at its mark, the rods on their levers as on the floor from below, trucks "
            "on and swung: all clear wheels, axles and rail by the thickness of a card.",
            pieces=names(gear),
        )
        order.act(
            "glue_gear",
            "Cement the plastic parts; fix wire with a trace of CA glue. Cylinder, reservoir and valve first, then the "
            "levers, then the rods.",
            after=("gear_clear", "height_on_screws", "height"),
            pieces=names(gear),
            caution="superglue",
        )
    held = named(plan, "clip_", "retention_block_")
    if held:
        screws = held[0].name.startswith("retention")
        order.hold(
            "floor_seated",
            "Set the finished floor in the body: it still seats on its ledge all round, and every part of the "
            "underframe clears the sides.",
        )
        order.act(
            "retain_floor",
            f"Make {rows(plan, held)} and "
            + (
                "cement them to the inside of the body over the floor's holes; tap them when they have set."
                if screws
                else "cement them to the sides of the body, never to the floor: the floor must come out again."
            ),
            after=(*CUT_AFTER, "fit", "floor_seated", "tap_tried"),
            pieces=names(held),
            caution="cement",
        )


def _weight(plan: Plan, order: Order, weight: WeighAnswer) -> None:
    order.part = "Weight"
    sums = plan.weight
    target = "" if sums.target is None else f" By {sums.rule} it should be {sums.target.value:.1f} g."
    add = ""
    if sums.to_add is not None and sums.to_add.value > 0:
        inside = sum(each.mass.value for each in weight.placed if each.cavity.name == "sill")
        add = f" The plan expects {max(sums.to_add.value - inside, 0.0):.1f} g still to add."
    order.hold("weighed", f"Weigh the car with trucks, couplers and every part that belongs to it.{target}{add}", "g")
    rest = [each for each in weight.placed if each.cavity.name != "sill"]
    if sums.to_add is not None and sums.to_add.value <= 0:
        return
    words = (
        f"Cut the ballast and fix it with epoxy or contact cement, never with white glue: {told_ballast(plan, rest)}."
        if rest
        else "Add weight low and in the middle, on top of the floor, the same at both ends; fix it so that it cannot "
        "move. Nothing is closed before it was weighed."
    )
    order.act("add_weight", words, after=("weighed", "floor_seated", "fit"), caution="lead")
    closes = list(dict.fromkeys(each.cavity.closes for each in rest if each.cavity.closes))
    if closes and weight.whole is not None:
        order.hold(
            "balanced",
            f"Before {' and before '.join(closes)}: with trucks and couplers it weighs {weight.whole.value:.1f} g, and "
            "it balances across a pencil midway between the trucks, and along one on its centre line.",
            "g",
        )
        order.act(
            "close_weight",
            "Close what shuts the ballast in, so that it can be opened again where that can be done.",
            after=("balanced", "weighed"),
            caution="cement",
        )


def _last(plan: Plan, order: Order) -> None:
    order.part = "Last check and paint"
    order.hold(
        "gauged",
        "The whole car on track: both couplers at the gauge, trip pins clear, wheels in gauge, both trucks free, one "
        "of them turning only and one free to rock as well; it rolls by itself and goes round your sharpest curve. "
        "Write the heights into [found] of the car file.",
        "A",
        "B",
        "g",
    )
    acts = " The pages Finish and Masks have every act of it." if plan.car.finish.scheme.strip() else ""
    order.act(
        "paint",
        "Take trucks and couplers off, wash the parts, prime and paint as the labels say; no paint on bearing faces, "
        f"screw threads or where the couplers move.{acts}",
        after=("weighed", "gauged"),
        caution="spray",
    )
