"""The published JSON schema of a plan, and the page that describes it."""

from __future__ import annotations

import importlib.util
import json
import re
from importlib import resources
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from carwright.car.read import read_car
from carwright.plan import document_of, make_plan

ROOT = Path(__file__).resolve().parent.parent.parent
SCHEMA: dict[str, Any] = json.loads(
    resources.files("carwright.plan").joinpath("schema/plan.json").read_text(encoding="utf-8")
)
ACCEPTANCE = sorted((ROOT / "tests" / "acceptance" / "cars").glob("*.toml"))
DEMO = sorted(each for each in (ROOT / "src" / "carwright" / "demo").glob("*.toml") if each.stem != "evenings")


def plan_json(text: str) -> dict[str, Any]:
    """Return the plan of a car file as another program reads it."""
    found: dict[str, Any] = json.loads(json.dumps(document_of(make_plan(read_car(text))).as_json()))
    return found


def writer() -> ModuleType:
    """Return the program that writes the generated part of the page."""
    spec = importlib.util.spec_from_file_location("write_plan_docs", ROOT / "tools" / "write_plan_docs.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def objects_of(node: Any) -> list[dict[str, Any]]:
    """Return every object schema in a schema."""
    if isinstance(node, list):
        return [found for each in node for found in objects_of(each)]
    if not isinstance(node, dict):
        return []
    own = [node] if "properties" in node and "type" in node else []
    return own + [found for each in node.values() for found in objects_of(each)]


def test_the_schema_is_one() -> None:
    """The schema is valid by the 2020-12 draft's own meta-schema."""
    Draft202012Validator.check_schema(SCHEMA)


def test_nothing_stands_outside_the_schema() -> None:
    """Every object of the schema refuses further keys, requires all of its own and describes each."""
    found = objects_of(SCHEMA)
    assert len(found) > 20
    for each in found:
        assert each["additionalProperties"] is False
        assert each["required"] == list(each["properties"])
        assert all("$ref" in one or one.get("description") for one in each["properties"].values())


@pytest.mark.parametrize("path", [*DEMO, *ACCEPTANCE], ids=lambda path: path.stem)
def test_plans_keep_to_the_schema(path: Path) -> None:
    """The plan of each car of the demonstration and of the awkward cars is valid."""
    found = list(Draft202012Validator(SCHEMA).iter_errors(plan_json(path.read_text(encoding="utf-8"))))
    assert [f"{each.json_path}: {each.message}" for each in found] == []


@pytest.mark.parametrize(
    "text",
    [
        "",
        '[body]\nlength = "6"\n',
        '[found]\ncoupler_height = "0.39"\n',
        '[coupler]\nmount = "truck"\nheight = "0.39"\n',
    ],
    ids=["empty", "body", "found", "truck-mounted"],
)
def test_plans_of_hardly_anything_keep_to_it(text: str) -> None:
    """A plan of an empty file, or of one measurement, is valid too: what is open is null."""
    assert list(Draft202012Validator(SCHEMA).iter_errors(plan_json(text))) == []


def test_a_key_too_many_or_too_few_is_refused() -> None:
    """The schema is strict: a plan with another key, or without one, is not valid."""
    validator = Draft202012Validator(SCHEMA)
    plan = plan_json("")
    assert validator.is_valid(plan)
    assert not validator.is_valid({**plan, "more": 1})
    assert not validator.is_valid({key: value for key, value in plan.items() if key != "ride"})
    assert not validator.is_valid({**plan, "floor": {**plan["floor"], "length_in": None}})


def test_the_page_lists_every_key_of_the_schema() -> None:
    """The table of docs/plan-json.md is the one that the schema gives."""
    page = (ROOT / "docs" / "plan-json.md").read_text(encoding="utf-8")
    assert writer().key_table() in page


def alike(a: Any, b: Any) -> bool:
    """Return whether two JSON values are alike, numbers to 1e-9, chances to the 0.003 to which they are promised."""
    if isinstance(a, dict) and isinstance(b, dict):
        chance = "pass_probability"
        if a.keys() != b.keys() or (a.get(chance) is None) != (b.get(chance) is None):
            return False
        if a.get(chance) is not None and abs(a[chance] - b[chance]) > 0.003:
            return False
        return all(alike(a[key], b[key]) for key in a if key != chance)
    if isinstance(a, list) and isinstance(b, list):
        return len(a) == len(b) and all(alike(x, y) for x, y in zip(a, b, strict=True))
    if isinstance(a, float) or isinstance(b, float):
        return bool(a == pytest.approx(b, abs=1e-9))
    return bool(a == b)


def test_the_example_of_the_page_is_true() -> None:
    """The example in docs/plan-json.md is the plan of the demonstration's boxcar, and valid."""
    page = (ROOT / "docs" / "plan-json.md").read_text(encoding="utf-8")
    block = re.search(r"```json\n(\{.*?\n\})\n```", page, re.DOTALL)
    assert block is not None
    example = json.loads(block[1])
    assert Draft202012Validator(SCHEMA).is_valid(example)
    boxcar = ROOT / "src" / "carwright" / "demo" / "boxcar.toml"
    assert alike(example, plan_json(boxcar.read_text(encoding="utf-8")))
