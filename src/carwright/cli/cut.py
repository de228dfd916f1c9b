"""``carwright cut``: cutting plans for a batch out of the shelf."""

from __future__ import annotations

import json as json_format
import signal
import time as clock
import tomllib
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

from cyclopts import Parameter

from carwright.problems import InputError, Problem

if TYPE_CHECKING:
    from carwright.car.model import Shelf
    from carwright.lengths import Units
    from carwright.stock.demand import Wanted

__all__ = ["command"]


def command(
    pieces: Path,
    /,
    *more: Path,
    shelf: Path | None = None,
    kerf: str | None = None,
    no_rotate: bool = False,
    snap: bool = False,
    time: float = 10.0,
    wall: float | None = None,
    one_sheet: bool = False,
    draw: Path | None = None,
    json: bool = False,
    out: Annotated[Path | None, Parameter(name="--out")] = None,
) -> int:
    """Cut the pieces of cars or of a list out of the shelf: least cost, least waste, one long offcut.

    Each answer says whether it is proven the cheapest, or how far from it it may
    be. Status 1 when something must be bought.

    Args:
        pieces: A car file, or a list of pieces (.csv): name, material, thickness, width, length, quantity, value.
        more: Further car files and lists.
        shelf: The shelf file to cut from; of a single car, its own shelf by default.
        kerf: Width of the saw's cut: "0.015", "0.3 mm". Without it a knife, which takes nothing away.
        no_rotate: Do not turn pieces in the sheet.
        snap: Score and snap: cut off no strip of sheet that is too narrow to snap. Pieces of cars always are.
        time: Units of counted work, about a second each; the same input gives the same plan.
        wall: Seconds by the clock; the plan may then differ from one run to the next.
        one_sheet: Fill the first sheet of the shelf for the greatest value.
        draw: Write the cutting diagrams, an SVG and a DXF for each sheet and kind of strip, into this folder.
        json: Print JSON for other programs.
        out: Write the page, or the JSON, into this file.
    """
    from carwright.cli.plan import give
    from carwright.cli.progress import at_work
    from carwright.cli.show_cut import batch_json, batch_lines, filling_json, filling_lines
    from carwright.stock.batch import cut_batch, fill_first

    stock, units = _shelf(shelf, (pieces, *more))
    lines, waiting, cars = _wanted((pieces, *more), shelf, units)
    kerf_mm = _kerf(kerf, units)
    if not 0 < time <= 3600:
        raise InputError(
            Problem("so much work cannot be asked for", value=f"{time:g}", accepted="above 0, to 3600", key="--time")
        )
    if wall is not None and not 0 < wall <= 86400:
        raise InputError(
            Problem("so long cannot be waited", value=f"{wall:g}", accepted="above 0, to 86400", key="--wall")
        )
    end = None if wall is None else clock.monotonic() + wall
    limit = time if wall is None else 1e6
    with at_work("cutting"), _stoppable(end) as watch:
        if one_sheet:
            filling = fill_first(lines, stock, kerf_mm=kerf_mm, rotate=not no_rotate, time=limit, watch=watch)
        else:
            batch = cut_batch(
                lines,
                stock,
                kerf_mm=kerf_mm,
                rotate=not no_rotate,
                snapped=kerf_mm == 0 and (snap or cars),
                time=limit,
                watch=watch,
                deadline_ms=None if end is None else lambda: int(1000 * max(0.0, end - clock.monotonic())),
            )
    if one_sheet:
        give(_text(filling_json(filling)) if json else filling_lines(filling, units), out)
        return 0
    if draw is not None:
        _draw(batch, draw)
    give(_text(batch_json(batch, waiting)) if json else batch_lines(batch, waiting, units), out)
    return 1 if batch.status == "infeasible" else 0


def _text(value: dict[str, Any]) -> str:
    return json_format.dumps(value, ensure_ascii=False, indent=2)


def _is_list(path: Path) -> bool:
    return path.suffix.lower() == ".csv"


def _shelf(shelf: Path | None, files: tuple[Path, ...]) -> tuple[Shelf, Units]:
    """Return the shelf and the unit of its bare numbers."""
    from carwright.car.read import bytes_of, read_car_file, read_shelf

    if shelf is None:
        if len(files) == 1 and not _is_list(files[0]):
            car = read_car_file(files[0]).car
            return car.shelf, car.info.units
        raise InputError(
            Problem("no shelf is named", accepted="--shelf SHELF.toml", mend="Name the shelf file.", key="--shelf")
        )
    data = bytes_of(shelf, what="a shelf file")
    found = read_shelf(data, file=str(shelf))
    table = tomllib.loads(data.decode("utf-8-sig"))
    said = table.get("shelf", {}).get("units") or table.get("car", {}).get("units") or "in"
    return found, "mm" if said == "mm" else "in"


def _wanted(files: tuple[Path, ...], shelf: Path | None, units: Units) -> tuple[list[Wanted], list[str], bool]:
    """Return what is wanted, the pieces whose measurements are missing, and whether any of it is of a car."""
    from carwright.car.read import bytes_of, read_car_file, read_shelf_file
    from carwright.plan import make_plan
    from carwright.stock.demand import wanted_of_plan
    from carwright.stock.piecelist import read_pieces

    lines: list[Wanted] = []
    waiting: list[str] = []
    problems: list[Problem] = []
    shop = None if shelf is None else read_shelf_file(shelf)
    for path in files:
        try:
            if _is_list(path):
                data = bytes_of(path, what="a list of pieces")
                lines += read_pieces(data.decode("utf-8", "replace"), file=str(path), units=units)
            else:
                car = read_car_file(path, shelf=shop).car
                found, missing = wanted_of_plan(make_plan(car).pieces, car=path.stem if len(files) > 1 else "")
                lines += found
                waiting += missing
        except InputError as trouble:
            problems += trouble.problems
    if problems:
        raise InputError(problems)
    return lines, waiting, any(not _is_list(path) for path in files)


def _kerf(text: str | None, units: Units) -> float:
    from carwright.lengths import parse_length

    return 0.0 if text is None else parse_length(text, units=units, taken="nominal", name="--kerf").mm


@contextmanager
def _stoppable(end: float | None) -> Iterator[Callable[[], bool]]:
    """Give a watch that says no once the clock has run out or the first Ctrl-C was pressed; a second one ends all."""
    pressed: list[bool] = []

    def press(_number: int, _frame: object) -> None:
        if pressed:
            raise KeyboardInterrupt
        pressed.append(True)

    try:
        before = signal.signal(signal.SIGINT, press)
    except ValueError:  # not in the main thread: whoever runs us there hears the keys
        yield lambda: end is None or clock.monotonic() < end
        return
    try:
        yield lambda: not pressed and (end is None or clock.monotonic() < end)
    finally:
        signal.signal(signal.SIGINT, before)


def _draw(batch: Any, folder: Path) -> None:
    """Write an SVG and a DXF of each diagram into a folder."""
    from carwright.draw.cutdiagrams import cut_drawings
    from carwright.draw.dxf import reading_dxf
    from carwright.draw.files import write_file
    from carwright.draw.svg import svg

    for drawing in cut_drawings(batch):
        write_file(folder / f"{drawing.name}.svg", svg(drawing).encode("utf-8"))
        write_file(folder / f"{drawing.name}.dxf", reading_dxf(drawing))
