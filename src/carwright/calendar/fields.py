"""Fields of the tables that a calendar is read from: minutes, hours, days and clock times as people write them."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from datetime import date, datetime, time
from typing import Any, Final

from carwright.problems import InputError, Problem

__all__ = ["Fields", "table_of"]

_SPAN: Final = re.compile(r"\s*(\d+(?:\.\d+)?)\s*(min|minutes?|h|hours?|d|days?|weeks?)?\s*", re.IGNORECASE)
_UNITS: Final = {"m": 1, "h": 60, "d": 1440, "w": 10080}
MOST_BYTES: Final = 1_000_000


def table_of(data: bytes, *, file: str, what: str) -> dict[str, Any]:
    """Return the table of a TOML file.

    Raises:
        InputError: it is too large, no text, or no TOML; with the line where that is known.
    """
    if len(data) > MOST_BYTES:
        raise InputError(Problem(f"{what} is not that large", accepted="up to 1 MB", file=file))
    try:
        return tomllib.loads(data.decode("utf-8-sig"))
    except UnicodeDecodeError:
        problem = f"this is not {what}: it is no text in UTF-8"
        mend = "Check that it is the file you meant, or save it again with the encoding UTF-8."
        raise InputError(Problem(problem, accepted="a text in TOML, in UTF-8", mend=mend, file=file)) from None
    except (ValueError, RecursionError) as slip:
        place = re.search(r" \(at line (\d+), column (\d+)\)$", str(slip))
        words = str(slip)[: place.start()] if place else str(slip)
        line, column = (int(place[1]), int(place[2])) if place else (None, None)
        told = "a number in it is too long" if "integer string" in words else words[:1].lower() + words[1:160]
        mend = "Write a text in straight quotes, a day as 2026-11-24; put # before a line that is a note."
        raise InputError(
            Problem(f"this is not {what}: {told}", accepted="TOML", mend=mend, file=file, line=line, column=column)
        ) from None


class Fields:
    """Reads one table and collects what is wrong in it."""

    def __init__(self, table: object, key: str, file: str, problems: list[Problem], known: str) -> None:
        self.table: Mapping[str, object] = table if isinstance(table, dict) else {}
        self.key, self.file, self.problems = key, file, problems
        names = set(known.split())
        if not isinstance(table, dict):
            self.slip("", "this is no table of keys", str(table), ", ".join(sorted(names)))
        for word in self.table.keys() - names:
            self.slip(word, "there is no such key here", "", ", ".join(sorted(names)))

    def slip(self, word: str, problem: str, value: str = "", accepted: str = "", mend: str = "") -> None:
        """Note something that cannot be used."""
        place = ".".join(part for part in (self.key, word) if part)
        self.problems.append(Problem(problem, value[:80], accepted, mend, key=place, file=self.file))

    def text(self, word: str, default: str | None = "") -> str:
        """Return a text; without ``default`` it has to be there."""
        value = self.table.get(word, default)
        if not isinstance(value, str) or (default is None and not value.strip()):
            self.slip(word, "a text is wanting here", "" if value is None else str(value), '"a name"')
            return ""
        return value

    def whole(self, word: str, default: int, least: int = 0) -> int:
        """Return a whole number."""
        value = self.table.get(word, default)
        if not isinstance(value, int) or isinstance(value, bool) or not least <= value <= 1_000_000:
            self.slip(word, "this is no number of that", str(value), f"{least} or more")
            return max(least, default)
        return value

    def listed(self, word: str) -> list[Any]:
        """Return a list; one value stands for a list of one."""
        value = self.table.get(word, [])
        return value if isinstance(value, list) else [value]

    def minutes(self, word: str, default: int = 0) -> int:
        """Return a stretch of time in whole minutes: 30, "30 min", "48 h", "2 days"."""
        return self.span(word, self.table.get(word, default), default)

    def span(self, word: str, value: object, default: int = 0) -> int:
        """Return a value of the key ``word`` as minutes."""
        found = _SPAN.fullmatch(value) if isinstance(value, str) else None
        if isinstance(value, int) and not isinstance(value, bool) and 0 <= value <= 10_000_000:
            return value
        if found is None or float(found[1]) > 1e6:
            self.slip(word, "this is no stretch of time", str(value), '30, "30 min", "48 h", "2 days"')
            return default
        return round(float(found[1]) * _UNITS[(found[2] or "min")[0].lower()])

    def day(self, word: str, value: object) -> date | None:
        """Return a value of the key ``word`` as a day."""
        try:
            found = date.fromisoformat(str(value))
        except ValueError:
            self.slip(word, "this is no day", str(value), "2026-11-24")
            return None
        return found if self._near(word, found) else None

    def clock(self, word: str) -> time | None:
        """Return a time on the clock: "19:30" or 19:30:00."""
        value = self.table.get(word)
        if isinstance(value, time):
            return value.replace(tzinfo=None)
        try:
            found = time.fromisoformat(str(value).strip().zfill(5))
        except ValueError:
            self.slip(word, "this is no time on the clock", "" if value is None else str(value), '"19:30"')
            return None
        return found.replace(tzinfo=None)

    def moment(self, word: str) -> datetime | None:
        """Return a day with its time, or None where the key is not there."""
        value = self.table.get(word)
        if value is None:
            return None
        try:
            if len(str(value)) < len("2026-11-24 9"):
                raise ValueError
            found = datetime.fromisoformat(str(value))
        except ValueError:
            self.slip(word, "this is no day with its time", str(value), "2026-11-24T19:30")
            return None
        return found if self._near(word, found) else None

    def _near(self, word: str, found: date) -> bool:
        """Return whether a day is one on which somebody works; note it where it is not."""
        near = 1900 <= found.year <= 2999
        if not near:
            self.slip(
                word, "nobody works in that year", str(found), "a year from 1900 to 2999", "Write the year again."
            )
        return near
