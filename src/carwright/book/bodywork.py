"""The order of work up to the holes: what comes before the first cut, floor, bolsters, heights, holes."""

from __future__ import annotations

from typing import Final

from carwright.book.oldholes import DRILL_AFTER_PLUGS, NO_DRILL, old_hole_steps, used_words
from carwright.book.order import CUT_AFTER, Order, both, named, names, rows, told
from carwright.book.studied import Studied
from carwright.car.model import ENDS
from carwright.draw.labels import needs_words, number
from carwright.lengths import number_in, show_in
from carwright.pieces import Hole
from carwright.plan.model import Plan

__all__ = ["bodywork"]


def bodywork(studied: Studied, order: Order) -> None:
    """Add the steps from the print to the couplers' holes."""
    plan = studied.plan
    _first(studied, order)
    _floor(plan, order)
    old_hole_steps(plan, order)
    _bolsters(plan, order)
    _heights(plan, order)
    _holes(plan, order)


def _first(studied: Studied, order: Order) -> None:
    order.hold(
        "bars",
        "Measure the four bars on every page that is true to size, across and up, with the rule that you will cut by. "
        "Cut nothing from a page whose bars are out; print it again with what they measure.",
        "across",
        "up",
    )
    plan = studied.plan
    failing = [finding for finding in studied.findings if finding.verdict == "fail"]
    if failing:
        count = "One check fails" if len(failing) == 1 else f"{len(failing)} checks fail"
        order.hold(
            "settled",
            f"{count} as the car file stands (see What stands and what fails). Take a mend, write it into the file and "
            "make the book again, or write here why you go on.",
            "settled by",
        )
    needs = tuple(dict.fromkeys(key for hole in plan.holes for key in hole.needs))
    needs = tuple(dict.fromkeys((*plan.floor.needs, *needs)))
    if needs:
        order.hold(
            "measured",
            f"Still to be measured: {needs_words(needs)}. Put them into the car file and make the book again: dashed "
            "lines are never cut, dashed holes never drilled.",
            "measured on",
        )
    sheets = _sheets(plan)
    if sheets:
        units = plan.car.info.units
        order.hold(
            "sheet",
            "Caliper the very sheets that you will cut, at three places each. If one differs by more than "
            f"{'0.001 in' if units == 'in' else '0.03 mm'} from its name, put the reading into the file and make the "
            "book again.",
            *(f"{size} is" for size in sheets),
        )


def _sheets(plan: Plan) -> tuple[str, ...]:
    """Return the thicknesses of sheet that pieces are cut from, thinnest first."""
    units = plan.car.info.units
    found: dict[str, float] = {}
    for piece in plan.pieces:
        if not piece.made or piece.form != "plate" or piece.quantity.value < 1 or piece.thickness_mm is None:
            continue
        if piece.name.startswith("bolster") and len(piece.layers_mm) < 1:
            continue
        for layer in piece.layers_mm or (piece.thickness_mm,):
            found[number(layer, units)] = layer.value
    return tuple(sorted(found, key=lambda each: found[each]))


def _floor(plan: Plan, order: Order) -> None:
    order.part = "Floor"
    floor, units = plan.floor, plan.car.info.units
    if floor.stays:
        order.hold(
            "blank",
            f"The floor stays. Caliper it beside each truck and at mid-car; {told(plan, floor.thickness)} is what the "
            "plan goes by. Look for old holes near the new ones: no new hole may lie half in an old one.",
            "A",
            "middle",
            "B",
        )
        return
    if floor.length is None or floor.width is None or not floor.layers:
        return
    layers = " + ".join(number(each, units) for each in floor.layers)
    pieces = f"{len(floor.layers)} layers, {layers} {units}," if len(floor.layers) > 1 else f"one of {layers} {units},"
    order.act(
        "cut_floor",
        f"Cut the floor's blank: {pieces} each {told(plan, floor.cut_length)} by {told(plan, floor.cut_width)}, "
        "which leaves an allowance on every edge.",
        after=CUT_AFTER,
        pieces=("floor",),
        caution="knife",
    )
    if len(floor.layers) > 1:
        order.hold(
            "dry_layers",
            "Lay the layers on one another, dry: no dust between, edges all round within the allowance, the layer that "
            "will be the underside marked, and end B marked on it.",
            pieces=("floor",),
        )
        order.act(
            "laminate_floor",
            "Flow solvent cement in from the edges, then lay the blank flat between weights for 24 hours.",
            after=("dry_layers", "settled"),
            pieces=("floor",),
            caution="cement",
        )
    order.hold(
        "blank",
        f"Caliper the blank at both ends and in the middle, before any hole. The plan goes by "
        f"{told(plan, floor.thickness)}. Put what you read into the file as underframe.layers if it differs, and make "
        "the book again.",
        "A",
        "middle",
        "B",
        pieces=("floor",),
    )
    corner = ""
    if floor.corner is not None:
        along, across = (number(each, units) for each in floor.corner)
        corner = f" Notch each corner {along} along and {across} across."
    lugs = " Notch the sides for the lugs." if plan.car.body.lugs else ""
    order.act(
        "trim_floor",
        f"Bring the blank to its finished size, {told(plan, floor.length)} by {told(plan, floor.width)}, square, a "
        f"stroke at a time, trying it in the body.{corner}{lugs}",
        after=("bars", "measured", "blank"),
        pieces=("floor",),
        caution="dust",
    )
    where = "under the body, flush with its sides" if plan.car.body.mount != "drop-in" else "in the body, on its ledge"
    order.hold(
        "fit",
        f"Set the floor {where}: it drops in without force, lies flat, and does not rock. Write the gap at a side and "
        "at an end.",
        "side",
        "end",
        pieces=("floor",),
    )


def _bolsters(plan: Plan, order: Order) -> None:
    order.part = "Bolsters and screw blocks"
    bolsters = named(plan, "bolster_")
    if bolsters:
        built = any(len(piece.layers_mm) > 1 for piece in bolsters)
        first = bolsters[0]
        across = {told(plan, each.width_mm): each.name[-1].upper() for each in bolsters}
        wide = " and ".join(f"{size} at {end}" if len(across) > 1 else size for size, end in across.items())
        size = f"{told(plan, first.length_mm)} along the car, {wide} across"
        if built:
            order.act(
                "build_bolsters",
                f"Cut the layers of {rows(plan, bolsters)} as the cut table says and laminate them, flat between "
                f"weights for 24 hours; then bring each to its finished size, {size}.",
                after=CUT_AFTER,
                pieces=names(bolsters),
                caution="cement",
            )
        else:
            order.act(
                "cut_bolsters",
                f"Cut the bolsters to {size}.",
                after=CUT_AFTER,
                pieces=names(bolsters),
                caution="knife",
            )
        heights = ", ".join(f"{each.name[-1].upper()} {told(plan, each.thickness_mm)}" for each in bolsters)
        order.hold(
            "bolster_height",
            f"Caliper each bolster's height: {heights}. A coupler's height hangs on it.",
            *(each.name[-1].upper() for each in bolsters),
            pieces=names(bolsters),
        )
    blocks = named(plan, "screw_block_")
    blocks = tuple(each for each in blocks if each.thickness_mm is not None and each.thickness_mm.value > 0)
    if blocks:
        order.act(
            "cut_blocks",
            f"Cut and laminate {rows(plan, blocks)}, and bring each to its finished size; they go on top of the floor, "
            "inside the car.",
            after=CUT_AFTER,
            pieces=names(blocks),
            caution="knife",
        )
        order.act(
            "set_out_blocks",
            "Stick the setting-out template, the drawing from above, on top of the floor, end B to end B, or take the "
            "places from its table. Prick the corners of the blocks lightly, take the paper off, join them in pencil.",
            after=("bars", "fit"),
            irreversible=False,
        )
        order.hold(
            "blocks_clear",
            "Set the blocks on the floor at these marks, dry, and the floor in the body: nothing inside stands in "
            "their way, and no block reaches over an edge.",
            pieces=names(blocks),
        )
        order.act(
            "glue_blocks",
            "Cement the screw blocks on top of the floor and leave them under a weight for 24 hours.",
            after=("blank", "fit", "plugs_flush", "blocks_clear"),
            pieces=names(blocks),
            caution="cement",
        )


def _heights(plan: Plan, order: Order) -> None:
    order.part = "Heights"
    if all(plan.car.coupler.at(end).mount == "truck" for end in ENDS):
        return
    washers = [each for end in ENDS for each in plan.car.trucks.at(end).washers]
    between = "bolsters and washers" if washers else "bolsters"
    order.hold(
        "height",
        "Before any hole is drilled and anything is glued under the floor: stand the trucks on track, lay the "
        f"{between} on them and the floor on top, under a weight like the finished car's. Hold a coupler in its box "
        f"under each end, and put the height gauge to it. Planned: {both(plan, 'coupler_height')}; it should be "
        f"{both(plan, 'target')}, within ± {told(plan, plan.ride.ends.a.limit or plan.ride.ends.b.limit)}. Outside "
        "of that, write the readings into [found], and plan again.",
        "A",
        "B",
    )


_DRILL_AFTER: Final = ("bars", "settled", "measured", "blank", "fit", *DRILL_AFTER_PLUGS, "height", "tap_tried")


def _holes(plan: Plan, order: Order) -> None:
    order.part = "Holes"
    ready = tuple(each for each in plan.holes if each.piece == "floor" and each.x_mm is not None and not each.needs)
    trucks = tuple(hole for hole in ready if hole.name.startswith("truck"))
    couplers = tuple(hole for hole in ready if hole.name.startswith("coupler"))
    others = tuple(hole for hole in ready if hole not in (*trucks, *couplers))
    if not ready:
        return
    tapped = tuple(hole for hole in ready if hole.tap and hole.drill != NO_DRILL)
    if tapped:
        first = tapped[0]
        order.hold(
            "tap_tried",
            f"On scrap as thick as floor and block together: drill {first.drill}, tap {first.tap}, run the screw in "
            "and out. It bites, holds and does not split the scrap. If not, a size up or down; write the drill that "
            "did it.",
            "drill",
        )
    order.act(
        "mark_holes",
        "Stick the drilling template on the underside of the floor, end B to end B, or scribe the marks from its "
        "numbers. Prick the centres lightly; nothing is drilled yet.",
        after=("fit",),
        irreversible=False,
    )
    order.hold("marks", _marks_text(plan, trucks, couplers), *_mark_places(trucks, couplers))
    after = (*_DRILL_AFTER, "marks", "blocks_clear")
    if trucks:
        order.act(
            "drill_trucks",
            _drill_words(trucks, ", square to the floor, through floor and block.")
            + (" Then tap, backing out at every half turn." if any(each.tap for each in trucks) else ""),
            after=after,
            pieces=("floor", *names(named(plan, "screw_block_truck"))),
            caution="drill",
        )
    through = tuple(hole for hole in plan.holes if hole.piece.startswith("bolster"))
    if through:
        order.act(
            "drill_bolsters",
            _drill_words(through, ", in the middle of each bolster, right through."),
            after=(*DRILL_AFTER_PLUGS, "bolster_height", "marks"),
            pieces=tuple(dict.fromkeys(hole.piece for hole in through)),
            caution="drill",
        )
    _drill_couplers(plan, order, couplers, after, trucks=bool(trucks))
    if others:
        order.act(
            "drill_floor",
            _drill_words(others, ", at the marks."),
            after=after,
            pieces=("floor",),
            caution="drill",
        )


def _drill_couplers(
    plan: Plan, order: Order, couplers: tuple[Hole, ...], after: tuple[str, ...], *, trucks: bool
) -> None:
    if not couplers:
        return
    if trucks:
        order.hold(
            "height_on_screws",
            "Screw the trucks on through the bolsters, free to turn, and stand the floor on track. Both trucks swing "
            "as far as your sharpest curve asks without touching, and the gauge still says what it said. Only then is "
            f"a coupler's hole drilled. Planned: {both(plan, 'coupler_height')}.",
            "A",
            "B",
        )
    order.act(
        "drill_couplers",
        _drill_words(couplers, ", square to the floor, through floor and block.")
        + (" Then tap, backing out at every half turn." if any(each.tap for each in couplers) else ""),
        after=(*after, "height_on_screws"),
        pieces=("floor", *names(named(plan, "screw_block_coupler"))),
        caution="drill",
    )
    order.hold(
        "couplers_work",
        "Screw the coupler boxes on. Each head swings to both sides and comes back by itself; each is at the gauge.",
        "A",
        "B",
    )


def _drill_words(holes: tuple[Hole, ...], where: str) -> str:
    """Return what to drill and where, and at which places an old hole serves instead."""
    fresh = [hole for hole in holes if hole.drill != NO_DRILL]
    words = []
    if fresh:
        what = " and ".join(dict.fromkeys(hole.drill for hole in fresh))
        many = "hole" if len(fresh) == 1 else "holes"
        words.append(f"Drill {len(fresh)} {many} {what} ({fresh[0].purpose}){where}")
    return " ".join((*words, used_words(holes))).strip()


def _mark_places(trucks: tuple[Hole, ...], couplers: tuple[Hole, ...]) -> tuple[str, ...]:
    places = []
    if len(trucks) == 2:
        places.append("truck to truck")
    if couplers:
        places += ["coupler A to its end", "coupler B to its end"][: len(couplers)]
    return tuple(places)


def _marks_text(plan: Plan, trucks: tuple[Hole, ...], couplers: tuple[Hole, ...]) -> str:
    units = plan.car.info.units
    words = ["Measure the marks with calipers, not with the template."]
    places = [hole.x_mm.value for hole in trucks if hole.x_mm is not None]
    if len(places) == 2:
        words.append(f"From truck mark to truck mark: {show_in(abs(places[0] - places[1]), units)}.")
    half = plan.floor.length.value / 2 if plan.floor.length is not None else None
    ends = [
        f"{hole.name[-1].upper()} {number_in(half - abs(hole.x_mm.value), units)}"
        for hole in couplers
        if hole.x_mm is not None and half is not None
    ]
    if ends:
        words.append(f"From each coupler's mark to its end of the floor: {', '.join(ends)} {units}.")
    words.append("All stand on the centre line. No mark lies half in an old hole or in its plug.")
    return " ".join(words)
