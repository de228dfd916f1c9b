"""Moves one leaf of a working in the text of a car file, and nothing else."""

from __future__ import annotations

import re

import tomlkit

from carwright.working import Working

_INDEX = re.compile(r"\[(\d+)\]")


def _steps(key: str) -> list[str | int]:
    steps: list[str | int] = []
    for part in key.rstrip("±").split("."):
        name, *places = re.split(r"\[|\]\[|\]", part)
        steps.append(name)
        steps += [int(place) for place in places if place]
    return steps


def _spelled(leaf: Working, value: float, tolerance: float | None, ratio: float) -> str:
    """Return ``value`` as the file would write it, with the doubt that the leaf had."""
    unit = {"mm": " mm", "g": " g", "deg": " deg"}.get(leaf.unit, "")
    if tolerance is None and "scale" in leaf.text:
        return f"{value * ratio / 25.4!r} in scale"
    if tolerance is None and leaf.unit == "mm":
        return f"{value!r} mm ± 0 mm"
    if tolerance is None:
        return f"{value!r}{unit}"
    return f"{value!r}{unit} ± {tolerance!r}{unit} {leaf.distribution}"


def moved_text(document: str, leaf: Working, *, value: float, tolerance: float | None, ratio: float) -> str:
    """Return the document with the reading of ``leaf`` at ``value`` and its ± at ``tolerance``."""
    tree = tomlkit.parse(document)
    node = tree
    *path, last = _steps(leaf.key)
    for step in path:
        node = node[step]
    text = _spelled(leaf, value, tolerance, ratio)
    if not isinstance(last, int) and isinstance(node[last], list):
        node[last][0] = text
    else:
        node[last] = text
    return tomlkit.dumps(tree)
