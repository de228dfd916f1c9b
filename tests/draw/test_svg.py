"""SVG: lengths as the model has them, ids that are the parts' names, and no user's word that could do harm."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.draw.cars import BOXCAR, HOSTILE, SHELL, plan_of

from carwright.draw.model import XY, Circle, Dimension, Drawing, Group, Line, Placed, Polyline, Sheet, Text
from carwright.draw.outline import rectangle
from carwright.draw.svg import sheet_svg, svg
from carwright.draw.views import VIEWS, drawing_of

_NS = "{http://www.w3.org/2000/svg}"


def _root(text: str) -> ET.Element:
    return ET.fromstring(text)  # noqa: S314 - made here


def _points(path: ET.Element) -> list[tuple[float, float]]:
    pairs = re.findall(r"[ML](-?[\d.]+) (-?[\d.]+)", path.attrib["d"])
    return [(float(x), float(y)) for x, y in pairs]


def test_lengths_are_the_models() -> None:
    """A rectangle of 149.7076 by 28.9306 mm is that long and wide in the file, to its four decimals."""
    box = Polyline(rectangle(-74.8538, -14.4653, 74.8538, 14.4653), part="floor")
    root = _root(svg(Drawing("d", "t", "a", (box,))))
    group = next(each for each in root.iter(f"{_NS}g") if each.get("id") == "floor")
    points = _points(next(iter(group)))
    xs, ys = [x for x, _ in points], [y for _, y in points]
    assert max(xs) - min(xs) == pytest.approx(149.7076, abs=1e-4)
    assert max(ys) - min(ys) == pytest.approx(28.9306, abs=1e-4)


def test_page_size_is_the_view_box() -> None:
    """Width and height in mm are those of the view box, so that one unit of the file is one millimetre."""
    root = _root(svg(drawing_of(plan_of(BOXCAR), "plan")))
    _, _, width, height = (float(each) for each in root.attrib["viewBox"].split())
    assert root.attrib["width"] == f"{width:g}mm" or float(root.attrib["width"].removesuffix("mm")) == width
    assert float(root.attrib["height"].removesuffix("mm")) == height


def test_up_is_up() -> None:
    """What is higher in the model is nearer the top of the file: y is turned over once."""
    marks = (
        Line(XY(0.0, 0.0), XY(10.0, 0.0), part="low"),
        Line(XY(0.0, 5.0), XY(10.0, 5.0), part="high"),
    )
    root = _root(svg(Drawing("d", "t", "a", marks)))
    ys = {each.attrib["id"]: _points(each[0])[0][1] for each in root.iter(f"{_NS}g") if "id" in each.attrib}
    assert ys["high"] == ys["low"] - 5.0


@pytest.mark.parametrize("view", VIEWS)
@pytest.mark.parametrize("car", [BOXCAR, SHELL, HOSTILE])
def test_ids_are_unique_and_every_layer_is_one_group(view: str, car: str) -> None:
    """No id stands twice, and every layer is one group."""
    root = _root(svg(drawing_of(plan_of(car), view)))  # type: ignore[arg-type]  # parametrized over the literals
    ids = [each.attrib["id"] for each in root.iter() if "id" in each.attrib]
    assert len(ids) == len(set(ids))
    named = [each.attrib["data-layer"] for each in root if "data-layer" in each.attrib]
    assert len(named) == len(set(named))


def test_parts_keep_their_names() -> None:
    """The floor and each hole of the plan are found in the drawing by the names that the plan gives them."""
    plan = plan_of(BOXCAR)
    root = _root(svg(drawing_of(plan, "template")))
    ids = {each.attrib["id"] for each in root.iter() if "id" in each.attrib}
    assert {"floor", "truck_a", "truck_b", "coupler_a", "coupler_b"} <= ids


def test_no_script_and_no_outside_reference() -> None:
    """A car's name with markup in it reaches the file only as text, and nothing is fetched from elsewhere."""
    plan = plan_of(HOSTILE)
    for view in VIEWS:
        text = svg(drawing_of(plan, view))
        root = _root(text)
        assert not [each for each in root.iter() if each.tag.endswith(("script", "image", "use", "foreignObject"))]
        assert "href" not in text
        assert not [name for each in root.iter() for name in each.attrib if name.startswith("on")]


@given(st.text(max_size=60), st.text(max_size=60))
@settings(max_examples=60, deadline=None)
def test_any_text_gives_well_formed_xml(part: str, words: str) -> None:
    """Whatever a part is called and whatever the words are, the file can be parsed and tells them apart."""
    marks = (
        Group((Circle(XY(0.0, 0.0), 1.0), Text(XY(2.0, 0.0), words)), part=part, title=words),
        Dimension(XY(0.0, 0.0), XY(30.0, 0.0), "x", 5.0, words),
    )
    root = _root(svg(Drawing("d", words, words, marks)))
    ids = [each.attrib["id"] for each in root.iter() if "id" in each.attrib]
    assert len(ids) == len(set(ids))


def test_same_model_same_bytes() -> None:
    """Two runs give the same file."""
    assert svg(drawing_of(plan_of(BOXCAR), "ride")) == svg(drawing_of(plan_of(BOXCAR), "ride"))


def test_sheet_places_its_views() -> None:
    """A view placed 20 mm from the left and 30 mm from the bottom of a sheet 100 mm high begins there."""
    line = Drawing("v", "V", "a", (Line(XY(0.0, 0.0), XY(40.0, 0.0), part="x"),))
    root = _root(sheet_svg(Sheet("s", 80.0, 100.0, (Placed(line, XY(20.0, 30.0)),)), title="S", alt="a"))
    assert root.attrib["viewBox"] == "0 -100 80 100"
    group = next(each for each in root.iter(f"{_NS}g") if each.get("id") == "x")
    assert _points(group[0]) == [(20.0, -30.0), (60.0, -30.0)]


def test_missing_is_dashed_on_its_own_layer() -> None:
    """A hole whose place is not known stands on the layer of what is wanting, never on the template's own."""
    root = _root(svg(drawing_of(plan_of(SHELL), "template")))
    layers = {each.attrib["data-layer"]: each for each in root if "data-layer" in each.attrib}
    wanting = [each.get("data-part") for each in layers["wanting"].iter(f"{_NS}g")]
    assert "truck_a" in wanting
    assert not list(layers["template"].iter(f"{_NS}circle"))
    assert "needs H truck centres" in "".join(root.itertext())
