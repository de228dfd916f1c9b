"""``carwright cut``: cutting plans for a batch out of the shelf."""

from __future__ import annotations

import json as json_format
import signal
import time as clock
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Literal

from cyclopts import Parameter

from carwright.problems import InputError, Problem

if TYPE_CHECKING:
    from carwright.car.model import Shelf
    from carwright.draw.blocks import Paper
    from carwright.lengths import Units
    from carwright.stock.batch import Batch
    from carwright.stock.demand import Apart, Wanted
    from carwright.stock.leaving import Choice, Chosen

__all__ = ["Wish", "command", "draw_batch", "wish_of_files"]


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
    leave_out: Annotated[tuple[str, ...], Parameter(name="--leave-out")] = (),
    only: tuple[str, ...] = (),
    take: bool = False,
    bought: bool = False,
    again: bool = False,
    draw: Path | None = None,
    paper: Literal["letter", "a4"] | None = None,
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
        leave_out: A piece that is not cut this time, by its name; may be given again, and * stands for anything:
            "crosstie * flange".
        only: A piece that is cut, and nothing else; may be given again.
        take: Take the plan from the shelf: stock goes down, offcuts worth keeping appear. The same wish only once.
        bought: What the plan has to buy has been bought; with --take.
        again: Take the same wish once more; with --take.
        draw: Write the cutting into this folder: cutting.pdf to print, cuts.csv, and each diagram as SVG and DXF.
        paper: letter or a4, for the pages. Without it, letter for a shelf in inches, a4 for one in millimetres.
        json: Print JSON for other programs.
        out: Write the page, or the JSON, into this file.
    """
    from carwright.cli.plan import give
    from carwright.cli.progress import at_work
    from carwright.cli.shelfplans import (
        already_json,
        already_lines,
        not_taken_lines,
        put_back_unless_told,
        save_unchanged,
        taking_json,
        taking_lines,
    )
    from carwright.cli.show_cut import batch_lines, filling_lines
    from carwright.stock.batch import cut_batch, fill_first
    from carwright.stock.leaving import Choice
    from carwright.stock.published import batch_json, filling_json
    from carwright.stock.shelfdocument import plan_again, taken_before, with_plan
    from carwright.stock.taking import plan_identity
    from carwright.stock.taking import take as take_from

    files = (pieces, *more)
    place, stock, units = _shelf(shelf, files)
    wish = wish_of_files(files, shelf, units, Choice(leave_out, only))
    kerf_mm = _kerf(kerf, units)
    snapped = kerf_mm == 0 and (snap or wish.cars)
    _check_taking(take=take, bought=bought, again=again, one_sheet=one_sheet)
    for name, given in (("--snap", snap), ("--draw", draw is not None)):
        if one_sheet and given:
            mend = "Leave it out; or leave out --one-sheet, for a plan that keeps such rules and is drawn."
            raise InputError(Problem(f"one sheet filled for its value has no {name[2:]}", mend=mend, key=name))
    plan = plan_identity(wish.contents, kerf_mm=kerf_mm, rotate=not no_rotate, snapped=snapped, left_out=wish.left_out)
    if take and (record := taken_before(stock, plan)) is not None:
        if not again:
            give(_text(already_json(record, place.path)) if json else already_lines(record, place.path), out)
            return 0
        plan = plan_again(stock, plan)
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
    with at_work("cutting") as say, _stoppable(end, say) as watch:
        if one_sheet:
            filling = fill_first(wish.lines, stock, kerf_mm=kerf_mm, rotate=not no_rotate, time=limit, watch=watch)
        else:
            batch = cut_batch(
                wish.lines,
                stock,
                kerf_mm=kerf_mm,
                rotate=not no_rotate,
                snapped=snapped,
                time=limit,
                watch=watch,
                deadline_ms=None if end is None else lambda: int(1000 * max(0.0, end - clock.monotonic())),
                units=units,
            )
            batch = replace(batch, left_out=wish.left_out, apart=wish.apart)
    if one_sheet:
        give(_text(filling_json(filling)) if json else filling_lines(filling, units, kerf_mm=kerf_mm), out)
        return 0
    if draw is not None:
        on = paper or ("letter" if units == "in" else "a4")
        draw_batch(batch, draw, units, paper=on, who=[path.stem for path in files], waiting=wish.waiting)
    told = {"plan": plan, **batch_json(batch, list(wish.waiting))}
    page = [*batch_lines(batch, list(wish.waiting), units)]
    buys = batch.lacking or (batch.must_buy and not (take and bought))
    if take and buys:
        told["taken"] = None
        page += ["", *not_taken_lines(batch)]
    elif take:
        if wall is None and not watch():
            raise InputError(Problem("the search was stopped; nothing was taken", mend="Take it with more time."))
        taking = take_from(stock, batch, plan=plan, bought=bought, units=units)
        new = with_plan(place.document, taking, on=f"{datetime.now():%Y-%m-%d %H:%M}", file=str(place.path))
        save_unchanged(place.path, place.document, new)
        told["taken"] = taking_json(taking, place.path)
        page += ["", *taking_lines(taking, place.path)]
    with put_back_unless_told(place.path, place.document):
        give(_text(told) if json else page, out)
    return 1 if buys else 0


def _text(value: dict[str, Any]) -> str:
    return json_format.dumps(value, ensure_ascii=False, indent=2)


def _is_list(path: Path) -> bool:
    return path.suffix.lower() == ".csv"


@dataclass(frozen=True, slots=True)
class _Place:
    """Where the shelf is written down: its file, and the file's bytes as they were read."""

    path: Path
    document: bytes


def _names(files: Sequence[Path]) -> list[str]:
    """Return what each car or list is called: its file's name, or its folder's where several files have one name."""
    stems = [path.stem for path in files]
    if len(set(stems)) == len(stems):
        return stems
    return [path.resolve().parent.name if stems.count(path.stem) > 1 else path.stem for path in files]


def _check_taking(*, take: bool, bought: bool, again: bool, one_sheet: bool) -> None:
    if one_sheet and take:
        mend = "Put the pieces that it fills the sheet with on a list, and take that."
        raise InputError(Problem("one sheet filled for its value cannot be taken", mend=mend, key="--take"))
    for name, given in (("--bought", bought), ("--again", again)):
        if given and not take:
            raise InputError(Problem(f"{name} says how a plan is taken", mend="Give --take too.", key=name))


def _shelf(shelf: Path | None, files: tuple[Path, ...]) -> tuple[_Place, Shelf, Units]:
    """Return the shelf, where it is written down, and the unit of its bare numbers."""
    from carwright.car.read import bytes_of, read_car_file, read_shelf
    from carwright.car.shelfcsv import units_of_shelf

    if shelf is None:
        if len(files) == 1 and not _is_list(files[0]):
            found = read_car_file(files[0])
            return _Place(files[0], found.document), found.car.shelf, found.car.info.units
        raise InputError(
            Problem("no shelf is named", accepted="--shelf SHELF.toml", mend="Name the shelf file.", key="--shelf")
        )
    data = bytes_of(shelf, what="a shelf file")
    if not data.strip():
        mend = "Put something on it: carwright shelf add SHELF sheet thickness=0.030 width=6 length=12 count=2"
        raise InputError(
            Problem("the shelf file is empty", accepted="tables such as [[shelf.sheet]]", mend=mend, file=str(shelf))
        )
    stock = read_shelf(data, file=str(shelf))
    return _Place(shelf, data), stock, units_of_shelf(data)


@dataclass(frozen=True, slots=True)
class Wish:
    """What files want cut.

    Args:
        lines: the pieces.
        waiting: names of those whose measurements are missing.
        left_out: names of those that are left out.
        cars: whether any of it is of a car.
        contents: name and content of each file, by which the wish is known again.
        apart: pieces that are wanted too, and that no plan is made for.
    """

    lines: tuple[Wanted, ...]
    waiting: tuple[str, ...]
    left_out: tuple[str, ...]
    cars: bool
    contents: tuple[tuple[str, str], ...]
    apart: tuple[Apart, ...] = ()


def wish_of_files(files: Sequence[Path], shelf: Path | None, units: Units, choice: Choice | None = None) -> Wish:
    """Return what car files and lists want cut.

    Args:
        files: car files and lists.
        shelf: the shelf's file, None for a car's own.
        units: of a list's bare numbers.
        choice: which pieces are cut; None for all.

    Raises:
        InputError: with the problems of all of them.
    """
    from carwright.car.listtext import text_of_list
    from carwright.car.read import bytes_of, read_car_file, read_shelf_file
    from carwright.plan import make_plan
    from carwright.stock.leaving import Choice, chosen_of_list, chosen_of_plan
    from carwright.stock.piecelist import read_pieces
    from carwright.stock.taking import wish_of_car

    wanted = choice or Choice()
    found: list[Chosen] = []
    contents: list[tuple[str, str]] = []
    problems: list[Problem] = []
    shop = None if shelf is None else read_shelf_file(shelf)
    for path, name in zip(files, _names(files), strict=True):
        try:
            if _is_list(path):
                data = bytes_of(path, what="a list of pieces")
                asked = read_pieces(text_of_list(data, file=str(path)), file=str(path), units=units)
                found.append(chosen_of_list(asked, wanted))
                contents.append((name, data.decode("utf-8")))
            else:
                car = read_car_file(path, shelf=shop)
                plan = make_plan(car.car)
                called = name if len(files) > 1 else ""
                found.append(chosen_of_plan(plan.pieces, wanted, car=called, holes=plan.holes))
                contents.append((name, wish_of_car(car.document)))
        except InputError as trouble:
            problems += trouble.problems
    if problems:
        raise InputError(problems)
    wanted.check([each for one in found for each in one.known])
    lines = tuple(line for one in found for line in one.lines)
    if not lines and not any(one.waiting for one in found):
        mend = "Leave out fewer pieces." if any(one.left_out for one in found) else ""
        raise InputError(Problem("there is no piece to cut", mend=mend))
    return Wish(
        lines,
        tuple(name for one in found for name in one.waiting),
        tuple(name for one in found for name in one.left_out),
        any(not _is_list(path) for path in files),
        tuple(contents),
        tuple(piece for one in found for piece in one.apart),
    )


def _kerf(text: str | None, units: Units) -> float:
    from carwright.lengths import parse_length

    return 0.0 if text is None else parse_length(text, units=units, taken="nominal", name="--kerf").mm


_SAY_AFTER_S = 2.0


@dataclass(slots=True)
class _Watch:
    """Says no once the clock has run out or Ctrl-C was pressed; after two seconds says how far the search is."""

    end: float | None
    say: Callable[[str], None]
    began: float = field(default_factory=clock.monotonic)
    pressed: bool = False

    def __call__(self) -> bool:
        return not self.pressed and (self.end is None or clock.monotonic() < self.end)

    def tell(self, best: float, bound: float) -> None:
        if clock.monotonic() - self.began >= _SAY_AFTER_S:
            gap = 0.0 if best <= bound else (best - bound) / best
            self.say(f"best {best:.10g}, bound {bound:.10g}, gap {100 * gap:.2f} %; Ctrl-C keeps the best")

    def press(self, _number: int, _frame: object) -> None:
        """Take a Ctrl-C: the first ends the search, a second one everything."""
        if self.pressed:
            raise KeyboardInterrupt
        self.pressed = True


@contextmanager
def _stoppable(end: float | None, say: Callable[[str], None]) -> Iterator[_Watch]:
    """Give a watch that hears Ctrl-C; not in a thread other than the first, where whoever runs us hears the keys."""
    watch = _Watch(end, say)
    try:
        before = signal.signal(signal.SIGINT, watch.press)
    except ValueError:
        yield watch
        return
    try:
        yield watch
    finally:
        signal.signal(signal.SIGINT, before)


def draw_batch(
    batch: Batch,
    folder: Path,
    units: Units,
    *,
    paper: Paper,
    who: Sequence[str],
    waiting: Sequence[str] = (),
    option: str = "--draw",
) -> list[str]:
    """Write the pages, the list of cuts, and an SVG and a DXF of each diagram into a folder; return their names.

    ``option`` is by which the folder was named, for the problems.
    """
    from carwright.book.cutpages import cutting_pdf
    from carwright.cli.show_cut import cuts_csv
    from carwright.draw.cutdiagrams import cut_drawings
    from carwright.draw.dxf import reading_dxf
    from carwright.draw.files import write_file
    from carwright.draw.svg import svg

    head = ", ".join(who[:3]) + (f" and {len(who) - 3} more" if len(who) > 3 else "")
    write_file(folder / "cutting.pdf", cutting_pdf(batch, units, who=head, waiting=waiting, paper=paper), option=option)
    write_file(folder / "cuts.csv", cuts_csv(batch, units).encode("utf-8"), option=option)
    names = ["cutting.pdf", "cuts.csv"]
    for drawing in cut_drawings(batch, units):
        write_file(folder / f"{drawing.name}.svg", svg(drawing).encode("utf-8"), option=option)
        write_file(folder / f"{drawing.name}.dxf", reading_dxf(drawing), option=option)
        names += [f"{drawing.name}.svg", f"{drawing.name}.dxf"]
    return names
