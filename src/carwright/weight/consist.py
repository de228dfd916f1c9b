"""A consist: which cars a train is made of, front first, read with every slip named by car and line.

[train]
locomotive_pull = "1.2 N"          # or what a spring balance shows: "120 g", "4 oz"

[[train.car]]                      # a car that has a file of its own
file = "boxcar.toml"

[[train.car]]                      # one that has not
name = "Hopper"
mass = "100 g"
length = "6.0"
pivot_inset = "0.25"
centers = "4.5"
count = 20
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, Final, Literal

from carwright import reference
from carwright.car.document import Cell, Node, Table, decoded, document_of
from carwright.car.keys import HO_RATIO, Key, key_named, near_words
from carwright.car.statements import TypedFloat
from carwright.car.values import Reader, Taking
from carwright.problems import InputError, Problem
from carwright.weight.amounts import percent_of, pull_of
from carwright.working import Working

__all__ = ["MOST_CARS", "CarRow", "Consist", "read_consist"]

MOST_ROWS: Final = 200
MOST_CARS: Final = 500
"""More than any model railroad pulls: beyond it a digit has slipped."""

_PULL_MOST_N: Final = 20.0
"""Of a locomotive in HO, twenty times what a heavy one pulls; other scales by the cube of their ratio."""

_ROLLING_LOW, _ROLLING_HIGH = 0.2, 10.0
"""Percent: nothing rolls more freely, and what rolls worse is bound; a bare number below is a share of one."""

_HEAD: Final = ("name", "scale", "standard", "units", "locomotive_pull", "locomotive_mass", "rolling", "car")


@dataclass(frozen=True, slots=True)
class CarRow:
    """One [[train.car]]: its sizes are leaves, None where they are not given.

    Args:
        number: of the row, counted from 1.
        line: of the file.
        name: in the owner's words, or "".
        file: of the car, as written, or "".
        count: how many such cars stand in a row; None for one.
        turned: whether its B end leads.
        mass: of one car as it runs, g, without ``load``.
        load: put into it besides, g.
        rolling: resistance as a grade, percent.
        length: over its ends, mm.
        centers: truck centres, mm.
        pivot_inset: end of the car to its coupler's pivot, mm.
        height: of its couplers above the rail, mm.
        wheelbase: of a truck, mm.
        coupler_length: pivot to pulling face, mm.
        side_play: how far a coupler's head swings to one side, mm.
        swing: the same in degrees.
    """

    number: int
    line: int
    name: str = ""
    file: str = ""
    count: Working | None = None
    turned: bool = False
    mass: Working | None = None
    load: Working | None = None
    rolling: Working | None = None
    length: Working | None = None
    centers: Working | None = None
    pivot_inset: Working | None = None
    height: Working | None = None
    wheelbase: Working | None = None
    coupler_length: Working | None = None
    side_play: Working | None = None
    swing: Working | None = None

    @property
    def many(self) -> int:
        """Return how many cars the row stands for."""
        return 1 if self.count is None else round(self.count.value)


@dataclass(frozen=True, slots=True)
class Consist:
    """A train, the car behind the locomotive first.

    Args:
        name: in the owner's words, or "".
        scale: as the data knows it.
        standard: "NMRA" or "NEM".
        units: of bare numbers, and in which the answer is told.
        pull: of the locomotive on level track, N.
        locomotive: its mass, g.
        rolling: of cars that do not say it themselves, percent.
        rows: in order, at least one.
    """

    name: str
    scale: str
    standard: Literal["NMRA", "NEM"]
    units: Literal["in", "mm"]
    pull: Working | None
    locomotive: Working | None
    rolling: Working | None
    rows: tuple[CarRow, ...]

    @property
    def many(self) -> int:
        """Return how many cars there are."""
        return sum(row.many for row in self.rows)


def _from(path: str, name: str, called: str) -> Key:
    """Return a key of the consist that is read like one of the car file."""
    known = key_named(path)
    assert known is not None
    return replace(known, path=f"train.car[].{name}", called=called, most="", ends=False)


def _keys(ratio: float) -> Mapping[str, Key]:
    """Return the keys of one car; masses of a scale go by the cube of its ratio."""
    weigh = (HO_RATIO / ratio) ** 3
    mass, count, text = key_named("body.mass"), key_named("underframe.crossbearers"), key_named("car.name")
    flag = key_named("car.captive")
    assert mass is not None
    assert count is not None
    assert text is not None
    assert flag is not None
    return {
        "file": replace(text, path="train.car[].file", called="file", example="boxcar.toml"),
        "name": replace(text, path="train.car[].name"),
        "count": replace(count, path="train.car[].count", called="cars", low=1, high=MOST_CARS, example=20),
        "turned": replace(flag, path="train.car[].turned", called="turned"),
        "mass": replace(
            mass, path="train.car[].mass", called="mass", low=5 * weigh, high=1000 * weigh, example="100 g"
        ),
        "load": replace(mass, path="train.car[].load", called="load", low=0, high=1000 * weigh, example="20 g"),
        "length": _from("body.length", "length", "length of the car"),
        "centers": _from("trucks.centers", "centers", "truck centres"),
        "pivot_inset": _from("coupler.pivot_inset", "pivot_inset", "coupler pivot from the end"),
        "height": _from("coupler.height", "height", "height of the couplers"),
        "wheelbase": _from("trucks.wheelbase", "wheelbase", "wheelbase of a truck"),
        "coupler_length": _from("coupler.length", "coupler_length", "coupler length"),
        "side_play": _from("coupler.side_play", "side_play", "side play of the couplers"),
        "swing": _from("coupler.swing", "swing", "swing of the couplers"),
    }


_WITH_FILE: Final = ("file", "name", "count", "turned", "mass", "load", "rolling")
_OF_A_CAR: Final = ("length", "centers", "pivot_inset", "height", "wheelbase", "coupler_length", "side_play", "swing")


def read_consist(data: bytes | str, *, file: str = "") -> Consist:
    """Return the consist that a file's text describes.

    Args:
        data: the file's bytes or text.
        file: its name, for problems.

    Raises:
        InputError: all problems of the file at once; each names its car, counted from 1, and its line.
    """
    raw = data.encode("utf-8", "surrogatepass") if isinstance(data, str) else data
    root, slips = document_of(decoded(raw, file=file))
    reader = _Consists(file, [replace(slip, file=file) for slip in slips])
    consist = reader.consist(root)
    problems = [*reader.values.problems]
    if problems:
        raise InputError(sorted(dict.fromkeys(problems), key=lambda each: (each.line or 0, each.column or 0)))
    return consist


class _Consists:
    """Reads one consist and collects every problem in ``values``."""

    def __init__(self, file: str, problems: list[Problem]) -> None:
        self.values = Reader(file, problems=problems)
        self.keys: Mapping[str, Key] = {}
        self.ratio = HO_RATIO

    def consist(self, root: Table) -> Consist:
        for section, node in root.inside.items():
            if section != "train":
                close = near_words(section, ("train",), many=1)
                self.values.refuse(
                    node,
                    section,
                    "a consist has no such section",
                    "[train] and [[train.car]]",
                    "Did you mean train?" if close else "Delete it: a car's own sizes stand in its [[train.car]].",
                )
        head = root.inside.get("train")
        if not isinstance(head, Table):
            place = head if head is not None else Table(1)
            self.values.refuse(
                place, "train", "there is no train in this file", "[train] and at least one [[train.car]]"
            )
            return Consist("", "HO", "NMRA", "in", None, None, None, ())
        self._only(head, "train", _HEAD)
        standard = self._choice(head, "standard", ("NMRA", "NEM")) or "NMRA"
        units = self._choice(head, "units", ("in", "mm")) or ("mm" if standard == "NEM" else "in")
        scale = self._scale(head)
        self.ratio = reference.scale_ratio(scale, standard).value
        self.values.taking = Taking(
            "mm" if units == "mm" else "in", "caliper", scale, self.ratio, "NEM" if standard == "NEM" else "NMRA"
        )
        self.keys = _keys(self.ratio)
        name = head.inside.get("name")
        pull = self._pull(head.inside.get("locomotive_pull"))
        heavy = head.inside.get("locomotive_mass")
        weigh = replace(self.keys["mass"], path="train.locomotive_mass", called="mass of the locomotive")
        locomotive = None if heavy is None else self.values.value(heavy, weigh, "train.locomotive_mass")
        rolling = self._rolling(head.inside.get("rolling"), "train.rolling", "rolling resistance")
        rows = self._rows(head)
        return Consist(
            name.value if isinstance(name, Cell) and isinstance(name.value, str) else "",
            scale,
            "NEM" if standard == "NEM" else "NMRA",
            "mm" if units == "mm" else "in",
            pull,
            locomotive,
            rolling,
            rows,
        )

    # ---------------------------------------------------------------------------------------------------- [train]

    def _only(self, table: Table, place: str, accepted: tuple[str, ...]) -> None:
        for name, node in table.inside.items():
            if name not in accepted:
                near = near_words(name, accepted, many=1)
                mend = f"Did you mean {near[0]}?" if near else ""
                self.values.refuse(node, f"{place}.{name}", "there is no such key", ", ".join(accepted), mend)

    def _choice(self, head: Table, name: str, words: tuple[str, ...]) -> str:
        node = head.inside.get(name)
        if node is None:
            return ""
        given = node.value if isinstance(node, Cell) and isinstance(node.value, str) else ""
        found = next((word for word in words if word.casefold() == given.strip().casefold()), "")
        if not found:
            listed = " or ".join(f'"{word}"' for word in words)
            self.values.refuse(node, f"train.{name}", f"this is not a word for {name}", listed)
        return found

    def _scale(self, head: Table) -> str:
        node = head.inside.get("scale")
        if node is None:
            return "HO"
        if not isinstance(node, Cell) or not isinstance(node.value, str):
            self.values.refuse(node, "train.scale", "this is not a scale", 'a word such as "HO"', 'Write scale = "HO".')
            return "HO"
        try:
            return reference.scale_word(node.value)
        except InputError as error:
            for each in error.problems:
                self.values.refuse(node, "train.scale", each.problem, each.accepted, each.mend)
            return "HO"

    def _given(self, node: Node, key: str, accepted: str) -> str | int | float | None:
        value = node.value if isinstance(node, Cell) else None
        if isinstance(value, TypedFloat):
            return value.text
        if isinstance(value, bool) or not isinstance(value, str | int | float):
            self.values.refuse(node, key, "this is not a number", accepted)
            return None
        return value

    def _passed_on(self, error: InputError, node: Node) -> None:
        first = node[0] if isinstance(node, list) else node
        column = first.column if isinstance(first, Cell) else None
        self.values.problems += [
            replace(each, file=self.values.file, line=first.line, column=column) for each in error.problems
        ]

    def _pull(self, node: Node | None) -> Working | None:
        if node is None:
            return None
        key = "train.locomotive_pull"
        given = self._given(node, key, 'a pull such as "1.2 N" or "120 g"')
        if given is None:
            return None
        most = _PULL_MOST_N * (HO_RATIO / self.ratio) ** 3
        try:
            return pull_of(given, "pull of the locomotive", high_n=most, key=key, line=_line(node))
        except InputError as error:
            self._passed_on(error, node)
            return None

    def _rolling(self, node: Node | None, key: str, name: str) -> Working | None:
        if node is None:
            return None
        given = self._given(node, key, "percent, such as 2")
        if given is None:
            return None
        reason = "It is the grade on which a car just rolls by itself."
        try:
            return percent_of(
                given, name, low=_ROLLING_LOW, high=_ROLLING_HIGH, reason=reason, key=key, line=_line(node), shares=True
            )
        except InputError as error:
            self._passed_on(error, node)
            return None

    # ------------------------------------------------------------------------------------------------- [[train.car]]

    def _rows(self, head: Table) -> tuple[CarRow, ...]:
        node = head.inside.get("car")
        if node is None or not isinstance(node, list):
            self.values.refuse(
                node if node is not None else head,
                "train.car",
                "the train has no cars",
                "at least one [[train.car]], in double brackets",
                'Write [[train.car]] and below it file = "boxcar.toml".',
            )
            return ()
        if len(node) > MOST_ROWS:
            mend = "Write cars that are alike once, with count."
            self.values.refuse(node, "train.car", f"{len(node)} tables are too many", f"at most {MOST_ROWS}", mend)
            return ()
        rows = tuple(self._row(table, number) for number, table in enumerate(node, 1))
        many = sum(row.many for row in rows)
        if many > MOST_CARS:
            self.values.refuse(node, "train.car", f"{many} cars are too many", f"at most {MOST_CARS} in all")
        return rows

    def _row(self, table: Table, number: int) -> CarRow:
        place = f"train.car[{number}]"
        self._only(table, place, (*self.keys, "rolling"))
        found: dict[str, Any] = {}
        for name, key in self.keys.items():
            node = table.inside.get(name)
            if node is None:
                continue
            value = self.values.value(node, key, f"{place}.{name}")
            if isinstance(value, Working) and name in _OF_A_CAR:
                value = replace(value, name=f"{key.called}, car {number}")
            if value is not None:
                found[name] = value
        rolling = table.inside.get("rolling")
        found["rolling"] = self._rolling(rolling, f"{place}.rolling", "rolling resistance")
        if found.get("file"):
            for name in _OF_A_CAR:
                if name in table.inside:
                    self.values.refuse(
                        table.inside[name],
                        f"{place}.{name}",
                        "a car with a file has its sizes there",
                        ", ".join(_WITH_FILE),
                        "Leave it out, or write the car without file.",
                    )
        length, centers = found.get("length"), found.get("centers")
        if isinstance(length, Working) and isinstance(centers, Working) and centers.value >= length.value:
            self.values.refuse(
                table.inside["centers"],
                f"{place}.centers",
                "the truck centres are longer than the car",
                "less than its length",
                f"Its length is on line {length.line}.",
            )
        if not found.get("file") and not any(name in table.inside for name in ("mass", *_OF_A_CAR)):
            self.values.refuse(
                table,
                place,
                f"car {number} says nothing of itself",
                "file, or mass, length, pivot_inset, height and centers",
                'For example: file = "boxcar.toml".',
            )
        return CarRow(number, table.line, **{name: value for name, value in found.items() if value is not None})


def _line(node: Node) -> int | None:
    first = node[0] if isinstance(node, list) else node
    return first.line
