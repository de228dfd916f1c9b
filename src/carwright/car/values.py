"""One value of a car file: from what was typed to a leaf with its tolerance, or to a problem and how to mend it."""

from __future__ import annotations

import re
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, field, replace
from decimal import Decimal
from typing import Any, Literal

from carwright import reference
from carwright.car.document import Cell, Node
from carwright.car.keys import HO_RATIO, Key, near_words, path_of
from carwright.car.model import Span
from carwright.car.statements import TypedFloat
from carwright.car.understood import check_words
from carwright.lengths import (
    LENGTH_TOL_MM,
    Reading,
    Taken,
    parse_angle,
    parse_count,
    parse_length,
    parse_load,
    parse_mass,
)
from carwright.problems import InputError, Problem
from carwright.working import Distribution, Working, typed

__all__ = ["Reader", "Taking", "limit_text", "unit_shown"]

LONGEST_TEXT = 500
"""Characters that a name or a note may have."""

_PLAIN_NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)\Z")
_WAIT = re.compile(r"\s*(?:(\d{1,4}(?:\.\d{1,3})?)\s*(min|h|d)|none)\s*\Z", re.IGNORECASE)
_MINUTES = {"min": 1, "h": 60, "d": 1440}
_UNITS_IN_WORDS = {"in": "inches", "mm": "millimetres"}
_NEAR = 0.1
"""Readings of one size lie nearer together than this part of it."""

_OTHER_SCALES = ("HO", "N", "TT", "S", "O", "Z")


@dataclass(frozen=True, slots=True)
class Taking:
    """How the values of a file are to be taken.

    Args:
        units: unit of a bare number.
        measured_with: "caliper" or "rule".
        scale: the scale by name.
        ratio: prototype over model.
        standard: "NMRA" or "NEM".
    """

    units: Literal["in", "mm"] = "in"
    measured_with: str = "caliper"
    scale: str = "HO"
    ratio: float = 87.1
    standard: Literal["NMRA", "NEM"] = "NMRA"


@dataclass(slots=True)
class Reader:
    """Reads values one by one and keeps every problem and every reading.

    Args:
        file: name of the file, for the problems.
        taking: how values are taken.
        problems: what was wrong so far.
        readings: place to the leaf read there, with its cell and key.
        cells: place to the cell of every value that was read.
        out_of_range: place to the problem of a length that is too great by itself, where another key bounds it too.
    """

    file: str
    taking: Taking = field(default_factory=Taking)
    problems: list[Problem] = field(default_factory=list)
    readings: dict[str, tuple[Working, Cell, Key]] = field(default_factory=dict)
    cells: dict[str, Cell] = field(default_factory=dict)
    out_of_range: dict[str, Problem] = field(default_factory=dict)

    def refuse(self, node: Node, place: str, problem: str, accepted: str = "", mend: str = "") -> None:
        """Record a problem with what stands at ``place``."""
        first = node[0] if isinstance(node, list) else node
        cell = first if isinstance(first, Cell) else None
        value = cell.text if cell is not None else ""
        self.problems.append(
            Problem(
                problem,
                value if len(value) <= 80 else value[:60] + "…",
                accepted,
                mend,
                key=place,
                file=self.file,
                line=first.line,
                column=cell.column if cell is not None else 1,
            )
        )

    def value(self, node: Node, key: Key, place: str) -> Any:
        """Return what stands at ``place``, by the kind of its key; None where nothing is given or it was refused.

        A length, mass, angle or count gives a leaf, a list of lengths a tuple of leaves, a choice or text a ``str``, a
        year an ``int``, a flag a ``bool``, recoat windows a tuple of pairs.
        """
        if not isinstance(node, Cell):
            mend = f"Write {key.name} = {_example(key)}"
            self.refuse(node, place, "a table stands where a value belongs", f"{_kind_words(key)}", mend)
            return None
        if isinstance(node.value, str) and not node.value.strip():
            return None
        self.cells[place] = node
        if isinstance(node.value, tuple) and key.kind not in ("lengths", "texts", "windows"):
            if len(node.value) == 1 and isinstance(node.value[0], Cell):
                return self.value(node.value[0], key, place)
            many = "a list" if node.value else "an empty list"
            mend = f"Write {key.name} = {_example(key)}"
            self.refuse(node, place, f"{many} stands where one value belongs", _kind_words(key), mend)
            return None
        readers: dict[str, Callable[[Cell, Key, str], Any]] = {
            "length": self._length,
            "lengths": self._lengths,
            "mass": self._quantity,
            "angle": self._quantity,
            "count": self._count,
            "year": self._year,
            "choice": self._choice,
            "text": self._text,
            "texts": self._texts,
            "flag": self._flag,
            "windows": self._windows,
        }
        return readers[key.kind](node, key, place)

    # ------------------------------------------------------------------------------------------------------- numbers

    def _length(self, cell: Cell, key: Key, place: str) -> Working | str | None:
        given = _as_typed(cell)
        if given is None:
            self._wrong_kind(cell, key, place)
            return None
        if isinstance(given, str) and given.strip().casefold() in key.words:
            return given.strip().casefold()
        try:
            reading = self._read_length(given, key)
        except InputError as error:
            close = near_words(str(given), key.words, many=1)
            self._pass_on(error, cell, place, mend=f'Did you mean "{close[0]}"?' if close else "")
            return None
        low, high = key.limits(self.taking.ratio)
        if not _within(reading.mm, low, high):
            unit = unit_shown(reading.unit_typed, self.taking.units)
            size = "small" if low is not None and reading.mm < low else "great"
            self.refuse(
                cell,
                place,
                f"the {key.called} is too {size} for {self.taking.scale}"
                if key.scaled
                else f"the {key.called} is too {size}",
                f"{limit_text(low or 0.0, unit, 3)} to {limit_text(high or 0.0, unit, 3)} {unit}",
                self.unit_hint(given, reading, key, place, low, high),
            )
            if key.most and size == "great":
                self.out_of_range[place] = self.problems[-1]
                self.readings[place] = (self._leaf(reading, cell, key, place), cell, key)
            return None
        leaf = self._leaf(reading, cell, key, place)
        self.readings[place] = (leaf, cell, key)
        return leaf

    def _read_length(self, given: str | int | float, key: Key, *, units: Literal["in", "mm"] | None = None) -> Reading:
        taken: Taken = key.taken or "nominal"  # type: ignore[assignment]  # the key table's own words
        return parse_length(
            given,
            units=units or self.taking.units,
            ratio=self.taking.ratio,
            taken=taken,
            measured_with=self.taking.measured_with,
            allow_negative=key.negative,
        )

    def _leaf(self, reading: Reading, cell: Cell, key: Key, place: str) -> Working:
        tolerance: Working | None = None
        distribution: Distribution = "nominal"
        if reading.tolerance_mm > 0:
            distribution = reading.distribution
            if reading.tolerance_from == "instrument":
                tolerance = reference.instrument(reading.instrument, self.taking.units)
            else:
                tolerance = _tolerance_leaf(reading.tolerance_mm, "mm", reading.tolerance_from, cell, key.called, place)
        return typed(
            reading.mm,
            key.called,
            key=place,
            text=cell.text,
            line=cell.line,
            source=_taken_with(reading, key),
            tolerance=tolerance,
            distribution=distribution,
        )

    def unit_hint(
        self, given: str | int | float, reading: Reading, key: Key, place: str, low: float | None, high: float | None
    ) -> str:
        """Return how a length that cannot be right may have been meant: with its point elsewhere, in another unit.

        Else as a scale size, or of another scale. Nothing is offered that would itself be asked about.
        """
        units = self.taking.units
        low, high = self._likely(key, place, low, high)
        slip = self._point_slipped(given, key, low, high)
        text = str(given).strip()
        shown = f"{abs(reading.mm):.4g} mm" if units == "in" else f"{abs(reading.mm) / 25.4:.3g} in"
        bare = re.fullmatch(r"[-+]?[\d\s./,-]+", text) is not None
        if bare:
            other: Literal["in", "mm"] = "mm" if units == "in" else "in"
            meant = []
            with suppress(InputError):
                if _within(self._read_length(given, key, units=other).mm, low, high):
                    meant.append(f'If you measured {_UNITS_IN_WORDS[other]}, write "{text} {other}".')
            if units == "in" and re.fullmatch(r"\d+", text) and _within(reading.mm / 1000, low, high):
                meant.append(f'If you mean thousandths, write "{text} thou".')
            if meant:
                return f"{slip}Read as {_UNITS_IN_WORDS[units]}: {shown}. {' '.join(meant)}"
        if slip:
            return slip.strip()
        if "scale" not in reading.unit_typed and key.scaled and _within(reading.mm / self.taking.ratio, low, high):
            unit = "" if not bare else " in" if units == "in" else " mm"
            return f'If it is the size of the real car, write "{text}{unit} scale".'
        if key.scaled:
            for scale in _OTHER_SCALES:
                ratio = reference.scale_ratio(scale, self.taking.standard).value
                if scale != self.taking.scale.replace("0", "O") and _within(reading.mm, *key.limits(ratio)):
                    return f'It would fit {scale}: is scale = "{self.taking.scale}" right?'
        return "Measure it again, and check its unit and its point."

    def _likely(self, key: Key, place: str, low: float | None, high: float | None) -> tuple[float | None, float | None]:
        """Return the range, mm, that is common for a length: near its other readings, else by custom, within limits."""
        others = [
            leaf.value
            for other, (leaf, _, _) in self.readings.items()
            if key.places and other != place and path_of(other) == key.path and _within(leaf.value, low, high)
        ]
        if others:
            return min(others) * (1 - _NEAR), max(others) * (1 + _NEAR)
        lows, highs = [low], [high]
        if key.usual:
            factor = HO_RATIO / self.taking.ratio
            lows.append(key.usual[0] * factor)
            highs.append(key.usual[1] * factor)
        bound = next((leaf.value for leaf, _, of in self.readings.values() if of.path == key.most), None)
        if key.usual_share and bound is not None:
            lows.append(key.usual_share[0] * bound)
            highs.append(key.usual_share[1] * bound)
        return (
            max((each for each in lows if each is not None), default=None),
            min((each for each in highs if each is not None), default=None),
        )

    def _point_slipped(self, given: str | int | float, key: Key, low: float | None, high: float | None) -> str:
        """Return a question whether a tenth or ten times as much was meant, with a space behind it; "" for neither."""
        found = re.fullmatch(r"(\d*\.?\d+|\d+\.)(\s*(?:in|mm|\"))?", str(given).strip())
        if found is None:
            return ""
        for shift in (-1, 1):
            text = f"{Decimal(found[1]).scaleb(shift):f}{found[2] or ''}"
            if _within(self._read_length(text, key).mm, low, high):
                return f'Did you mean "{text}"? '
        return ""

    def _lengths(self, cell: Cell, key: Key, place: str) -> tuple[Working, ...] | str | None:
        if not isinstance(cell.value, tuple):
            leaf = self._length(cell, key, place)
            if leaf is not None and key.least > 1:
                self.refuse(cell, place, "one value stands where a list belongs", *self._how_many(key))
                return None
            return (leaf,) if isinstance(leaf, Working) else leaf
        found: list[Working] = []
        given = 0
        for at, node in enumerate(cell.value):
            if isinstance(node, Cell) and isinstance(node.value, str) and not node.value.strip():
                continue
            given += 1
            leaf = (
                self._length(node, key, f"{place}[{at}]")
                if isinstance(node, Cell) and isinstance(node.value, (str, int, float))
                else self.value(node, replace(key, kind="length"), f"{place}[{at}]")  # a table or a list in the list
            )
            if isinstance(leaf, Working):
                found.append(leaf)
        if given and not key.least <= given <= key.upto:
            few = "few" if given < key.least else "many"
            self.refuse(replace(cell, text=f"{given} values"), place, f"too {few} values", *self._how_many(key))
            return None
        if given == 0 and key.least > 0:
            return None
        return tuple(found)

    def _how_many(self, key: Key) -> tuple[str, str]:
        span = f"{key.least}" if key.least == key.upto else f"{key.least} to {key.upto}"
        names = f" ({', '.join(key.places)})" if key.places else ""
        return f"a list of {span} values{names}", f"Write {key.name} = {_example(key)}"

    def _quantity(self, cell: Cell, key: Key, place: str) -> Working | None:
        given = _as_typed(cell)
        if given is None:
            self._wrong_kind(cell, key, place)
            return None
        try:
            read = (parse_mass if key.kind == "mass" else parse_angle)(given, allow_negative=key.negative)
        except InputError as error:
            self._pass_on(error, cell, place)
            return None
        if not _within(read.value, key.low, key.high):
            unit = "g" if key.kind == "mass" else "degrees"
            small = key.low is not None and read.value < key.low
            mend = "Check the unit: g, kg or oz." if key.kind == "mass" else "Type the angle in degrees."
            self.refuse(
                cell,
                place,
                f"the {key.called} is too {'small' if small else 'great'}",
                f"{key.low:g} to {key.high:g} {unit}",
                mend,
            )
            return None
        tolerance = (
            _tolerance_leaf(read.tolerance, read.unit, read.tolerance_from, cell, key.called, place)
            if read.tolerance > 0
            else None
        )
        leaf = typed(
            read.value,
            key.called,
            read.unit,
            key=place,
            text=cell.text,
            line=cell.line,
            tolerance=tolerance,
            distribution=read.distribution if tolerance is not None else "nominal",
        )
        self.readings[place] = (leaf, cell, key)
        return leaf

    def _count(self, cell: Cell, key: Key, place: str) -> Working | str | None:
        given = _as_typed(cell)
        if given is None:
            self._wrong_kind(cell, key, place)
            return None
        if isinstance(given, str) and given.strip().casefold() in key.words:
            return given.strip().casefold()
        try:
            number = parse_load(given) if key.unit == "tons" else float(parse_count(given))
        except InputError as error:
            other = "".join(f", or {word}" for word in sorted(key.words))
            problems = [replace(each, accepted=f"{each.accepted}{other}") for each in error.problems]
            self._pass_on(InputError(problems), cell, place)
            return None
        if not _within(number, key.low, key.high):
            limits = f"{key.low:g} to {key.high:g}"
            if key.unit:
                self.refuse(cell, place, *self._no_load(str(given).strip(), number, key, limits))
            else:
                self.refuse(cell, place, f"so many {key.called} cannot be right", limits, "Count again.")
            return None
        leaf = typed(number, key.called, "count", key=place, text=cell.text, line=cell.line)
        self.readings[place] = (leaf, cell, key)
        return leaf

    def _no_load(self, text: str, tons: float, key: Key, limits: str) -> tuple[str, str, str]:
        """Return what is wrong with a load that no car carried, what is accepted, and how it may have been meant."""
        accepted = f"{limits} {key.unit}"
        if re.fullmatch(r"[\d,. ]+", text) and _within(pounds := tons / 2000, key.low, key.high):
            return "no car carried so many tons", accepted, f'If that is pounds, write "{text} lb" or "{pounds:g}".'
        return f"the {key.called} cannot be right", accepted, 'Write tons, or pounds with their unit: "80000 lb".'

    def _year(self, cell: Cell, key: Key, place: str) -> int | None:
        text = cell.text.strip()
        year = int(text) if re.fullmatch(r"[0-9]{1,6}", text) else None
        if year is None or isinstance(cell.value, bool):
            self.refuse(cell, place, "this is not a year", "four figures", f"Write {key.name} = {_example(key)}")
            return None
        if not _within(float(year), key.low, key.high):
            mend = f"Write all four figures: {key.name} = {_example(key)}"
            self.refuse(cell, place, f"the {key.called} cannot be right", f"{key.low:g} to {key.high:g}", mend)
            return None
        return year

    # --------------------------------------------------------------------------------------------------------- words

    def _choice(self, cell: Cell, key: Key, place: str) -> str | None:
        if not isinstance(cell.value, str):
            self._wrong_kind(cell, key, place)
            return None
        if not key.choices:
            return cell.value.strip()
        folded = {choice.casefold(): choice for choice in key.choices}
        word = " ".join(cell.value.casefold().split())
        if word in folded:
            return folded[word]
        close = near_words(word, key.choices, many=1)
        words = ", ".join(key.choices[:-1]) + f" or {key.choices[-1]}"
        self.refuse(
            cell,
            place,
            f"this is not a known word for {key.called}",
            words,
            f'Did you mean "{close[0]}"?' if close else f"Write {key.name} = {_example(key)}",
        )
        return None

    def _text(self, cell: Cell, key: Key, place: str) -> str | None:
        if isinstance(cell.value, (bool, tuple)):
            self._wrong_kind(cell, key, place)
            return None
        text = cell.text.strip() if not isinstance(cell.value, str) else cell.value.strip()
        if len(text) > LONGEST_TEXT:
            self.refuse(cell, place, "the text is too long", f"at most {LONGEST_TEXT} characters", "Shorten it.")
            return None
        if any(ord(letter) < 32 or ord(letter) == 127 for letter in text):
            shown = "".join(letter if ord(letter) >= 32 and ord(letter) != 127 else "·" for letter in text)
            mend = "Write it on one line, without tabs."
            self.refuse(replace(cell, text=shown), place, "a control character stands in the text", "plain text", mend)
            return None
        try:
            check_words(key.path, text)
        except InputError as error:
            self._pass_on(error, cell, place)
            return None
        return text

    def _texts(self, cell: Cell, key: Key, place: str) -> tuple[str, ...] | None:
        if not isinstance(cell.value, tuple):
            text = self._text(cell, key, place)
            return None if text is None else tuple(part.strip() for part in text.split(",") if part.strip())
        if len(cell.value) > key.upto:
            text = f"{len(cell.value)} values"
            self.refuse(replace(cell, text=text), place, "too many values", f"at most {key.upto}", "Leave some out.")
            return None
        found: list[str] = []
        for at, node in enumerate(cell.value):
            text = self.value(node, replace(key, kind="text"), f"{place}[{at}]")
            if text:
                found.append(text)
        return tuple(found)

    def _flag(self, cell: Cell, key: Key, place: str) -> bool | None:
        if isinstance(cell.value, bool):
            return cell.value
        self.refuse(
            cell, place, "this is neither yes nor no", "true or false", f"Write {key.name} = true, without quotes."
        )
        return None

    def _windows(self, cell: Cell, key: Key, place: str) -> tuple[Span, ...] | None:
        """Return windows with their ends as leaves in minutes."""
        found: list[Span] = []
        rows = cell.value if isinstance(cell.value, tuple) else (cell,)
        for at, row in enumerate(rows):
            pair = row.value if isinstance(row, Cell) and isinstance(row.value, tuple) else ()
            cells = [each for each in pair if isinstance(each, Cell)]
            ends = [_WAIT.match(each.text) for each in cells]
            if len(ends) != 2 or ends[0] is None or ends[1] is None or ends[0][1] is None:
                mend = f"Write {key.name} = {_example(key)}"
                self.refuse(row, f"{place}[{at}]", "this is not a window", 'windows such as [["48 h", "none"]]', mend)
                continue
            opens = _wait_leaf(ends[0], cells[0], key.called, f"{place}[{at}][0]")
            closes = _wait_leaf(ends[1], cells[1], key.called, f"{place}[{at}][1]")
            if opens is None or (closes is not None and closes.value < opens.value):
                problem, mend = "the window closes before it opens", "Give the earlier time first."
                self.refuse(row, f"{place}[{at}]", problem, f"{cells[0].text} or later, or none", mend)
                continue
            before = found[-1][1] if found else None
            if found and (before is None or opens.value <= before.value):
                ended = "" if before is None else f"later than {before.text}"
                mend = "Give the earlier first, or make one window of the two."
                self.refuse(row, f"{place}[{at}]", "the window opens before the one before it closes", ended, mend)
                continue
            found.append((opens, closes))
        if len(rows) > key.upto:
            text = f"{len(rows)} windows"
            self.refuse(replace(cell, text=text), place, "too many windows", f"at most {key.upto}", "Leave some out.")
        return tuple(found)

    # ------------------------------------------------------------------------------------------------------ problems

    def _wrong_kind(self, cell: Cell, key: Key, place: str) -> None:
        what = {bool: "true or false stands", tuple: "a list stands"}.get(type(cell.value), "something else stands")
        mend = f"Write {key.name} = {_example(key)}"
        self.refuse(cell, place, f"{what} where {_kind_words(key)} belongs", _kind_words(key), mend)

    def _pass_on(self, error: InputError, cell: Cell, place: str, mend: str = "") -> None:
        for each in error.problems:
            placed = replace(each, key=place, file=self.file, line=cell.line, column=cell.column)
            self.problems.append(replace(placed, mend=mend) if mend else placed)


_SOURCES = {
    "outside": "caliper, outside jaws",
    "inside": "caliper, inside jaws",
    "depth": "caliper, depth rod",
    "height": "caliper, height above the rail",
    "rule": "rule",
}


def _taken_with(reading: Reading, key: Key) -> str:
    """Return what a reading's doubt hangs on, in words: its instrument, or how many places of it were typed."""
    if reading.tolerance_from == "text":
        return "as many places as were typed"
    return "as you want it" if key.wished else _SOURCES.get(reading.instrument, "")


def _tolerance_leaf(value: float, unit: str, origin: str, cell: Cell, called: str, place: str) -> Working:
    source = {"typed": "typed behind the value", "text": "last place typed"}.get(
        origin, "tolerance of the size by name"
    )
    return typed(value, f"± of the {called}", unit, key=f"{place}±", text=cell.text, line=cell.line, source=source)


def _wait_leaf(found: re.Match[str], cell: Cell, called: str, place: str) -> Working | None:
    """Return a stretch of time in minutes as a leaf, None where it has no end."""
    if found[1] is None:
        return None
    minutes = float(found[1]) * _MINUTES[found[2].lower()]
    return typed(minutes, called, "min", key=place, text=cell.text, line=cell.line, source="the label, as typed")


def _as_typed(cell: Cell) -> str | int | float | None:
    """Return a cell's number or text in the form that keeps its last place; None for what is neither."""
    value = cell.value
    if isinstance(value, bool):
        return None
    if isinstance(value, TypedFloat):
        plain = value.text.replace("_", "")
        return plain if _PLAIN_NUMBER.match(plain) else float(value)
    return value if isinstance(value, (str, int, float)) else None


def _within(value: float, low: float | None, high: float | None) -> bool:
    return (low is None or value >= low - LENGTH_TOL_MM) and (high is None or value <= high + LENGTH_TOL_MM)


def limit_text(mm: float, unit: Literal["in", "mm"], figures: int = 4) -> str:
    """Return a limit as a bare number in ``unit``, to so many figures and without idle zeros."""
    value = mm / 25.4 if unit == "in" else mm
    return f"{value:.{figures}g}" if abs(value) < 1000 else f"{value:.0f}"


def unit_shown(unit_typed: str, units: Literal["in", "mm"]) -> Literal["in", "mm"]:
    """Return the unit in which a limit is shown beside a value typed in ``unit_typed``."""
    if unit_typed in ("in", "thou", "ft", "drill"):
        return "in" if unit_typed != "drill" else units
    return "mm" if unit_typed in ("mm", "cm", "m") else units


def _example(key: Key) -> str:
    from carwright.car.statements import quoted

    if isinstance(key.example, str):
        return key.example if key.kind in ("year", "flag") else quoted(key.example)
    if isinstance(key.example, list):
        return "[" + ", ".join(str(each) if isinstance(each, list) else quoted(str(each)) for each in key.example) + "]"
    return str(key.example)


def _kind_words(key: Key) -> str:
    return {
        "length": "a length",
        "lengths": "a list of lengths",
        "mass": "a mass",
        "angle": "an angle in degrees",
        "count": "a whole number",
        "year": "a year",
        "choice": "one word",
        "text": "a text in quotes",
        "texts": "a list of texts",
        "flag": "true or false",
        "windows": "a list of pairs",
    }[key.kind]
