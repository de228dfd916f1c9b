"""What paints do to each other, and what cures it.

Each coat is held against all that lie beneath it: old paint that stays, the primer, the spray of earlier colours where
it reaches, the colours under a clear coat. The verdict is the table's; where the table has no answer it is ``unknown``.
The mends are searched for in the same table: another order, another family, a barrier coat between the two.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass

from carwright.findings import listed
from carwright.finish.model import Coating, Conflict, Mend
from carwright.finish.order import Masking
from carwright.reference.finishing import Barrier, barriers, compatibility, families

__all__ = ["Layer", "barrier_between", "conflicts", "family_words", "spoils"]


@dataclass(frozen=True, slots=True)
class Layer:
    """A coat and what lies beneath it.

    Args:
        coat: the upper one.
        beneath: what lies under it, the lowest first.
    """

    coat: Coating
    beneath: tuple[Coating, ...]


def family_words(family: str) -> str:
    """Return a family's name in plain words."""
    return family.replace("_", "-")


def spoils(over: Coating, below: Coating) -> bool:
    """Return whether a paint is known to spoil the one beneath it."""
    found = compatibility(over.family.id, below.family.id) if over.known and below.known else None
    return found is not None and found.verdict.value == "no"


def barrier_between(over: str, below: str) -> Barrier | None:
    """Return a coat that goes over the lower family and beneath the upper one, or None."""
    return next((each for each in barriers() if over in each.over and below in each.under), None)


def conflicts(
    layers: Sequence[Layer], *, barrier: bool, other_order: Callable[[], Masking | None] = lambda: None
) -> tuple[Conflict, ...]:
    """Return every pair of coats that do not agree, or of which nothing is known; each pair of paints once.

    Args:
        layers: each coat with what lies beneath it.
        barrier: the owner takes a barrier coat where it cures.
        other_order: returns an order of colours in which nothing is spoilt, or None where there is none.
    """
    found: dict[tuple[str, str], Conflict] = {}
    for layer in layers:
        for below in layer.beneath:
            conflict = _conflict(layer, below, layers, barrier, other_order)
            if conflict is not None:
                found.setdefault((conflict.over, conflict.below), conflict)
    return tuple(found.values())


def _conflict(
    layer: Layer,
    below: Coating,
    layers: Sequence[Layer],
    barrier: bool,
    other_order: Callable[[], Masking | None],
) -> Conflict | None:
    over = layer.coat
    pair = (over.family.id if over.known else "", below.family.id if below.known else "")
    if "" in pair:
        return None  # told once for the paint itself: its family is unknown
    found = compatibility(*pair)
    if found is not None and found.good:
        return None
    words = f"{_called(over)} ({family_words(pair[0])}) goes over {_called(below)} ({family_words(pair[1])})"
    if found is None:
        words += ": no source says what happens, so test first."
        return Conflict(over.colour, below.colour, pair, "unknown", words, (_TEST,), "")
    bad = found.verdict.value == "no"
    words += ": it lifts or wrinkles it." if bad else ": it may craze or lift it."
    between = barrier_between(*pair)
    cured = barrier and between is not None
    if cured and between is not None:
        words += f" {between.name.words.capitalize()} lies between them here."
    mends = tuple(_mends(layer, below, layers, between if not cured else None, other_order if bad else lambda: None))
    source = str(between.name.citation) if cured and between is not None else str(found.verdict.citation)
    return Conflict(
        over.colour, below.colour, pair, "fail" if bad and not cured else "watch", words, mends, source, cured
    )


_TEST = Mend("test", "Test on scrap of the same plastic, with the same coats and waits, first.")


def _called(coat: Coating) -> str:
    return coat.colour if coat.role == "colour" or coat.colour != coat.role else f"the {coat.colour} coat"


def _mends(
    layer: Layer,
    below: Coating,
    layers: Sequence[Layer],
    between: Barrier | None,
    other_order: Callable[[], Masking | None],
) -> Iterator[Mend]:
    over = layer.coat
    order = other_order() if over.role == below.role == "colour" else None
    if order is not None:
        yield Mend(
            "order",
            f"Spray in this order, which spoils nothing: {', '.join(order.order)} (finish.order).",
        )
    fit = [each for each in families() if _fits(each, layer, layers)]
    if fit:
        yield Mend("family", f"Take {listed(map(family_words, fit)).replace(' and ', ' or ')} for {_called(over)}.")
    if below.colour == "old paint":
        yield Mend("strip", "Strip the old paint.")
    if between is not None:
        yield Mend(
            "barrier",
            f"Mist {between.name.words} over {_called(below)} once that is cured, and test first "
            "(finish.barrier = true).",
        )
    yield _TEST


def _fits(family: str, layer: Layer, layers: Iterable[Layer]) -> bool:
    """Return whether a coat in another family would agree with all beneath it and all above it."""
    if family in (layer.coat.family.id, "two_part"):
        return False
    beneath = [each.family.id for each in layer.beneath if each.known]
    above = [each.coat.family.id for each in layers if each.coat.known and layer.coat in each.beneath]
    return all(_good(family, each) for each in beneath) and all(_good(each, family) for each in above)


def _good(over: str, below: str) -> bool:
    found = compatibility(over, below)
    return found is not None and found.good
