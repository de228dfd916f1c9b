"""``carwright draw``: plan, templates true to size, ride-height diagram and outlines, as SVG, DXF and PDF."""

from __future__ import annotations

import difflib
import json as json_format
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

from cyclopts import Parameter

from carwright.problems import InputError, Problem

if TYPE_CHECKING:
    from carwright.draw.bars import Correction
    from carwright.draw.views import View
    from carwright.findings import Finding
    from carwright.plan import Plan

__all__ = [
    "Drawn",
    "Format",
    "command",
    "correction_as_json",
    "correction_lines",
    "correction_of",
    "formats_in",
    "print_failing",
    "stem_of",
    "views_in",
    "write_drawings",
    "wrote",
]

Format = Literal["svg", "dxf", "pdf"]
"""Kinds of file that a drawing is written as."""

_FORMATS: tuple[Format, ...] = ("svg", "dxf", "pdf")


@dataclass(frozen=True, slots=True)
class Drawn:
    """One file that was written; ``view`` is "all" for a PDF or an SVG of several.

    ``replaced`` says that a file of its name was there before.
    """

    view: str
    format: str
    path: Path
    replaced: bool = False


def command(
    car: Path,
    /,
    *,
    view: str = "all",
    as_format: Annotated[str, Parameter(name="--format")] = "pdf",
    out: Path | None = None,
    paper: Literal["letter", "a4"] | None = None,
    printed_x: str | None = None,
    printed_y: str | None = None,
    printer: str | None = None,
    shelf: Path | None = None,
    json: bool = False,
) -> int:
    """Draw a car: plan, outlines, sections, exploded view, ride height, templates and pieces true to size.

    A template prints true when the printer does: measure its 100 mm bars, give
    what they measure with --printed-x and --printed-y, and the next print is
    right. With --printer it is remembered. Status 1 when a check of the plan fails.

    Args:
        car: The car file.
        view: Any of plan, side, end, section, exploded, ride, weight, template, setting-out, pieces, with commas
            between; or all.
        as_format: Any of svg, dxf, pdf, with commas between. The DXF of template and pieces comes with one for
            cutters beside it.
        out: A file, or a folder for all files; without it, the folder you are in.
        paper: letter or a4. Without it, letter for cars in inches, a4 for those in millimetres.
        printed_x: What the 100 mm bar along the paper's short edge measured, such as 99.7; in inches name the bar,
            100 mm or 4 in, as in "4.01 in of 4 in".
        printed_y: What the 100 mm bar along its long edge measured.
        printer: A name for the printer, under which it is remembered how it prints.
        shelf: A file with the shop's shelf, beside the car file's own.
        json: Print the list of files for other programs.
    """
    from carwright.car.read import read_car_file, read_shelf_file
    from carwright.findings import worst_verdict
    from carwright.plan import make_plan

    formats, views = formats_in(as_format), views_in(view)
    correction = correction_of(printed_x, printed_y, printer)
    found = read_car_file(car, shelf=None if shelf is None else read_shelf_file(shelf))
    plan = make_plan(found.car)
    drawn = write_drawings(plan, views, formats, source=car, out=out, paper=paper, correction=correction)
    if json:
        print(json_format.dumps(_document(drawn, correction), ensure_ascii=False, indent=2))
    else:
        for each in drawn:
            print(wrote(each.path, replaced=each.replaced))
        if "pdf" in formats:
            print("\n".join(correction_lines(correction)))
        print_failing(plan.findings)
    return 1 if worst_verdict(plan.findings) == "fail" else 0


def formats_in(text: str) -> tuple[Format, ...]:
    """Return the formats named in a list with commas, each once.

    Raises:
        InputError: one of them is none that is known.
    """
    named = [word.strip().lower().removeprefix(".") for word in text.split(",") if word.strip()]
    unknown = [word for word in named if word not in _FORMATS]
    if unknown or not named:
        accepted = "svg, dxf, pdf, one or several with commas between"
        value = unknown[0] if unknown else text
        raise InputError(Problem("there is no such format", value, accepted, key="--format"))
    return tuple(each for each in _FORMATS if each in named)


def views_in(text: str) -> tuple[View, ...]:
    """Return the views named in a list with commas, each once, in the order in which they are drawn.

    Raises:
        InputError: one of them is none that is known; the nearest is named.
    """
    from carwright.draw.views import VIEWS

    named = [word.strip().lower() for word in text.split(",") if word.strip()]
    unknown = [word for word in named if word not in (*VIEWS, "all")]
    if unknown or not named:
        value = unknown[0] if unknown else text
        near = difflib.get_close_matches(value, [*VIEWS, "all"], n=1)
        raise InputError(
            Problem(
                "there is no such view",
                value,
                f"{', '.join(VIEWS)}, one or several with commas between, or all",
                f"Did you mean {near[0]}?" if near else "",
                key="--view",
            )
        )
    return VIEWS if "all" in named else tuple(each for each in VIEWS if each in named)


def stem_of(source: Path) -> str:
    """Return what the files' names begin with: the car file's name, made safe for every file system.

    A car file of another folder than the present one lends its folder's name too: many are called ``car.toml``.
    """
    here = source.resolve()
    parts = [here.stem] if here.parent == Path.cwd() else [here.parent.name, here.stem]
    stems = [re.sub(r"[^\w.-]+", "-", each).strip("-.")[:80] for each in parts]
    return "-".join(filter(None, stems)) or "car"


def write_drawings(
    plan: Plan,
    views: Sequence[View],
    formats: Sequence[Format],
    *,
    source: Path,
    out: Path | None = None,
    paper: Literal["letter", "a4"] | None = None,
    correction: Correction | None = None,
) -> tuple[Drawn, ...]:
    """Make every drawing first, then write the files; return them in the order of writing.

    Args:
        plan: the plan.
        views: what to draw.
        formats: as what.
        source: the car file; its name begins the files' names, and it is never written over.
        out: a folder, or a file where ``views`` and ``formats`` make one file of each format.
        paper: None takes letter for inches, a4 for millimetres.
        correction: what the printer needs.

    Raises:
        InputError: a file cannot be placed or written.
    """
    from carwright.draw.files import checked_place, write_file
    from carwright.draw.views import VIEWS

    made: list[tuple[Drawn, bytes]] = []
    for kind in formats:
        if kind == "pdf":
            made.append(_pdf(plan, views, source, out, paper, correction))
            continue
        if kind == "svg" and len(views) == len(VIEWS):
            made.append(_overview(plan, source, out))
        for view in views:
            made.extend(_plane(plan, view, kind, source, out, alone=len(views) == 1))
    for each, _ in made:
        checked_place(each.path, f".{each.format}", source=source)
    return tuple(replace(each, replaced=write_file(each.path, data)) for each, data in made)


def _pdf(
    plan: Plan,
    views: Sequence[View],
    source: Path,
    out: Path | None,
    paper: Literal["letter", "a4"] | None,
    correction: Correction | None,
) -> tuple[Drawn, bytes]:
    from carwright.draw.pdf import pdf
    from carwright.draw.views import pages_of

    chosen = paper or ("letter" if plan.car.info.units == "in" else "a4")
    pages = pages_of(plan, views, paper=chosen, correction=correction)
    data = pdf(pages, title=plan.car.info.name or stem_of(source), paper=chosen, correction=correction)
    what = views[0] if len(views) == 1 else "drawings"
    place = _place(source, out, what, "pdf", alone=True)
    return Drawn(views[0] if len(views) == 1 else "all", "pdf", place), data


def _overview(plan: Plan, source: Path, out: Path | None) -> tuple[Drawn, bytes]:
    """Return the views on one sheet, for a screen."""
    from carwright.draw.svg import sheet_svg
    from carwright.draw.views import overview

    alt = "Side, end, floor from below and ride height of the car."
    text = sheet_svg(overview(plan), title=plan.car.info.name or stem_of(source), alt=alt)
    return Drawn("all", "svg", _place(source, out, "drawings", "svg", alone=True)), text.encode("utf-8")


def _plane(
    plan: Plan, view: View, kind: Literal["svg", "dxf"], source: Path, out: Path | None, *, alone: bool
) -> list[tuple[Drawn, bytes]]:
    from carwright.draw.views import drawing_of

    drawing = drawing_of(plan, view)
    place = _place(source, out, view, kind, alone=alone)
    if kind == "svg":
        from carwright.draw.svg import svg

        return [(Drawn(view, kind, place), svg(drawing).encode("utf-8"))]
    from carwright.draw.dxf import plain_dxf, reading_dxf

    made = [(Drawn(view, kind, place), reading_dxf(drawing))]
    if view in ("template", "pieces"):
        cutter = place.with_name(f"{place.stem}-cut{place.suffix}")
        made.append((Drawn(f"{view} for cutters", kind, cutter), plain_dxf(drawing)))
    return made


def _place(source: Path, out: Path | None, what: str, kind: str, *, alone: bool) -> Path:
    """Return where one file goes: ``out`` where it names a file for it, else a name of ours in that folder."""
    name = f"{stem_of(source)}-{what}.{kind}"
    if out is None:
        return Path(name)
    suffix = out.suffix.lower().removeprefix(".")
    if out.is_dir() or not suffix:
        return out / name
    if suffix not in _FORMATS:
        return out
    if suffix == kind:
        return out if alone else out.with_name(f"{out.stem}-{what}{out.suffix}")
    return out.with_name(f"{out.stem}.{kind}" if alone else f"{out.stem}-{what}.{kind}")


def correction_of(printed_x: str | None, printed_y: str | None, printer: str | None) -> Correction:
    """Return the correction asked for; a named printer's is remembered, and what was typed now replaces it."""
    from carwright.draw.bars import Correction, factor_from

    x = None if printed_x is None else factor_from(printed_x, option="--printed-x")
    y = None if printed_y is None else factor_from(printed_y, option="--printed-y")
    if printer is None:
        return Correction(1.0 if x is None else x, 1.0 if y is None else y)
    from carwright.draw.printers import data_folder, remember, remembered, remembered_or_new

    folder = data_folder()
    if x is None and y is None:
        return remembered(folder, printer)
    kept = remembered_or_new(folder, printer)
    now = Correction(kept.x if x is None else x, kept.y if y is None else y, kept.printer)
    remember(folder, now)
    return now


def print_failing(findings: Sequence[Finding]) -> None:
    """Print which checks fail, the reason for status 1; nothing where none does."""
    from carwright.cli.show_plan import failing_lines

    for line in failing_lines(findings):
        print(line)


def wrote(path: Path, *, replaced: bool) -> str:
    """Return what is said of a file that was written."""
    from carwright.cli.page import plain

    return f"wrote {plain(str(path))}" + (", over the one that was there" if replaced else "")


def correction_lines(correction: Correction) -> list[str]:
    """Return what is said of the correction behind the files' names, with a warning where it is too great to trust."""
    from carwright.cli.page import plain, wrapped

    said, note = plain(correction.said()), correction.note()
    lines = [f"{said[:1].upper()}{said[1:]}. Check the bars before you cut."]
    return [*lines, *wrapped(f"Note: {note}")] if note else lines


def correction_as_json(correction: Correction) -> dict[str, object]:
    """Return the correction for other programs; ``note`` is the warning, or None."""
    return {
        "x": correction.x,
        "y": correction.y,
        "printer": correction.printer or None,
        "note": correction.note() or None,
    }


def _document(drawn: Sequence[Drawn], correction: Correction) -> dict[str, object]:
    return {
        "files": [
            {"view": each.view, "format": each.format, "path": str(each.path), "replaced": each.replaced}
            for each in drawn
        ],
        "correction": correction_as_json(correction),
    }
