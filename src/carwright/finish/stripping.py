"""Strip or not: what speaks for it and against it, and the ladder of strippers from the mildest on.

Nothing is guessed. What would decide and is not known makes the answer ``unknown``: test on a hidden spot first. A
plastic that nobody named is held to what every plastic of the table stands.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from carwright.car.keys import near_words
from carwright.car.model import Finish
from carwright.finish.model import Rung, StripDecision, StripReason
from carwright.finish.order import lightness, shows_through
from carwright.finish.windows import stored_minutes
from carwright.problems import InputError, Problem
from carwright.reference.finishing import PLASTICS, Stripper, compatibility, customary, resistance_words, strippers
from carwright.reference.leaves import leaf
from carwright.working import Working, derive

__all__ = ["family_of", "plastic_of", "strip_decision"]


def plastic_of(finish: Finish) -> str:
    """Return the plastic as the data names it, or "" where it is unknown."""
    word = finish.plastic.replace(" ", "_").replace("clear_san", "san_clear")
    return "" if word == "unknown" else word


def family_of(word: str) -> str:
    """Return a family as the data names it, or "" where it is unknown."""
    plain = word.strip().lower().replace("-", "_").replace(" ", "_")
    return "" if plain == "unknown" else plain


def strip_decision(
    finish: Finish, colours: Sequence[str], primer: str, *, glued: Sequence[str] = (), file: str = ""
) -> StripDecision:
    """Return whether old paint comes off, and with what.

    Args:
        finish: what the car file says of the old paint.
        colours: the new ones.
        primer: its family.
        glued: strippers that loosen a joint of this car.
        file: the car file's name, for problems.

    Raises:
        InputError: the log names a stripper that is none.
    """
    reasons = tuple(_reasons(finish, colours, primer))
    ladder = tuple(_ladder(finish, glued, file))
    warmest = leaf(
        customary("heat", "dehydrator_limit_styrene", "value"), "warmest that styrene may get", "°C", stored="°C"
    )
    if finish.old_coat == "none":
        return StripDecision("bare", (), (), ladder, warmest)
    if any(each.strips for each in reasons):
        return StripDecision("strip", reasons, (), ladder, warmest)
    needs = tuple(_needs(finish, colours, primer))
    return StripDecision("unknown" if needs else "keep", reasons, needs, ladder, warmest)


def _said(reason: str) -> tuple[str, str]:
    stored = customary("strip_or_not", "reason", reason, "statement")
    return stored.words, str(stored.citation)


def _reasons(finish: Finish, colours: Sequence[str], primer: str) -> Iterator[StripReason]:
    if finish.old_coat in ("heavy", "uneven"):
        yield StripReason(finish.old_coat, *_said(finish.old_coat), True)
    elif finish.old_coat == "even":
        yield StripReason("even", "the old coat is thin and even", "", False)
    lightest = _lightest(colours)
    old = lightness(finish.old_colour)
    if old is not None and lightest is not None:
        words, source = _said("cover")
        if shows_through(finish.old_colour, lightest[1]):
            yield StripReason("cover", f"{words}: {lightest[1]} over {finish.old_colour}", source, True)
        elif None not in map(lightness, colours):
            yield StripReason("covers", f"the new colours cover {finish.old_colour}", source, False)
    if finish.glue_to:
        words, source = _said("glue")
        yield StripReason("glue", f"{', '.join(finish.glue_to)}: {words}", source, True)
    family = family_of(finish.old_family)
    if family:
        found = compatibility(primer, family)
        if found is not None and found.verdict.value == "no" and not finish.barrier:
            words = f"{_said('family')[0]}: {primer} over {family}"
            yield StripReason("family", words, str(found.verdict.citation), True)
        elif found is not None and found.good:
            yield StripReason("agrees", f"{primer} primer goes over old {family}", str(found.verdict.citation), False)


def _lightest(colours: Sequence[str]) -> tuple[int, str] | None:
    known = [(place, each) for each in colours if (place := lightness(each)) is not None]
    return min(known, default=None)


def _needs(finish: Finish, colours: Sequence[str], primer: str) -> Iterator[str]:
    """Yield the keys of what is not known and would decide."""
    if not finish.old_coat:
        yield "finish.old_coat"
    if lightness(finish.old_colour) is None:
        yield "finish.old_colour"
    if finish.glue_to is None:
        yield "finish.glue_to"
    found = compatibility(primer, family_of(finish.old_family))
    if found is None or not (found.good or finish.barrier):
        yield "finish.old_family"


# -------------------------------------------------------------------------------------------------------------- ladder


def _ladder(finish: Finish, glued: Sequence[str], file: str) -> Iterator[Rung]:
    plastic, family = plastic_of(finish), family_of(finish.old_family)
    log = _log(finish, file)
    worked = next((agent for agent, result in log.items() if result == "worked"), "")
    left_out: list[Rung] = []
    first = True
    for agent in sorted(strippers(), key=lambda each: _roughness(each, plastic, each.id in glued)):
        unfit = _unfit(agent, plastic, family)
        result = log.get(agent.id, "")
        if agent.id == worked:
            yield _rung(agent, "worked", "it worked for this car", _minutes_of(agent, finish))
        elif result:
            words = "it failed" if result == "failed" else "it attacked the plastic or a joint"
            left_out.append(_rung(agent, "failed" if result == "failed" else "attacked", f"{words}, by the log"))
        elif unfit:
            left_out.append(_rung(agent, "unfit", unfit))
        else:
            yield _rung(agent, "next" if first and not worked else "later", _fit(agent, plastic, family))
            first = False
    yield from left_out


def _roughness(agent: Stripper, plastic: str, loosens: bool) -> tuple[bool, int, int, float]:
    """Return what puts strippers in order: what is ok for this plastic first, then what most others stand."""
    own = _ON.get(str(agent.on[plastic].value), 3) if plastic else 0
    rough = sum(agent.on[each].value != "ok" for each in agent.on)
    return loosens, own, rough, -agent.first_check.number


_ON: Mapping[str, int] = {"ok": 0, "watch": 1, "avoid": 2, "never": 3}


def _unfit(agent: Stripper, plastic: str, family: str) -> str:
    """Return why a stripper is not for this car, or ""."""
    if not plastic and any(agent.on[each].value != "ok" for each in PLASTICS):
        hurt = next(each for each in PLASTICS if agent.on[each].value != "ok")
        return f"the plastic is unknown, and not every plastic stands it ({_called(hurt)})"
    if plastic and agent.on[plastic].value in ("avoid", "never"):
        words = resistance_words(plastic)
        read = "" if words is None else f" ({words.words}; {str(words.citation).split('; edition not seen')[0]})"
        return f"{_called(plastic)} does not stand it{read}"
    if family and not agent.takes(family, old=True):
        return f"nothing says that old {family.replace('_', '-')} comes off in it"
    return ""


def _fit(agent: Stripper, plastic: str, family: str) -> str:
    watched = plastic and agent.on[plastic].value == "watch"
    stands = "the plastic stands it" if plastic else "every plastic of the table stands it"
    if watched:
        stands = f"watch {_called(plastic)} in it"
    takes = agent.takes(family, old=True) if family else agent.removes.words
    return f"{stands}; takes off {takes}"


def _called(plastic: str) -> str:
    return {"abs": "ABS", "san_clear": "clear SAN"}.get(plastic, plastic.replace("_", " "))


def _minutes_of(agent: Stripper, finish: Finish) -> Working | None:
    """Return for how long a stripper worked on this car when it last did, as it was typed."""
    ours = (agent.name, _plain(agent.id))
    times = [
        each.minutes
        for each in finish.log
        if (word := _plain(each.agent)) and any(one.startswith(word) for one in ours)
    ]
    known = [each for each in times if each is not None]
    return derive(f"{agent.name}, as it worked", "n", "min", n=known[-1]) if known else None


def _plain(word: str) -> str:
    return word.strip().lower().replace("_", " ").replace("-", " ")


def _rung(agent: Stripper, status: str, because: str, took: Working | None = None) -> Rung:
    return Rung(
        agent.id,
        agent.name,
        status,  # type: ignore[arg-type]  # one of its words, by the callers above
        because,
        stored_minutes(agent.first_check, f"first look, {agent.name}"),
        stored_minutes(agent.low, f"shortest bath, {agent.name}") if took is None else took,
        stored_minutes(agent.limit, f"longest bath, {agent.name}"),
        str(agent.limit.citation),
    )


def _log(finish: Finish, file: str) -> dict[str, str]:
    """Return the last result of each stripper that was tried."""
    names = {_plain(word): each.id for each in strippers() for word in (each.name, each.id)}
    found: dict[str, str] = {}
    for at, tried in enumerate(finish.log):
        word = _plain(tried.agent)
        matches = {names[name]: name for name in names if word and name.startswith(word)}
        if word not in names and len(matches) != 1:
            near = near_words(word, tuple(names), many=1)
            mend = f"Did you mean {near[0]}?" if near else ""
            accepted = ", ".join(each.name for each in strippers() if each.id in (matches or names.values()))
            raise InputError(
                Problem("there is no such stripper", tried.agent, accepted, mend, f"finish.log[{at}].agent", file)
            )
        found[names[word] if word in names else next(iter(matches))] = tried.result
    return found
