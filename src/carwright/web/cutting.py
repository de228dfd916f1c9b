"""A cutting plan for cars of the shop out of its shelf: made once for the same cars, shelf and wishes."""

from __future__ import annotations

from collections import OrderedDict
from concurrent.futures import Future
from dataclasses import dataclass, replace
from threading import Lock, Thread
from typing import TYPE_CHECKING, Final

from carwright.car.read import read_car
from carwright.car.shelfcsv import units_of_shelf
from carwright.findings import listed
from carwright.lengths import Units, parse_length, show_in
from carwright.problems import InputError, Problem
from carwright.stock.shelfdocument import plan_again, taken_before, with_plan
from carwright.web.shelfpage import shelf_now

if TYPE_CHECKING:
    from carwright.car.model import Shelf
    from carwright.shop import Shop, Taken
    from carwright.stock.batch import Batch

__all__ = ["CUT_FOR", "MOST_CARS", "Asked", "CutPlan", "CutPlans", "Wish", "take_plan"]

MOST_CARS: Final = 60
"""Cars of one plan; a greater batch is cut with the command, which can be given more time."""

_WORK: Final = 3.0
"""Units of counted work for a plan on the page, about a second each; it is not timed, so the plan is the same again."""

_KEPT: Final = 16

_WIDEST_KERF_MM: Final = 10.0

CUT_FOR: Final = "Cut for "
"""How the shelf's history names a cutting that was taken: by its cars."""


@dataclass(frozen=True, slots=True)
class Wish:
    """What is to be cut.

    Args:
        cars: by their short names.
        kerf: of the saw, as typed; "" for a knife.
        rotate: whether pieces may be turned.
        leave_out: names of pieces that are not cut this time, each with its car before it where there are several.
        out: pieces left out by car and name, as a page ticks them; one that is no longer among the cars is no slip.
    """

    cars: tuple[str, ...]
    kerf: str = ""
    rotate: bool = True
    leave_out: tuple[str, ...] = ()
    out: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Asked:
    """A piece of the cars that is cut from the shelf, left out this time or not.

    Args:
        car: by its short name.
        name: of the piece.
        told: the name as the plan tells it, with its car where there are several.
        quantity: how many are made.
    """

    car: str
    name: str
    told: str
    quantity: int


@dataclass(frozen=True, slots=True)
class CutPlan:
    """A plan with the shelf that it was made for.

    Args:
        wish: what was asked.
        names: names of the cars.
        identity: of the plan, see ``plan_identity``.
        revision: of the shelf.
        units: the shelf's.
        batch: the plan.
        waiting: pieces whose measurements are missing.
        pieces: every piece of the cars that is cut from the shelf, left out or not.
        taken_on: when the same wish was taken already, or "".
    """

    wish: Wish
    names: tuple[str, ...]
    identity: str
    revision: int
    units: Units
    batch: Batch
    waiting: tuple[str, ...]
    pieces: tuple[Asked, ...]
    taken_on: str


class CutPlans:
    """Plans made or being made, by everything that they depend on; one is made at a time."""

    def __init__(self) -> None:
        self._plans: OrderedDict[tuple[object, ...], Future[CutPlan]] = OrderedDict()
        self._lock = Lock()
        self._one = Lock()

    def make(self, shop: Shop, wish: Wish) -> CutPlan:
        """Return the plan for a wish out of the shelf as it is now.

        Raises:
            InputError: there is no such car, too many, nothing to be cut, or the kerf is no length.
        """
        return self.begin(shop, wish).result()

    def begin(self, shop: Shop, wish: Wish) -> Future[CutPlan]:
        """Return the plan for a wish as it will be, and make it meanwhile; asked for again, it is the same one.

        Raises:
            InputError: there is no such car, too many, or the kerf is no length; what is found later the future raises.
        """
        cars = tuple(dict.fromkeys(wish.cars))
        if not 1 <= len(cars) <= MOST_CARS:
            mend = "Tick fewer, and cut the others next." if cars else "Tick the cars that are to be cut together."
            problem = "these are too many cars for one plan" if cars else "no car is ticked"
            raise InputError(Problem(problem, f"{len(cars)} cars", f"1 to {MOST_CARS}", mend, key="cars"))
        states = [shop.car(slug) for slug in cars]
        data, revision, shelf = shelf_now(shop)
        units = units_of_shelf(data) if data else "in"
        kerf_mm = _kerf_mm(wish.kerf, units)
        key = (revision, wish, *(state.head.sha256 for state in states))
        with self._lock:
            coming = self._plans.get(key)
            if coming is not None:
                self._plans.move_to_end(key)
                return coming
            coming = self._plans[key] = Future()
            while len(self._plans) > _KEPT:
                self._plans.popitem(last=False)
        documents = {state.slug: state.head.data for state in states}
        names = tuple(state.name for state in states)

        def work() -> None:
            with self._one:
                try:
                    coming.set_result(_made(wish, documents, names, kerf_mm, units, revision, shelf))
                except BaseException as trouble:
                    coming.set_exception(trouble)
                    if not isinstance(trouble, InputError):
                        self._forget(key)

        # Not one of the server's own threads: those answer pages meanwhile. The program's end does not wait for it.
        Thread(target=work, name="cutting", daemon=True).start()
        return coming

    def _forget(self, key: tuple[object, ...]) -> None:
        """Let a plan be tried again that a fault of the machine ended."""
        with self._lock:
            self._plans.pop(key, None)


def _kerf_mm(typed: str, units: Units) -> float:
    """Return a kerf as typed, 0 for a knife.

    Raises:
        InputError: it is no length, or wider than any saw's.
    """
    if not typed.strip():
        return 0.0
    try:
        kerf_mm = parse_length(typed, units=units, taken="nominal", name="kerf").mm
    except InputError as trouble:
        raise InputError([replace(each, key="kerf") for each in trouble.problems]) from trouble
    if not 0 <= kerf_mm <= _WIDEST_KERF_MM:
        raise InputError(Problem("no saw cuts so wide", typed, f"0 to {show_in(_WIDEST_KERF_MM, units)}", key="kerf"))
    return kerf_mm


def _made(
    wish: Wish,
    documents: dict[str, bytes],
    names: tuple[str, ...],
    kerf_mm: float,
    units: Units,
    revision: int,
    shelf: Shelf,
) -> CutPlan:
    from carwright.plan import make_plan
    from carwright.stock.batch import cut_batch
    from carwright.stock.demand import asked_for
    from carwright.stock.leaving import Choice, chosen_of_plan
    from carwright.stock.taking import plan_identity, wish_of_car

    made = {slug: make_plan(read_car(document, file=slug, shelf=shelf)) for slug, document in documents.items()}
    several = len(documents) > 1
    asked = tuple(
        Asked(slug, each.name, f"{slug} {each.name}" if several else each.name, int(each.quantity.value))
        for slug, plan in made.items()
        for each in plan.pieces
        if asked_for(each)
    )
    ticked = set(wish.out)
    choice = Choice((*wish.leave_out, *(each.told for each in asked if (each.car, each.name) in ticked)))
    found = [
        chosen_of_plan(plan.pieces, choice, car=slug if several else "", holes=plan.holes)
        for slug, plan in made.items()
    ]
    choice.check([each for one in found for each in one.known])
    lines = [line for one in found for line in one.lines]
    waiting = tuple(name for one in found for name in one.waiting)
    left_out = tuple(name for one in found for name in one.left_out)
    if not lines:
        mend = "Measure what is missing first; the car's page names it."
        mend = "Leave out fewer pieces." if left_out else mend
        raise InputError(Problem("of these cars nothing can be cut yet", ", ".join(waiting)[:200], mend=mend))
    snapped = kerf_mm == 0
    wishes = [(slug, wish_of_car(document)) for slug, document in documents.items()]
    identity = plan_identity(wishes, kerf_mm=kerf_mm, rotate=wish.rotate, snapped=snapped, left_out=left_out)
    before = taken_before(shelf, identity)
    batch = cut_batch(lines, shelf, kerf_mm=kerf_mm, rotate=wish.rotate, snapped=snapped, time=_WORK, units=units)
    return CutPlan(
        wish,
        names,
        identity,
        revision,
        units,
        replace(batch, left_out=left_out, apart=tuple(piece for one in found for piece in one.apart)),
        waiting,
        asked,
        "" if before is None else before.on,
    )


def take_plan(
    shop: Shop, plan: CutPlan, *, on: str, by: str, seen: int, bought: bool = False, again: bool = False
) -> Taken:
    """Take a plan from the shelf; asked for once more, it is not taken again unless ``again`` says so.

    Args:
        shop: the shop.
        plan: the plan, as it was shown.
        on: day and time, for the record.
        by: who takes it.
        seen: the revision of the shelf for which the plan was shown.
        bought: whether what it must buy was bought.
        again: whether the same wish is taken once more.

    Raises:
        InputError: something must be bought first, or the shelf was changed since the plan was made.
    """
    from carwright.stock.taking import take

    data, revision, shelf = shelf_now(shop)
    identity = plan.identity
    if again and taken_before(shelf, identity) is not None:
        identity = plan_again(shelf, identity)
    for taken in shop.takings():
        if taken.plan == identity:
            return shop.take(identity, data, based_on=revision, by=by)
    if not revision == plan.revision == seen:
        mend = "This is another plan, from the shelf as it is now: look at it, then take it."
        raise InputError(Problem("the shelf was changed since the plan was made", mend=mend, key="based_on"))
    taking = take(shelf, plan.batch, plan=identity, bought=bought, units=plan.units)
    note = f"{CUT_FOR}{listed(plan.names)}"[:300]
    return shop.take(identity, with_plan(data, taking, on=on), based_on=revision, by=by, note=note)
