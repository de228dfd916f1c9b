"""Heights reckoned from what was gauged on the car as found: the gauge's reading plus what the change adds.

The reading replaces everything that stood in the stack when it was taken; only what is changed afterwards enters, with
its own doubt. Where the stack is complete as well it explains the reading, and the difference is a finding.
"""

from __future__ import annotations

from dataclasses import replace

from carwright.car.model import ENDS, End, Ends
from carwright.ride.doubts import Doubts, chances, widths
from carwright.ride.model import EndSpec, Part, Ride, Target
from carwright.ride.stack import worse_end
from carwright.working import Working, derive, derived

__all__ = ["solve_from_found", "standing"]


def _difference(before: tuple[Part, ...], after: tuple[Part, ...]) -> list[tuple[float, Part]]:
    old, new = list(before), list(after)
    for part in before:
        if part in new:
            new.remove(part)
            old.remove(part)
    return [(-1.0, part) for part in old] + [(1.0, part) for part in new]


def _single(before: Working | None, after: Working | None, name: str) -> list[tuple[float, Part]]:
    if before is after:
        return []
    changed = []
    if before is not None:
        changed.append((-1.0, Part(f"{name} before", before, f"{name} before")))
    if after is not None:
        changed.append((1.0, Part(name, after, name)))
    return changed


def _over_truck(before: EndSpec, after: EndSpec) -> list[tuple[float, Part]]:
    letter = before.end.upper()
    changed = _difference(before.washers, after.washers) + _difference(before.bolster, after.bolster)
    old = before.wheels_run or before.wheels_measured
    if after.wheels_run is not None and after.wheels_run is not before.wheels_run:
        changed += [(factor / 2, part) for factor, part in _single(old, after.wheels_run, f"wheels {letter}")]
    return changed


def _at_coupler(before: EndSpec, after: EndSpec) -> list[tuple[float, Part]]:
    letter = before.end.upper()
    changed = [(-factor, part) for factor, part in _difference(before.shim, after.shim)]
    changed += _single(before.recess, after.recess, f"recess {letter}")
    changed += [(-factor, part) for factor, part in _single(before.drop, after.drop, f"drop of coupler {letter}")]
    changed += _single(before.shank_offset, after.shank_offset, f"shank offset {letter}")
    return changed


def _alike(one: list[tuple[float, Part]], other: list[tuple[float, Part]]) -> bool:
    """Return whether two changes are of the same entries of file and shelf."""
    return [(factor, part.size.key) for factor, part in one] == [(factor, part.size.key) for factor, part in other]


def _sum(name: str, changed: list[tuple[float, Part]]) -> Working:
    inputs = {f"p{i + 1}": part.size for i, (_, part) in enumerate(changed)}
    terms = (
        "".join(f"{factor:+g}*p{i + 1}" for i, (factor, _) in enumerate(changed))
        .replace("+1*", "+")
        .replace("-1*", "-")
    )
    return derived(name, terms.lstrip("+") or "0", inputs)


def standing(specs: Ends[EndSpec], ride: Ride, targets: Ends[Target | None]) -> Ride:
    """Return how the car stands today: from its gauge readings where it has any, else from its parts.

    Args:
        specs: the stacks.
        ride: the stacks solved from their parts.
        targets: where each coupler should stand.
    """
    if specs.a.found is None and specs.b.found is None:
        return ride
    return solve_from_found(specs, specs, ride, targets)


def solve_from_found(
    before: Ends[EndSpec], after: Ends[EndSpec], stacked: Ride, targets: Ends[Target | None], *, brief: bool = False
) -> Ride:
    """Return the ride after a change, with the ends that were gauged reckoned from their gauge readings.

    Args:
        before: the stacks as they stood when the heights were gauged.
        after: the stacks after the change.
        stacked: ``after`` solved from its parts; an end that was not gauged keeps its height from there.
        targets: where each coupler should stand.
        brief: leave out worst case, root sum square and shares.
    """
    doubts = Doubts()
    own: dict[End, list[tuple[float, Part]]] = {}
    truck: dict[End, list[tuple[float, Part]]] = {}
    for end in ENDS:
        old, new = before.at(end), after.at(end)
        own[end], truck[end] = _at_coupler(old, new), _over_truck(old, new)
    gauged: dict[End, bool] = {"a": before.a.found is not None, "b": before.b.found is not None}
    rises = {end: _sum(f"rise over truck {end.upper()} by the change", changed) for end, changed in truck.items()}
    results = {"a": stacked.ends.a, "b": stacked.ends.b}
    heights: dict[End, Working | None] = {"a": stacked.ends.a.coupler_height, "b": stacked.ends.b.coupler_height}
    weights: dict[End, dict[End, Working | None]] = {"a": {}, "b": {}}
    for end in ENDS:
        spec = before.at(end)
        letter, lever = end.upper(), stacked.lever.at(end)
        body = spec.mount != "truck"
        weights[end] = {
            "a": lever if body else None,
            "b": derive(f"weight of truck B at pulling face {letter}", "1 - l", "", l=lever)
            if body and lever is not None
            else None,
        }
        if not gauged[end] or spec.found is None:
            continue
        doubts.add(
            f"found {letter}",
            f"height gauged at {letter}",
            spec.found,
            at_a=(1.0, None) if end == "a" else None,
            at_b=(1.0, None) if end == "b" else None,
        )
        formula, inputs = "c", {"c": spec.found}
        if body and truck["a"] and _alike(truck["a"], truck["b"]):
            formula += " + d"  # both trucks rise by the same parts, and so does everything between them
            inputs["d"] = rises["a"]
        elif body:
            for other in ENDS:
                symbol = other.upper()
                weight = weights[end][other]
                if truck[other]:
                    if weight is None:
                        formula = ""
                        break
                    formula += f" + l{symbol}*d{symbol}"
                    inputs |= {f"l{symbol}": weight, f"d{symbol}": rises[other]}
        elif after.at(end).wheels_run is not None and truck[end]:
            wheels = [(factor, part) for factor, part in truck[end] if part.name.startswith("wheels")]
            formula += " + w"
            inputs["w"] = _sum(f"rise of truck {letter} by its wheels", wheels)
        if not formula:
            heights[end] = None
            continue
        if own[end]:
            formula += " + k"
            inputs["k"] = _sum(f"rise of coupler {letter} alone", own[end])
        heights[end] = derived(f"coupler height at {letter}, from the height found", formula, inputs)
    _doubts_of_change(doubts, gauged, own, truck, weights)
    for each in stacked.contributors:  # an end that was not gauged keeps the doubts of its stack
        a = each.at_a if not gauged["a"] else None
        b = each.at_b if not gauged["b"] else None
        if a is not None or b is not None:
            doubts.add(
                f"stack {each.name}",
                each.name,
                each.reading,
                at_a=(1.0, a) if a is not None else None,
                at_b=(1.0, b) if b is not None else None,
            )
    contributors = doubts.contributors()
    for end in ENDS:
        target = targets.at(end)
        height = heights[end]
        error = None
        if height is not None and target is not None:
            error = derive(f"error of the height at {end.upper()}", "h - T", h=height, T=target.height)
        if height is None:
            results[end] = replace(results[end], coupler_height=None, error=None, worst_case=None, rss=None, shares=())
            continue
        results[end] = replace(results[end], coupler_height=height, error=error)
        if not brief:
            worst, rss, shares = widths(end.upper(), contributors)
            results[end] = replace(results[end], worst_case=worst, rss=rss, shares=shares)
    found = chances(
        Ends(results["a"].error, results["b"].error),
        Ends(results["a"].limit, results["b"].limit),
        contributors,
        brief=brief,
    )
    ends = Ends(
        replace(results["a"], pass_probability=found.get("a")), replace(results["b"], pass_probability=found.get("b"))
    )
    errors = {end: error for end in ENDS if (error := ends.at(end).error) is not None}
    worse = worse_end(errors)
    return Ride(ends, worse, found.get("both"), contributors, stacked.lever, stacked.slope)


def _doubts_of_change(
    doubts: Doubts,
    gauged: dict[End, bool],
    own: dict[End, list[tuple[float, Part]]],
    truck: dict[End, list[tuple[float, Part]]],
    weights: dict[End, dict[End, Working | None]],
) -> None:
    for end in ENDS:
        if gauged[end]:
            for factor, part in own[end]:
                doubts.add(
                    part.group,
                    part.name,
                    part.size,
                    at_a=(factor, None) if end == "a" else None,
                    at_b=(factor, None) if end == "b" else None,
                )
        for factor, part in truck[end]:
            at = {
                coupler: (factor, weights[coupler][end])
                if gauged[coupler] and weights[coupler][end] is not None
                else None
                for coupler in ENDS
            }
            doubts.add(part.group, part.name, part.size, at_a=at["a"], at_b=at["b"])
