"""How thick paint is laid, how much of it stays, and how much of it misses: films, solids and losses by family."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

from carwright.reference.leaves import leaf
from carwright.reference.store import entry
from carwright.working import Working

__all__ = ["Layer", "Range", "coat_film", "detail_limit", "layer_film", "solids", "spray_loss"]

Layer = Literal["primer", "gloss_clear", "flat_clear", "decal_film"]
"""A layer of a finish that is no colour."""


@dataclass(frozen=True, slots=True)
class Range:
    """The least and the greatest that is customary or published."""

    low: Working
    high: Working


def _range(name: str, unit: str, *path: str) -> Range:
    low, high = (
        leaf(entry("finishing", *path, end), f"{name}, {word}", unit, stored={"um": "µm"}.get(unit, unit))
        for end, word in (("low", "least"), ("high", "most"))
    )
    return Range(low, high)


@lru_cache(maxsize=8)
def coat_film(family: str) -> Range:
    """Return the dry film of one sprayed coat of a family, um."""
    return _range(f"dry film of a coat of {_words(family)}", "um", "family", family, "film_per_coat_um")


@lru_cache(maxsize=8)
def solids(family: str) -> Range:
    """Return the part of a family's volume that stays as film, percent."""
    return _range(f"volume solids of {_words(family)}", "percent", "family", family, "volume_solids_percent")


@lru_cache(maxsize=4)
def layer_film(layer: Layer) -> Range:
    """Return the dry film of a layer, um."""
    return _range(f"dry film of the {layer.replace('_', ' ')}", "um", "film_targets", layer)


@lru_cache(maxsize=2)
def spray_loss(how: Literal["airbrush", "can"]) -> Range:
    """Return how much of the paint goes past small parts, percent."""
    name = "spray_loss_percent_small_parts_" + ("aerosol" if how == "can" else "airbrush")
    return _range(f"loss past small parts, {how}", "percent", "coverage", name)


@lru_cache(maxsize=1)
def detail_limit() -> Working:
    """Return the whole thickness of paint from which fine detail is lost, um."""
    return leaf(
        entry("finishing", "film_targets", "detail_loss_starts"), "film from which detail is lost", "um", stored="µm"
    )


def _words(family: str) -> str:
    return family.replace("_", "-")
