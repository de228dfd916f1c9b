"""``carwright book``: the build book of a car, as one PDF."""

from __future__ import annotations

import json as json_format
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from carwright.problems import InputError

if TYPE_CHECKING:
    from carwright.book.cutpages import Cutting
    from carwright.car.model import Shelf
    from carwright.plan.model import Plan

__all__ = ["command"]


def command(
    car: Path,
    /,
    *,
    out: Path | None = None,
    paper: Literal["letter", "a4"] | None = None,
    printed_x: str | None = None,
    printed_y: str | None = None,
    printer: str | None = None,
    shelf: Path | None = None,
    cutting: bool = False,
    json: bool = False,
) -> int:
    """Make the build book: checks, drawings, tables, templates, order of work, working and sources.

    Pages that are true to size carry bars of 100 mm and 4 in; what you measure on
    them goes in with --printed-x and --printed-y, as for draw. Status 1 when a
    check fails, on the bench, on the curve or on the scales: the first pages say so.

    Args:
        car: The car file.
        out: The PDF, or a folder for it; without it, the folder you are in.
        paper: letter or a4. Without it, letter for cars in inches, a4 for those in millimetres.
        printed_x: What the 100 mm bar along the paper's short edge measured, such as 99.7; in inches name the bar,
            100 mm or 4 in, as in "4.01 in of 4 in".
        printed_y: What the 100 mm bar along its long edge measured.
        printer: A name for the printer, under which it is remembered how it prints.
        shelf: A file with the shop's shelf, beside the car file's own.
        cutting: Add all pages on cutting: what comes from which stock of the shelf, every cut in its order.
        json: Print what was written for other programs.
    """
    from carwright.book.contents import book_pdf
    from carwright.book.steps import steps_of
    from carwright.book.studied import study
    from carwright.car.read import read_car_file, read_shelf_file
    from carwright.cli.draw import correction_as_json, correction_lines, correction_of, print_failing, stem_of, wrote
    from carwright.draw.files import checked_place, write_file
    from carwright.findings import worst_verdict
    from carwright.plan import make_plan

    correction = correction_of(printed_x, printed_y, printer)
    shop = None if shelf is None else read_shelf_file(shelf)
    studied = study(make_plan(read_car_file(car, shelf=shop).car))
    chosen = paper or ("letter" if studied.plan.car.info.units == "in" else "a4")
    name = f"{stem_of(car)}-book.pdf"
    place = Path(name) if out is None else out / name if out.is_dir() or not out.suffix else out
    checked_place(place, ".pdf", source=car)
    cut, why_not = _cut(studied.plan, shop, drawn=cutting)
    made = book_pdf(studied.plan, paper=chosen, correction=correction, studied=studied, cutting=cut)
    replaced = write_file(place, made)
    verdict = worst_verdict(studied.findings)
    if json:
        steps = steps_of(studied)
        told = {
            "path": str(place),
            "replaced": replaced,
            "paper": chosen,
            "steps": len(steps),
            "holds": sum(step.hold for step in steps),
            "verdict": verdict,
            "fails": [each.check for each in studied.findings if each.verdict == "fail"],
            "correction": correction_as_json(correction),
        }
        print(json_format.dumps(told, ensure_ascii=False, indent=2))
    else:
        print(wrote(place, replaced=replaced))
        if why_not:
            print(why_not)
        print("\n".join(correction_lines(correction)))
        print_failing(studied.findings)
    return 1 if verdict == "fail" else 0


def _cut(plan: Plan, shop: Shelf | None, *, drawn: bool) -> tuple[Cutting | None, str]:
    """Return the cutting, where one is asked for or a shelf is named, and else why the shelf cannot be cut."""
    from carwright.book.cutpages import cutting_of

    if not drawn and shop is None:
        return None, ""
    try:
        return cutting_of(plan, shop, drawn=drawn), ""
    except InputError as trouble:
        if drawn:
            raise
        return None, f"The cut table is as planned, because the shelf cannot be cut: {trouble.problems[0]}"
