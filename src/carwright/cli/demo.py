"""``carwright demo``: the six cars of the Kestrel Lake & Western, planned, drawn and told."""

from __future__ import annotations

import json as json_format
import os
import shlex
import shutil
import sys
from collections.abc import Iterator
from dataclasses import dataclass, replace
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from carwright.cli.demo_calendar import Painted
    from carwright.draw.blocks import Paper
    from carwright.draw.views import View
    from carwright.plan import Plan
    from carwright.shop import Shop, Stage
    from carwright.stock.batch import Batch

__all__ = ["activation", "command", "fill_shop"]

_CARS = ("boxcar", "n_car", "h0_car", "gondola", "flat_car", "reefer")
"""Car files of the package, in the order in which they are told."""


_CUT = ("n_car", "gondola", "flat_car")
"""Those that are cut out of one shelf: no check of theirs fails."""

_STANDS: dict[str, tuple[Stage, str]] = {
    "boxcar": ("plan", ""),
    "n_car": ("cut", ""),
    "h0_car": ("survey", "couplers from the post"),
    "gondola": ("build", "the glue to harden"),
    "reefer": ("finish", "the next free evening"),
    "flat_car": ("gauge", ""),
}
"""Where each car stands in the shop of the demonstration, and what it waits for."""

_FOR_CUTTERS: tuple[View, ...] = ("template", "pieces")
"""Views that come with a plain DXF beside them."""


@dataclass(frozen=True, slots=True)
class _Told:
    """One car of the demonstration: its plan, where its files lie, and their names."""

    name: str
    folder: Path
    plan: Plan
    files: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Batch:
    """The batch of the demonstration: its plans, where its files lie, and their names."""

    batch: Batch
    folder: Path
    files: tuple[str, ...]


def command(*, out: Path = Path("demo-out"), json: bool = False) -> int:
    """Plan, draw and print the six cars of the demonstration.

    A boxcar, a refrigerator car, a gondola and a flat car in HO, a gondola in N and a
    covered wagon in H0 to NEM, of an invented railroad, with invented numbers. Each gets
    a folder with its car file, the plan as text and JSON, its build book and all drawings
    as PDF, each drawing as SVG and DXF, and template and pieces as plain DXF for a cutter.
    Three of them are then cut out of one shelf, with cutting diagrams and a list to buy.
    The paint of all six is put on free evenings, with sheets for the paint shop, and
    planned again after a missed one. All six go into a shop, which a browser shows.
    Status 1 when a check on one of them fails, which is the demonstration's point.

    Args:
        out: The folder to write into.
        json: Print what was made as JSON for other programs.
    """
    from carwright.cli.demo_calendar import paint, painted_as_json
    from carwright.findings import worst_verdict

    told = list(_made(out))
    cut = _cut(out)
    painted = paint(out, _CARS)
    shop = _made_shop(out)
    if json:
        made = {
            "cars": [_as_json(each) for each in told],
            "cutting": _batch_as_json(cut),
            "calendar": painted_as_json(painted),
            "shop": str(shop),
        }
        print(json_format.dumps(made, ensure_ascii=False, indent=2))
    else:
        for line in _lines(told, cut, painted, shop):
            print(line)
    fails = any(worst_verdict(each.plan.findings) == "fail" for each in told)
    return 1 if fails else 0


def _made(out: Path) -> Iterator[_Told]:
    """Yield each car when all of its files are written."""
    from carwright.book.contents import book_pdf
    from carwright.car.read import read_car
    from carwright.cli.progress import steps
    from carwright.cli.show_plan import plan_lines
    from carwright.draw.dxf import plain_dxf, reading_dxf
    from carwright.draw.files import write_file
    from carwright.draw.pdf import pdf
    from carwright.draw.svg import svg
    from carwright.draw.views import VIEWS, drawing_of, pages_of
    from carwright.plan import document_of, make_plan

    for name in steps("Planning and drawing", _CARS):
        folder = out / name
        data = resources.files("carwright.demo").joinpath(f"{name}.toml").read_bytes()
        plan = make_plan(read_car(data, file=f"{name}.toml"))
        car_file = folder / "car.toml"
        document = json_format.dumps(document_of(plan).as_json(), ensure_ascii=False, indent=2)
        paper: Paper = "a4" if plan.car.info.units == "mm" else "letter"
        files = {
            "car.toml": data,
            "plan.txt": ("\n".join(plan_lines(plan, file=str(car_file))) + "\n").encode(),
            "plan.json": f"{document}\n".encode(),
            "book.pdf": book_pdf(plan, paper=paper),
            "drawings.pdf": pdf(pages_of(plan, VIEWS, paper=paper), title=plan.car.info.name, paper=paper),
        }
        for view in VIEWS:
            drawing = drawing_of(plan, view)
            files[f"{view}.svg"] = svg(drawing).encode()
            files[f"{view}.dxf"] = reading_dxf(drawing)
        for view in _FOR_CUTTERS:
            files[f"{view}-cut.dxf"] = plain_dxf(drawing_of(plan, view))
        for file, content in files.items():
            write_file(folder / file, content)
        yield _Told(name, folder, plan, tuple(files))


def _cut(out: Path) -> _Batch:
    """Cut three of the cars, whose files are written, out of the shelf of the demonstration."""
    from carwright.car.read import read_shelf
    from carwright.cli.cut import draw_batch, wish_of_files
    from carwright.cli.progress import at_work
    from carwright.cli.show_cut import batch_lines
    from carwright.draw.files import write_file
    from carwright.stock.batch import cut_batch
    from carwright.stock.published import batch_json

    folder = out / "cutting"
    data = resources.files("carwright.demo").joinpath("shelf.toml").read_bytes()
    write_file(folder / "shelf.toml", data)
    with at_work("cutting"):
        wish = wish_of_files([out / name / "car.toml" for name in _CUT], folder / "shelf.toml", "in")
        batch = replace(cut_batch(wish.lines, read_shelf(data), snapped=True, units="in"), apart=wish.apart)
    waiting = list(wish.waiting)
    text = json_format.dumps(batch_json(batch, waiting), ensure_ascii=False, indent=2)
    write_file(folder / "cut.json", f"{text}\n".encode())
    write_file(folder / "cut.txt", ("\n".join(batch_lines(batch, waiting, "in")) + "\n").encode())
    drawn = draw_batch(batch, folder, "in", paper="letter", who=_CUT, waiting=waiting, option="--out")
    return _Batch(batch, folder, ("shelf.toml", "cut.txt", "cut.json", *drawn))


def _made_shop(out: Path) -> Path:
    """Make a shop with the cars and the shelf, once: work that was done in it since stays."""
    from carwright.cli.progress import at_work
    from carwright.shop import open_shop

    path = out / "shop.carwright"
    with at_work("filling a shop"), open_shop(path) as shop:
        if not shop.cars(limit=1):
            fill_shop(shop)
    return path


def fill_shop(shop: Shop) -> None:
    """Put the demonstration's cars, each at its stage, and its shelf into an empty shop."""
    for name, (stage, waits_for) in _STANDS.items():
        data = resources.files("carwright.demo").joinpath(f"{name}.toml").read_bytes()
        slug = shop.add_car(data, note="of the demonstration").slug
        shop.set_stage(slug, stage)
        shop.set_waits_for(slug, waits_for)
    shop.save_shelf(resources.files("carwright.demo").joinpath("shelf.toml").read_bytes(), based_on=0)


def _batch_as_json(cut: _Batch) -> dict[str, object]:
    from carwright.stock.published import batch_json

    said = batch_json(cut.batch, [])
    return {"folder": str(cut.folder), "files": list(cut.files), **{name: said[name] for name in ("status", "buy")}}


def _batch_lines(cut: _Batch) -> Iterator[str]:
    """Yield what came of the batch, in a few lines."""
    from carwright.cli.page import command_line, plain, wrapped
    from carwright.cli.show_cut import buy_words
    from carwright.stock.batch import total_cost

    layouts = [layout for group in cut.batch.groups for layout in group.plan.layouts]
    pieces = sum(len(layout.pieces) for layout in layouts)
    proven = sum(group.plan.status in ("optimal", "infeasible") for group in cut.batch.groups)
    layered = len(cut.batch.layered)
    cost = total_cost(cut.batch)
    money = "" if cost is None else f", cost {cost[0]}"
    buy = "; ".join(buy_words(row, group, "in") for group in cut.batch.groups for row in group.plan.buy)
    yield from wrapped(
        f"Three of them cut out of one shelf: {pieces} pieces from {len(layouts)} sheets, rods and wires{money}; "
        f"{proven} of {len(cut.batch.groups)} plans proven the cheapest; {layered} pieces laminated. To buy: {buy}."
    )
    lists = [name for name in cut.files if not name.startswith("cut-")]
    diagrams = (len(cut.files) - len(lists)) // 2
    yield from wrapped(
        f"In {plain(str(cut.folder))}: {', '.join(lists)} and {diagrams} cutting diagrams, each as SVG and DXF"
    )
    yield "Cut them so, and let the shelf go down:"
    cars = [str(cut.folder.parent / name / "car.toml") for name in _CUT]
    yield command_line("cut", *cars, "--shelf", str(cut.folder / "shelf.toml"), "--take", "--bought")


def _as_json(told: _Told) -> dict[str, object]:
    from carwright.findings import worst_verdict

    ride = told.plan.ride
    return {
        "name": told.plan.car.info.name,
        "folder": str(told.folder),
        "files": list(told.files),
        "verdict": worst_verdict(told.plan.findings),
        "coupler_height_mm": {
            "a": None if ride.ends.a.coupler_height is None else ride.ends.a.coupler_height.value,
            "b": None if ride.ends.b.coupler_height is None else ride.ends.b.coupler_height.value,
        },
    }


def activation() -> str:
    """Return what puts this program's environment on the shell's path, "" where it is there or there is none."""
    if sys.prefix == sys.base_prefix or shutil.which("carwright") is not None:
        return ""
    windows = os.name == "nt"
    script = Path(sys.prefix) / ("Scripts" if windows else "bin") / "activate"
    if script.is_relative_to(Path.cwd()):
        script = script.relative_to(Path.cwd())
    return str(script) if windows else f". {shlex.quote(str(script))}"


def _lines(told: list[_Told], cut: _Batch, painted: Painted, shop: Path) -> Iterator[str]:
    from carwright.cli.demo_calendar import painted_lines
    from carwright.cli.page import command_line, plain, wrapped
    from carwright.cli.show_plan import summary_lines

    yield "Six cars of the Kestrel Lake & Western. All of their numbers are invented."
    for each in told:
        yield ""
        yield "-" * 80
        yield from summary_lines(each.plan)
        yield ""
        yield from wrapped(f"In {plain(str(each.folder))}: {', '.join(each.files)}")
    yield ""
    yield "-" * 80
    yield from _batch_lines(cut)
    yield ""
    yield "-" * 80
    yield from painted_lines(painted, _CARS)
    yield ""
    yield "-" * 80
    first = told[0].folder / "car.toml"
    activate = activation()
    if activate:
        yield "Once in each new shell, so that it finds carwright:"
        yield f"    {activate}"
    yield "The six cars in a shop, opened in the browser:"
    yield command_line("serve", "--shop", str(shop), "--open")
    yield "Why coupler A of the first car stands where it does, and the first cure taken:"
    yield command_line("plan", str(first), "--why", "ride.a.error_mm")
    yield command_line("plan", str(first), "--take", "1")
