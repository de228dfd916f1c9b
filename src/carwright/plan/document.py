"""The plan as the JSON that is published, with the working behind every number of it.

``document_of`` gives the tree once; ``as_json`` takes the values from it and ``find`` walks it by the same names, so
that no number can be shown that has no working.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TypeAlias

from carwright.car.model import Ends
from carwright.fasten.plugs import Repair
from carwright.findings import Finding
from carwright.pieces import Hole, Piece, Point, Pose
from carwright.plan.interference import Interference
from carwright.plan.model import BuyLine, Plan
from carwright.problems import InputError, Problem
from carwright.ride.model import Alternative, EndRide
from carwright.track.steady import Steady
from carwright.weight.running import RunningGear
from carwright.working import Working

__all__ = ["Document", "Node", "document_of", "finding_node", "steady_node"]

Node: TypeAlias = "Working | str | bool | Mapping[str, Node] | Sequence[Node] | None"
"""A number with its working, a text, a flag, nothing, or a tree of these."""

Json: TypeAlias = "float | int | str | bool | dict[str, Json] | list[Json] | None"

_COUNTS = frozenset({"count"})


def _slug(text: str) -> str:
    return re.sub(r"[^a-z0-9.+-]+", "_", text.lower()).strip("_")


def _value(node: Node) -> Json:
    if isinstance(node, Working):
        return int(node.value) if node.unit in _COUNTS and node.value == int(node.value) else node.value
    if isinstance(node, Mapping):
        return {key: _value(each) for key, each in node.items()}
    if isinstance(node, str) or node is None or isinstance(node, bool):
        return node
    return [_value(each) for each in node]


def _name_of(node: Node) -> str:
    """Return the name by which a row of a list is called in a path, or ""."""
    if isinstance(node, Mapping):
        for key in ("name", "check", "cavity"):
            name = node.get(key)
            if isinstance(name, str):
                return _slug(name)
    return ""


_HOW_TO_LIST = "`--why list` names every number there is."
_NAMED = 6
"""Names that an error offers at most."""

_ALIKE = 0.75
"""Likeness of words, 0 to 1, from which a name is offered."""


@dataclass(frozen=True, slots=True)
class Document:
    """The tree of a plan."""

    root: Mapping[str, Node]

    def as_json(self) -> dict[str, Json]:
        """Return the plan as plain JSON values, numbers unrounded."""
        return {key: _value(node) for key, node in self.root.items()}

    def numbers(self) -> Iterator[tuple[str, Working]]:
        """Yield every number with its path; rows of a list go by name, or by place where they have none."""
        yield from _numbers(self.root, "")

    def find(self, path: str) -> Working:
        """Return the working at ``path``.

        Args:
            path: names joined by points, as the JSON has them: "ride.a.error_mm", "holes.truck_a.x_mm",
                "ride.alternatives.1.pass_probability" (alternatives are counted from 1, by their rank).

        Raises:
            InputError: nothing is there, it is not a number, or it is not known yet.
        """
        node: Node = self.root
        walked = ""
        rest = path
        while rest:
            found = _step(node, rest)
            if found is None:
                raise InputError(self._unknown(path))
            step, node, rest = found
            walked = f"{walked}.{step}" if walked else step
        if isinstance(node, Working):
            return node
        if node is None:
            raise InputError(
                Problem(
                    "that number is not known yet",
                    value=path,
                    key="--why",
                    mend=f"The findings of the plan name the measurement that is missing. {_HOW_TO_LIST}",
                )
            )
        inside = [name for name, _ in _numbers(node, walked)][:6]
        raise InputError(
            Problem(
                "that is not a number",
                value=path,
                accepted="the path of one number" + (f", such as {', '.join(inside)}" if inside else ""),
                mend=_HOW_TO_LIST,
                key="--why",
            )
        )

    def _unknown(self, path: str) -> Problem:
        """Return that there is no number at a path, with those that its words or its value come near."""
        numbers = dict(self.numbers())
        bare = re.fullmatch(r"[+-]?(\d*\.\d+|\d+)", path.strip())
        near = _of_value(path, numbers) if bare else _of_words(path, tuple(numbers))
        problem = "this is a value, not the name of a number" if bare else "there is no number of that name"
        accepted = f"one of {', '.join(near)}" if near else f"the name of a number, such as {next(iter(numbers), '')}"
        if bare and near:
            accepted += ", which are that much"
        return Problem(problem, path, accepted, _HOW_TO_LIST, key="--why")


def _children(node: Node) -> dict[str, Node]:
    if isinstance(node, Mapping):
        return dict(node)
    if isinstance(node, str | bool | Working) or node is None:
        return {}
    named: dict[str, Node] = {}
    for i, each in enumerate(node):
        name = _name_of(each)
        named[name if name and name not in named else str(i)] = each
    return named


def _of_value(text: str, numbers: Mapping[str, Working]) -> list[str]:
    """Return the paths of numbers that are shown as ``text``, a bare number: in inches, or as they are stored."""
    shown = text.strip().lstrip("+-")
    value = float(shown)
    half = 0.5 * 10.0 ** -len(shown.partition(".")[2])

    def alike(each: Working) -> bool:
        sizes = (abs(each.value), abs(each.value) / 25.4) if each.unit == "mm" else (abs(each.value),)
        return any(abs(size - value) <= half * 1.0001 for size in sizes)

    return [path for path, each in numbers.items() if alike(each)][:_NAMED]


def _of_words(text: str, paths: Sequence[str]) -> list[str]:
    """Return the paths that hold all words of ``text``, the shortest first, else those that look most like it."""

    def words(name: str) -> list[str]:
        return [each for each in re.split(r"[^a-z0-9]+", name.lower()) if each]

    wanted = words(text)
    if not wanted:
        return []
    scores: dict[str, float] = {}
    for path in paths:
        own = words(path)
        hits = [max(difflib.SequenceMatcher(None, word, each).ratio() for each in own) for word in wanted]
        scores[path] = sum(hits) / len(hits)
    best = sorted(paths, key=lambda path: (-scores[path], len(words(path)), paths.index(path)))
    return [path for path in best[:_NAMED] if scores[path] >= _ALIKE]


def _step(node: Node, rest: str) -> tuple[str, Node, str] | None:
    """Return the first step of ``rest`` below a node, what is there, and what is left; None where nothing is."""
    children = _children(node)
    slug = _slug(rest)
    for name in sorted(children, key=len, reverse=True):
        if rest == name or rest.startswith(f"{name}.") or slug == name or slug.startswith(f"{name}."):
            return name, children[name], rest[len(name) + 1 :]
    if not isinstance(node, Mapping):
        sequence = [] if isinstance(node, str | bool | Working) or node is None else list(node)
        ranked = all(isinstance(each, Mapping) and "rank" in each for each in sequence)
        head, _, tail = rest.partition(".")
        if head.isdigit():
            place = int(head) - 1 if ranked and sequence else int(head)
            if 0 <= place < len(sequence):
                return head, sequence[place], tail
    return None


def _numbers(node: Node, path: str) -> Iterator[tuple[str, Working]]:
    if isinstance(node, Working):
        yield path, node
        return
    for name, each in _children(node).items():
        yield from _numbers(each, f"{path}.{name}" if path else name)


def _points(points: Sequence[Point]) -> list[Node]:
    return [[point.x_mm, point.y_mm] for point in points]


def _pose(pose: Pose) -> dict[str, Node]:
    return {
        "x_mm": pose.x_mm,
        "y_mm": pose.y_mm,
        "z_mm": pose.z_mm,
        "rx_deg": pose.rx_deg,
        "ry_deg": pose.ry_deg,
        "rz_deg": pose.rz_deg,
    }


def _hole(hole: Hole) -> dict[str, Node]:
    return {
        "name": hole.name,
        "piece": hole.piece,
        "purpose": hole.purpose,
        "diameter_mm": hole.diameter_mm,
        "drill": hole.drill,
        "x_mm": hole.x_mm,
        "y_mm": hole.y_mm,
        "depth_mm": hole.depth_mm,
        "tap": hole.tap or None,
        "thread_percent": hole.thread_percent,
        "turns": hole.turns,
        "edge_mm": hole.edge_mm,
        "angle_deg": hole.angle_deg,
        "needs": list(hole.needs),
    }


def _repair(each: Repair) -> dict[str, Node]:
    site, plug = each.site, each.plug
    drill = None if plug is None else plug.drill
    return {
        "name": site.name,
        "what": site.what,
        "piece": site.piece,
        "x_mm": site.x,
        "y_mm": site.y,
        "diameter_mm": site.diameter,
        "act": each.act,
        "plug": None if plug is None else plug.form,
        "plug_mm": None if plug is None else plug.size,
        "drill": None if drill is None else drill.name,
        "drill_mm": None if drill is None else drill.diameter,
        "length_mm": each.length,
        "on_hand": plug is None or plug.offer is None or plug.offer.on_hand,
        "wait_h": each.wait,
        "for": list(each.holes),
    }


def _piece(piece: Piece) -> dict[str, Node]:
    return {
        "name": piece.name,
        "quantity": piece.quantity,
        "material": piece.material,
        "form": piece.form,
        "made": piece.made,
        "layers_mm": list(piece.layers_mm),
        "thickness_mm": piece.thickness_mm,
        "thickness_min_mm": piece.thickness_min_mm,
        "thickness_max_mm": piece.thickness_max_mm,
        "length_mm": piece.length_mm,
        "width_mm": piece.width_mm,
        "cut_length_mm": piece.cut_length_mm,
        "cut_width_mm": piece.cut_width_mm,
        "diameter_mm": piece.diameter_mm,
        "area_mm2": piece.area_mm2,
        "outline_mm": _points(piece.outline_mm),
        "path_mm": _points(piece.path_mm),
        "holes": [hole.name for hole in piece.holes],
        "pose": _pose(piece.pose),
        "also": [_pose(each) for each in piece.also],
    }


def _end(result: EndRide) -> dict[str, Node]:
    return {
        "floor_underside_mm": result.floor_underside,
        "mounting_face_mm": result.mounting_face,
        "coupler_height_mm": result.coupler_height,
        "measured_at": result.measured_at,
        "target_mm": result.target,
        "limit_mm": result.limit,
        "error_mm": result.error,
        "worst_case_mm": result.worst_case,
        "rss_mm": result.rss,
        "pass_probability": result.pass_probability,
        "found_mm": result.found,
        "predicted_minus_found_mm": result.predicted_minus_found,
        "shares": [{"name": share.name, "share": share.share} for share in result.shares],
    }


def _both(ends: Ends[Working] | Ends[Working | None]) -> dict[str, Node]:
    return {"a": ends.a, "b": ends.b}


def _alternative(each: Alternative) -> dict[str, Node]:
    return {
        "rank": each.rank,
        "name": each.name,
        "as_it_is": each.as_it_is,
        "washers_mm": {"a": list(each.washers.a), "b": list(each.washers.b)},
        "bolster_layers_mm": {"a": list(each.bolster_layers.a), "b": list(each.bolster_layers.b)},
        "shim_mm": _both(each.shim),
        "recess_mm": _both(each.recess),
        "shank_offset_mm": _both(each.shank_offset),
        "coupler_height_mm": _both(each.coupler_height),
        "error_mm": _both(each.error),
        "pass_probability": each.pass_probability,
        "parts": each.parts,
        "on_hand": each.on_hand,
        "body_offset_mm": each.body_offset,
        "because": each.because,
    }


def finding_node(finding: Finding) -> dict[str, Node]:
    """Return a finding as it is published."""
    return {
        "check": finding.check,
        "verdict": finding.verdict,
        "value": finding.value,
        "limit": finding.limit,
        "margin": finding.margin,
        "unit": finding.unit,
        "because": finding.because,
        "mend": finding.mend or None,
        "source": finding.source or None,
        "needs": list(finding.needs),
    }


def _interference(found: Interference) -> dict[str, Node]:
    return {
        "parts": found.parts,
        "meetings": [
            {
                "name": f"{each.first}, {each.second}",
                "first": each.first,
                "second": each.second,
                "depth_mm": each.depth,
                "volume_mm3": each.volume,
            }
            for each in found.meetings
        ],
    }


def _buy(line: BuyLine) -> dict[str, Node]:
    return {
        "name": line.name,
        "size_mm": line.size,
        "low_mm": line.low,
        "high_mm": line.high,
        "quantity": line.quantity,
        "because": line.because,
    }


def _ride(plan: Plan) -> dict[str, Node]:
    ride = plan.ride
    ends = {"a": _end(ride.ends.a), "b": _end(ride.ends.b)}
    plain = dict(ends[ride.worse or "a"])
    plain["pass_probability"] = ride.pass_probability
    return {**plain, **ends, "alternatives": [_alternative(each) for each in plan.alternatives]}


def steady_node(turning: Steady | None) -> dict[str, Node] | None:
    """Return the steady figures as they are published; nothing without a radius."""
    if turning is None:
        return None
    return {
        "radius_mm": turning.radius,
        "throw_in_mm": turning.throw_in,
        "throw_out_mm": turning.throw_out,
        "throw_in_bare_mm": turning.throw_in_bare,
        "throw_out_bare_mm": turning.throw_out_bare,
        "truck_angle_deg": turning.truck_angle,
        "coupler_angle_deg": turning.coupler_angle,
        "body_gap_mm": turning.body_gap,
    }


def _running(running: RunningGear) -> dict[str, Node]:
    change = running.change
    return {
        "roll_grade_percent": running.roll_grade,
        "setting": {"a": running.setting.a, "b": running.setting.b},
        "other_wheels": None
        if change is None
        else {
            "wheel_diameter_mm": change.wheels,
            "rise_mm": _both(change.rise),
            "coupler_height_mm": _both(change.coupler_height),
            "error_mm": _both(change.error),
        },
    }


def document_of(plan: Plan) -> Document:
    """Return the plan as the tree that is published; every number in it is a working."""
    info, floor, weight = plan.car.info, plan.floor, plan.weight
    return Document(
        {
            "car": {"name": info.name, "scale": info.scale, "standard": info.standard, "ends": ["a", "b"]},
            "floor": {
                "wanted_thickness_mm": floor.wanted_thickness,
                "layers_mm": list(floor.layers),
                "thickness_mm": floor.thickness,
                "error_mm": floor.error,
                "length_mm": floor.length,
                "width_mm": floor.width,
                "cut_length_mm": floor.cut_length,
                "cut_width_mm": floor.cut_width,
            },
            "ride": _ride(plan),
            "sill_height_mm": _both(plan.sill_heights),
            "pieces": [_piece(piece) for piece in plan.pieces],
            "holes": [_hole(hole) for hole in plan.holes],
            "interference": _interference(plan.interference),
            "repairs": [_repair(each) for each in plan.repairs],
            "steady": steady_node(plan.steady),
            "weight": {
                "rule": weight.rule,
                "target_g": weight.target,
                "present_g": weight.present,
                "to_fit_g": weight.to_fit,
                "to_add_g": weight.to_add,
            },
            "running": _running(plan.running),
            "buy": [_buy(line) for line in plan.buy],
            "findings": [finding_node(finding) for finding in plan.findings],
        }
    )
