"""``carwright sheet``: the measuring sheet for the bench."""

from __future__ import annotations

import json as json_format
from pathlib import Path
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from carwright.car.model import Car

__all__ = ["command", "sheet_pdf"]


def command(
    car: Path,
    /,
    *,
    out: Path | None = None,
    paper: Literal["letter", "a4"] | None = None,
    json: bool = False,
) -> int:
    """Make the measuring sheet: each size has a letter, a box and the way to take it; what is known stands in its box.

    Its first page asks for the letters A to N, its second for what only a curve
    needs to know.

    Args:
        car: The car file.
        out: The PDF to write, or a folder for it; without it, the folder you are in.
        paper: letter or a4. Without it, letter for cars in inches, a4 for those in millimetres.
        json: Print the file's name and the letters for other programs.
    """
    from carwright.car.read import read_car_file
    from carwright.cli.draw import stem_of, wrote
    from carwright.draw.files import checked_place, write_file
    from carwright.draw.sheet import curve_page_keys, wanted_keys

    found = read_car_file(car).car
    name = f"{stem_of(car)}-sheet.pdf"
    place = Path(name) if out is None else out / name if out.is_dir() or not out.suffix else out
    data = sheet_pdf(found, paper=paper)
    replaced = write_file(checked_place(place, ".pdf", source=car), data)
    letters = [key.letter for key in wanted_keys(found)]
    for_curves = [key.letter for key in curve_page_keys(found)]
    if json:
        told = {"path": str(place), "replaced": replaced, "letters": letters, "curve_letters": for_curves}
        print(json_format.dumps(told, ensure_ascii=False, indent=2))
    else:
        print(wrote(place, replaced=replaced))
        print(
            f"To measure: {', '.join(letters)}." if letters else "Letters A to N are all answered, as they stand there."
        )
        if for_curves:
            print(f"Only for curves, on its second page: {', '.join(for_curves)}.")
    return 0


def sheet_pdf(car: Car, *, paper: Literal["letter", "a4"] | None = None) -> bytes:
    """Return the measuring sheet of a car as a PDF; without ``paper``, letter for inches and a4 for millimetres."""
    from carwright.draw.pdf import pdf
    from carwright.draw.sheet import measuring_pages

    chosen = paper or ("letter" if car.info.units == "in" else "a4")
    return pdf(measuring_pages(car, paper=chosen), title=f"Measuring sheet, {car.info.name}", paper=chosen)
