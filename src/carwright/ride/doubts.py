"""Independent variables of both heights: collected once, then summed as worst case, root sum square and chance."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from carwright.car.model import ENDS, End, Ends
from carwright.ride.chance import both_chance, end_chance
from carwright.ride.model import Contributor, Share
from carwright.working import Distribution, Working, derive, derived

__all__ = ["Doubts", "chances", "widths"]

_SQUARES = {"rect": "3", "normal": "4", "tri": "6"}
"""Variance of a doubt of half-width t is t squared over this."""

_SAMPLING = "16384 points of a seeded lattice; each doubt has the same points at both ends"


@dataclass(slots=True)
class Doubts:
    """Collects the independent variables; what is met twice under one group adds its sensitivities."""

    names: dict[str, str] = field(default_factory=dict)
    readings: dict[str, Working] = field(default_factory=dict)
    terms: dict[str, tuple[list[tuple[float, Working | None]], list[tuple[float, Working | None]]]] = field(
        default_factory=dict
    )

    def add(
        self,
        group: str,
        name: str,
        reading: Working | None,
        *,
        at_a: tuple[float, Working | None] | None,
        at_b: tuple[float, Working | None] | None,
    ) -> None:
        """Add what a reading does to each coupler's height; a reading without doubt is left out.

        Args:
            group: what is one variable: readings of one group move together.
            name: what it is, in words.
            reading: with its tolerance and distribution.
            at_a: factor and weight whose product is the sensitivity at A (no weight: the factor alone), or None.
            at_b: likewise at B.
        """
        if reading is None or reading.tolerance is None or reading.distribution == "nominal":
            return
        self.names.setdefault(group, name)
        self.readings.setdefault(group, reading)
        a, b = self.terms.setdefault(group, ([], []))
        if at_a is not None:
            a.append(at_a)
        if at_b is not None:
            b.append(at_b)

    def contributors(self) -> tuple[Contributor, ...]:
        """Return one contributor for each group, in the order in which they were met."""
        found = []
        for group, (a, b) in self.terms.items():
            reading = self.readings[group]
            assert reading.tolerance is not None
            name = self.names[group]
            found.append(
                Contributor(name, reading, reading.tolerance, _sensitivity(name, "A", a), _sensitivity(name, "B", b))
            )
        return tuple(found)


def _sensitivity(name: str, letter: str, terms: list[tuple[float, Working | None]]) -> Working | None:
    if not terms:
        return None
    pieces, inputs = [], {}
    for i, (factor, working) in enumerate(terms):
        if working is None:
            pieces.append(f"{factor:+g}")
        else:
            symbol = f"k{i + 1}"
            inputs[symbol] = working
            pieces.append(f"{factor:+g}*{symbol}" if abs(factor) != 1.0 else f"{'+' if factor > 0 else '-'}{symbol}")
    return derived(
        f"change of coupler height {letter} for each unit of {name}", "".join(pieces).lstrip("+"), inputs, ""
    )


def widths(letter: str, contributors: tuple[Contributor, ...]) -> tuple[Working, Working, tuple[Share, ...]]:
    """Return worst case, root sum square, and the shares of the variance, of one coupler's height.

    Args:
        letter: the coupler, "A" or "B".
        contributors: the independent variables of both heights.

    Returns:
        Both widths in mm, and the shares (0..1, sum 1), greatest first; no shares where nothing is in doubt.
    """
    inputs: dict[str, Working] = {}
    worst, squares, variance, names = [], [], [], []
    for i, each in enumerate(contributors):
        sensitivity = each.at_a if letter == "A" else each.at_b
        if sensitivity is None:
            continue
        s, t = f"s{i + 1}", f"t{i + 1}"
        inputs |= {s: sensitivity, t: each.tolerance}
        worst.append(f"abs({s}*{t})")
        squares.append(f"({s}*{t})**2")
        variance.append(f"({s}*{t})**2/{_SQUARES[each.reading.distribution]}")
        names.append(each.name)
    worst_case = derived(f"worst case of coupler height {letter}", " + ".join(worst) or "0", inputs)
    rss = derived(f"root sum square of coupler height {letter}", f"sqrt({' + '.join(squares) or '0'})", inputs)
    total = " + ".join(variance)
    shares = (
        [
            Share(name, derived(f"share of the doubt of {letter}: {name}", f"({term})/({total})", inputs, ""))
            for name, term in zip(names, variance, strict=True)
        ]
        if rss.value > 0
        else []
    )
    shares.sort(key=lambda share: (-share.share.value, share.name))
    return worst_case, rss, tuple(shares)


def _certain(letter: str, error: Working, limit: Working, contributors: tuple[Contributor, ...]) -> Working | None:
    """Return the chance of an end that is settled without sampling: the worst case inside, or the best case outside.

    A normal doubt has no worst case, so that nothing is certain where one enters.
    """
    reach = 0.0
    for each in contributors:
        sensitivity = each.at_a if letter == "A" else each.at_b
        if sensitivity is not None:
            if each.reading.distribution == "normal":
                return None
            reach += abs(sensitivity.value * each.tolerance.value)
    name = f"chance of passing at {letter}"
    if abs(error.value) + reach <= limit.value:
        return derive(name, "1", "", note="even the worst case stays inside the limit")
    if abs(error.value) - reach > limit.value:
        return derive(name, "0", "", note="even the best case stays outside the limit")
    return None


def _shapes(contributors: tuple[Contributor, ...]) -> tuple[tuple[Distribution, ...], tuple[bool, ...]]:
    """Return the distribution of each contributor, and whether it moves both couplers."""
    return (
        tuple(each.reading.distribution for each in contributors),
        tuple(each.at_a is not None and each.at_b is not None for each in contributors),
    )


def _sampled_end(letter: str, error: Working, limit: Working, contributors: tuple[Contributor, ...]) -> Working:
    inputs: dict[str, Working] = {"e": error, "m": limit}
    enters = []
    for i, each in enumerate(contributors):
        sensitivity = each.at_a if letter == "A" else each.at_b
        enters.append(sensitivity is not None)
        if sensitivity is not None:
            inputs |= {f"s{i + 1}": sensitivity, f"t{i + 1}": each.tolerance}
    shapes, shared = _shapes(contributors)
    return derived(
        f"chance of passing at {letter}",
        "share of sampled cars with abs(e + sum of s*doubt) <= m",
        inputs,
        "",
        function=end_chance(shapes, tuple(enters), shared),
        note=_SAMPLING,
    )


def chances(
    error: Ends[Working | None],
    limit: Ends[Working | None],
    contributors: tuple[Contributor, ...],
    *,
    brief: bool = False,
) -> dict[str, Working]:
    """Return the chances "a", "b" and "both", as far as both the height and its limit are known.

    Args:
        error: of each coupler's height, mm.
        limit: half-width of what is accepted, mm.
        contributors: the independent variables of both heights.
        brief: leave out "a" and "b" where "both" does not need them.
    """
    settled: dict[End, Working] = {}
    judged: list[End] = []
    for end in ENDS:
        height, most = error.at(end), limit.at(end)
        if height is not None and most is not None:
            judged.append(end)
            certain = _certain(end.upper(), height, most, contributors)
            if certain is not None:
                settled[end] = certain

    def at(end: End) -> Working:
        height, most = error.at(end), limit.at(end)
        assert height is not None
        assert most is not None
        return settled.get(end) or _sampled_end(end.upper(), height, most, contributors)

    found: dict[str, Working] = {} if brief else {end: at(end) for end in judged}
    if len(judged) == 2:
        found["both"] = _both(error, limit, contributors, settled, found, at)
    return found


def _both(
    error: Ends[Working | None],
    limit: Ends[Working | None],
    contributors: tuple[Contributor, ...],
    settled: Mapping[End, Working],
    found: Mapping[str, Working],
    at: Callable[[End], Working],
) -> Working:
    """Return the chance of both ends, from one end alone where the other is settled."""
    name = "chance of passing at both ends at once"
    for end in ENDS:
        if end in settled:
            if settled[end].value == 0.0:
                return settled[end].renamed(name, note=f"{end.upper()} cannot pass")
            other: End = "b" if end == "a" else "a"
            return (found.get(other) or at(other)).renamed(name, note=f"{end.upper()} passes always")
    inputs: dict[str, Working] = {}
    for symbol, given in (("ea", error.a), ("eb", error.b), ("la", limit.a), ("lb", limit.b)):
        assert given is not None
        inputs[symbol] = given
    zero = derive("does not enter", "0", "")
    for i, each in enumerate(contributors):
        inputs |= {f"a{i + 1}": each.at_a or zero, f"b{i + 1}": each.at_b or zero, f"t{i + 1}": each.tolerance}
    return derived(
        name,
        "share of sampled cars with abs(ea + sum of a*doubt) <= la and abs(eb + sum of b*doubt) <= lb",
        inputs,
        "",
        function=both_chance(*_shapes(contributors)),
        note=_SAMPLING,
    )
