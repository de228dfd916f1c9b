"""When each reading was taken, and which readings are stale: taken before something changed that they hang on.

Only readings of the assembled thing can grow stale: a gauge set against a car, a scale under it. The size of a part
does not change because another part did. ``HANGS_ON`` says for each such key which others it hangs on. When the value
of one of these keys changes in a save, the reading counts as taken then; taken again with the same result,
``remeasured`` notes it.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime
from functools import lru_cache
from types import MappingProxyType

from sqlalchemy import Connection, insert, select

from carwright.car.keys import key_named
from carwright.findings import listed
from carwright.problems import InputError, Problem
from carwright.shop.papers import Paper, as_text, fetch_document, moment, one_revision
from carwright.shop.records import Measured, Stale
from carwright.shop.tables import document, measured, revision

__all__ = [
    "HANGS_ON",
    "READ_OFF",
    "alike",
    "in_words",
    "note_joined",
    "note_readings",
    "of_car",
    "remeasured",
    "stale",
    "subject",
]

_STACK = (
    "trucks.seat_height",
    "trucks.wheel_diameter",
    "trucks.wheels",
    "trucks.washers",
    "trucks.bolster_thickness",
    "trucks.boss_height",
    "underframe.bolster",
    "underframe.layers",
    "body.lip_depth",
    "body.floor_thickness",
    "coupler.mount",
    "coupler.height",
    "coupler.drop",
    "coupler.shim",
    "coupler.recess",
    "coupler.shank_offset",
    "coupler.droop",
)
"""What carries a coupler, from the rail up."""

_WHEELS = ("trucks.wheel_diameter", "trucks.wheels", "trucks.axle_length")

HANGS_ON: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "found.coupler_height": _STACK,
        "gauge.coupler_height": _STACK,
        "gauge.trip_pin": _STACK,
        "found.weight": (
            "body.mass",
            "body.block",
            "trucks.mass",
            "trucks.wheels",
            "coupler.mass",
            "underframe.bolster",
            "underframe.layers",
            "underframe.center_sill",
        ),
        "gauge.roll_rise": _WHEELS,
        "gauge.check_gauge": _WHEELS,
        "gauge.span": _WHEELS,
        "trucks.seat_height": ("trucks.wheel_diameter",),
        "trucks.frame_top": ("trucks.wheel_diameter",),
        "coupler.height": ("trucks.wheel_diameter", "trucks.wheels"),
    }
)
"""For each key whose reading can grow stale, the keys it hangs on; the ends' own keys are meant with the pair's."""

READ_OFF = frozenset(
    {
        "trucks.seat_height",
        "trucks.wheel_diameter",
        "trucks.bolster_thickness",
        "trucks.boss_height",
        "trucks.axle_length",
        "trucks.mass",
        "body.lip_depth",
        "body.floor_thickness",
        "body.mass",
        "coupler.height",
        "coupler.drop",
        "coupler.shank_offset",
        "coupler.droop",
        "coupler.mass",
    }
)
"""Sizes of what is there anyway: given for the first time, or taken out of the file, nothing changed on the car.

The others are fitted or decided: a washer that was not in the file was not under the car.
"""

_ENDS = ("a", "b")

_OF_ONE_END = ("trucks", "coupler")
"""Sections whose readings are of the one truck or coupler; the others' are of the whole car, which tilts as one."""


def note_readings(
    connection: Connection, of: Paper, data: bytes, *, number: int, based_on: int, at: datetime, by: str
) -> None:
    """Note the readings that are new or different in a revision, against the one that it is based on."""
    now = _readings(data)
    if not now:
        return
    sha256 = connection.scalar(
        select(revision.c.sha256).where(revision.c.paper_id == of.id, revision.c.number == based_on)
    )
    before = _readings(fetch_document(connection, sha256)) if sha256 is not None else {}
    rows = [
        {
            "paper_id": of.id,
            "key": key,
            "value": value,
            "revision": number,
            "taken_at": as_text(at),
            "by": by,
            "note": "",
        }
        for key, value in now.items()
        if before.get(key) != value
    ]
    if rows:
        connection.execute(insert(measured), rows)


def note_joined(
    connection: Connection, of: Paper, data: bytes, *, number: int, based_on: int, others: Sequence[int], base: int
) -> None:
    """Note the readings that a revision made of several has from others than the one that it is based on.

    Each counts as taken when its own was saved. Where something that it hangs on was changed on another side, it is
    noted at ``base``, the revision that all go back to: that makes it stale, because nobody read it on such a car.
    """
    now, leaves = _readings(data), _leaves(data)
    before = _readings(_document(connection, of, based_on))
    for other in others:
        found = one_revision(connection, of, other)
        if found is None:
            continue
        theirs = _leaves(found.data)
        for key, value in now.items():
            if before.get(key) == value or theirs.get(key) != value:
                continue
            same = all(theirs.get(each) == leaves.get(each) for each in _upstream(key, {**theirs, **leaves}))
            connection.execute(
                insert(measured).values(
                    paper_id=of.id,
                    key=key,
                    value=value,
                    revision=number if same or not base else base,
                    taken_at=as_text(found.saved_at),
                    by=found.by,
                    note="",
                )
            )


def remeasured(connection: Connection, of: Paper, key: str, *, taken_at: datetime, by: str, note: str) -> Measured:
    """Note that a reading was taken again and came out as it stands in the car's file.

    Raises:
        InputError: no such reading stands in the file.
    """
    readings = _readings(_document(connection, of, of.head))
    if key not in readings:
        raise InputError(
            Problem(
                "no reading of that key stands in the car's file, or it cannot grow stale",
                key,
                ", ".join(sorted(readings)) or "none stands in it",
                key="key",
                mend="Enter the reading in the car's file: that is noted by itself.",
            )
        )
    connection.execute(
        insert(measured).values(
            paper_id=of.id,
            key=key,
            value=readings[key],
            revision=of.head,
            taken_at=as_text(taken_at),
            by=by,
            note=note.strip(),
        )
    )
    return Measured(key, readings[key], of.head, taken_at, by, note.strip())


def of_car(connection: Connection, of: Paper) -> list[Measured]:
    """Return every reading that was noted, newest first."""
    rows = connection.execute(select(measured).where(measured.c.paper_id == of.id).order_by(measured.c.id.desc()))
    return [Measured(row.key, row.value, row.revision, moment(row.taken_at), row.by, row.note) for row in rows]


def stale(connection: Connection, of: Paper) -> list[Stale]:
    """Return the readings of the head that were taken before something changed that they hang on, by key."""
    now = _document(connection, of, of.head)
    standing = _readings(now)
    noted = [each for each in of_car(connection, of) if each.key in standing] if standing else []
    if not noted:
        return []
    way = _way_back(connection, of, min(each.revision for each in noted))
    last: dict[str, Measured] = {}
    for each in noted:
        if each.revision in way:
            last.setdefault(each.key, each)
    found = []
    values = _leaves(now)
    for key, reading in sorted(last.items()):
        then = _leaves(_document(connection, of, reading.revision))
        changed = [each for each in _upstream(key, {**then, **values}) if _differs(each, then, values)]
        if changed:
            found.append(_because(connection, of, reading, changed, then, values, way))
    return found


def alike(found: Sequence[Stale]) -> list[tuple[Stale, ...]]:
    """Return stale readings with those of both ends together that the same change, or its like at each end, made so."""
    groups: dict[tuple[object, ...], list[Stale]] = {}
    for each in found:
        cause = (_both_ends(each.because), each.old, each.new, each.revision)
        groups.setdefault((_both_ends(each.reading.key), *cause), []).append(each)
    return [tuple(each) for each in groups.values()]


def subject(found: Sequence[Stale]) -> str:
    """Return what the readings of one notice are called: "Truck seat height at A and B"."""
    called = _called(_both_ends(found[0].reading.key))
    ends = [end.upper() for each in found if (end := _end(each.reading.key))]
    return f"{called[0].upper()}{called[1:]}" + (f" at {listed(ends)}" if ends else "")


def in_words(*found: Stale) -> str:
    """Return in a sentence which reading, or which of both ends, is stale and why.

    >>> at = datetime.fromisoformat("2026-03-02T09:00:00+00:00")
    >>> reading = Measured("found.a.coupler_height", "0.380", 1, at, "", "")
    >>> in_words(Stale(reading, "trucks.a.washers", "", "0.010", 2, at))
    'Coupler height found at A, 0.380, was taken before washer fitted at A changed from nothing to 0.010 (revision 2).'
    """
    first = found[0]
    values = listed(dict.fromkeys(each.reading.value for each in found))
    same = len({each.because for each in found}) == 1
    because = _called(first.because if same else _both_ends(first.because)) + ("" if same else " at A and B")
    return (
        f"{subject(found)}, {values}, was taken before {because} changed "
        f"from {first.old or 'nothing'} to {first.new or 'nothing'} (revision {first.revision})."
    )


def _called(key: str) -> str:
    """Return what a key of the car file is called, with its end."""
    end = _end(key)
    named = key_named(_both_ends(key))
    return (named.called if named is not None else key) + (f" at {end.upper()}" if named is not None and end else "")


def _because(
    connection: Connection,
    of: Paper,
    reading: Measured,
    changed: list[str],
    then: Mapping[str, str],
    values: Mapping[str, str],
    way: Mapping[int, tuple[str, datetime]],
) -> Stale:
    """Return the reading with the last change of those that made it stale."""
    newer = [number for number in way if number > reading.revision]  # newest first
    for number, before in zip(newer, [*newer[1:], reading.revision], strict=True):
        leaves = _leaves(_document(connection, of, before))
        for key in changed:
            if _at(key, leaves) != _at(key, values):
                return Stale(reading, key, _at(key, then), _at(key, values), number, way[number][1])
    raise AssertionError("a value that differs between two revisions changed in one between them")


def _way_back(connection: Connection, of: Paper, oldest: int) -> dict[int, tuple[str, datetime]]:
    """Return hash and moment of the head and of what it goes back to, newest first, down to number ``oldest``."""
    rows = {
        row.number: row
        for row in connection.execute(
            select(revision.c.number, revision.c.based_on, revision.c.sha256, revision.c.saved_at).where(
                revision.c.paper_id == of.id, revision.c.number >= oldest
            )
        )
    }
    way = {}
    at = of.head
    while (row := rows.get(at)) is not None:
        way[at] = (row.sha256, moment(row.saved_at))
        at = row.based_on
    return way


def _document(connection: Connection, of: Paper, number: int) -> bytes:
    data = connection.scalar(
        select(document.c.data)
        .join(revision, revision.c.sha256 == document.c.sha256)
        .where(revision.c.paper_id == of.id, revision.c.number == number)
    )
    return bytes(data or b"")


def _readings(data: bytes) -> dict[str, str]:
    """Return the readings of a car file that can grow stale, by key as it stands there."""
    return {key: value for key, value in _leaves(data).items() if _both_ends(key) in HANGS_ON}


def _upstream(key: str, leaves: Mapping[str, str]) -> Iterator[str]:
    """Yield those of the file's keys that a reading hangs on: of the other end only what tilts the whole car."""
    wanted = HANGS_ON[_both_ends(key)]
    own = key.split(".")[0] in _OF_ONE_END
    for each in leaves:
        plain = _both_ends(each)
        if not any(plain == name or plain.startswith((f"{name}.", f"{name}[")) for name in wanted):
            continue
        apart = {_end(key), _end(each)} == set(_ENDS)
        if not (apart and (own or plain.startswith("coupler."))):
            yield each


def _differs(key: str, then: Mapping[str, str], now: Mapping[str, str]) -> bool:
    """Return whether something else stands at a key now, on the car and not only in its file."""
    before, after = _at(key, then), _at(key, now)
    return before != after and (bool(before and after) or _both_ends(key) not in READ_OFF)


def _at(key: str, leaves: Mapping[str, str]) -> str:
    """Return what counts at a key: of one end, what is given for both where it has nothing of its own."""
    return leaves[key] if key in leaves else leaves.get(_both_ends(key), "")


def _end(key: str) -> str:
    words = key.split(".")
    return words[1] if len(words) > 2 and words[1] in _ENDS else ""


def _both_ends(key: str) -> str:
    """Return a key without its end: ``trucks.washers`` for ``trucks.a.washers``."""
    end = _end(key)
    return key.replace(f".{end}.", ".", 1) if end else key


@lru_cache(maxsize=64)
def _leaves(data: bytes) -> Mapping[str, str]:
    """Return every value of a car file as text, by dotted key; nothing where it cannot be read."""
    try:
        table = tomllib.loads(data.decode("utf-8"))
    except (UnicodeDecodeError, tomllib.TOMLDecodeError, RecursionError):
        return {}
    return dict(_flat(table, ""))


def _flat(value: object, key: str) -> Iterator[tuple[str, str]]:
    if isinstance(value, dict):
        for name, inner in value.items():
            yield from _flat(inner, f"{key}.{name}" if key else name)
    elif isinstance(value, list) and any(isinstance(each, dict) for each in value):
        for at, inner in enumerate(value):
            yield from _flat(inner, f"{key}[{at}]")
    elif isinstance(value, list):
        yield key, ", ".join(map(str, value))
    else:
        yield key, str(value)
