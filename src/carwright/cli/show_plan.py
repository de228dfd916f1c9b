"""A plan as a page to read at the bench: what the car is, whether it is right, what to do next, then the figures."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final, Literal

from carwright.car.keys import key_named
from carwright.car.model import ENDS, End
from carwright.cli.page import command_line, heading, row, wrapped
from carwright.draw.labels import chance_said, short_name
from carwright.draw.piecelist import how_many, piece_rows
from carwright.findings import VERDICT_ORDER, Finding, listed
from carwright.lengths import as_written, number_in, show_in
from carwright.pieces import Hole
from carwright.plan import Plan
from carwright.plan.checks import called
from carwright.plan.shopping import NO_SHEET
from carwright.ride.model import Alternative, EndRide
from carwright.working import Working, derive, leaves

__all__ = [
    "basis_of",
    "counts_of_verdicts",
    "failing_lines",
    "finding_lines",
    "next_step",
    "plan_lines",
    "summary_lines",
]

_DOUBTS_SHOWN = 3
"""Shares of the doubt that are told at each end: the rest seldom pays for another measurement."""

_BASIS = {"memory": "from memory", "practice": "common practice"}


def plan_lines(plan: Plan, *, file: str = "") -> Iterator[str]:
    """Yield the page, line by line, none longer than 80 columns.

    Args:
        plan: the plan.
        file: the car file's name as the user wrote it, for the commands that are proposed.
    """
    units = plan.car.info.units
    yield from _head(plan)
    yield from _couplers(plan, units)
    yield from _stack(plan, units)
    yield from _doubts(plan)
    yield from _alternatives(plan, units, file)
    yield from _floor(plan, units)
    yield from _pieces(plan, units)
    yield from _holes(plan, units)
    yield from _weight(plan)
    yield from _curve(plan, units)
    yield from _buy(plan, units)
    yield from finding_lines(plan.findings, units)


def summary_lines(plan: Plan) -> Iterator[str]:
    """Yield the short page: what the car is, the couplers, the floor, what to buy."""
    units = plan.car.info.units
    yield from _head(plan)
    yield from _couplers(plan, units)
    yield from _floor(plan, units)
    yield from _buy(plan, units)


def basis_of(*workings: Working | None) -> str:
    """Return how the weakest reference value below the workings is known: "from memory", "common practice" or ""."""
    bases = {leaf.basis for working in workings if working is not None for leaf in leaves(working)}
    return next((words for basis, words in _BASIS.items() if basis in bases), "")


def counts_of_verdicts(findings: Sequence[Finding]) -> str:
    """Return how many checks ended how, the worst first: "1 fails, 2 to watch, 15 ok"."""
    words = {"fail": "{} fail", "watch": "{} to watch", "unknown": "{} unknown", "stale": "{} stale", "ok": "{} ok"}
    told = []
    for verdict in VERDICT_ORDER:
        number = sum(each.verdict == verdict for each in findings)
        if number:
            told.append("1 fails" if verdict == "fail" and number == 1 else words[verdict].format(number))
    return ", ".join(told)


def next_step(plan: Plan) -> str:
    """Return what to do next: look at slips again, mend what fails, measure what is missing, mend what is to watch."""
    slips = [each for each in plan.findings if each.check.startswith(_SLIPS) and each.verdict in ("fail", "watch")]
    if slips:
        return slips[0].mend
    by_verdict = {verdict: [each for each in plan.findings if each.verdict == verdict] for verdict in VERDICT_ORDER}
    for finding in by_verdict["fail"]:
        if finding.mend:
            return finding.mend
    needs = tuple(dict.fromkeys(key for finding in by_verdict["unknown"] for key in finding.needs))
    if needs:
        return f"Measure {_wanting(needs)}."
    mends = sorted((each for each in by_verdict["watch"] if each.mend), key=lambda each: not _is_height(each))
    return mends[0].mend if mends else ""


_SLIPS: Final = ("reading_", "seats_differ", "inside_", "walls_", "shell_mass")
"""Beginnings of the checks that find a slip of the pen: nothing is worth mending before it is cleared up."""


def _is_height(finding: Finding) -> bool:
    return finding.check.startswith("coupler_height")


def _wanting(needs: Sequence[str]) -> str:
    """Return missing measurements by letter and name, those that the sheet asks first before the others."""

    def place(key: str) -> tuple[bool, str]:
        found = key_named(key)
        return (found is None or not found.first, found.letter if found is not None and found.first else "")

    return listed(called(key) for key in sorted(dict.fromkeys(needs), key=place))


def _head(plan: Plan) -> Iterator[str]:
    info = plan.car.info
    yield from wrapped(info.name or "Car without a name")
    ratio = f" 1:{info.ratio.value:g}" if info.ratio is not None else ""
    kind = f"type {info.type}" if info.type else ""
    if kind and plan.kind and plan.kind != info.type:
        kind += f" ({plan.kind})"
    facts = [f"{info.scale}{ratio}", info.standard, kind, f"modelled {info.year}" if info.year else ""]
    facts.append("lengths in inches" if info.units == "in" else "lengths in millimetres")
    yield from wrapped(", ".join(each for each in facts if each))
    if info.missing:
        yield from wrapped(f"Missing from the car: {listed(info.missing)}.")
    yield ""
    yield from wrapped(f"Checks: {counts_of_verdicts(plan.findings)}.")
    step = next_step(plan)
    if step:
        yield from wrapped(step, first="Next: ")


def _figures(values: Sequence[Working | None], units: Literal["in", "mm"], *, signed: bool = False) -> list[str]:
    return ["?" if each is None else number_in(each.value, units, signed=signed) for each in values]


def _couplers(plan: Plan, units: Literal["in", "mm"]) -> Iterator[str]:
    a, b = plan.ride.ends.a, plan.ride.ends.b
    tops = {a.measured_at, b.measured_at}
    name = "Couplers, to the top of the pocket" if tops == {"pocket top"} else "Couplers, to the centre line"
    if len(tops) > 1:
        name = f"Couplers, A to the {a.measured_at}, B to the {b.measured_at}"
    yield from heading(f"{name}, above the rail", units)
    yield from row("", ["A", "B"])

    def figures(label: str, take: str, *, signed: bool = False, note: str = "") -> list[str]:
        values: list[Working | None] = [getattr(a, take), getattr(b, take)]
        return row(label, _figures(values, units, signed=signed), note=note) if any(values) else []

    gauged = a.found is not None or b.found is not None
    height = "height, by the parts" if gauged else "height"
    yield from figures(height, "coupler_height") or row(height, ["?", "?"])
    yield from figures("should be", "target", note=_cited(a.target or b.target))
    yield from figures("error, high is +", "error", signed=True)
    yield from figures("accepted ±", "limit", note=_cited(a.limit or b.limit))
    yield from figures("doubt ±, worst case", "worst_case")
    yield from figures("doubt ±, root sum square", "rss")
    chances = [a.pass_probability, b.pass_probability]
    if any(chances):
        both = plan.ride.pass_probability
        note = f"both at once {chance_said(both)}" if both is not None else ""
        yield from row("chance of passing", ["?" if c is None else chance_said(c) for c in chances], note=note)
    yield from figures("gauged on the car", "found")
    yield from figures("parts say, less gauged", "predicted_minus_found", signed=True)
    by_check = {each.check: each.verdict for each in plan.findings}
    verdicts = [by_check.get(f"coupler_height_{end}", "unknown") for end in ENDS]
    yield from row("verdict", [_mark(each) for each in verdicts], note="by the gauge" if gauged else "")
    if a.needs and set(a.needs) == set(b.needs):
        yield from wrapped(f"Both ends still need {_wanting(a.needs)}.", first="  ")
        return
    for end, result in (("A", a), ("B", b)):
        if result.needs:
            yield from wrapped(f"{end} still needs {_wanting(result.needs)}.", first="  ")


def _cited(working: Working | None) -> str:
    """Return how a published or customary value is known, in a word or two."""
    if working is None:
        return ""
    known = basis_of(working)
    if known:
        return known
    own = next((leaf for leaf in leaves(working) if leaf.kind == "typed"), None)
    if own is not None:
        return "your own, in the file"
    source = next((leaf.source for leaf in leaves(working) if leaf.source), "")
    return "read in a quotation" if "quotation" in source else "read" if source else ""


def _stack(plan: Plan, units: Literal["in", "mm"]) -> Iterator[str]:
    stacks = {end: _steps(plan.ride.ends.at(end), plan, end) for end in ENDS}
    if not any(stacks.values()):
        return
    yield from heading("From the rail up", units)
    same = [name for name, _, _ in stacks["a"]] == [name for name, _, _ in stacks["b"]]
    if same:
        yield from row("", ["A", "stands at", "B", "stands at"], cell_width=11)
        for (name, own_a, top_a), (_, own_b, top_b) in zip(stacks["a"], stacks["b"], strict=True):
            yield from row(name, [_own(own_a, units), _top(top_a, units), _own(own_b, units), _top(top_b, units)],
                           cell_width=11)  # fmt: skip
        return
    for end in ENDS:
        yield from row(f"End {end.upper()}", ["", "stands at"] if stacks[end] else ["nothing measured"], cell_width=11)
        for name, own, top in stacks[end]:
            yield from row(name, [_own(own, units), _top(top, units)], cell_width=11)


def _own(mm: float, units: Literal["in", "mm"]) -> str:
    return number_in(mm, units, signed=True)


def _top(mm: float, units: Literal["in", "mm"]) -> str:
    return number_in(mm, units)


def _steps(result: EndRide, plan: Plan, end: End) -> list[tuple[str, float, float]]:
    """Return the stack at one end as on paper: what is added or taken off, and where one then stands, in mm."""
    letter = end.upper()
    steps: list[tuple[str, float, float]] = []
    for layer in result.stack:
        if layer.name == "coupler":
            continue
        name = layer.name.replace(f" {letter}", "").replace(letter, " ").strip()
        steps.append((name, layer.top.value - layer.bottom.value, layer.top.value))
    under, face, height = result.floor_underside, result.mounting_face, result.coupler_height
    coupler = plan.car.coupler.at(end)
    if under is not None and face is not None:
        shim = -coupler.shim.value if coupler.shim is not None else 0.0
        recess = coupler.recess.value if coupler.recess is not None else 0.0
        lean = face.value - under.value - shim - recess
        if abs(lean) > 5e-4:
            steps.append(("floor leans, to the coupler", lean, under.value + lean))
        if coupler.shim is not None:
            steps.append(("shim under the floor", shim, under.value + lean + shim))
        if coupler.recess is not None:
            steps.append(("recess in the floor", recess, face.value))
    if face is not None and height is not None:
        at = face.value
        parts = (("drop of the coupler", coupler.drop, -1), ("shank offset", coupler.shank_offset, 1),
                 ("droop", coupler.droop, -1))  # fmt: skip
        for name, size, sign in parts:
            if size is not None:
                at += sign * size.value
                steps.append((name, sign * size.value, at))
    if height is not None and face is None and coupler.mount == "truck" and coupler.height is not None:
        steps.append(("coupler on its truck", coupler.height.value, height.value))
    return steps


def _doubts(plan: Plan) -> Iterator[str]:
    ends = [(end.upper(), plan.ride.ends.at(end).shares[:_DOUBTS_SHOWN]) for end in ENDS]
    if not any(shares for _, shares in ends):
        return
    yield from heading("What to measure better", "share of the doubt")
    for letter, shares in ends:
        told = ", ".join(f"{share.name} {100 * share.share.value:.0f} %" for share in shares)
        if told:
            yield from wrapped(told, first=f"  at {letter}: ")


def _alternatives(plan: Plan, units: Literal["in", "mm"], file: str) -> Iterator[str]:
    if not plan.alternatives:
        return
    yield from heading("Ways to stand, best first", f"errors in {'inches' if units == 'in' else 'millimetres'}")
    yield f"  {'':>2}  {'':<36}{'A':>8}{'B':>8}{'both pass':>11}"
    for each in plan.ways:
        yield from _alternative(each, units)
    if len(plan.ways) < len(plan.alternatives):
        yield f"  {len(plan.alternatives) - len(plan.ways)} more rank behind the car as it is; --json lists them."
    if len(plan.ways) > 1:
        yield "  To write way N into the file:"
        yield command_line("plan", file or "CAR", "--take", "N")


def _alternative(each: Alternative, units: Literal["in", "mm"]) -> Iterator[str]:
    names = wrapped(each.listed, width=35)
    errors = "".join(f"{number_in(e.value, units, signed=True):>8}" for e in (each.error.a, each.error.b))
    hand = "" if each.as_it_is else "on hand" if each.on_hand else "buy"
    yield f"  {each.rank.value:>2.0f}  {names[0]:<36}{errors}{chance_said(each.pass_probability):>8}   {hand}".rstrip()
    for more in names[1:]:
        yield f"      {more}"


def _floor(plan: Plan, units: Literal["in", "mm"]) -> Iterator[str]:
    floor = plan.floor
    yield from heading("Floor, as found: it stays" if floor.stays else "Floor", units)
    if floor.wanted_thickness is not None and not floor.stays:
        yield from row("wanted thickness", _figures([floor.wanted_thickness], units))
    if floor.layers and not floor.stays:
        layers = " + ".join(number_in(each.value, units) for each in floor.layers)
        yield from row("layers, underside first", [], note=f"{layers} {floor.material}", label_width=30)
        if not all(floor.layers_on_hand):
            yield from wrapped(NO_SHEET, first="    ")
    if floor.thickness is not None:
        off = ""
        if floor.error is not None and abs(floor.error.value) > 5e-4:
            side = "over" if floor.error.value > 0 else "under"
            off = f"{number_in(abs(floor.error.value), units)} {side} what is wanted"
        yield from row("thickness", _figures([floor.thickness], units), note=off)
    if floor.length is not None or floor.width is not None:
        yield from row("", ["along", "across"])
        if not floor.stays:
            yield from row("cut to", _figures([floor.cut_length, floor.cut_width], units))
        yield from row("finished", _figures([floor.length, floor.width], units))
    if floor.corner is not None:
        yield from row("off each corner", _figures(floor.corner, units))
    if floor.needs:
        yield from wrapped(f"Still needs {_wanting(floor.needs)}.", first="  ")


def _pieces(plan: Plan, units: Literal["in", "mm"]) -> Iterator[str]:
    rows = [each for each in piece_rows(plan) if each.pieces != ("floor",)]
    if not rows:
        return
    by_name = {piece.name: piece for piece in plan.pieces}
    yield from heading("Pieces", units)
    yield from row("", ["how many", "thick", "along", "across"])
    for each in rows:
        yield from row(each.name[:1].lower() + each.name[1:], [str(each.many), each.thick, each.along, each.across])
        for name in each.pieces:
            if name.startswith("bolster"):
                low, high = by_name[name].thickness_min_mm, by_name[name].thickness_max_mm
                if low is not None and high is not None and low.value <= high.value:
                    span = f"{number_in(low.value, units)} to {number_in(high.value, units)}"
                    yield f"    {short_name(name)}: {span} thick would keep both couplers in their limits"


def _holes(plan: Plan, units: Literal["in", "mm"]) -> Iterator[str]:
    if not plan.holes:
        return
    yield from heading("Holes", units)
    yield f"  {'':<22}{'drill':>9}{'tap':>7}{'mid-car':>10}{'its end':>10}{'aside':>8}{'deep':>8}"
    waiting, others = [], []
    for hole in plan.holes:
        if hole.x_mm is None or hole.needs:
            waiting.append(hole)
        if hole.piece != "floor" and not hole.piece.startswith("bolster"):
            others.append(hole)
            continue
        along = "?" if hole.x_mm is None else number_in(hole.x_mm.value, units, signed=True)
        name = short_name(hole.name) if hole.piece == "floor" else f"{short_name(hole.piece)}, for truck"
        end = _from_end(plan, hole, units)
        aside = number_in(hole.y_mm.value, units, signed=True)
        deep = "?" if hole.depth_mm is None else number_in(hole.depth_mm.value, units)
        yield f"  {name:<22}{hole.drill:>9}{hole.tap:>7}{along:>10}{end:>10}{aside:>8}{deep:>8}"
    yield from wrapped(
        "mid-car: from the middle, + toward A; its end: from the piece's nearer finished end.", first="  "
    )
    yield from _further_holes(plan, others)
    known = basis_of(*(hole.diameter_mm for hole in plan.holes))
    if known:
        yield f"  Drill sizes: {known}."
    for hole in waiting:
        yield from wrapped(f"Do not drill {short_name(hole.name)} yet: needs {_wanting(hole.needs)}.", first="  ")


def _further_holes(plan: Plan, holes: Sequence[Hole]) -> Iterator[str]:
    """Yield a line for the holes of one drill and purpose in the pieces of the frame; `--json` has each one's place."""
    alike: dict[tuple[str, str], list[Hole]] = {}
    for hole in holes:
        alike.setdefault((hole.drill, hole.purpose), []).append(hole)
    for (drill, purpose), mine in alike.items():
        named = ", ".join(dict.fromkeys(short_name(hole.piece) for hole in mine))
        webs = any(hole.piece.startswith(("crossbearer", "crosstie")) for hole in mine)
        where = f"both webs, left and right, of {named}" if webs else named
        yield from wrapped(f"{how_many(plan, mine)} x {drill}, {purpose}: {where}.", first="  ")


def _from_end(plan: Plan, hole: Hole, units: Literal["in", "mm"]) -> str:
    piece = next((each for each in plan.pieces if each.name == hole.piece), None)
    if piece is None or hole.x_mm is None:
        return "?"
    formula = "l/2 - x" if hole.x_mm.value >= 0 else "l/2 + x"
    return number_in(derive("from the end", formula, l=piece.length_mm, x=hole.x_mm).value, units)


def _weight(plan: Plan) -> Iterator[str]:
    weight = plan.weight
    masses = (("should weigh", weight.target), ("is there", weight.present), ("will be fitted", weight.to_fit),
              ("still to add", weight.to_add))  # fmt: skip
    if all(value is None for _, value in masses):
        return
    yield from heading("Weight", "g")
    for label, value in masses:
        note = ""
        if label == "should weigh":
            over = "its length over the ends" if weight.length_used == "body" else f"its length {weight.length_used}"
            known = basis_of(value)
            note = weight.rule + (f", by {over}" if weight.length_used else "") + (f"; {known}" if known else "")
        yield from row(label, ["?" if value is None else f"{value.value:.1f}"], note=note)
    if weight.needs:
        yield from wrapped(f"Not known and not counted: {_wanting(weight.needs)}.", first="  ")


def _curve(plan: Plan, units: Literal["in", "mm"]) -> Iterator[str]:
    turning = plan.steady
    if turning is None:
        return
    yield from heading(
        f"On a steady curve of {as_written(turning.radius.text, turning.radius.value, units)}, coupled to its like",
        units,
    )
    lengths = (("throw to the inside", turning.throw_in), ("throw to the outside", turning.throw_out),
               ("gap between the bodies", turning.body_gap))  # fmt: skip
    for label, value in lengths:
        if value is not None:
            yield from row(label, _figures([value], units))
    for label, value in (("trucks turn", turning.truck_angle), ("couplers swing", turning.coupler_angle)):
        if value is not None:
            yield from row(label, [f"{value.value:.1f}°"])
    if turning.needs:
        yield from wrapped(f"Still needs {_wanting(turning.needs)}.", first="  ")


def _buy(plan: Plan, units: Literal["in", "mm"]) -> Iterator[str]:
    if not plan.buy:
        return
    yield from heading("To buy")
    for line in plan.buy:
        size = "" if line.size is None else f": {show_in(line.size.value, units)}"
        if line.low is not None and line.high is not None:
            size += f" ({number_in(line.low.value, units)} to {number_in(line.high.value, units)})"
        known = basis_of(line.size)
        told = f"{line.quantity.value:.0f} x {line.name}{size}" + (f", {known}" if known else "")
        yield from wrapped(told, first="  ")
        yield from wrapped(line.because, first="      ")


def finding_lines(findings: Sequence[Finding], units: Literal["in", "mm"]) -> Iterator[str]:
    """Yield findings as they stand, each with its margin, its mend and its source."""
    yield from heading("Checks, worst first")
    for finding in findings:
        yield from wrapped(finding.because, first=f"  {_mark(finding.verdict):<9}")
        if finding.verdict == "ok":
            if finding.hangs_on:
                yield from wrapped(f"Mend: {finding.mend}", first=" " * 11)
            continue
        if finding.margin is not None:
            yield f"  {'':<9}{short_name(finding.check)}: {_margin(finding.margin, finding.unit, units)}"
        if finding.mend and (finding.verdict != "unknown" or "needs" not in finding.because):
            yield from wrapped(f"Mend: {finding.mend}", first=" " * 11)
        if finding.source:
            yield from wrapped(f"Source: {finding.source}", first=" " * 11)


def failing_lines(findings: Sequence[Finding]) -> Iterator[str]:
    """Yield the checks that fail, each with its mend; nothing where none does."""
    failing = [each for each in findings if each.verdict == "fail"]
    if failing:
        yield f"{'One check fails' if len(failing) == 1 else f'{len(failing)} checks fail'}:"
    for each in failing:
        yield from wrapped(each.because, first="  FAIL  ")
        if each.mend:
            yield from wrapped(f"Mend: {each.mend}", first=" " * 8)


_UNIT = {"percent": "%"}
"""How a unit is printed, where not as it is written in the JSON."""


def _mark(verdict: str) -> str:
    """Return a verdict's word; the one that must not be overlooked in capitals."""
    return "FAIL" if verdict == "fail" else verdict


def _margin(margin: Working, unit: str, units: Literal["in", "mm"]) -> str:
    if unit == "mm":
        size = show_in(abs(margin.value), units)
        if float(number_in(margin.value, units)) == 0.0 and margin.value < 0:
            size = f"less than {'0.001 in' if units == 'in' else '0.01 mm'}"
    else:
        size = f"{abs(margin.value):.1f}{'°' if unit == 'deg' else f' {_UNIT.get(unit, unit)}'}"
        if unit == "n":
            size = f"{abs(margin.value):.2f} N"
    return f"{size} to spare" if margin.value >= 0 else f"{size} beyond the limit"
