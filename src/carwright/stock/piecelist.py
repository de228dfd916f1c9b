"""A list of pieces as comma-separated text: one line for each piece, names of the columns in the first."""

from __future__ import annotations

import csv
import difflib
from dataclasses import replace

from carwright.car.listtext import money, separator_of
from carwright.lengths import Units, parse_length
from carwright.problems import InputError, Problem
from carwright.stock.demand import Wanted
from carwright.stock.whole import MOST_PIECES

__all__ = ["COLUMNS", "read_pieces"]

COLUMNS = ("name", "material", "thickness", "width", "length", "quantity", "value")
"""The columns; ``thickness`` and ``length`` must be there. Without a width a piece is cut from strip, rod or wire."""

_NEEDED = ("thickness", "length")


_EXAMPLE = (
    "For example, the names in the first line and a piece in each below it: name,thickness,width,length,quantity and "
    "then floor,0.040,1.2,5.8,2."
)


def read_pieces(text: str, *, file: str = "", units: Units = "in") -> list[Wanted]:
    r"""Return the lines of a list of pieces.

    Cells stand between commas, or between semicolons or tabs where the first line has no comma.
    A strip's section is written ``0.015 x 0.080`` in the column thickness, with no width. Material is styrene and
    quantity 1 where they are left out. Empty lines and lines that begin with # are skipped.

    Args:
        text: the file's text.
        file: its name, for problems.
        units: unit of bare numbers.

    Raises:
        InputError: with every problem found, each with its line.

    Example:
        >>> read_pieces("name,thickness,length,quantity\nsill,0.040,85 mm,4")[0].quantity
        4
    """
    sign = separator_of(text)
    reader = csv.reader(text.lstrip("\ufeff").splitlines(keepends=True), delimiter=sign, strict=True)
    rows: list[tuple[int, list[str]]] = []
    try:
        for row in reader:
            if any(cell.strip() for cell in row) and not row[0].lstrip().startswith("#"):
                rows.append((reader.line_num, row))
    except csv.Error as slip:
        mend = 'A quote that is opened is closed on the same line; write "" for a quote in a cell.'
        raise InputError(
            Problem(f"the list cannot be read: {slip}", mend=mend, file=file, line=reader.line_num)
        ) from None
    if not rows:
        raise InputError(Problem("the list of pieces is empty", accepted=",".join(COLUMNS), mend=_EXAMPLE, file=file))
    number, header = rows[0]
    names = [cell.strip().lower() for cell in header]
    problems = _header_problems(names, number, file)
    if problems:
        raise InputError(problems)
    found: list[Wanted] = []
    for number, row in rows[1:]:
        cells = {name: cell.strip() for name, cell in zip(names, row, strict=False)}
        try:
            if len(row) > len(names):
                raise InputError(
                    Problem(
                        "there are more cells than columns",
                        value=sign.join(row[len(names) :]),
                        accepted=f"{len(names)} cells",
                        mend="Put a cell that holds a comma into double quotes.",
                    )
                )
            found.append(_line(cells, len(found) + 1, units))
        except InputError as trouble:
            problems += [replace(each, file=file, line=number) for each in trouble.problems]
    if not problems and not found:
        mend = f"Write a line for each piece below the names of the columns. {_EXAMPLE}"
        problems.append(Problem("the list names its columns, and no piece", mend=mend, file=file, line=number))
    if problems:
        raise InputError(problems)
    return found


def _header_problems(names: list[str], line: int, file: str) -> list[Problem]:
    problems = []
    for name in names:
        if name not in COLUMNS or names.count(name) > 1:
            near = difflib.get_close_matches(name, COLUMNS, n=1)
            problems.append(
                Problem(
                    "this column is not known" if name not in COLUMNS else "this column is there twice",
                    value=name,
                    accepted=", ".join(COLUMNS),
                    mend=f"Did you mean {near[0]}?" if near and name not in COLUMNS else "Leave it out.",
                    file=file,
                    line=line,
                )
            )
    problems += [
        Problem(
            f"the column {name} is missing",
            accepted=", ".join(COLUMNS),
            mend="Name the columns in the first line.",
            file=file,
            line=line,
        )
        for name in _NEEDED
        if name not in names
    ]
    return problems[:1] if len(problems) > len(COLUMNS) else problems


def _line(cells: dict[str, str], place: int, units: Units) -> Wanted:
    def length(text: str, key: str) -> float:
        read = parse_length(text, units=units, taken="nominal", name=key)
        if read.mm <= 0:
            raise InputError(
                Problem(
                    "a size is more than nothing", value=text, accepted="more than 0", mend="Measure it again.", key=key
                )
            )
        return read.mm

    section = [part.strip() for part in cells.get("thickness", "").lower().replace("\u00d7", "x").split(" x ")]
    width = cells.get("width", "")
    if len(section) > 2 or (len(section) == 2 and width):
        raise InputError(
            Problem(
                "this is no section",
                value=cells.get("thickness", ""),
                accepted="a thickness, or without a width: thickness x width of a strip",
                mend="Write 0.015 x 0.080.",
                key="thickness",
            )
        )
    return Wanted(
        cells.get("name") or f"piece {place}",
        cells.get("material") or "styrene",
        length(section[0], "thickness"),
        length(width, "width") if width else None,
        length(cells.get("length", ""), "length"),
        _quantity(cells.get("quantity", "") or "1"),
        strip_mm=length(section[1], "thickness") if len(section) == 2 else None,
        value=money(cells.get("value", ""), "value"),
    )


def _quantity(text: str) -> int:
    number = int(text) if text.isascii() and text.isdigit() and len(text) < 12 else 0
    if 1 <= number <= MOST_PIECES:
        return number
    raise InputError(
        Problem(
            "the quantity cannot be used",
            value=text,
            accepted=f"a whole number, 1 to {MOST_PIECES}",
            mend="Leave the line out where none is wanted."
            if text.strip("0") == ""
            else "Write how many pieces there are, in figures.",
            key="quantity",
        )
    )
