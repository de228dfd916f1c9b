"""The picture of a train: the pull along it, falling from car to car, against what lifts and what tips each of them."""

from __future__ import annotations

import math
from typing import Final

from carwright.draw.model import XY, Circle, Drawing, Line, Mark, Placed, Polyline, Sheet, Text
from carwright.draw.strokes import bounds, ink
from carwright.plan.trainmodel import CarInTrain, TrainAnswer

__all__ = ["train_chart", "train_sheet"]

_WIDE_MM: Final = 170.0
_HIGH_MM: Final = 80.0
_MARGIN_MM: Final = 8.0
_NAME_MM: Final = 4.2
_ABOVE: Final = 3.0
"""The scale ends at this many times the greatest pull: what stands more than that is never in doubt."""


def train_sheet(answer: TrainAnswer) -> Sheet | None:
    """Return the picture on a ground of its own, under its name; None where no pull is known."""
    drawing = train_chart(answer)
    if drawing is None:
        return None
    box = bounds(ink(drawing))
    width, height = box.width_mm + 2.0 * _MARGIN_MM, box.height_mm + 2.0 * _MARGIN_MM + _NAME_MM + 4.0
    top = height - _MARGIN_MM - _NAME_MM
    name = Text(XY(_MARGIN_MM, top), drawing.title, size_mm=_NAME_MM, bold=True, layer="text")
    placed = (
        Placed(Drawing("train_name", "", "", (name,)), XY(0.0, 0.0)),
        Placed(drawing, XY(_MARGIN_MM - box.left_mm, top - 4.0 - box.top_mm)),
    )
    return Sheet("train", width, height, placed)


def train_chart(answer: TrainAnswer) -> Drawing | None:
    """Return the pull at each car's front coupler as a line of steps, with each car's lifting and tipping pull."""
    pulls = [car.pull.value for car in answer.cars if car.pull is not None]
    if not pulls:
        return None
    most = max(pulls)
    force, end = ("push", "rear") if answer.pushed else ("pull", "front")
    stands = [car.tip.value for car in answer.cars if car.tip is not None]
    if answer.available is not None:
        stands.append(answer.available.value)
    top = min(max([most, *stands]), _ABOVE * most) * 1.1
    each = _WIDE_MM / len(answer.cars)

    def at(place: float, newtons: float) -> XY:
        return XY(place * each, min(newtons, top) / top * _HIGH_MM)

    marks: list[Mark] = [*_axis(top, len(answer.cars), each)]
    steps: list[XY] = []
    for n, car in enumerate(answer.cars):
        if car.pull is not None:
            steps += [at(n, car.pull.value), at(n + 1, car.pull.value)]
    marks.append(
        Polyline((at(0, 0.0), *steps, at(len(answer.cars), 0.0)), fill="band", layer="band", part="pull", title="Pull")
    )
    marks.append(
        Polyline(
            tuple(steps), closed=False, layer="wire", part="pull", title=f"{force.capitalize()} at the {end} coupler"
        )
    )
    for n, car in enumerate(answer.cars):
        marks += _stands(car, at(n, 0.0).x_mm, at(n + 1, 0.0).x_mm, top)
    if answer.available is not None and answer.available.value <= top:
        one, two = at(0, answer.available.value), at(len(answer.cars), answer.available.value)
        marks.append(Line(one, two, layer="centre", part="locomotive", title="What the locomotive pulls"))
        said = f"the locomotive pulls {answer.available.value:.2f} N"
        marks.append(Text(XY(two.x_mm - 1.0, two.y_mm + 1.2), said, anchor="end", layer="text", ground=True))
    marks.append(
        Text(
            XY(0.0, _HIGH_MM + 5.0),
            f"stepped: {force} at each car's {end} coupler; bar: {force} that tips it; dashed bar: that lifts a wheel; "
            "ring: more than it stands",
            layer="text",
        )
    )
    marks += _worst(answer, each, top)
    grade = "level" if answer.grade is None else f"{answer.grade.value:g} %"
    alt = "Pull along the train from the locomotive back, with the pull that tips each car."
    return Drawing("train_pull", f"{force.capitalize()} along the train, {grade}", alt, tuple(marks))


def _step(span: float, count: int) -> float:
    raw = span / count
    power = 10.0 ** math.floor(math.log10(raw))
    return next(k * power for k in (1.0, 2.0, 5.0, 10.0) if k * power >= raw * 0.999)


def _axis(top: float, many: int, each: float) -> list[Mark]:
    marks: list[Mark] = [
        Line(XY(0.0, 0.0), XY(0.0, _HIGH_MM), layer="thin", part="scale"),
        Line(XY(0.0, 0.0), XY(_WIDE_MM, 0.0), layer="thin", part="scale"),
    ]
    step = _step(top, 6)
    for n in range(math.floor(top / step + 1e-9) + 1):
        y = n * step / top * _HIGH_MM
        marks.append(Line(XY(0.0, y), XY(-1.6, y), layer="thin", part="scale"))
        marks.append(Text(XY(-2.6, y - 1.0), f"{n * step:g}", anchor="end", layer="text"))
    marks.append(Text(XY(-2.6, _HIGH_MM + 5.0), "N", anchor="end", layer="text"))
    every = max(round(_step(many, 12)), 1) if many > 1 else 1
    for place in (n for n in range(1, many + 1) if n == 1 or n % every == 0):
        marks.append(Text(XY((place - 0.5) * each, -4.0), f"{place}", anchor="middle", layer="text"))
    words = "place in the train, from the front"
    marks.append(Text(XY(_WIDE_MM / 2.0, -8.5), words, anchor="middle", layer="text"))
    return marks


def _stands(car: CarInTrain, left: float, right: float, top: float) -> list[Mark]:
    """Return the bars of one car: what lifts a wheel of it and what tips it; beyond the scale they are left out."""
    marks: list[Mark] = []
    inset = (right - left) * 0.12
    for value, layer, words in ((car.lift, "hidden", "lifts a wheel of"), (car.tip, "outline", "tips")):
        if value is None or value.value > top:
            continue
        y = value.value / top * _HIGH_MM
        title = f"{value.value:.2f} N {words} {car.name}"
        one, two = XY(left + inset, y), XY(right - inset, y)
        marks.append(
            Line(one, two, layer="hidden" if layer == "hidden" else "outline", part=f"car_{car.place}", title=title)
        )
    if car.margin is not None and car.margin.value < 0.0 and car.pull is not None:
        place = XY((left + right) / 2.0, min(car.pull.value / top, 1.0) * _HIGH_MM)
        marks.append(Circle(place, 1.2, "paper", layer="outline", part=f"car_{car.place}", title=f"{car.name} tips"))
    return marks


def _worst(answer: TrainAnswer, each: float, top: float) -> list[Mark]:
    """Return the name of the car with the least margin, at its tipping pull."""
    told = [car for car in answer.cars if car.margin is not None]
    if not told:
        return []
    worst = min(told, key=lambda car: car.margin.value if car.margin is not None else 0.0)
    if worst.tip is None or worst.tip.value > top:
        return []
    late = worst.place > 0.6 * len(answer.cars)
    x = (worst.place - (1.0 if late else 0.0)) * each + (-1.5 if late else 1.5)
    said = f"{worst.name} tips at {worst.tip.value:.2f} N"
    y = worst.tip.value / top * _HIGH_MM - 1.0
    return [Text(XY(x, y), said, anchor="end" if late else "start", bold=True, layer="text", ground=True)]
