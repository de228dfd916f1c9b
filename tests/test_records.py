"""Records that are made quickly are the dataclasses that they would be without it."""

from __future__ import annotations

import copy
import pickle
from dataclasses import FrozenInstanceError, dataclass, field, replace

import pytest

from carwright.records import quickly_made


@dataclass(frozen=True, slots=True, kw_only=True)
class Marked:
    """A base with a field that is given by name."""

    layer: str = "thin"


@quickly_made
@dataclass(frozen=True, slots=True)
class Place(Marked):
    """A record with every kind of field."""

    x_mm: float
    y_mm: float = 0.0
    names: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        """Refuse what is no place."""
        if self.x_mm != self.x_mm:
            raise ValueError("no place")


def test_quick_record_is_the_same_dataclass() -> None:
    """Defaults, factories, names, equality, replacing, copies and pickles are those of a plain frozen dataclass."""
    made = Place(2.0, layer="text")
    assert (made.x_mm, made.y_mm, made.names, made.layer) == (2.0, 0.0, [], "text")
    assert made == Place(2.0, 0.0, [], layer="text") != Place(2.0)
    assert Place(1.0).names is not Place(1.0).names
    assert replace(made, y_mm=3.0) == Place(x_mm=2.0, y_mm=3.0, layer="text")
    assert copy.copy(made) == copy.deepcopy(made) == made
    assert pickle.loads(pickle.dumps(made)) == made  # noqa: S301 - our own bytes
    assert repr(made) == "Place(layer='text', x_mm=2.0, y_mm=0.0, names=[])"


def test_quick_record_stays_frozen_and_refuses_what_it_should() -> None:
    """A field cannot be set or taken away afterwards, arguments are checked, and ``__post_init__`` is asked."""
    made = Place(2.0)
    with pytest.raises(FrozenInstanceError):
        made.x_mm = 3.0  # type: ignore[misc]
    with pytest.raises(FrozenInstanceError):
        del made.x_mm
    with pytest.raises(TypeError, match="x_mm"):
        Place()  # type: ignore[call-arg]
    with pytest.raises(ValueError, match="no place"):
        Place(float("nan"))


def test_record_without_slots_is_refused() -> None:
    """What has no slots cannot be filled this way, and says so when it is defined."""
    with pytest.raises(TypeError, match="slot"):

        @quickly_made
        @dataclass(frozen=True)
        class Loose:
            x_mm: float
