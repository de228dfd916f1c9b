"""``carwright train``: what a train drags up a grade, and which of its cars tips on a curve."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from carwright.problems import InputError, Problem

if TYPE_CHECKING:
    from carwright.car.model import Car
    from carwright.plan.trainmodel import TrainAnswer
    from carwright.track.trackfile import Track
    from carwright.weight.consist import Consist
    from carwright.working import Working

__all__ = ["command"]


def command(
    consist: Path,
    /,
    *,
    grade: Annotated[str | None, Parameter(allow_leading_hyphen=True)] = None,
    radius: str | None = None,
    track: Path | None = None,
    pushed: bool = False,
    why: str | None = None,
    draw: Path | None = None,
    json: bool = False,
    out: Path | None = None,
) -> int:
    """Reckon a train: drag, tipping and weight per inch of each car, and what must be pulled.

    The consist lists the cars, the one behind the locomotive first. Status 1
    when a check fails: a car tips, or the locomotive is too weak.

    Args:
        consist: The consist: [train] and its [[train.car]] tables.
        grade: The grade that the whole train stands on, upward: "2.5%", "1:40"; without it, level track.
        radius: The radius of one steady curve that it is drawn round: "18 in", "457 mm".
        track: A track file; each car counts where its couplers draw it hardest to one side.
        pushed: The locomotive is behind the last car and pushes: every coupler stands at its stop.
        why: Show how one number comes about, by its path: cars.hopper.tip_margin_n. "list" names every path.
        draw: Write a picture into this SVG file: the pull along the train against what tips each car.
        json: Print JSON for other programs.
        out: Write the page, or the JSON, into this file.
    """
    from carwright.car.read import bytes_of
    from carwright.cli.curve import one_curve
    from carwright.cli.plan import give
    from carwright.cli.show_train import train_lines
    from carwright.cli.show_why import document_page
    from carwright.findings import worst_verdict
    from carwright.plan.train import train_study
    from carwright.plan.traindocument import train_document
    from carwright.weight.amounts import grade_of
    from carwright.weight.consist import read_consist

    one_curve(radius, track)
    up = None if grade is None else grade_of(grade)
    train = read_consist(bytes_of(consist, what="a consist"), file=str(consist))
    answer = train_study(
        train,
        _cars(train, consist),
        grade=up,
        track=None if track is None else _track(track, train),
        radius=None if radius is None else _radius(radius, train),
        pushed=pushed,
        file=str(consist),
        track_file="" if track is None else str(track),
    )
    if draw is not None:
        _draw(answer, draw, source=consist)
    document, units = train_document(answer), train.units
    give(document_page(document, why, units, json=json, lines=lambda: train_lines(answer)), out)
    return 1 if why is None and worst_verdict(answer.findings) == "fail" else 0


def _cars(train: Consist, consist: Path) -> dict[str, Car]:
    """Return the cars that have a file, by the name that the consist gives it; a file stands beside the consist."""
    from carwright.car.read import read_car_file

    found: dict[str, Car] = {}
    problems: list[Problem] = []
    for row in train.rows:
        if not row.file or row.file in found:
            continue
        place = consist.parent / row.file
        if not place.is_file():
            problems.append(
                Problem(
                    f"car {row.number}: there is no such car file",
                    row.file,
                    f"a car file in {consist.parent}, or its path",
                    "Check the name, or write the car's own sizes instead of file.",
                    key=f"train.car[{row.number}].file",
                    file=str(consist),
                    line=row.line,
                )
            )
            continue
        try:
            found[row.file] = read_car_file(place).car
        except InputError as error:
            problems += error.problems
    if problems:
        raise InputError(problems)
    return found


def _draw(answer: TrainAnswer, place: Path, *, source: Path) -> None:
    """Write the picture of a train as an SVG file."""
    from carwright.draw.files import checked_place, write_file
    from carwright.draw.svg import sheet_svg
    from carwright.draw.trainchart import train_sheet

    checked_place(place, ".svg", source=source, option="--draw")
    sheet = train_sheet(answer)
    if sheet is None:
        needs = sorted({key for kind in answer.kinds for key in kind.needs})
        raise InputError(
            Problem("there is nothing to draw yet", mend=f"Weigh first: {', '.join(needs)}.", key="--draw")
        )
    name = answer.consist.name or source.stem
    alt = "The pull along a train, and the pull that tips each of its cars."
    write_file(place, sheet_svg(sheet, title=f"{name}: pulls", alt=alt).encode("utf-8"), option="--draw")


def _radius(text: str, train: Consist) -> Working:
    from carwright.lengths import parse_length
    from carwright.reference import scale_ratio
    from carwright.working import typed

    ratio = scale_ratio(train.scale, train.standard).value
    read = parse_length(text, units=train.units, ratio=ratio, taken="nominal", name="--radius")
    if read.mm <= 0:
        raise InputError(
            Problem("a radius is more than nothing", value=text, accepted="more than 0", mend="", key="--radius")
        )
    return typed(read.mm, "radius of the curve", key="--radius", text=text)


def _track(path: Path, train: Consist) -> Track:
    from carwright.car.read import bytes_of
    from carwright.track.trackfile import read_track

    return read_track(
        bytes_of(path, what="a track file"),
        file=str(path),
        scale=train.scale,
        standard=train.standard,
        units=train.units,
    )
