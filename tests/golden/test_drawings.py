"""Stored drawings, parsed and compared with what is drawn now (regression pins; ``drawings.py`` makes them anew)."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from collections.abc import Callable

import pytest
from tests.draw.dxf_reader import entities
from tests.golden.drawings import FOLDER, made

Told = list[tuple[str, list[float]]]
"""What a drawing holds: words for each element, and its numbers."""

NAMES = ("boxcar-masks.svg", "boxcar-plan.svg", "boxcar-ride.svg", "boxcar-template-cut.dxf", "shell-template.svg")


def _svg(data: bytes) -> Told:
    """Return each element of an SVG with its layer, part, class and text, and the numbers of its shape."""
    found: Told = []
    for layer in ET.fromstring(data):  # noqa: S314 - made by these tests
        for each in layer.iter():
            words = (
                f"{layer.get('data-layer')} {each.tag} {each.get('id')} {each.get('class')} {(each.text or '').strip()}"
            )
            shape = " ".join(each.get(name, "") for name in ("d", "x", "y", "cx", "cy", "r"))
            found.append((words, [float(number) for number in re.findall(r"-?\d+(?:\.\d+)?", shape)]))
    return found


def _dxf(data: bytes) -> Told:
    """Return each entity of a DXF with its kind and layer, and its coordinates."""
    shape = (10, 20, 40, 42, 70)
    return [
        (f"{each.kind} {each.layer}", [float(value) for code, value in each.groups if code in shape])
        for each in entities(data)
    ]


@pytest.mark.parametrize("name", NAMES)
def test_drawing_is_as_stored(name: str) -> None:
    """The drawing has the elements, words and numbers of the stored one, to a micrometre."""
    read: Callable[[bytes], Told] = _svg if name.endswith(".svg") else _dxf
    now, stored = read(made()[name]), read((FOLDER / name).read_bytes())
    assert [words for words, _ in now] == [words for words, _ in stored]
    for (words, numbers), (_, kept) in zip(now, stored, strict=True):
        assert numbers == pytest.approx(kept, abs=1e-3), words
