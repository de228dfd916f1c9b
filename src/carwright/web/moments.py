"""Days and moments as they stand on a page: as the calendar and the clock of this machine show them."""

from __future__ import annotations

from datetime import date, datetime
from typing import Final

__all__ = ["day", "moment"]

_MONTHS: Final = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def moment(at: datetime) -> str:
    """Return a moment as the clock of this machine showed it: 25 Nov 2026, 09:05."""
    here = at.astimezone()
    return f"{day(here)}, {here:%H:%M}"


def day(at: datetime | date | str) -> str:
    """Return a day as people write it: 25 Nov 2026, of a moment the day here; a text that is no day stays as it is."""
    if isinstance(at, datetime):
        at = at.astimezone()
    if isinstance(at, str):
        try:
            return day(date.fromisoformat(at))
        except ValueError:
            return at
    return f"{at.day} {_MONTHS[at.month - 1]} {at.year}"
