"""The paint that a finish takes: each surface's area, wet paint for every colour, bottles to buy, films in all."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from carwright.findings import Finding, listed
from carwright.finish.model import Coating
from carwright.finish.quantity import Needed, bottles, needed, volume_of
from carwright.finish.steps import Step
from carwright.finish.surfaces import surfaces_told
from carwright.plan.document import Document, Node
from carwright.plan.finishing import FinishPlan
from carwright.plan.model import Plan
from carwright.plan.paintarea import SurfaceArea, paint_areas
from carwright.reference.coverage import Range, coat_film, detail_limit, layer_film, solids, spray_loss
from carwright.working import Working, counted, derived

__all__ = ["PaintAnswer", "PaintNeed", "named_surfaces", "needs_told", "paint_document", "paint_needs"]

_FAMILIES: Final = ("lacquer", "enamel", "acrylic")
"""Families that somebody sprays at home; the one that takes most stands for a paint whose family was not said."""


@dataclass(frozen=True, slots=True)
class PaintNeed:
    """What one paint takes.

    Args:
        paint: the scheme's colour, or "primer", "gloss", "flat".
        surfaces: where it goes.
        coats: the most on one surface.
        family: that it is reckoned as.
        said: whether the owner said so.
        usual: nobody said so, but it is what is usual for this coat.
        area: of all coats together, mm2; None where it cannot be told.
        film: of one coat when dry, um.
        share: volume solids, percent.
        loss: what goes past, percent.
        amount: wet paint; None where the area is.
        contents: of one bottle or can, ml; None where the owner did not say.
        left: what the owner has of it, ml.
        buy: how many to buy.
        needs: keys of measurements that are missing.
    """

    paint: str
    surfaces: tuple[str, ...]
    coats: Working
    family: str
    said: bool
    usual: bool
    area: Working | None
    film: Range
    share: Range | Working
    loss: Range
    amount: Needed | None
    contents: Working | None
    left: Working | None
    buy: Working | None
    needs: tuple[str, ...]

    @property
    def reckoned_as(self) -> str:
        """The family in words, "taken" where it is only usual, "not said" where it may be any."""
        words = self.family.replace("_", "-")
        return words if self.said else f"{words}, taken" if self.usual else "not said"


@dataclass(frozen=True, slots=True)
class PaintAnswer:
    """All of a finish's paint.

    Args:
        areas: of the surfaces that the scheme names.
        needs: each paint, in the order in which it is first sprayed.
        thinnest: the least that all layers come to where they are most, um; None where nothing is sprayed.
        thickest: likewise, the most.
        findings: what paint in all comes to, where that is too much.
    """

    areas: tuple[SurfaceArea, ...]
    needs: tuple[PaintNeed, ...]
    thinnest: Working | None
    thickest: Working | None
    findings: tuple[Finding, ...]

    def where(self, need: PaintNeed) -> str:
        """Return where a paint of these goes, in words."""
        return "everything" if len(need.surfaces) == len(self.areas) else surfaces_told(need.surfaces)


def named_surfaces(finish: FinishPlan) -> tuple[str, ...]:
    """Return every surface that a finish's scheme names."""
    return tuple(surface for coating in finish.coatings for surface in coating.surfaces)


def paint_needs(plan: Plan, finish: FinishPlan, *, file: str = "") -> PaintAnswer:
    """Return the paint that a finish takes.

    Args:
        plan: the car's, for its surfaces.
        finish: its steps; a mist along tape and weathering are not reckoned.
        file: the car file's name, for problems.

    Raises:
        InputError: a bottle's volume cannot be read.
    """
    named = named_surfaces(finish)
    every = dict.fromkeys((*named, *(surface for step in finish.steps for surface in step.surfaces)))
    areas = {each.surface: each for each in paint_areas(plan, tuple(every))}
    sprayed: dict[str, list[Step]] = {}
    for step in finish.steps:
        if step.act in ("prime", "coat", "gloss", "flat"):
            sprayed.setdefault(step.colour, []).append(step)
    needs = tuple(_need(plan, finish, paint, steps, named, areas, file) for paint, steps in sprayed.items())
    least, most = _films(needs, named)
    return PaintAnswer(tuple(areas[each] for each in named), needs, least, most, tuple(_findings(least, most)))


def _need(
    plan: Plan,
    finish: FinishPlan,
    paint: str,
    steps: Sequence[Step],
    named: Sequence[str],
    areas: Mapping[str, SurfaceArea],
    file: str,
) -> PaintNeed:
    coat = next(each for each in finish.coats if each.colour == paint)
    coats: dict[str, int] = {}
    for step in steps:
        for surface in step.surfaces or named:
            coats[surface] = coats.get(surface, 0) + 1
    inputs: dict[str, Working] = {}
    terms: list[str] = []
    missing: list[str] = []
    for place, (surface, times) in enumerate(coats.items(), 1):
        found = areas.get(surface)
        if found is None or found.area is None:
            # a car of which no grab iron was told has little in the way of details
            small = surface == "details" and len(coats) > 1
            missing += found.needs if found is not None and not small else ()
            continue
        inputs[f"s{place}"] = found.area
        if times > 1:
            inputs[f"n{place}"] = counted(times, f"coats of {paint} on {surface}", note="as the list of acts has them")
        terms.append(f"n{place}*s{place}" if times > 1 else f"s{place}")
    area = derived(f"all coats of {paint}", " + ".join(terms), inputs, "mm2") if terms and not missing else None
    act = steps[0].act
    family, said = _family(coat)
    own, at = coat.paint, coat.place
    film = coat_film(family) if act == "coat" else layer_film(_LAYERS[act])
    share = own.solids if own is not None and own.solids is not None else solids(family)
    loss = spray_loss("can" if plan.car.finish.spray == "can" else "airbrush")
    amount = None if area is None else needed(area, film, share, loss, name=paint)
    contents = left = buy = None
    if own is not None and own.contents:
        contents = volume_of(own.contents, f"contents of a bottle of {paint}", key=f"paint[{at}].contents", file=file)
    if own is not None and own.left:
        left = volume_of(own.left, f"{paint} on hand", key=f"paint[{at}].left", file=file, empty=True)
    if contents is not None and amount is not None:
        buy = bottles(amount.most, contents, left, name=paint)
    most = counted(max(coats.values()), f"coats of {paint}", note="as the list of acts has them")
    return PaintNeed(
        paint, tuple(coats), most, family, said, coat.known and not said, area, film, share, loss, amount, contents,
        left, buy, tuple(dict.fromkeys(missing)),
    )  # fmt: skip


_LAYERS: Final = {"prime": "primer", "gloss": "gloss_clear", "flat": "flat_clear"}


def _family(coat: Coating) -> tuple[str, bool]:
    """Return the family that a paint is reckoned as, and whether its owner said so."""
    if coat.known:
        return coat.family.id, coat.paint is not None
    return max(_FAMILIES, key=lambda family: _wettest(family, coat)), False


def _wettest(family: str, coat: Coating) -> float:
    share, film = solids(family), coat_film(family)
    thick = film.low.value + film.high.value if coat.role == "colour" else 1.0
    return thick / (share.low.value + share.high.value)


def _films(needs: Iterable[PaintNeed], named: Sequence[str]) -> tuple[Working | None, Working | None]:
    """Return the least and the most that all layers come to, on the surface where they are most."""
    layers = {surface: [each for each in needs if surface in each.surfaces] for surface in named}
    stacks = [found for found in layers.values() if found]
    if not stacks:
        return None, None
    stack = max(stacks, key=lambda each: sum(one.film.high.value * one.coats.value for one in each))
    ends = []
    for word in ("low", "high"):
        inputs: dict[str, Working] = {}
        terms = []
        for place, each in enumerate(stack, 1):
            film: Working = getattr(each.film, word)
            inputs[f"f{place}"] = film
            if each.coats.value > 1:
                inputs[f"n{place}"] = each.coats
            terms.append(f"n{place}*f{place}" if each.coats.value > 1 else f"f{place}")
        name = f"all layers together, {'least' if word == 'low' else 'most'}"
        ends.append(derived(name, " + ".join(terms), inputs, "um", note="on the surface that gets most"))
    return ends[0], ends[1]


def _findings(least: Working | None, most: Working | None) -> Iterable[Finding]:
    limit = detail_limit()
    if least is None or most is None or least.value <= limit.value:
        return
    yield Finding(
        "paint_thickness",
        "watch",
        f"All layers together come to {least.value:.0f} µm at the least and {most.value:.0f} µm at the most; from "
        f"{limit.value:.0f} µm on rivets and boards are lost.",
        mend="Fewer or thinner coats, or strip the old paint first.",
        source=limit.source,
    )


def paint_document(answer: PaintAnswer) -> Document:
    """Return areas and paint as the tree that is published; every number in it is a working."""
    return Document(
        {
            "surfaces": [
                {"name": each.surface, "area_mm2": each.area, "needs": list(each.needs)} for each in answer.areas
            ],
            "paint_needed": [_need_node(each) for each in answer.needs],
            "film_um": {"least": answer.thinnest, "most": answer.thickest},
        }
    )


def _need_node(need: PaintNeed) -> Mapping[str, Node]:
    amount, share = need.amount, need.share
    return {
        "name": need.paint,
        "surfaces": list(need.surfaces),
        "coats": need.coats,
        "family": need.family,
        "family_said": need.said,
        "area_mm2": need.area,
        "film_um": {"low": need.film.low, "high": need.film.high},
        "solids_percent": {"low": share, "high": share}
        if isinstance(share, Working)
        else {"low": share.low, "high": share.high},
        "loss_percent": {"low": need.loss.low, "high": need.loss.high},
        "rate_m2_per_l": None if amount is None else amount.rate,
        "needed_ml": None if amount is None else amount.likely,
        "at_most_ml": None if amount is None else amount.most,
        "bottle_ml": need.contents,
        "on_hand_ml": need.left,
        "to_buy": need.buy,
        "needs": list(need.needs),
    }


def needs_told(answer: PaintAnswer) -> str:
    """Return which measurements are missing for the amounts, as a sentence; "" where none is."""
    keys = tuple(dict.fromkeys(key for each in answer.needs for key in each.needs))
    return f"The amounts of paint wait for a measurement of {listed(keys)}." if keys else ""
