"""``carwright weigh``: what a car should weigh, where ballast goes, how it stands and what pull tips it."""

from __future__ import annotations

import json as json_format
from pathlib import Path

from carwright.problems import InputError, Problem

__all__ = ["command"]


def command(
    car: Path,
    /,
    *,
    radius: str | None = None,
    track: Path | None = None,
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
        why: Show how one number comes about, by its path: wheel_lift_pull_n. "list" names every path.
        shelf: A file with the shop's shelf, beside the car file's own.
        json: Print JSON for other programs.
        out: Write the page, or the JSON, into this file.
    """
    from carwright.car.read import read_car_file, read_shelf_file
    from carwright.cli.curve import length_of, track_of
    from carwright.cli.plan import give
    from carwright.cli.show_weigh import weigh_lines
    from carwright.cli.show_why import path_lines, paths_json, why_json, why_lines
    from carwright.findings import worst_verdict
    from carwright.plan.weighdocument import weigh_document
    from carwright.plan.weighing import weigh

    if radius is not None and track is not None:
        raise InputError(
            Problem("one of --radius and --track at a time", key="--radius", mend="Leave one of them out.")
        )
    found = read_car_file(car, shelf=None if shelf is None else read_shelf_file(shelf)).car
    answer = weigh(
        found,
        track=None if track is None else track_of(track, found),
        radius=None if radius is None else length_of(radius, found, name="radius of the curve", key="--radius"),
        file=str(car),
        track_file="" if track is None else str(track),
    )
    document, units = weigh_document(answer), found.info.units
    if why == "list":
        give(json_format.dumps(paths_json(document), indent=2) if json else path_lines(document, units), out)
        return 0
    if why is not None:
        working = document.find(why)
        tree = json_format.dumps(why_json(why, working), ensure_ascii=False, indent=2) if json else None
        give(tree or why_lines(why, working, units), out)
        return 0
    give(json_format.dumps(document.as_json(), ensure_ascii=False, indent=2) if json else weigh_lines(answer), out)
    return 1 if worst_verdict(answer.findings) == "fail" else 0
