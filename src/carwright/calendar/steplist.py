"""A list of steps as TOML: what a car's finish asks for, or what somebody writes down for himself."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, tzinfo
from typing import get_args

from carwright.calendar.fields import Fields, table_of
from carwright.finish.steps import AT_ONCE_OR_LATER, Act, Step, Use, Wait, Window
from carwright.problems import InputError, Problem

__all__ = ["in_zone", "read_steps"]


def read_steps(data: bytes, *, file: str) -> tuple[Step, ...]:
    """Return the steps of a file with ``[[step]]`` tables; moments without a time zone are left so.

    Raises:
        InputError: every slip at once, each with its step counted from 1.
    """
    problems: list[Problem] = []
    table = table_of(data, file=file, what="a list of steps")
    top = Fields(table, "", file, problems, "step")
    rows = top.listed("step")
    if not rows:
        top.slip("step", "there is no step in it", accepted="[[step]] with car, id, minutes")
    steps = tuple(_step(row, f"step[{n}]", file, problems) for n, row in enumerate(rows, 1))
    if problems:
        raise InputError(problems)
    return steps


_KEYS = "car id act title minutes surfaces facilities colour after wait rack hold at done"


def _step(row: object, key: str, file: str, problems: list[Problem]) -> Step:
    fields = Fields(row, key, file, problems, _KEYS)
    name = fields.text("id", None)
    act = fields.text("act", "fit")
    if act not in get_args(Act):
        fields.slip("act", "there is no such act", act, ", ".join(get_args(Act)))
    uses = []
    for each in fields.listed("facilities"):
        if isinstance(each, dict):
            use = Fields(each, f"{key}.facilities", file, problems, "name stays")
            uses.append(Use(use.text("name", None), use.minutes("stays")))
        else:
            uses.append(Use(str(each)))
    waits = [Wait(str(each)) for each in fields.listed("after")]
    for each in fields.listed("wait"):
        wait = Fields(each, f"{key}.wait", file, problems, "after windows because source")
        windows = tuple(_window(wait, pair) for pair in wait.listed("windows")) or AT_ONCE_OR_LATER
        waits.append(Wait(wait.text("after", None), windows, wait.text("because"), "", wait.text("source")))
    return Step(
        id=name,
        car=fields.text("car", None),
        act=act,  # type: ignore[arg-type]  # refused above where it is none
        title=fields.text("title") or name.replace("_", " ").capitalize(),
        hands_min=fields.minutes("minutes"),
        surfaces=tuple(str(each) for each in fields.listed("surfaces")),
        facilities=tuple(uses),
        colour=fields.text("colour"),
        waits=tuple(waits),
        rack_min=fields.minutes("rack"),
        hold_point=fields.text("hold"),
        fixed_start=fields.moment("at"),
        done_at=fields.moment("done"),
    )


def _window(wait: Fields, pair: object) -> Window:
    if not isinstance(pair, list) or len(pair) != 2:
        wait.slip("windows", "a window has two ends", str(pair), '["0 h", "1 h"], ["48 h", "none"]')
        return Window(0)
    closes = None if str(pair[1]).strip().lower() in ("none", "") else wait.span("windows", pair[1])
    opens = wait.span("windows", pair[0])
    if closes is not None and closes < opens:
        wait.slip("windows", "a window closes before it opens", str(pair), mend="Give the earlier time first.")
        return Window(0)
    return Window(opens, closes)


def in_zone(steps: tuple[Step, ...], zone: tzinfo) -> tuple[Step, ...]:
    """Return the steps with their appointments and ends in a time zone, where they have none."""

    def told(moment: datetime | None) -> datetime | None:
        return moment.replace(tzinfo=zone) if moment is not None and moment.tzinfo is None else moment

    return tuple(replace(each, fixed_start=told(each.fixed_start), done_at=told(each.done_at)) for each in steps)
