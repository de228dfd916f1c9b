"""``carwright calendar``: when each step happens, for jobs on facilities."""

from __future__ import annotations

import json as json_format
from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from carwright.problems import InputError, Problem

__all__ = ["command"]


def command(
    *,
    problem: Path | None = None,
    time: float = 10.0,
    json: bool = False,
    out: Annotated[Path | None, Parameter(name="--out")] = None,
) -> int:
    """Say when each step of a batch happens, proven the shortest where it can be.

    Args:
        problem: A bare problem (.json): facilities with their places, jobs with steps and waits.
        time: Units of counted work, about a second each; the same input gives the same calendar.
        json: Print JSON for other programs.
        out: Write the page, or the JSON, into this file.
    """
    from carwright.calendar.shop import read_shop
    from carwright.calendar.shopsolve import solve_shop
    from carwright.car.read import bytes_of
    from carwright.cli.plan import give
    from carwright.cli.progress import at_work
    from carwright.cli.show_calendar import shop_lines

    if problem is None:
        raise InputError(Problem("no problem is named", accepted="--problem FILE.json", key="--problem"))
    if not 0 < time <= 3600:
        raise InputError(
            Problem("so much work cannot be asked for", value=f"{time:g}", accepted="above 0, to 3600", key="--time")
        )
    shop = read_shop(bytes_of(problem, what="a problem"), file=str(problem))
    with at_work("ordering the steps"):
        answer = solve_shop(shop, work=time)
    give(json_format.dumps(answer.as_dict(), ensure_ascii=False) if json else shop_lines(shop, answer), out)
    return 0
