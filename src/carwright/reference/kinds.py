"""Kinds of car, and the frame that a car of a kind and year most likely had."""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

from carwright.reference.choices import practice_value
from carwright.reference.citation import Citation, Entry
from carwright.reference.leaves import leaf
from carwright.reference.store import entry, under
from carwright.working import Working, derive, of

__all__ = ["FrameDefault", "car_kind", "car_kinds", "default_truck_centers", "frame_defaults", "near_kinds", "slatted"]

_PROTOTYPE = "in prototype"


@lru_cache(maxsize=1)
def car_kinds() -> tuple[str, ...]:
    """Return the words for kinds of car that the data is written in ("box", "gondola", ...)."""
    return _words(entry("practice", "vocabulary", "car_types"))


def _words(stored: Entry) -> tuple[str, ...]:
    return tuple(str(each) for each in stored.value) if isinstance(stored.value, tuple) else (stored.words,)


def _plain(text: str) -> str:
    return " ".join(text.lower().replace("_", " ").replace("-", " ").split())


@lru_cache(maxsize=1)
def _kind_by_word() -> Mapping[str, str]:
    found = {_plain(kind): kind for kind in car_kinds()}
    for kind, stored in under("practice", "vocabulary").get("plain_words", {}).items():
        found.update((_plain(word), kind) for word in _words(stored))
    for code, row in under("practice", "designation").items():
        found[_plain(code)] = row["type"].words
    return found


def car_kind(type_text: str) -> str | None:
    """Return the kind of car that a designation ("XM") or a plain word ("boxcar") means, or None.

    A description is understood by the last known word in it, which names the car ("single-sheathed boxcar").

    Example:
        >>> car_kind("XM"), car_kind("Flat car"), car_kind("single-sheathed boxcar"), car_kind("zeppelin")
        ('box', 'flat', 'box', None)
    """
    words = _plain(type_text.replace(",", " ")).split()
    known = _kind_by_word()
    for end in range(len(words), 0, -1):
        for start in range(end):
            found = known.get(" ".join(words[start:end]))
            if found is not None:
                return found
    return None


def near_kinds(type_text: str) -> tuple[str, ...]:
    """Return up to three designations or words that are spelled like the one given."""
    codes = {_plain(code): code for code in under("practice", "designation")}
    near = difflib.get_close_matches(_plain(type_text), list(_kind_by_word()), n=3, cutoff=0.5)
    return tuple(codes.get(word, word) for word in near)


def slatted(kind: str | None) -> bool:
    """Return whether cars of a kind have sides of slats, so that one sees, and sprays, through them."""
    return kind in _words(entry("practice", "vocabulary", "groups", "slatted"))


@dataclass(frozen=True, slots=True)
class FrameDefault:
    """The underframe that a kind of car most likely had in a period; lengths in prototype inches.

    Positions of cross members are fractions of the truck centres from mid-car, negative toward the A end.
    A drawing or photograph of the very car beats every figure here.

    Args:
        name: name of the entry.
        kinds: kinds of car it serves.
        years: first and last year of a fair default.
        truck_centers: truck centres, or None where they go by the length.
        bolster_to_striker: bolster centre to striker face.
        center_sill: its form, in words.
        center_sill_mid: depth at mid-car, or None.
        center_sill_bolster: depth at the bolsters, or None.
        center_sill_width: over the flanges or cover plates, or None.
        web_gap: between the webs, or None.
        crossbearers: positions of the heavy cross members.
        crossties: positions of the light ones.
        stringers: number of them.
        bolster_width: along the car.
        side_sill: its form, in words.
        side_sill_depth: depth, or None.
        brake: kind of brake, in words.
        note: what to know about it.
        citation: pedigree of the frame as a whole.
        seen_fields: the parts that were read.
    """

    name: str
    kinds: tuple[str, ...]
    years: tuple[int, int]
    truck_centers: Working | None
    bolster_to_striker: Working
    center_sill: str
    center_sill_mid: Working | None
    center_sill_bolster: Working | None
    center_sill_width: Working | None
    web_gap: Working | None
    crossbearers: tuple[Working, ...]
    crossties: tuple[Working, ...]
    stringers: int
    bolster_width: Working
    side_sill: str
    side_sill_depth: Working | None
    brake: str
    note: str
    citation: Citation
    seen_fields: tuple[str, ...]


def _inches(row: Mapping[str, Entry], name: str, words: str) -> Working | None:
    stored = row.get(name)
    return None if stored is None else leaf(stored, words, _PROTOTYPE, stored=_PROTOTYPE)


def _known_inches(row: Mapping[str, Entry], name: str, words: str) -> Working:
    return leaf(row[name], words, _PROTOTYPE, stored=_PROTOTYPE)


def _positions(row: Mapping[str, Entry], name: str, words: str) -> tuple[Working, ...]:
    stored = row.get(name)
    if stored is None or not isinstance(stored.value, tuple):
        return ()
    return tuple(
        of(
            float(each),
            f"{words} {place}, as a fraction of the truck centres",
            "",
            key=f"{stored.key}.{place}",
            source=str(stored.citation),
            basis=stored.citation.basis,
            note=stored.note,
            text=f"{each}",
        )
        for place, each in enumerate(stored.value, 1)
        if isinstance(each, int | float)
    )


@lru_cache(maxsize=1)
def _frames() -> tuple[FrameDefault, ...]:
    found = []
    for name, row in under("anatomy", "default_frame").items():
        first, last = (int(str(each)) for each in _words(row["years"]))
        found.append(
            FrameDefault(
                name=name,
                kinds=_words(row["applies_to"]),
                years=(first, last),
                truck_centers=_inches(row, "truck_centres_in", "truck centres"),
                bolster_to_striker=_known_inches(row, "bolster_to_striker_in", "bolster to striker"),
                center_sill=row["center_sill"].words,
                center_sill_mid=_inches(row, "center_sill_mid_in", "centre sill depth at mid-car"),
                center_sill_bolster=_inches(row, "center_sill_bolster_in", "centre sill depth at the bolsters"),
                center_sill_width=_inches(row, "center_sill_width_in", "centre sill width"),
                web_gap=_inches(row, "web_gap_in", "between the centre sill's webs"),
                crossbearers=_positions(row, "crossbearers", "crossbearer")
                or _positions(row, "needle_beams", "needle beam"),
                crossties=_positions(row, "crossties", "crosstie"),
                stringers=round(row["stringers"].number),
                bolster_width=_known_inches(row, "bolster_width_in", "bolster width"),
                side_sill=row["side_sill"].words,
                side_sill_depth=_inches(row, "side_sill_depth_in", "side sill depth"),
                brake=row["brake"].words,
                note=row["center_sill"].note,
                citation=row["center_sill"].citation,
                seen_fields=_words(row["seen_fields"]),
            )
        )
    return tuple(found)


def frame_defaults(kind: str, year: int | None, length_in: float | None = None) -> FrameDefault | None:
    """Return the frame that a car of this kind and year most likely had, or None where the data has none.

    Of the frames whose period holds the year, the one whose truck centres fit the length best is taken; of these the
    one that began last.

    Args:
        kind: a word of ``car_kinds`` or anything ``car_kind`` understands.
        year: year built or modelled; None leaves the period out.
        length_in: length over strikers in prototype inches, or None where it is not known.
    """
    word = car_kind(kind)
    serving = [each for each in _frames() if word in each.kinds]
    if year is not None:
        serving = [each for each in serving if each.years[0] <= year <= each.years[1]]
    if not serving:
        return None

    def misfit(frame: FrameDefault) -> float:
        if length_in is None or frame.truck_centers is None:
            return 0.0
        return abs(frame.truck_centers.value + 2 * frame.bolster_to_striker.value - length_in)

    return min(serving, key=lambda each: (misfit(each), -each.years[0]))


def default_truck_centers(length_over_strikers: Working, frame: FrameDefault | None = None) -> Working:
    """Return the truck centres to expect where nothing is known of the car, in the unit of the length.

    Up to about 54 ft: the length less a fixed distance at each end (66 in, or the frame's own). Longer cars: about
    three quarters of the length, and look the car up.

    Args:
        length_over_strikers: prototype inches.
        frame: the frame whose distance is used, or None for the general one.
    """
    long_from = practice_value("truck_centers_long_from")
    if length_over_strikers.value > long_from.value:
        share = practice_value("truck_centers_long_share")
        return derive("truck centres", "s * L", _PROTOTYPE, s=share, L=length_over_strikers)
    if frame is None:
        stored = entry("anatomy", "end", "bolster-to-striker", "value")
        inset = leaf(stored, "bolster to striker", _PROTOTYPE, stored=_PROTOTYPE)
    else:
        inset = frame.bolster_to_striker
    return derive("truck centres", "L - 2 * e", _PROTOTYPE, L=length_over_strikers, e=inset)
