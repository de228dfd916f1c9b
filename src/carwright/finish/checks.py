"""What is checked of a finish beside paint over paint: parts in the bath, joints, lettering, weathering, the room."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from carwright.car.model import Finish
from carwright.findings import Finding, listed
from carwright.finish.model import Coating, Conditions, StripDecision
from carwright.reference.finishing import Weathering, customary, families, glues, strippers
from carwright.reference.leaves import leaf
from carwright.working import Working, derive

__all__ = [
    "bath_findings",
    "dissolves",
    "lettering_findings",
    "loosening",
    "room_findings",
    "slat_findings",
    "weathering_findings",
]


def slat_findings(finish: Finish, lettered: Sequence[str]) -> Iterator[Finding]:
    """Yield what is different where the sides are slats with gaps between them.

    Args:
        finish: as the car file has it.
        lettered: surfaces that get lettering.
    """
    yield Finding(
        "slatted_sides",
        "watch",
        "The sides are slats: what is sprayed at them goes through the gaps onto the floor, the ballast and the inside "
        "of the other side. The amounts of paint are reckoned for closed sides.",
        mend="Prime inside and outside, then paint the inside, the floor and what lies on it. With the floor out close "
        "the gaps from inside with card or tape before each colour from outside; tape outside alone leaves them open.",
        source="common practice",
    )
    if "sides" in lettered and finish.lettering != "dry transfer":
        yield Finding(
            "lettering_on_slats",
            "watch",
            "Decals on the sides lie across the gaps between the slats, where they tear or hang free.",
            mend="Once a decal is dry cut it along every gap with a new blade, and set each strip again until it lies "
            "down.",
            source="common practice",
        )


def loosening(glued: Sequence[str]) -> tuple[str, ...]:
    """Return the strippers that loosen a joint of any of these glues."""
    names = [each for glue in glued for each in _texts(glue)]
    return tuple(dict.fromkeys(names))


def _texts(glue: str) -> tuple[str, ...]:
    stored = glues()[glue].loosened_by.value
    return tuple(str(each) for each in stored) if isinstance(stored, tuple) else ()


_DECIDES: Final = {
    "finish.old_coat": "how thick and even the old paint lies",
    "finish.old_colour": "its colour",
    "finish.glue_to": "whether parts are still to be glued to the bare plastic",
    "finish.old_family": "the family of the old paint (lacquer, enamel, acrylic, two-part)",
}
"""What decides on old paint, by the key that says it."""


def bath_findings(finish: Finish, strip: StripDecision, glued: Sequence[str] | None) -> Iterator[Finding]:
    """Yield what stripping does to what is on the car already.

    Args:
        finish: as the car file has it.
        strip: the decision.
        glued: the glues of its joints as the data names them, None where nobody said.
    """
    rung = strip.rung
    if strip.verdict == "unknown":
        tests = "what it does to the old paint on a hidden spot"
        yield Finding(
            "strip_or_not",
            "unknown",
            "Whether the old paint has to come off is not known. What would decide: "
            f"{listed(_DECIDES[each] for each in strip.needs)}.",
            mend=f"Say so in the car file, or test first: {tests}.",
            needs=strip.needs,
        )
    if strip.verdict != "strip":
        return
    if rung is None:
        yield Finding(
            "stripper",
            "unknown",
            "No stripper of the table is left that is known to be safe for this plastic and to take this paint off.",
            mend="Say the plastic (finish.plastic) and the family of the old paint (finish.old_family), or sand wet.",
            needs=("finish.plastic", "finish.old_family"),
        )
        return
    if not finish.plastic or finish.plastic == "unknown":
        yield Finding(
            "plastic",
            "unknown",
            f"The plastic is not known, so only what every plastic of the table stands is proposed: {rung.name}.",
            mend="Say the plastic, or test on a hidden spot for as long as the bath will last.",
            needs=("finish.plastic",),
        )
    if finish.fitted:
        parts = listed(finish.fitted)
        yield Finding(
            "fitted_before_stripping",
            "watch",
            f"Fitted already, so that they would go into the bath too: {parts}.",
            mend=f"Take {parts} off first, or brush the stripper on round them and rinse at once.",
            source=str(customary("strippers", "hidden_spot_hours").citation),
        )
    if glued is None:
        yield Finding(
            "glued_joints",
            "unknown",
            "Which glue holds its parts was not said; some strippers loosen some joints.",
            mend="Say which glue (finish.glued), or brush the stripper on and keep the joints dry.",
            needs=("finish.glued",),
        )
    for glue in glued or ():
        if rung.agent in _texts(glue):
            safe = [each.name for each in strip.ladder if each.status == "later" and each.agent not in _texts(glue)]
            other = f"Take {safe[0]} instead, or l" if safe else "L"
            yield Finding(
                f"{glue}_joints",
                "watch",
                f"Joints of {glues()[glue].name} come loose in {rung.name}.",
                mend=f"{other}et them come loose, clean them and glue them again after the paint.",
                source=str(glues()[glue].loosened_by.citation),
            )


def lettering_findings(finish: Finish, coatings: Sequence[Coating], lettered: Sequence[str]) -> Iterator[Finding]:
    """Yield decals that would lie on a surface that is not gloss."""
    if finish.gloss is not False or finish.lettering == "dry transfer":
        return
    dull = [each for each in coatings if set(each.surfaces) & set(lettered) and _sheen(each) != "gloss"]
    why = customary("decals", "why_gloss")
    for each in dull:
        sheen = _sheen(each) or "not said to be gloss"
        yield Finding(
            f"lettering_on_{each.colour.replace(' ', '_')}",
            "watch" if _sheen(each) else "unknown",
            f"Decals go on {each.colour}, which is {sheen}: air under the film shows as a silvery haze.",
            mend=f"Gloss {listed(each.surfaces)} first (finish.gloss = true), or say that the paint dries gloss.",
            source=str(why.citation),
            needs=() if _sheen(each) else ("paint[].sheen",),
        )


def _sheen(coat: Coating) -> str:
    return "" if coat.paint is None else coat.paint.sheen


def dissolves(kind: Weathering, family: str) -> str:
    """Return what is said of a weathering's thinner and paint of a family beneath it ("fresh enamel"), or ""."""
    carrier = next((each for each in strippers() if each.id == kind.carrier), None)
    return "" if carrier is None else carrier.takes(family)


def weathering_findings(kinds: Sequence[Weathering], flat: Coating, *, last_flat: bool) -> Iterator[Finding]:
    """Yield ways of weathering whose thinner takes up the flat coat or what was weathered before, and what stays loose.

    Args:
        kinds: in their order.
        flat: the coat beneath them.
        last_flat: whether a flat coat goes over them.
    """
    yield from _taken_up(kinds)
    loose = [kind.name.words for kind in kinds if kind.loose]
    if loose and not last_flat:
        yield Finding(
            "loose_weathering",
            "watch",
            f"Nothing lies over the weathering ({listed(loose)}): where the car is touched it comes off.",
            mend="Mist a last flat coat over it, which makes it paler (finish.last_flat = true), or leave it alone.",
            source="common practice",
        )
    yield from _floated_off(kinds)
    for kind in kinds:
        carrier = next((each for each in strippers() if each.id == kind.carrier), None)
        if carrier is None:
            continue
        said = dissolves(kind, flat.family.id)
        name = f"{kind.id}_over_flat"
        if not flat.known:
            yield Finding(
                name,
                "unknown",
                f"{kind.name.words.capitalize()}: its thinner ({carrier.name}) may take up the flat coat, of which the "
                "family was not said.",
                mend='Add a [[paint]] with colour = "flat" and its family, and test first.',
                needs=("paint[].family",),
            )
        elif said:
            fresh = said.startswith(("fresh", "some"))
            days = flat.family.cured
            other = [each for each in ("lacquer", "enamel", "acrylic") if not carrier.takes(each)]
            flats = f"Use a flat coat of {' or '.join(other)}, or weather with powders" if other else "Use powders"
            wait = f", or wait {days.number:.0f} days until it is cured" if said.startswith("fresh") else ""
            yield Finding(
                name,
                "watch" if fresh else "fail",
                f"{kind.name.words.capitalize()} over a flat coat of {flat.family.id.replace('_', '-')}: its thinner "
                f"takes off {said}.",
                mend=f"{flats}{wait}.",
                source=str(carrier.removes.citation),
            )


def _floated_off(kinds: Sequence[Weathering]) -> Iterator[Finding]:
    """Yield loose weathering that something wet goes over."""
    for place, kind in enumerate(kinds):
        wet = [each.name.words for each in kinds[place + 1 :] if not each.loose]
        if kind.loose and wet:
            yield Finding(
                f"over_{kind.id}",
                "watch",
                f"{listed(wet)[:1].upper()}{listed(wet)[1:]} after {kind.name.words}: what is wet, or a brush, takes "
                "with it what is loose.",
                mend=f"Let {kind.name.words} be the last (finish.weathering), or mist a flat coat between.",
                source="common practice",
            )


def _taken_up(kinds: Sequence[Weathering]) -> Iterator[Finding]:
    """Yield ways of weathering whose thinner takes up another that was made before."""
    for place, kind in enumerate(kinds):
        carrier = next((each for each in strippers() if each.id == kind.carrier), None)
        for before in kinds[:place]:
            said = dissolves(kind, before.family) if before.family else ""
            if carrier is None or not said or before.carrier == kind.carrier:
                continue
            days = families()[before.family].cured
            yield Finding(
                f"{kind.id}_over_{before.id}",
                "watch",
                f"{kind.name.words.capitalize()} after {before.name.words}: its thinner takes off {said}.",
                mend=f"Weather the other way round (finish.weathering), or wait {days.number:.0f} days in between.",
                source=str(carrier.removes.citation),
            )


def room_findings(conditions: Conditions, families: Sequence[str]) -> Iterator[Finding]:
    """Yield what warmth and damp of the room do to drying times.

    Args:
        conditions: of the room.
        families: of the paints that are sprayed.
    """
    celsius, humidity = conditions.celsius, conditions.humidity
    most = leaf(customary("conditions", "suits_humidity_percent", "value"), "dampest that suits", "percent", stored="%")
    source = customary("conditions", "suits_degF", "low").citation
    stretched = (
        " Two-part paint's own are stretched; of the others nobody published by how much."
        if "two_part" in families
        else (" Nobody published by how much for these paints, so nothing is stretched.")
    )
    if celsius is not None:
        room = celsius.inputs.get("f", celsius)  # as it was typed
        unit = room.unit
        usual = _in_unit(unit, leaf(customary("conditions", "reference_degC"), _USUAL, "°C", stored="°C"))
        low, high = (_suits(end, unit) for end in ("low", "high"))
        limit = low if room.value < low.value else high
        if not low.value <= room.value <= high.value:
            cold = room.value < low.value
            yield Finding(
                "warmth",
                "watch",
                f"The room has {room.value:.0f} {unit}; air-drying paint is made for {low.value:.0f} to "
                f"{high.value:.0f} {unit}.",
                room,
                limit,
                derive("margin", "t - l" if cold else "l - t", unit, t=room, l=limit),
                unit,
                "Warm the room, not the wet car, and test on scrap." if cold else "Spray when it is cooler.",
                str(source),
            )
        elif room.value < usual.value:
            yield Finding(
                "warmth",
                "ok",
                f"The room has {room.value:.0f} {unit} and times hold for {usual.value:.0f} {unit}: paint dries "
                f"slower.{stretched}",
                room,
                low,
                unit=unit,
                source=str(source),
            )
    if humidity is not None and humidity.value > most.value:
        damp = customary("conditions", "suits_humidity_percent", "value")
        yield Finding(
            "damp",
            "watch",
            f"The air has {humidity.value:.0f} %; up to {most.value:.0f} % suits paint.",
            humidity,
            most,
            derive("margin", "l - h", "percent", l=most, h=humidity),
            "percent",
            f"Wait for a drier day or dry the air; test on scrap.{stretched}",
            str(damp.citation),
        )
    if celsius is not None and humidity is not None and "acrylic" in families:
        below = customary("conditions", "acrylic_slow_below_degC", "value")
        room = celsius.inputs.get("f", celsius)
        slow = _in_unit(room.unit, leaf(below, "cold that slows", "°C", stored="°C"))
        damp_limit = customary("conditions", "acrylic_slow_above_percent", "value")
        if room.value < slow.value and humidity.value > damp_limit.number:
            yield Finding(
                "acrylic_slow",
                "watch",
                f"Below {slow.value:.0f} {room.unit} and above {damp_limit.number:.0f} % water-borne paint dries much "
                "slower.",
                room,
                slow,
                derive("margin", "t - l", room.unit, t=room, l=slow),
                room.unit,
                "Warm and dry the room before spraying acrylics.",
                str(damp_limit.citation),
            )


_USUAL: Final = "warmth that times hold for"


def _suits(end: str, unit: str) -> Working:
    name = f"{end} end of what suits"
    return _in_unit(unit, leaf(customary("conditions", "suits_degF", end), name, "°F", stored="°F"))


def _in_unit(unit: str, warmth: Working) -> Working:
    """Return a warmth in the unit that the owner typed his own in."""
    if warmth.unit == unit:
        return warmth
    if unit == "°C":
        return derive(warmth.name, "(f - 32)/1.8", "°C", f=warmth)
    return derive(warmth.name, "1.8*c + 32", "°F", c=warmth)
