"""``carwright curve``: how a car goes round a curve or a track, what touches first, and from which radius it goes."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from carwright.problems import InputError, Problem

if TYPE_CHECKING:
    from carwright.car.model import Car
    from carwright.plan.curvemodel import CurveAnswer
    from carwright.track.trackfile import Track
    from carwright.working import Working

__all__ = ["command", "length_of", "one_curve", "track_of"]


def command(
    car: Path,
    /,
    *,
    other: Annotated[Path | None, Parameter(name="--with")] = None,
    radius: str | None = None,
    track: Path | None = None,
    slack: str | None = None,
    why: str | None = None,
    draw: Path | None = None,
    shelf: Path | None = None,
    json: bool = False,
    out: Path | None = None,
) -> int:
    """Place a car on real track: throws, angles, what touches, and the least radius.

    The car stands on one curve (--radius, else car.radius of its file) between
    two straights, or on the segments of a track file, alone, pulled and pushed
    with its like or with another car. Status 1 when a verdict fails.

    Args:
        car: The car file.
        other: The file of the car coupled to it; without it, its like and the standard's extremes.
        radius: The radius of the curve, to the centre line: "18 in", "457 mm".
        track: A track file: straights, curves, easements and turnouts in a row.
        slack: How far the coupler heads run together in a push.
        why: Show how one number comes about, by its path: worst.coupler_angle_deg. "list" names every path.
        draw: Write the pictures into this SVG file: room, couplers and their angle along the track, what touches.
        shelf: A file with the shop's shelf.
        json: Print JSON for other programs.
        out: Write the page, or the JSON, into this file.
    """
    from carwright.car.read import read_car_file, read_shelf_file
    from carwright.cli.plan import give
    from carwright.cli.progress import at_work
    from carwright.cli.show_curve import curve_lines
    from carwright.cli.show_why import document_page
    from carwright.findings import worst_verdict
    from carwright.plan.curvedocument import curve_document
    from carwright.plan.curves import curve_study

    one_curve(radius, track)
    stock = None if shelf is None else read_shelf_file(shelf)
    found = read_car_file(car, shelf=stock).car
    with at_work("placing cars on the track"):
        answer = curve_study(
            found,
            track=None if track is None else track_of(track, found),
            radius=None if radius is None else length_of(radius, found, name="radius of the curve", key="--radius"),
            neighbour=None if other is None else read_car_file(other, shelf=stock).car,
            slack=None if slack is None else length_of(slack, found, name="slack between the heads", key="--slack"),
            file="" if track is None else str(track),
        )
    if draw is not None:
        _draw(answer, draw, source=car)
    document, units = curve_document(answer), found.info.units
    give(document_page(document, why, units, json=json, lines=lambda: curve_lines(answer)), out)
    return 1 if why is None and worst_verdict(answer.findings) == "fail" else 0


def _draw(answer: CurveAnswer, place: Path, *, source: Path) -> None:
    """Write a study's pictures as one SVG file."""
    from carwright.draw.curveviews import curve_sheet
    from carwright.draw.files import checked_place, write_file
    from carwright.draw.svg import sheet_svg

    checked_place(place, ".svg", source=source, option="--draw")
    sheet = curve_sheet(answer)
    if sheet is None:
        needs = sorted({key for limit in answer.limits for key in limit.needs})
        raise InputError(
            Problem(
                "there is nothing to draw yet",
                mend=f"Measure first: {', '.join(needs)}." if needs else "Measure the car's length and trucks first.",
                key="--draw",
            )
        )
    name = answer.plan.car.info.name or source.stem
    alt = "A car on a curve: the room it takes, its couplers at their worst, and what touches first."
    write_file(place, sheet_svg(sheet, title=f"{name} on a curve", alt=alt).encode("utf-8"), option="--draw")


def one_curve(radius: str | None, track: Path | None) -> None:
    """Refuse two places to stand on.

    Raises:
        InputError: both were given.
    """
    if radius is not None and track is not None:
        raise InputError(
            Problem("one of --radius and --track at a time", key="--radius", mend="Leave one of them out.")
        )


def length_of(text: str, car: Car, *, name: str, key: str) -> Working:
    """Return a length typed behind an option, mm.

    Raises:
        InputError: it is no length, or not more than nothing.
    """
    from carwright.lengths import parse_length
    from carwright.working import typed

    ratio = car.info.ratio.value if car.info.ratio is not None else None
    read = parse_length(text, units=car.info.units, ratio=ratio, taken="nominal", name=key)
    if read.mm <= 0:
        raise InputError(
            Problem("a length here is more than nothing", value=text, accepted="more than 0", mend="", key=key)
        )
    return typed(read.mm, name, key=key, text=text)


def track_of(path: Path, car: Car) -> Track:
    """Return a track file, in the car's scale and units where it does not say its own.

    Raises:
        InputError: it cannot be read or used.
    """
    from carwright.car.read import bytes_of
    from carwright.track.trackfile import read_track

    info = car.info
    return read_track(
        bytes_of(path, what="a track file"), file=str(path), scale=info.scale, standard=info.standard, units=info.units
    )
