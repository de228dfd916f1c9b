"""The shop for other programs: each operation works once as it is meant to, and none breaks on anything it is sent."""

from __future__ import annotations

import io
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from typing import Any

import pytest
import schemathesis
from fastapi import FastAPI
from fastapi.testclient import TestClient
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis.errors import Unsatisfiable
from jsonschema import Draft202012Validator
from PIL import Image
from schemathesis.checks import not_a_server_error
from tests.web.conftest import DEMO, PLANK

from carwright.shop import Shop, open_shop
from carwright.web.app import create_app

EXAMPLES = 8
"""Requests made up for each operation and way of making them up; the description has some thirty operations."""


def application(folder: Path) -> tuple[FastAPI, Shop]:
    """Return the application on a shop with two cars, a shelf and a photograph."""
    shop = open_shop(folder / "shop.db")
    for name in ("flat_car", "boxcar"):
        shop.add_car((DEMO / f"{name}.toml").read_bytes())
    shop.add_car(PLANK, name="Plank")
    shop.save_shelf(b'[[shelf.washer]]\nthickness = "0.010"\ncount = 4\n', based_on=0)
    return create_app(shop), shop


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[FastAPI, Shop]]:
    """Return one application for all requests that are made up."""
    app, shop = application(tmp_path_factory.mktemp("api"))
    with shop:
        yield app, shop


def picture() -> bytes:
    """Return a small photograph."""
    file = io.BytesIO()
    Image.new("RGB", (40, 30), "gray").save(file, "PNG")
    return file.getvalue()


CAR = (DEMO / "flat_car.toml").read_text(encoding="utf-8")
ITEM = "Look the car over and photograph it as found"
SHEETS = '[[shelf.sheet]]\nthickness = "0.030"\nwidth = "6"\nlength = "12"\ncount = 2\n'
SAVE = {"document": CAR, "based_on": 1, "note": "as it was"}

MEANT: dict[tuple[str, str], dict[str, Any]] = {
    ("get", "/api/v1/cars"): {"params": {"stage": "lot", "limit": 5}},
    ("post", "/api/v1/cars"): {"json": {"document": CAR, "name": "Another"}},
    ("get", "/api/v1/cars/{slug}"): {},
    ("patch", "/api/v1/cars/{slug}"): {"json": {"name": "Flat car 2", "stage": "cut", "waits_for": "glue"}},
    ("put", "/api/v1/cars/{slug}/checklist"): {"json": {"stage": "lot", "item": ITEM, "done_on": "2026-11-25"}},
    ("get", "/api/v1/cars/{slug}/stale"): {},
    ("get", "/api/v1/cars/{slug}/revisions"): {},
    ("post", "/api/v1/cars/{slug}/revisions"): {"json": SAVE},
    ("post", "/api/v1/cars/{slug}/values"): {"json": {"values": {"body.width": "1.3"}, "based_on": 1}},
    ("get", "/api/v1/cars/{slug}/revisions/{number}"): {},
    ("get", "/api/v1/cars/{slug}/revisions/{number}/document"): {},
    ("post", "/api/v1/cars/{slug}/choice"): {"json": {"number": 3, "over": [2]}},
    ("post", "/api/v1/cars/{slug}/join"): {"json": {"number": 3, "others": [4]}},
    ("get", "/api/v1/cars/{slug}/plan"): {},
    ("get", "/api/v1/changes"): {"params": {"since": 1}},
    ("get", "/api/v1/shelf"): {},
    ("put", "/api/v1/shelf"): {"json": {"document": SHEETS, "based_on": 1}},
    ("get", "/api/v1/shelf/revisions"): {},
    ("post", "/api/v1/cutting"): {"json": {"cars": ["plank"]}},
    ("post", "/api/v1/cutting/take"): {"json": {"cars": ["plank"], "shelf_revision": 2}},
    ("get", "/api/v1/cutting/taken"): {},
    ("post", "/api/v1/cutting/undo"): {},
    ("post", "/api/v1/shelf/choice"): {"json": {"number": 5, "over": [4]}},
    ("get", "/api/v1/lots"): {},
    ("post", "/api/v1/lots"): {"json": {"name": "Box of shells", "bought_on": "2026-02-14", "cars": ["flat-car"]}},
    ("get", "/api/v1/printers"): {},
    ("put", "/api/v1/printers/{name}"): {"json": {"across": "99.7", "up": "100.2"}},
    ("get", "/api/v1/cars/{slug}/print/{what}.pdf"): {"params": {"printer": "workshop"}},
    ("post", "/api/v1/cars/{slug}/photographs"): {"files": {"file": ("a.png", picture())}, "data": {"kind": "as left"}},
    ("get", "/api/v1/cars/{slug}/photographs"): {},
    ("get", "/api/v1/cars/{slug}/photographs/{number}/{size}"): {},
}
"""For each operation a request that is meant; they are made in this order, and later ones need the earlier."""

NAMES = {"slug": "flat-car", "number": "1", "name": "workshop", "what": "sheet", "size": "thumb"}


def test_every_operation_succeeds_once_and_says_what_it_promised(tmp_path: Path) -> None:
    """Each operation of the description does what it is for, and its answer has the shape that is described."""
    app, shop = application(tmp_path)
    with shop, TestClient(app, base_url="http://127.0.0.1:8765", follow_redirects=False) as client:
        described = client.get("/openapi.json").json()
        operations = {(way, path) for path, ways in described["paths"].items() for way in ways}
        assert operations == set(MEANT)
        for (way, path), request in MEANT.items():
            if path == "/api/v1/cutting/undo":
                request = {"json": {"plan": shop.takings()[0].plan}}
            if path == "/api/v1/cars/{slug}/join":
                shop.save("flat-car", f"{CAR}# looked at again\n".encode(), based_on=1)
            if path == "/api/v1/shelf/choice":
                shop.save_shelf(SHEETS.encode(), based_on=1)
            answer = client.request(way, path.format(**NAMES), **request)
            assert answer.status_code in (200, 201), (way, path, answer.text)
            promised = described["paths"][path][way]["responses"][str(answer.status_code)]["content"]
            kind = answer.headers["content-type"].partition(";")[0]
            assert kind in promised, (way, path)
            if kind == "application/json":
                schema = {**promised[kind]["schema"], "components": described["components"]}
                Draft202012Validator(schema).validate(answer.json())
        assert shop.car("flat-car").name == "Flat car 2"


def test_a_refusal_has_one_shape_everywhere(client: TestClient) -> None:
    """Whatever is wrong, and whoever notices it, the answer is a list of errors with the same eight parts."""
    parts = {"file", "line", "column", "key", "value", "problem", "accepted", "mend"}
    asked = [
        client.get("/api/v1/cars/nobody"),
        client.get("/api/v1/nothing"),
        client.delete("/api/v1/cars"),
        client.get("/api/v1/cars?limit=many"),
        client.post("/api/v1/cars", content=b"{", headers={"content-type": "application/json"}),
        client.post("/api/v1/cars", json={"document": "\x00"}),
        client.put("/api/v1/shelf", json={"document": "[[shelf.sheet]]\nthickness = 'x'\n", "based_on": 0}),
        client.post("/api/v1/cars", json={}, headers={"origin": "https://evil.example"}),
    ]
    assert [each.status_code for each in asked] == [404, 404, 405, 422, 422, 422, 422, 403]
    for answer in asked:
        errors = answer.json()["errors"]
        assert errors
        assert all(set(each) == parts for each in errors)
        assert all(each["problem"] for each in errors)


def test_a_save_names_what_it_was_based_on(client: TestClient, shop: Shop) -> None:
    """Two programs that save the same revision both get their save kept, and are told of the other's."""
    tag = client.get("/api/v1/cars/flat-car").headers["etag"]
    first = client.post("/api/v1/cars/flat-car/revisions", json={"document": CAR + "# one\n", "based_on": 1}).json()
    second = client.post("/api/v1/cars/flat-car/revisions", json={"document": CAR + "# two\n", "based_on": 1}).json()
    assert (first["revision"], first["beside"]) == (2, [])
    assert (second["revision"], second["beside"]) == (3, [2])
    assert client.get("/api/v1/cars/flat-car").headers["etag"] != tag
    chosen = client.post("/api/v1/cars/flat-car/choice", json={"number": 3, "over": [2]}).json()
    assert chosen["beside"] == []
    assert client.get("/api/v1/cars/flat-car/revisions/2/document").text == CAR + "# one\n"


@schemathesis.hook
def map_path_parameters(context: Any, path_parameters: dict[str, Any] | None) -> dict[str, Any] | None:
    """Aim half of the requests at a car that exists, so that they reach beyond the door."""
    if path_parameters and "slug" in path_parameters and len(str(path_parameters["slug"])) % 2:
        path_parameters["slug"] = "flat-car"
    return path_parameters


def sent(operation: Any, mode: schemathesis.GenerationMode) -> set[int]:
    """Send requests made up for one operation and return what was answered; a fault of the program fails the test."""
    answered: set[int] = set()

    @settings(
        max_examples=EXAMPLES,
        deadline=None,
        database=None,
        derandomize=True,
        suppress_health_check=list(HealthCheck),
        phases=(Phase.explicit, Phase.generate),
    )
    @given(operation.as_strategy(generation_mode=mode))
    def send(case: Any) -> None:
        answer = case.call(base_url="http://127.0.0.1:8765", headers={"host": "127.0.0.1:8765"})
        answered.add(answer.status_code)
        case.validate_response(answer, checks=[not_a_server_error])

    with suppress(Unsatisfiable):  # an operation that takes nothing cannot be sent anything wrong
        send()
    return answered


def test_nothing_that_is_sent_breaks_it(made: tuple[FastAPI, Shop]) -> None:
    """Requests made up from the description, right ones and wrong ones, never end in a fault of the program."""
    app, _ = made
    schema = schemathesis.openapi.from_asgi("/openapi.json", app, headers={"host": "127.0.0.1:8765"})
    operations = [each.ok() for each in schema.get_all_operations()]
    assert len(operations) == len(MEANT)
    right = {each.label: sent(each, schemathesis.GenerationMode.POSITIVE) for each in operations}
    wrong = {each.label: sent(each, schemathesis.GenerationMode.NEGATIVE) for each in operations}
    assert all(right.values())
    assert {200, 201, 404, 422} <= set().union(*right.values())
    assert not {status for each in wrong.values() for status in each if status >= 500}


def test_what_is_no_car_or_is_there_already_is_not_added(client: TestClient) -> None:
    """A document that is no car file, or that the shop has under that name, is refused in the one shape."""
    for document, told in (("# Notes\n", "no car file"), (CAR, "in the shop already")):
        answer = client.post("/api/v1/cars", json={"document": document})
        assert answer.status_code == 422
        assert told in answer.json()["errors"][0]["problem"]
    assert client.post("/api/v1/cars", json={"document": CAR, "name": "Its sister"}).status_code == 201
    again = client.post("/api/v1/cars", json={"document": CAR, "name": "Its sister"})
    assert "another car of this name" in again.json()["errors"][0]["problem"]
