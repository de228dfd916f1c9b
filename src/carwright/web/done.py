"""What an act saved, told on the page that it leads to: what, as which revision, when.

The address of that page carries the act's place in the shop's journal and nothing else, so that every word told comes
from the shop.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING, Final

from starlette.responses import RedirectResponse

from carwright.draw.sheet import wanted_keys
from carwright.problems import InputError
from carwright.shop.records import MEASURED, STANDING
from carwright.web.moments import moment

if TYPE_CHECKING:
    from carwright.car.model import Car
    from carwright.shop import Change, Shop
    from carwright.shop.records import Job

__all__ = ["BACK", "Told", "done_at", "done_told", "shown_done"]

BACK: Final = "back"
"""In the place of the journal's number: what was typed was left, and nothing saved."""

_FRESH: Final = timedelta(minutes=10)
"""What was done longer ago is not told any more: the address may have been kept."""


def done_at(address: str, number: int | str) -> RedirectResponse:
    """Return the answer that leads on after an act.

    Args:
        address: where to, with a query and a place on the page if it has them.
        number: of the act in the shop's journal, or ``BACK``.
    """
    path, mark, place = address.partition("#")
    return RedirectResponse(f"{path}{'&' if '?' in path else '?'}done={number}{mark}{place}", 303)


def shown_done(car: Car, on: date, *, way: bool = False) -> tuple[Job, ...]:
    """Return the jobs of the checklists that a save shows to be done.

    Args:
        car: as it is saved.
        on: the day of that.
        way: whether a way to stand is taken with it.
    """
    jobs = (*(() if wanted_keys(car) else (MEASURED,)), *((STANDING,) if way else ()))
    return tuple((stage, item, on) for stage, item in jobs)


@dataclass(frozen=True, slots=True)
class Told:
    """What is told of an act: the words, and of a save that can be taken back the car, it and the one before."""

    said: str = ""
    slug: str = ""
    revision: int = 0
    before: int = 0


def done_told(shop: Shop, number: str, *, now: datetime | None = None) -> Told:
    """Return in a sentence what an act saved, with what leads back; nothing for none, or one of long ago.

    Args:
        shop: whose journal it is.
        number: of the act in the journal, as the address has it.
        now: the present moment, for tests.
    """
    if number == BACK:
        return Told("Gone back to what was saved; nothing was changed.")
    if not (number.isascii() and number.isdigit() and 0 < len(number) < 10):
        return Told()
    change = next(iter(shop.changes(int(number) - 1, limit=1)), None)
    if change is None or change.number != int(number) or (now or datetime.now(UTC)) - change.at > _FRESH:
        return Told()
    try:
        said = f"{_said(shop, change).removesuffix('.')}."
        before = _before(shop, change)
    except InputError:  # the car was taken out meanwhile
        return Told()
    return Told(said, change.slug, change.revision, before) if before else Told(said)


def _before(shop: Shop, change: Change) -> int:
    """Return the revision that a save was based on, which takes it back while nothing was saved since; 0 for none."""
    if change.kind != "revision" or shop.car(change.slug).head.number != change.revision:
        return 0
    (head,) = shop.history(change.slug, limit=1, before=change.revision + 1)
    return head.based_on if len(head.parents) == 1 else 0


def _said(shop: Shop, change: Change) -> str:
    when = moment(change.at)
    if change.kind == "shelf":
        return f"The shelf is saved as revision {change.revision}, {when}"
    if not change.slug:
        return f"Saved, {when}"
    name = shop.car(change.slug).name
    if change.kind == "car" and change.revision:
        return f"{name} is in the shop as revision {change.revision}, {when}"
    if change.kind == "choice":
        return f"Revision {change.revision} counts now, chosen {when}; the others stay among the revisions"
    if change.kind == "stage":
        return f"{name} stands at {shop.car(change.slug).stage}, {when}"
    if change.kind != "revision":
        if change.kind == "photo":
            return f"The photograph of {name} is added, {when}"
        what = {"tick": "The checklist", "measured": "The reading"}.get(change.kind)
        return f"{what or 'What you said'} of {name} is kept, {when}"
    (head,) = shop.history(change.slug, limit=1, before=change.revision + 1)
    if len(head.parents) > 1:
        told = " and ".join(map(str, head.parents))
        return f"Revisions {told} are put into one, saved as revision {head.number}, {when}"
    return f"Saved as revision {head.number}, {when}{'. ' if head.note else ''}{head.note}"
