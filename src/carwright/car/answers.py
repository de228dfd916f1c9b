"""Answers to the questions of a car file: what each writes into it, and a file that grows answer by answer."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from typing import Any, Final

from carwright.car.keys import HO_RATIO, Key, keys
from carwright.car.model import Car, CarInfo
from carwright.car.read import read_car
from carwright.car.write import Written, new_car_text, set_values
from carwright.lengths import number_in, parse_length

__all__ = [
    "NO",
    "YES",
    "Answers",
    "answers_in",
    "example_at_ends",
    "example_of",
    "hint_for",
    "no_answer",
    "opening_keys",
]

_BOTH_ENDS = re.compile(r"a\s*[:=]?\s+(?P<a>.+?)\s*[;,]?\s+b\s*[:=]?\s+(?P<b>.+)", re.IGNORECASE)
"""``A 0.278 B 0.284``: the ends differ."""

YES = frozenset({"yes", "y", "true"})
NO = frozenset({"no", "n", "false"})

_OPENING: Final = ("car.name", "car.type", "car.scale", "car.standard", "car.units", "car.missing")
"""What is asked before the letters of the sheet."""

_EXPLAINED: Final = frozenset({"car.type", "car.missing"})
"""Of these, what is said how to answer without being asked."""

_MISSING: Final = {
    "trucks": ("trucks", "The trucks are missing: {} leaves it open, and the plan says what to buy."),
    "underframe": ("underframe", "The underframe is missing: {} leaves it open."),
    "coupler": ("couplers", "The couplers are missing: {} leaves it open until you have one in the hand."),
}
"""Section of the file: the word in car.missing that makes its sizes unknown, and what is then said."""


def opening_keys() -> tuple[Key, ...]:
    """Return what is asked of a new car before the letters of the measuring sheet, in order."""
    by_path = {key.path: key for key in keys()}
    return tuple(by_path[path] for path in _OPENING)


def example_of(key: Key, info: CarInfo) -> str:
    """Return an answer as it may be typed: in the car's units, and of a size that its scale has.

    Example:
        >>> from carwright.car.keys import key_named
        >>> example_of(key_named("coupler.drop"), CarInfo()), example_of(key_named("coupler.drop"), CarInfo(units="mm"))
        ('0.062', '1.57')
    """
    given = key.example if isinstance(key.example, (list, tuple)) else (key.example,)
    return ", ".join(_shown(key, each, info) for each in given)


def example_at_ends(key: Key, info: CarInfo) -> str:
    """Return how the two ends are answered where they differ."""
    a = example_of(key, info)
    b = a
    if key.kind == "choice":
        b = next((each for each in key.choices if each != a), a)
    elif key.kind in ("length", "lengths") and "," not in a:
        mm = _read(key, a, info) + _APART_MM
        low, high = key.limits(_ratio(info))
        if (low is None or mm >= low) and (high is None or mm <= high):
            b = number_in(mm, info.units)
    return f"A {a} B {b}"


_APART_MM: Final = 0.1524
"""Six thousandths of an inch: what two trucks of one make may differ by."""


def _shown(key: Key, example: Any, info: CarInfo) -> str:
    if key.kind == "flag":
        return "yes" if str(example).casefold() == "true" else "no"
    if key.kind not in ("length", "lengths"):
        return str(example)
    ratio = _ratio(info)
    unlike = key.scaled and abs(ratio / HO_RATIO - 1) > _NEARLY_HO
    text = str(example)
    if not re.fullmatch(r"[-\d./ ]+", text) or text == "0" or (info.units == "in" and not unlike):
        return text  # it says its own unit, or is a size by name
    mm = parse_length(text, units="in", allow_negative=True).mm * (HO_RATIO / ratio if unlike else 1.0)
    return number_in(mm, info.units)


_NEARLY_HO: Final = 0.02
"""HO and H0 are the same scale to whoever gives an example."""


def _ratio(info: CarInfo) -> float:
    return HO_RATIO if info.ratio is None else info.ratio.value


def _read(key: Key, text: str, info: CarInfo) -> float:
    return parse_length(text, units=info.units, ratio=_ratio(info), allow_negative=key.negative).mm


def hint_for(key: Key, car: Car, *, skip: str = "Enter") -> str:
    """Return what is said beneath a question, "" for nothing.

    Args:
        key: the question's key.
        car: the car so far: what is missing from it makes some questions premature.
        skip: what leaves a question open.
    """
    if key.path in _EXPLAINED:
        return key.how
    word, hint = _MISSING.get(key.section, ("", ""))
    return hint.format(skip) if word and word in car.info.missing else ""


class Answers:
    """A car file as it stands, and the answers in it.

    A file that is still laid out as a new file is, with every key and its question, stays so; one that its owner has
    laid out in his own way is changed in place, comments and all.
    """

    def __init__(self, data: bytes | None = None, *, file: str = "") -> None:
        """Take the car file ``data``, or begin a new one; ``file`` is named in problems.

        Raises:
            InputError: the file cannot be used.
        """
        self.file = file
        self.data = new_car_text({}).encode() if data is None else data
        self.car = Car() if data is None else read_car(data, file=file)

    def value(self, place: str) -> Written:
        """Return what stands at a place of the file, None where nothing does."""
        return self._flat().get(place)

    def said(self, key: Key, place: str) -> str:
        """Return what stands at a place as it would be typed here, "" where nothing does."""
        flat = self._flat()
        section, _, name = place.rpartition(".")
        ends = [flat.get(f"{section}.{end}.{name}") for end in ("a", "b")]
        if key.ends and any(each is not None for each in ends):
            shared = flat.get(place)
            both = [shared if each is None else each for each in ends]
            return f"A {_typed(both[0])} B {_typed(both[1])}"
        return _typed(flat.get(place))

    def rows(self, section: str) -> int:
        """Return how many tables of a list stand in the file ("body.lug")."""
        found = (re.match(rf"{re.escape(section)}\[(\d+)\]", place) for place in self._flat())
        return 1 + max((int(each.group(1)) for each in found if each is not None), default=-1)

    def put(self, changes: Mapping[str, Written]) -> None:
        """Put some values into the file, None taking one out.

        Raises:
            InputError: a value cannot be used, or contradicts another. Then the file is as it was.
        """
        flat = self._flat()
        if new_car_text(flat).encode() == self.data:
            merged = {**flat, **changes}
            data = new_car_text({place: value for place, value in merged.items() if value is not None}).encode()
        else:
            data = set_values(self.data, changes)
        self.car = read_car(data, file=self.file)
        self.data = data

    def _flat(self) -> dict[str, Written]:
        flat: dict[str, Written] = {}
        _flatten(tomllib.loads(self.data.decode("utf-8-sig")), "", flat)
        return flat


def _flatten(node: Mapping[str, Any], path: str, into: dict[str, Written]) -> None:
    for name, value in node.items():
        place = f"{path}.{name}" if path else name
        if isinstance(value, dict):
            _flatten(value, place, into)
        elif isinstance(value, list) and value and all(isinstance(each, dict) for each in value):
            for at, each in enumerate(value):
                _flatten(each, f"{place}[{at}]", into)
        elif value not in ("", []):
            into[place] = value


def _typed(value: Written) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, (list, tuple)):
        return ", ".join(_typed(each) for each in value)
    return str(value)


def answers_in(key: Key, place: str, text: str) -> dict[str, Written]:
    """Return what an answer writes into the file: place to value.

    Args:
        key: the question's key.
        place: where its value stands ("trucks.seat_height", "body.lug[0].x").
        text: the answer, not empty; ``A 0.278 B 0.284`` where a key may differ from end to end.

    Example:
        >>> from carwright.car.keys import key_named
        >>> seat = key_named("trucks.seat_height")
        >>> answers_in(seat, "trucks.seat_height", "A 0.278 B 0.284")
        {'trucks.a.seat_height': '0.278', 'trucks.b.seat_height': '0.284', 'trucks.seat_height': None}
    """
    section, _, name = place.rpartition(".")
    if not key.ends:
        return {place: _value(key, text)}
    a, b = f"{section}.a.{name}", f"{section}.b.{name}"
    both = _BOTH_ENDS.fullmatch(text)
    if both is not None:
        return {a: _value(key, both["a"]), b: _value(key, both["b"]), place: None}
    return {place: _value(key, text), a: None, b: None}


def no_answer(key: Key, place: str) -> dict[str, Written]:
    """Return what takes an answer out of the file, at both ends where the key may differ; see ``answers_in``."""
    section, _, name = place.rpartition(".")
    ends = [f"{section}.{end}.{name}" for end in ("a", "b")] if key.ends else []
    return dict.fromkeys((place, *ends))


def _value(key: Key, text: str) -> Written:
    """Return an answer as the file holds it; what is not of the key's kind stays text, for the reader to refuse."""
    word = text.casefold()
    if key.kind == "flag" and word in YES | NO:
        return word in YES
    if key.kind in ("count", "year") and re.fullmatch(r"\d{1,6}", text):
        return int(text)
    if key.kind == "texts":
        return [] if word == "none" else [each for each in re.split(r"\s*[,;]\s*", text) if each]
    if key.kind == "lengths" and word not in key.words:
        parts = [each for each in re.split(r"\s*;\s*|\s*,\s+", text) if each]
        return parts if len(parts) > 1 else text
    return text
