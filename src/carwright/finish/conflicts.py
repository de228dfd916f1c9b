"""What paints do to each other, and what cures it.

Each coat is held against all that lie beneath it: old paint that stays, the primer, the spray of earlier colours where
it reaches, the colours under a clear coat. The verdict is the table's; where the table has no answer it is ``unknown``.
The mends are searched for in the same table: another order, another family, a barrier coat between the two.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass

from carwright.findings import listed
from carwright.finish.model import Coating, Conflict, Mend
from carwright.finish.order import Masking
from carwright.reference.finishing import Barrier, barriers, compatibility, families

__all__ = ["Layer", "barriers_between", "conflicts", "exposed", "family_words", "spoils"]


@dataclass(frozen=True, slots=True)
class Layer:
    """A coat and what lies beneath it.

    Args:
        coat: the upper one.
        beneath: what lies under it, the lowest first.
        between: a coat that lies over all of some of them, so that the upper one touches them nowhere, or None.
        kept_off: what lies under that one.
    """

    coat: Coating
    beneath: tuple[Coating, ...]
    between: Coating | None = None
    kept_off: tuple[Coating, ...] = ()


def family_words(family: str) -> str:
    """Return a family's name in plain words."""
    return family.replace("_", "-")


def spoils(over: Coating, below: Coating) -> bool:
    """Return whether a paint is known to spoil the one beneath it."""
    found = compatibility(over.family.id, below.family.id) if over.known and below.known else None
    return found is not None and found.verdict.value == "no"


def barriers_between(over: str, below: str, on: Collection[str]) -> tuple[Barrier, ...]:
    """Return the coats that keep two families apart, the best first.

    Args:
        over: the upper family.
        below: the lower one.
        on: every family that the barrier would be misted on; one that does not stand it rules it out.
    """
    return tuple(
        each
        for each in barriers()
        if over in each.over
        and below in each.under
        and all(one in each.under or (each.family and _good(each.family, one)) for one in on)
    )


def exposed(below: Coating, over: Coating, gloss: Coating | None, *, barrier: bool) -> tuple[str, ...]:
    """Return the surfaces of a colour on which the last coat would touch it.

    Args:
        below: the colour.
        over: the last coat.
        gloss: the coat under lettering, which keeps the two apart where it is a barrier itself or lies on one.
        barrier: the owner takes a barrier coat where it cures.
    """
    if gloss is None or not gloss.known or not spoils(over, below):
        return below.surfaces
    parts = barriers_between(over.family.id, below.family.id, (below.family.id,))
    if not (any(each.family == gloss.family.id for each in parts) or (barrier and parts and spoils(gloss, below))):
        return below.surfaces
    return tuple(each for each in below.surfaces if each not in gloss.surfaces)


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
    words = words[:1].upper() + words[1:]
    if found is None:
        words += ": no source says what happens, so test first."
        return Conflict(over.colour, below.colour, pair, "unknown", words, (_TEST,), "")
    bad = found.verdict.value == "no"
    between = barriers_between(*pair, [each.family.id for each in layer.beneath if each.known]) if bad else ()
    if "weathering" in (over.role, below.role):
        between = ()  # no step of ours would mist it there
    cured = barrier and bool(between)
    source = str(between[0].name.citation) if cured else str(found.verdict.citation)
    if layer.between is not None and below in layer.kept_off and not (cured and spoils(layer.between, below)):
        cured = True
        words += (
            f", which it lifts, but {_called(layer.between)} ({family_words(layer.between.family.id)}) lies between."
        )
        source = next((str(each.name.citation) for each in between), source)
    elif cured:
        words += f", which it lifts, but {between[0].name.words} lies between."
    else:
        words += ": it lifts or wrinkles it." if bad else ": it may craze or lift it."
    mends = tuple(_mends(layer, below, layers, () if cured else between, other_order if bad else lambda: None))
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
    between: Sequence[Barrier],
    other_order: Callable[[], Masking | None],
) -> Iterator[Mend]:
    over = layer.coat
    order = other_order() if over.role == below.role == "colour" else None
    if order is not None:
        yield Mend(
            "order",
            f"Spray in this order, which spoils nothing (finish.order): {', '.join(order.order)}.",
        )
    fit = [each for each in families() if _fits(each, layer, layers)]
    if fit:
        yield Mend("family", f"Take {listed(map(family_words, fit)).replace(' and ', ' or ')} for {_called(over)}.")
    if below.colour == "old paint":
        yield Mend("strip", "Strip the old paint.")
    if between:
        named = " or ".join(each.name.words for each in between)
        yield Mend(
            "barrier",
            f"Mist {named} over {_called(below)} once that is cured, and test first (finish.barrier = true).",
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
