"""Old holes in the book: the steps that make their places sound before a new hole is drilled, and their table."""

from __future__ import annotations

from typing import Final

from carwright.book.order import CUT_AFTER, Order
from carwright.draw.blocks import Block, Heading, Note, Table
from carwright.draw.labels import number, short_name
from carwright.fasten.plugs import Repair
from carwright.lengths import number_in, show_in
from carwright.pieces import Hole
from carwright.plan.model import Plan
from carwright.reference import practice_value

__all__ = ["DRILL_AFTER_PLUGS", "NO_DRILL", "old_hole_blocks", "old_hole_steps", "used_words"]

DRILL_AFTER_PLUGS: Final = ("old_holes", "plugs_set", "plugs_flush")
"""Holds between an old hole and the new one."""

NO_DRILL: Final = "no drill"
"""The drill of a new hole that an old one serves for, as the plan has it."""


def old_hole_steps(plan: Plan, order: Order) -> None:
    """Add the steps that plug the old holes in the way; none where none is."""
    if not plan.repairs:
        return
    order.part = "Old holes"
    units = plan.car.info.units
    order.hold(
        "old_holes",
        "Find each old hole on the part and measure it again, its place from mid-car and its width by the largest "
        f"drill shank that goes in: {'; '.join(_told(plan, each) for each in plan.repairs)}. If one differs by more "
        f"than {show_in(practice_value('same_place').value, units)}, put it into the file and make the book again.",
        *(each.site.what for each in plan.repairs),
    )
    plugged = [each for each in plan.repairs if each.plug is not None]
    if not plugged:
        return
    names = tuple(dict.fromkeys(each.site.piece for each in plugged))
    opened = [each for each in plugged if each.plug is not None and (each.plug.drill or each.plug.form == "patch")]
    after = (*CUT_AFTER, "blank", "old_holes")
    if opened:
        order.act(
            "open_old_holes",
            " ".join(f"{_capital(_opening(plan, each))}." for each in opened)
            + " Square to the face, in steps of a drill or two, backed with wood.",
            after=after,
            pieces=names,
            caution="drill",
        )
    order.act(
        "glue_plugs",
        f"{' '.join(f'{_capital(_gluing(plan, each))}.' for each in plugged)} Scrape paint and old glue off the rim, "
        f"try it dry, then {_glue(plan)}. Leave it for {_hours(plugged)} hours.",
        after=after,
        pieces=names,
        caution="cement" if plan.car.underframe.glue == "solvent" else "superglue",
    )
    order.hold(
        "plugs_set",
        f"Only after {_hours(plugged)} hours: press each plug from both faces with a rod. It does not move and the "
        "seam shows no gap. A soft plug is left for another day.",
        "glued at",
        "looked at",
        pieces=names,
    )
    order.act(
        "file_plugs",
        "File the plugs flush on both faces, the file flat on the part, and stop as soon as it touches.",
        after=("plugs_set",),
        pieces=names,
        caution="dust",
    )
    order.hold(
        "plugs_flush",
        "A straightedge laid over each plug rocks on neither face and shows no light; the mark of the new hole, "
        "pricked later, stands wholly in the plug or wholly beside it.",
        *(each.site.what for each in plugged),
        pieces=names,
    )


def used_words(holes: tuple[Hole, ...]) -> str:
    """Return the sentence for new holes that an old one serves for, or ""."""
    used = [short_name(hole.name) for hole in holes if hole.drill == NO_DRILL]
    if not used:
        return ""
    return f"At {' and '.join(used)} the old hole serves: drill nothing there."


def old_hole_blocks(plan: Plan) -> list[Block]:
    """Return the table of what is done with each old hole, for the page of the drill table."""
    if not plan.repairs:
        return []
    rows = []
    for each in plan.repairs:
        plug, hours = each.plug, ""
        if each.wait is not None:
            hours = f"{each.wait.value:.0f} h"
        rows.append(
            (
                each.site.what,
                short_name(each.site.piece),
                _place(plan, each),
                number(each.site.diameter, plan.car.info.units),
                "used as it is" if plug is None else f"{plug.form} {number(plug.size, plan.car.info.units)}",
                "" if plug is None or plug.drill is None else plug.drill.name,
                "" if each.length is None else number(each.length, plan.car.info.units),
                hours,
                ", ".join(short_name(name) for name in each.holes),
            )
        )
    table = Table(
        ("Old hole", "In", "Where", "Wide", "Plug", "Open to", "Cut to", "Sets", "Before"),
        tuple(rows),
        (0.0, 17.0, 35.0, 13.0, 24.0, 15.0, 14.0, 12.0, 26.0),
        (False, False, False, True, False, True, True, True, False),
    )
    seam = practice_value("plug_seam_diameters")
    words = (
        f"A new hole stands wholly in a plug or wholly beside it, its centre {seam.value:g} of its diameter from the "
        "seam or more: a drill that straddles a seam wanders. This and the hours are our own choice."
    )
    return [Heading("Old holes, before the new ones"), table, Note(words)]


def _capital(words: str) -> str:
    return f"{words[:1].upper()}{words[1:]}"


def _place(plan: Plan, each: Repair) -> str:
    units = plan.car.info.units
    x, y = each.site.x.value, each.site.y.value
    if each.site.piece != "floor":
        along = "at the middle" if abs(x) < 1e-6 else f"{number_in(abs(x), units)} from the middle"
    else:
        along = f"{number_in(abs(x), units)} to {'A' if x > 0 else 'B'}"
    return along if abs(y) < 1e-6 else f"{along}, {number_in(abs(y), units)} {'left' if y > 0 else 'right'}"


def _told(plan: Plan, each: Repair) -> str:
    where = "" if each.site.piece == "floor" else f" in {short_name(each.site.piece)}"
    wide = number(each.site.diameter, plan.car.info.units)
    return f"{each.site.what}{where}, {_place(plan, each)}, {wide} wide"


def _opening(plan: Plan, each: Repair) -> str:
    assert each.plug is not None
    if each.plug.drill is not None:
        return f"open {each.site.what} to {each.plug.drill.name}"
    side = show_in(each.plug.size.value, plan.car.info.units)
    return f"cut a square opening round {each.site.what}, {side} each way, its middle on the old hole's"


def _gluing(plan: Plan, each: Repair) -> str:
    assert each.plug is not None
    units, plug = plan.car.info.units, each.plug
    size = show_in(plug.size.value, units)
    if plug.form == "patch":
        return f"laminate a patch {size} square, as thick as the part, and let it into {each.site.what}"
    long = "" if each.length is None else f" {show_in(each.length.value, units)} long, to stand out on both faces"
    from_shelf = "" if plug.offer is not None and plug.offer.on_hand else " (to be bought)"
    return f"cut {size} {plug.form}{from_shelf}{long}, for {each.site.what}"


def _glue(plan: Plan) -> str:
    if plan.car.underframe.glue == "solvent":
        return "push it in wet with solvent cement and flow more round the seam (in a metal part epoxy instead)"
    return "push it in with the gap-filling glue"


def _hours(repairs: list[Repair]) -> str:
    return f"{max(each.wait.value for each in repairs if each.wait is not None):.0f}"
