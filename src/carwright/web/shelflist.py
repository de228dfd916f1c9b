"""A list or file brought onto the shelf: at once where nothing is wrong with it, else shown with its slips to mend."""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from fastapi import APIRouter, Request
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import UploadFile
from starlette.responses import RedirectResponse, Response

from carwright.car.document import MAX_BYTES, decoded
from carwright.car.listtext import separator_of, text_of_list
from carwright.car.read import read_shelf
from carwright.car.shelfcsv import Imported, shelf_of_csv, sizes_as_typed, unguarded
from carwright.problems import InputError, Problem
from carwright.web.pages import by_of, render, shop_of

if TYPE_CHECKING:
    from carwright.shop import Shop

__all__ = ["list_router"]

list_router = APIRouter(include_in_schema=False)

_ROUNDS: Final = 6
"""So often are lines with slips set aside; each reading of a list finds those of its own kind."""


@dataclass(frozen=True, slots=True)
class Slip:
    """A line that cannot come in, as it stands in the list, and what is wrong with it; line 0 is the whole list."""

    line: int
    text: str
    problems: tuple[Problem, ...]


@dataclass(frozen=True, slots=True)
class Coming:
    """A line that would come in: what it is, its name, its sizes as typed, and how many there are."""

    line: int
    table: str
    name: str
    sizes: str
    count: str


@dataclass(frozen=True, slots=True)
class Sifted:
    """A list with its slips, the lines without one, and the shelf with those; None where no line can come in."""

    slips: tuple[Slip, ...]
    coming: tuple[Coming, ...]
    imported: Imported | None


@list_router.post("/shelf/import")
async def bring(request: Request) -> Response:
    """Put a spreadsheet's list, or another shelf file, on the shelf; one with slips is shown to be mended."""
    form = await request.form(max_files=1, max_fields=8, max_part_size=2 * MAX_BYTES)
    sent = form.get("file")
    name, data = str(form.get("name", "")), str(form.get("text", "")).encode()
    if isinstance(sent, UploadFile):
        name, data = sent.filename or "", await sent.read(MAX_BYTES + 1)
    only = bool(form.get("only"))
    return await run_in_threadpool(_brought, request, name[:200], data, only=only)


def _brought(request: Request, name: str, data: bytes, *, only: bool) -> Response:
    shop = shop_of(request)
    there, revision = shop.shelf()
    text = ""
    try:
        if len(data) > MAX_BYTES:
            raise InputError(Problem("the file is larger than a shelf may be", file=name))
        if _is_file(name):
            text = decoded(data, file=name)
            read_shelf(data, file=name)
            return _saved(request, shop, data, revision, name)
        text = text_of_list(data, file=name)
        sifted = _sifted(text, there or None, name)
        if sifted.imported is not None and (only or not sifted.slips):
            return _saved(request, shop, sifted.imported.document, revision, name)
    except InputError as trouble:
        sifted = Sifted(_by_line(trouble.problems, text), (), None)
    return render(request, "shelflist.html", status=422, here="shelf", name=name, text=text, sifted=sifted)


def _is_file(name: str) -> bool:
    return name.casefold().endswith(".toml")


def _saved(request: Request, shop: Shop, document: bytes, revision: int, name: str) -> Response:
    shop.save_shelf(document, based_on=revision, by=by_of(request), note=f"From {name or 'a list'}"[:200])
    return RedirectResponse("/shelf", 303)


def _sifted(text: str, there: bytes | None, name: str) -> Sifted:
    """Return a list with the lines set aside that have slips, until what is left can come in."""
    lines = text.splitlines()
    header = next((at for at, line in enumerate(lines, 1) if line.strip(" \t,;\ufeff")), 0)
    problems: list[Problem] = []
    for _ in range(_ROUNDS):
        kept = "\n".join(lines)
        try:
            imported = shelf_of_csv(kept, there, file=name)
        except InputError as trouble:
            problems += trouble.problems
            bad = {each.line for each in trouble.problems}
            if None in bad or header in bad:
                break
            # An empty line is passed over, and the lines after it keep their numbers.
            lines = ["" if at in bad else line for at, line in enumerate(lines, 1)]
        else:
            coming = _coming(kept)
            return Sifted(_by_line(problems, text), coming, imported if coming else None)
    return Sifted(_by_line(problems, text), (), None)


def _by_line(problems: list[Problem] | tuple[Problem, ...], text: str) -> tuple[Slip, ...]:
    """Return what is wrong line by line, what is said of the whole first."""
    lines = ["", *text.splitlines()]
    found: dict[int, list[Problem]] = {}
    for each in problems:
        found.setdefault(each.line or 0, []).append(each)
    return tuple(Slip(at, lines[at] if at < len(lines) else "", tuple(mine)) for at, mine in sorted(found.items()))


def _coming(text: str) -> tuple[Coming, ...]:
    """Return the rows of stock of a list that can be read."""
    plain = text.removeprefix("\ufeff")
    reader = csv.reader(io.StringIO(plain, newline=""), delimiter=separator_of(plain))
    rows = [(reader.line_num, cells) for cells in reader if any(cell.strip() for cell in cells)]
    names = [cell.strip().casefold().replace(" ", "_") for cell in rows[0][1]]
    found = []
    for line, cells in rows[1:]:
        row = {name: unguarded(cell) for name, cell in zip(names, cells, strict=False) if cell.strip()}
        table = row.get("table", "").strip().casefold()
        if table != "shelf":
            sizes = sizes_as_typed(table, row)
            found.append(Coming(line, table, row.get("name", ""), sizes, row.get("count", "any")))
    return tuple(found)
