"""The cover, and what stands and what fails: every check with its mend, every unknown with what to measure."""

from __future__ import annotations

from collections.abc import Sequence

from carwright.book.cautions import LABELS_FIRST
from carwright.book.needed import material_blocks, tool_blocks
from carwright.book.studied import Studied
from carwright.draw.blocks import (
    Block,
    Caution,
    Columns,
    Contents,
    Facts,
    Heading,
    Judged,
    Note,
    Picture,
    Prose,
    Table,
    Verdicts,
)
from carwright.draw.labels import needs_words, number, short_name
from carwright.draw.outline import side_view
from carwright.draw.strokes import bounds, ink
from carwright.draw.views import plan_shape, said_scale
from carwright.findings import VERDICT_ORDER, Finding
from carwright.lengths import as_written, number_in, show_in
from carwright.plan.model import Plan

__all__ = ["cover_blocks", "standing_blocks"]

_SCALES = (3.0, 2.0, 1.0, 1 / 2, 1 / 3, 1 / 4, 1 / 5, 1 / 6, 1 / 8, 1 / 10)


def _called(check: str) -> str:
    words = short_name(check)
    return words[:1].upper() + words[1:]


def cover_blocks(studied: Studied, *, width_mm: float, stock: tuple[tuple[str, str], ...] = ()) -> tuple[Block, ...]:
    """Return the cover: the car drawn, what it is, how it stands, what comes first, and the list of pages.

    Args:
        studied: the car.
        width_mm: room across the page.
        stock: what a cutting takes from, with the pieces that come of it; else what the plan asks for stands there.
    """
    plan = studied.plan
    shape = plan_shape(plan)
    scale = next((k for k in _SCALES if _wide(plan, k) <= width_mm), _SCALES[-1])
    drawing = side_view(plan.car, shape, plan.pieces, scale=scale)
    left: tuple[Block, ...] = (
        Heading("The car"),
        Facts(_facts(plan)),
        Heading("How it stands"),
        *_summary(studied.findings),
        *((Heading("Material"), Facts(stock)) if stock else material_blocks(plan)),
    )
    right: tuple[Block, ...] = (Heading("In this book"), Contents())
    return (
        Picture(drawing, centred=True),
        Note(
            f"Left side, {said_scale(scale)}, end B to the right. Dashed: hidden, or not measured and drawn at a usual "
            "size. Dash and two dots: missing from the car."
        ),
        Caution(LABELS_FIRST, word="First"),
        Columns(left, right, 0.56),
        *tool_blocks(plan),
    )


def _wide(plan: Plan, scale: float) -> float:
    return bounds(ink(side_view(plan.car, plan_shape(plan), plan.pieces, scale=scale))).width_mm + 1.0


def _facts(plan: Plan) -> tuple[tuple[str, str], ...]:
    info, units = plan.car.info, plan.car.info.units
    ratio = f", 1 : {info.ratio.value:g}" if info.ratio is not None else ""
    kind = info.type + (f" ({plan.kind})" if plan.kind and plan.kind != info.type else "") if info.type else ""
    years = [
        f"{words} {year}"
        for words, year in (("built", info.built), ("rebuilt", info.rebuilt), ("modelled", info.year))
        if year
    ]
    body = plan.car.body
    pairs = [
        ("Scale", f"{info.scale}{ratio}"),
        ("Type", kind),
        ("Year", ", ".join(years)),
        ("Standard", info.standard),
        ("Length over the ends", "" if body.length is None else f"{number(body.length, units)} {units}"),
        ("Missing", ", ".join(info.missing)),
        ("Sharpest curve", "" if info.radius is None else as_written(info.radius.text, info.radius.value, units)),
        ("Lengths in this book", "inches" if units == "in" else "millimetres"),
    ]
    return tuple((label, value) for label, value in pairs if value)


def _summary(findings: Sequence[Finding]) -> tuple[Block, ...]:
    counts = {verdict: sum(each.verdict == verdict for each in findings) for verdict in VERDICT_ORDER}
    words = {"fail": "fail", "watch": "to watch", "unknown": "not known yet", "stale": "stale", "ok": "ok"}
    told = ", ".join(f"{counts[verdict]} {words[verdict]}" for verdict in VERDICT_ORDER if counts[verdict])
    worst = [each for each in findings if each.verdict == "fail"]
    blocks: list[Block] = [Prose(f"Checks: {told}." if told else "Nothing could be checked yet.")]
    for each in worst[:2]:
        blocks.append(Note(f"{_called(each.check)} fails: {each.because} {each.mend}".strip()))
    if len(worst) > 2:
        blocks.append(Note(f"{len(worst) - 2} more fail; see What stands and what fails."))
    return tuple(blocks)


def standing_blocks(studied: Studied) -> tuple[Block, ...]:
    """Return every finding, the worst first; those that are ok as plain rows under one heading."""
    blocks: list[Block] = []
    open_ones = [each for each in studied.findings if each.verdict != "ok"]
    if open_ones:
        blocks.append(
            Prose(
                "What fails is settled before the first cut. What is to watch is inside its limit by little, or known "
                "only by custom or from memory. What is not known waits for the measurement named."
            )
        )
        blocks.append(Verdicts(tuple(_judged(studied.plan, each) for each in open_ones)))
    else:
        blocks.append(Prose("Nothing fails and nothing waits."))
    blocks.append(
        Note(
            "What the car does on its curve and where its weight goes is told in full on the pages Round the curve and "
            "Weight and balance; what fails there is repeated here."
        )
    )
    blocks += _fine([each for each in studied.findings if each.verdict == "ok"])
    return tuple(blocks)


def _judged(plan: Plan, finding: Finding) -> Judged:
    mend = finding.mend
    if finding.needs:
        mend = f"Measure {needs_words(finding.needs)}; {mend[:1].lower()}{mend[1:]}" if mend else ""
        if finding.verdict == "unknown":
            mend = "" if "needs" in finding.because else f"Measure {needs_words(finding.needs)}."
    return Judged(finding.verdict, _called(finding.check), finding.because, mend, _margin(plan, finding))


def _margin(plan: Plan, finding: Finding) -> str:
    if finding.margin is None:
        return ""
    units, size = plan.car.info.units, abs(finding.margin.value)
    if finding.unit == "mm":
        told = show_in(size, units)
        if float(number_in(size, units)) == 0.0 and finding.margin.value < 0:
            told = f"less than {'0.001 in' if units == 'in' else '0.01 mm'}"
    else:
        unit = {"deg": "°", "count": ""}.get(finding.unit, f" {finding.unit}")
        told = f"{size:.0f}" if finding.unit == "count" else f"{size:.1f}{unit}"
    return f"{told} to spare" if finding.margin.value >= 0 else f"{told} beyond"


def _fine(findings: Sequence[Finding]) -> list[Block]:
    if not findings:
        return []
    told = [f"{each.because} {each.mend}".strip() if each.hangs_on else each.because for each in findings]
    rows = tuple((_called(each.check), words, each.source) for each, words in zip(findings, told, strict=True))
    table = Table(("Check", "Found", "Limit by"), rows, (34.0, 0.0, 58.0), (False, False, False))
    return [Heading(f"These {len(findings)} are ok"), table]
