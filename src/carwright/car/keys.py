"""The key table of the car file: every key's question, reading, range and picture, from ``keys.toml``.

Words: a *path* names a key whatever table it stands in ("trucks.seat_height", "body.lug[].x"); a *place* names one
value in one file ("trucks.a.seat_height", "body.lug[0].x", "body.inside_width[1]"). ``path_of`` turns a place into its
path.
"""

from __future__ import annotations

import difflib
import re
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources
from typing import Any, Literal

__all__ = [
    "HO_RATIO",
    "Key",
    "KeyKind",
    "Picture",
    "Section",
    "key_named",
    "keys",
    "near",
    "near_words",
    "path_of",
    "picture_points",
    "section_named",
    "sections",
    "sheet_letters",
]

KeyKind = Literal["length", "lengths", "mass", "angle", "count", "year", "choice", "text", "texts", "flag", "windows"]
"""What may stand behind a key."""

HO_RATIO = 87.1
"""The ratio at which the ranges of ``keys.toml`` are written."""


@dataclass(frozen=True, slots=True)
class Picture:
    """The small picture of a measurement: a view of the car and the two points of it between which it is taken."""

    view: str
    start: str
    end: str


@dataclass(frozen=True, slots=True)
class Section:
    """A section of the car file.

    Args:
        path: "trucks", "body.notch", or "body.lug[]" for a table that may stand several times.
        title: heading.
        what: one sentence.
        many: whether it is written in double brackets.
        ends: whether it may be repeated as ``.a`` and ``.b``.
    """

    path: str
    title: str
    what: str
    many: bool
    ends: bool

    @property
    def header(self) -> str:
        """Return the line that begins the section: ``[trucks]`` or ``[[body.lug]]``."""
        bare = self.path.removesuffix("[]")
        return f"[[{bare}]]" if self.many else f"[{bare}]"


@dataclass(frozen=True, slots=True)
class Key:
    """One key of the car file.

    Args:
        path: dotted path.
        kind: see ``KeyKind``.
        letter: its letter on the measuring sheet.
        called: plain name of the number.
        question: what to ask.
        how: how to measure it.
        default: what is taken where it is not given, in words.
        example: a value as it stands in a file.
        first: whether it is one of the eleven on which most hangs, which are named before the others.
        taken: how the reading is taken; "" for what is not a length.
        unit: of a count that is no number of pieces: "tons", which may be typed in pounds too.
        low: least accepted value at HO (mm; degrees, grams, pieces or year where the kind says so), or None.
        high: greatest accepted value, likewise.
        wished: whether it is a wish, though it has a doubt as if it were measured: no instrument is told of it.
        usual: least and greatest that is common at HO, mm; () where nothing is said.
        usual_share: least and greatest part of the key that bounds it that is common; () where nothing is said.
        scaled: whether low and high go with the scale.
        negative: whether a value below zero means something.
        ends: whether it may be given at each end.
        most: path of the key that bounds it, or "".
        most_share: part of that key's value that it may reach.
        clash: what is wrong when it is more, in words.
        least: least number of values in a list.
        upto: greatest number of values in a list.
        places: names of the values in a list.
        choices: accepted words of a choice.
        words: words accepted beside a number.
        needed: whether a table without it says nothing.
        program: whether the program writes it by itself; it is never asked.
        picture: the small picture, or None.
    """

    path: str
    kind: KeyKind
    letter: str
    called: str
    question: str
    how: str
    default: str
    example: Any
    first: bool = False
    taken: str = ""
    unit: str = ""
    low: float | None = None
    high: float | None = None
    wished: bool = False
    usual: tuple[float, ...] = ()
    usual_share: tuple[float, ...] = ()
    scaled: bool = True
    negative: bool = False
    ends: bool = False
    most: str = ""
    most_share: float = 1.0
    clash: str = ""
    least: int = 0
    upto: int = 1
    places: tuple[str, ...] = ()
    choices: tuple[str, ...] = ()
    words: tuple[str, ...] = ()
    needed: bool = False
    program: bool = False
    picture: Picture | None = None

    @property
    def section(self) -> str:
        """Return the path of the section that it stands in."""
        return self.path.rpartition(".")[0]

    @property
    def name(self) -> str:
        """Return its own name, the last part of the path."""
        return self.path.rpartition(".")[2]

    def limits(self, ratio: float) -> tuple[float | None, float | None]:
        """Return the accepted range, both ends included, at the scale 1:``ratio``; None where there is no limit."""
        factor = HO_RATIO / ratio if self.scaled and self.kind in ("length", "lengths") else 1.0
        return (
            None if self.low is None else self.low * factor,
            None if self.high is None else self.high * factor,
        )


@lru_cache(maxsize=1)
def _table() -> Mapping[str, Any]:
    return tomllib.loads(resources.files("carwright.car").joinpath("keys.toml").read_text(encoding="utf-8"))


@lru_cache(maxsize=1)
def sections() -> tuple[Section, ...]:
    """Return every section of the car file, in the order in which they are written."""
    return tuple(
        Section(path, row["title"], row["what"], row.get("many", False), row.get("ends", False))
        for path, row in _table()["section"].items()
    )


@lru_cache(maxsize=1)
def keys() -> tuple[Key, ...]:
    """Return every key of the car file, in the order in which they are written."""
    return tuple(_key(path, row) for path, row in _table()["key"].items())


def _key(path: str, row: Mapping[str, Any]) -> Key:
    fields: dict[str, Any] = {name: tuple(value) if isinstance(value, list) else value for name, value in row.items()}
    fields["example"] = row["example"]
    picture = Picture(fields.pop("view"), fields.pop("from"), fields.pop("to")) if "view" in fields else None
    return Key(path=path, picture=picture, **fields)


@lru_cache(maxsize=1)
def _by_path() -> Mapping[str, Key]:
    return {key.path: key for key in keys()}


@lru_cache(maxsize=1)
def _sections_by_path() -> Mapping[str, Section]:
    return {section.path: section for section in sections()}


@lru_cache(maxsize=4096)
def path_of(place: str) -> str:
    """Return the path of the key that stands at ``place``.

    Example:
        >>> path_of("trucks.a.seat_height"), path_of("body.lug[2].x"), path_of("body.inside_width[1]")
        ('trucks.seat_height', 'body.lug[].x', 'body.inside_width')
    """
    path = re.sub(r"\[\d+\](?=\.)", "[]", place.removesuffix("±"))
    path = re.sub(r"(\[\d+\])+$", "", path)
    path = re.sub(r"^([a-z]+\.[a-z_]+)\.[ab]$", r"\1", path)
    return re.sub(r"^shop\.", "shelf.", re.sub(r"^([a-z]+)\.[ab]\.", r"\1.", path))


def key_named(path: str) -> Key | None:
    """Return the key at a path or a place, or None where there is no such key."""
    table = _by_path()
    return table.get(path) or table.get(path_of(path))


def section_named(path: str) -> Section | None:
    """Return the section at a path, or None."""
    return _sections_by_path().get(path)


@lru_cache(maxsize=1)
def sheet_letters() -> tuple[Key, ...]:
    """Return the keys A to N of the measuring sheet, in the order of their letters."""
    return tuple(sorted((key for key in keys() if len(key.letter) == 1), key=lambda key: key.letter))


def picture_points() -> Mapping[str, tuple[str, ...]]:
    """Return the named points of each view, between which a picture's dimension stands."""
    return {view: tuple(points) for view, points in _table()["points"].items()}


def near_words(word: str, known: Sequence[str], *, many: int = 3) -> tuple[str, ...]:
    """Return the words of ``known`` that resemble ``word`` most, the nearest first; at most ``many``."""
    folded = {each.casefold(): each for each in known}
    close = difflib.get_close_matches(word.casefold()[:80], folded, n=many, cutoff=0.6)
    return tuple(folded[each] for each in close)


def near(path: str) -> tuple[str, ...]:
    """Return the paths that an unknown ``path`` may have meant: the same name elsewhere, else its near misses.

    Example:
        >>> near("body.lip_deph")
        ('body.lip_depth',)
        >>> near("body.seat_height")
        ('trucks.seat_height',)
    """
    section, _, name = path_of(path).rpartition(".")
    same_section = {key.name: key.path for key in keys() if key.section == section}
    here = near_words(name, tuple(same_section))
    elsewhere = tuple(key.path for key in keys() if key.name == name.casefold() and key.section != section)
    close = tuple(same_section[each] for each in here)
    if close and difflib.SequenceMatcher(None, name, here[0]).ratio() >= 0.8:
        return close[:1]
    if elsewhere:
        return elsewhere[:3]
    if close:
        return close
    names: dict[str, list[str]] = {}
    for key in keys():
        names.setdefault(key.name, []).append(key.path)
    return tuple(path for each in near_words(name, tuple(names)) for path in names[each])[:3]
