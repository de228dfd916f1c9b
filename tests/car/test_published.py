"""What is published: the stored schema and the page are those of the key table; the demonstration's files fit both."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from carwright.car.keys import keys
from carwright.car.published import SCHEMA_ID, car_schema, key_table
from carwright.car.read import read_car
from carwright.car.write import new_car_text
from carwright.problems import InputError

ROOT = Path(__file__).resolve().parents[2]
PAGE = (ROOT / "docs/carfile.md").read_text(encoding="utf-8")
STORED = json.loads((ROOT / "src/carwright/car/schema" / SCHEMA_ID).read_text(encoding="utf-8"))
DEMO = sorted(each for each in (ROOT / "src/carwright/demo").glob("*.toml") if each.stem != "evenings")


def test_the_stored_schema_is_the_generated_one() -> None:
    """The schema in the package is made from the key table; tools/write_carfile_docs.py writes it."""
    assert car_schema() == STORED


def test_the_schema_is_one() -> None:
    """The schema is valid JSON Schema 2020-12."""
    jsonschema.Draft202012Validator.check_schema(STORED)


@pytest.mark.parametrize("path", DEMO, ids=lambda path: path.stem)
def test_the_demonstration_fits_the_schema(path: Path) -> None:
    """The demonstration's files fit the schema, and are read without a problem."""
    jsonschema.validate(tomllib.loads(path.read_text(encoding="utf-8")), STORED)
    read_car(path.read_bytes())


def test_every_example_fits_the_schema() -> None:
    """A file with the example of every key fits the schema."""
    answers = {key.path.replace("[]", "[0]"): key.example if key.kind != "flag" else True for key in keys()}
    jsonschema.validate(tomllib.loads(new_car_text(answers)), STORED)


@pytest.mark.parametrize(
    "tree",
    [
        {"body": {"lip_deph": "1"}},
        {"boddy": {}},
        {"trucks": {"a": {"centers": "4"}}},
        {"shelf": {"sheet": {}}},
        {"body": 1},
    ],
)
def test_the_schema_refuses_what_the_reader_refuses(tree: dict[str, Any]) -> None:
    """An unknown key, a key at the wrong end and a section of the wrong kind do not fit the schema."""
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(tree, STORED)


def test_the_page_holds_the_key_table() -> None:
    """The table of keys in docs/carfile.md is the generated one."""
    assert PAGE.split("<!-- keys: begin -->\n")[1].split("<!-- keys: end -->")[0].strip() == key_table().strip()


def test_the_page_holds_the_demonstrations_boxcar() -> None:
    """The full example of docs/carfile.md is the demonstration's boxcar, letter for letter."""
    example = PAGE.split("```toml\n")[1].split("```")[0]
    assert example == (ROOT / "src/carwright/demo/boxcar.toml").read_text(encoding="utf-8")


def test_the_error_on_the_page_is_what_is_said() -> None:
    """The error shown in docs/carfile.md is what the boxcar with that mistake gives."""
    text = (ROOT / "src/carwright/demo/boxcar.toml").read_text(encoding="utf-8")
    with pytest.raises(InputError) as caught:
        read_car(text.replace('lip_depth = "0.188"', 'lip_depth = "4.78"'), file="boxcar.toml")
    assert str(caught.value) in " ".join(PAGE.split())


def test_the_page_names_every_kind() -> None:
    """Every kind of value is explained in docs/carfile.md."""
    for kind in {key.kind for key in keys()}:
        assert f"\n| {kind} |" in PAGE
