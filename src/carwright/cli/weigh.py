"""``carwright weigh``: what a car should weigh, where ballast goes, how it stands and what pull tips it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from carwright.problems import InputError, Problem

if TYPE_CHECKING:
    from carwright.working import Working

__all__ = ["command"]


def command(
    car: Path,
    /,
    *,
    radius: str | None = None,
    track: Path | None = None,
    trailing: str | None = None,
    rolling: str | None = None,
    grade: str | None = None,
    why: str | None = None,
    shelf: Path | None = None,
    json: bool = False,
    out: Path | None = None,
) -> int:
    """Say what a car should weigh, where ballast goes, how it stands, what pull tips it.

    What is there, what is still to be fitted and what is still to add make up the
    target of the rule. Ballast from the shelf is chosen for the room that the plan
    leaves: the target first, then balance, then low, then few pieces, and no better
    choice exists. On a curve it tells two pulls: at which a wheel lifts and at which
    the car tips. Status 1 when the target cannot be met.

    Args:
        car: The car file.
        radius: A steady curve, to the centre line: "18 in", "457 mm".
        track: A track file: straights, curves, easements and turnouts in a row.
        trailing: What each car weighs that hangs on it: "4 oz", "115 g"; without it, as much as this one.
        rolling: The grade on which they just roll: "2%"; without it that of a car that passes a club's test.
        grade: Upward: "2.5%", "1:40"; without it, level.
        why: Show how one number comes about, by its path: wheel_lift_pull_n. "list" names every path.
        shelf: A file with the shop's shelf, beside the car file's own.
        json: Print JSON for other programs.
        out: Write the page, or the JSON, into this file.
    """
    from carwright.car.read import read_car_file, read_shelf_file
    from carwright.cli.curve import length_of, one_curve, track_of
    from carwright.cli.plan import give
    from carwright.cli.show_weigh import weigh_lines
    from carwright.cli.show_why import document_page
    from carwright.findings import worst_verdict
    from carwright.plan.weighdocument import weigh_document
    from carwright.plan.weighing import weigh
    from carwright.weight.amounts import grade_of

    one_curve(radius, track)
    found = read_car_file(car, shelf=None if shelf is None else read_shelf_file(shelf)).car
    answer = weigh(
        found,
        track=None if track is None else track_of(track, found),
        radius=None if radius is None else length_of(radius, found, name="radius of the curve", key="--radius"),
        trailing_mass=None if trailing is None else _mass(trailing),
        rolling=None if rolling is None else _rolling(rolling),
        grade=None if grade is None else grade_of(grade),
        file=str(car),
        track_file="" if track is None else str(track),
    )
    document, units = weigh_document(answer), found.info.units
    give(document_page(document, why, units, json=json, lines=lambda: weigh_lines(answer)), out)
    return 1 if why is None and worst_verdict(answer.findings) == "fail" else 0


def _mass(text: str) -> Working:
    """Return what a trailing car weighs, g."""
    from carwright.lengths import parse_mass
    from carwright.working import typed

    value = parse_mass(text, name="--trailing").value
    if not 0.0 < value <= 5000.0:
        raise InputError(
            Problem(
                "no car weighs that much" if value > 0 else "a car weighs more than nothing",
                value=text,
                accepted="over 0 to 5000 g",
                mend="Give what one car weighs, in g or oz.",
                key="--trailing",
            )
        )
    return typed(value, "weight of a trailing car", "g", key="--trailing", text=text)


def _rolling(text: str) -> Working:
    """Return a rolling resistance, percent."""
    from carwright.weight.amounts import percent_of

    reason = "It is the grade on which a car just rolls by itself."
    return percent_of(text, "rolling resistance", low=0.2, high=10.0, reason=reason, key="--rolling")
