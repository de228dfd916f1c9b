"""Changes read before they are written come to the same car as when they have been written."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import fields, is_dataclass

import pytest
from tests.plan.cars import CARS

from carwright.car.read import read_car
from carwright.car.write import Written, set_values
from carwright.problems import InputError
from carwright.working import Working

CHANGES: tuple[Mapping[str, Written], ...] = (
    {"trucks.seat_height": "0.281"},
    {"trucks.a.seat_height": None, "trucks.b.seat_height": "7.2 mm"},
    {"body.inside_width": ["14 mm", "14.1 mm"]},
    {"body.height": None, "car.year": 1950, "car.captive": True},
    {"body.lug[0].x": "1.5", "body.lug[0].depth": "0.05", "body.lug[0].side": "left"},
    {"shelf.washer[0].thickness": "0.015", "shelf.washer[0].count": 4},
    {"found.a.coupler_height": "0.380"},
    {"trucks.washers": ["0.010", "0.010"], "underframe.bolster": ["0.060", "0.040"]},
)


def told(node: object) -> Iterator[tuple[str, float, str, float]]:
    """Yield every reading of a car: place, value, text and tolerance."""
    if isinstance(node, Working):
        yield node.key, node.value, node.text, node.tolerance_value
    elif is_dataclass(node):
        for each in fields(node):
            yield from told(getattr(node, each.name))
    elif isinstance(node, tuple):
        for item in node:
            yield from told(item)


@pytest.mark.parametrize("name", ["boxcar", "n_car", "old holes"])
@pytest.mark.parametrize("changes", CHANGES, ids=lambda each: next(iter(each)))
def test_as_written(name: str, changes: Mapping[str, Written]) -> None:
    """A car read with changes has the readings of the car whose file was changed, text and tolerance included."""
    document = CARS[name].encode()
    assert list(told(read_car(document, changes=changes))) == list(told(read_car(set_values(document, changes))))


def test_refused() -> None:
    """A changed value that cannot be used is refused with its place, as it would be in the file."""
    with pytest.raises(InputError) as caught:
        read_car(CARS["boxcar"].encode(), changes={"trucks.seat_height": "about 7"})
    assert [each.key for each in caught.value.problems] == ["trucks.seat_height"]


def test_past_the_end() -> None:
    """A row that stands beyond the one after the last is refused."""
    with pytest.raises(InputError):
        read_car(CARS["boxcar"].encode(), changes={"body.lug[3].x": "1"})
