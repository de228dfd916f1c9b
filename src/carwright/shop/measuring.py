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
from carwright.problems import InputError, Problem
from carwright.shop.papers import Paper, as_text, fetch_document, moment, one_revision
from carwright.shop.records import Measured, Stale
from carwright.shop.tables import document, measured, revision

__all__ = ["HANGS_ON", "in_words", "note_joined", "note_readings", "of_car", "remeasured", "stale"]

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
        changed = [each for each in _upstream(key, {**then, **values}) if then.get(each) != values.get(each)]
        if changed:
            found.append(_because(connection, of, reading, changed, then, values, way))
    return found


def in_words(found: Stale) -> str:
    """Return in a sentence which reading is stale and why.

    >>> at = datetime.fromisoformat("2026-03-02T09:00:00+00:00")
    >>> reading = Measured("found.a.coupler_height", "0.380", 1, at, "", "")
    >>> in_words(Stale(reading, "trucks.a.washers", "", "0.010", 2, at))
    'Coupler height found at A, 0.380, was taken before washer fitted at A changed from nothing to 0.010 (revision 2).'
    """
    called = _called(found.reading.key)
    return (
        f"{called[0].upper()}{called[1:]}, {found.reading.value}, was taken before {_called(found.because)} changed "
        f"from {found.old or 'nothing'} to {found.new or 'nothing'} (revision {found.revision})."
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
            if leaves.get(key) != values.get(key):
                return Stale(reading, key, then.get(key, ""), values.get(key, ""), number, way[number][1])
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
