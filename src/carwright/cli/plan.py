"""``carwright plan``: floor, heights, holes, weight and curve of a car, why each number is so, and what passes."""

from __future__ import annotations

import json as json_format
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING

from carwright.problems import InputError, Problem

if TYPE_CHECKING:
    from carwright.plan import Plan

__all__ = ["command", "give"]


def command(
    car: Path,
    /,
    *,
    shelf: Path | None = None,
    why: str | None = None,
    take: int | None = None,
    json: bool = False,
    out: Path | None = None,
) -> int:
    """Work out floor, ride height and holes of a car, and say what passes.

    The plan is the car as its file says it. Other ways to stand are listed best
    first; --take writes one of them into the file. Status 1 when a check fails.

    Args:
        car: The car file.
        shelf: A file with the shop's shelf, beside the car file's own.
        why: Show how one number comes about, by its path: ride.a.error_mm, floor.length_mm. "list" names every path.
        take: Write this way to stand into the car file; comments stay.
        json: Print JSON for other programs.
        out: Write the page, or the JSON, into this file.
    """
    from carwright.car.read import read_car_file, read_shelf_file
    from carwright.cli.show_why import document_page
    from carwright.findings import worst_verdict
    from carwright.plan import document_of, make_plan

    if why is not None and take is not None:
        raise InputError(Problem("one of --why and --take at a time", key="--why", mend="Give one after the other."))
    stock = None if shelf is None else read_shelf_file(shelf)
    found = read_car_file(car, shelf=stock)
    if take is not None:
        from carwright.cli.take import save_way, taken_as_json, taken_lines

        taken, name = save_way(found, take, shelf=stock), str(car)
        told = taken_as_json(taken, file=name)
        give(json_format.dumps(told, ensure_ascii=False, indent=2) if json else taken_lines(taken, file=name), out)
        return 1 if worst_verdict(taken.plan.findings) == "fail" else 0
    plan = make_plan(found.car)
    give(document_page(document_of(plan), why, plan.car.info.units, json=json, lines=lambda: _lines(plan, car)), out)
    return 1 if why is None and worst_verdict(plan.findings) == "fail" else 0


def _lines(plan: Plan, car: Path) -> Iterable[str]:
    from carwright.cli.show_plan import plan_lines

    return plan_lines(plan, file=str(car))


def give(page: str | Iterable[str], out: Path | None) -> None:
    """Print a page, or write it whole into a file."""
    text = page if isinstance(page, str) else "\n".join(page)
    if out is None:
        print(text)
        return
    from carwright.draw.files import write_file

    write_file(out, (text + "\n").encode())
