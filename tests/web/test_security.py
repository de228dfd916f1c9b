"""What keeps strangers out: names, origins, sizes, and what every answer says to the browser."""

from __future__ import annotations

import re

import pytest
from fastapi.testclient import TestClient

from carwright.shop import Shop
from carwright.web.plainpages import back_to
from carwright.web.security import LARGEST_FORM


@pytest.mark.parametrize("host", ["evil.example", "evil.example:8765", "127.0.0.1.evil.example", "", "192.0.2.7:8765"])
def test_a_name_that_is_not_ours_opens_nothing(client: TestClient, host: str) -> None:
    """A foreign name that was pointed at this machine is refused, on every page and for programs alike."""
    for path in ("/", "/api/v1/cars", "/static/page.css"):
        answer = client.get(path, headers={"host": host})
        assert answer.status_code == 421
        assert "Boxcar" not in answer.text


@pytest.mark.parametrize("host", ["127.0.0.1:8765", "localhost:8765", "LOCALHOST", "[::1]:8765"])
def test_this_machine_is_known_by_its_own_names(client: TestClient, host: str) -> None:
    """127.0.0.1, localhost and [::1] open the line, whatever the port."""
    assert client.get("/", headers={"host": host}).status_code == 200


@pytest.mark.parametrize(
    "headers",
    [
        {"origin": "https://evil.example"},
        {"origin": "null"},
        {"origin": "http://127.0.0.1:9999"},
        {"origin": "https://127.0.0.1:8765"},
        {"sec-fetch-site": "cross-site"},
        {"sec-fetch-site": "same-site"},
    ],
    ids=str,
)
def test_a_change_from_another_site_is_refused(client: TestClient, shop: Shop, headers: dict[str, str]) -> None:
    """A post that another site sends changes nothing."""
    before = shop.last_change()
    answer = client.post("/line/flat-car/stage", data={"stage": "build"}, headers=headers)
    assert answer.status_code == 403
    assert shop.last_change() == before
    assert shop.car("flat-car").stage == "cut"


def test_a_change_from_the_own_page_is_accepted(client: TestClient, shop: Shop) -> None:
    """The own page's post goes through, and so does a program's that names no origin."""
    own = {"origin": "http://127.0.0.1:8765", "sec-fetch-site": "same-origin"}
    assert client.post("/line/flat-car/stage", data={"stage": "build"}, headers=own).status_code == 303
    assert shop.car("flat-car").stage == "build"
    assert client.post("/line/flat-car/stage", data={"stage": "cut"}).status_code == 303


def test_another_site_may_lead_here_and_not_read_here(client: TestClient) -> None:
    """A link on another site opens the page; a picture or script of ours does not load there."""
    away = {"sec-fetch-site": "cross-site"}
    assert client.get("/", headers={**away, "sec-fetch-mode": "navigate"}).status_code == 200
    assert client.get("/static/page.js", headers={**away, "sec-fetch-mode": "no-cors"}).status_code == 403


@pytest.mark.parametrize("path", ["/", "/new", "/print", "/nothing", "/static/page.css", "/keys"])
def test_every_answer_carries_the_policy(client: TestClient, path: str) -> None:
    """No script or style inside a page, nothing from elsewhere, no frame around it, no guessing of kinds."""
    said = client.get(path).headers
    policy = dict(part.strip().split(" ", 1) for part in said["content-security-policy"].split(";"))
    assert policy["default-src"] == "'none'"
    assert policy["script-src"] == policy["style-src"] == "'self'"
    assert policy["frame-ancestors"] == policy["base-uri"] == "'none'"
    assert "unsafe" not in said["content-security-policy"]
    assert said["x-content-type-options"] == "nosniff"
    assert said["cross-origin-resource-policy"] == "same-origin"


def test_no_page_has_script_or_style_inside(client: TestClient) -> None:
    """The pages keep to the policy by themselves: no script, style or handler stands in them."""
    for path in (
        "/",
        "/new",
        "/print",
        "/print/flat-car",
        "/line/flat-car",
        "/new/flat-car/letters",
        "/keys",
        "/import",
    ):
        page = client.get(path).text
        assert not re.search(r"<script(?![^>]*\bsrc=)|<style|\sstyle=|\son\w+=", page), path


@pytest.mark.parametrize("length", [str(LARGEST_FORM + 1), "-1", "many", "99999999999999999999"])
def test_a_form_that_is_too_large_is_refused_before_it_is_read(client: TestClient, length: str) -> None:
    """A length beyond what is allowed, or none that is a number, ends with 413."""
    answer = client.post("/theme", content=b"x", headers={"content-length": length})
    assert answer.status_code == 413


def test_a_form_without_a_length_is_counted(client: TestClient) -> None:
    """A body that comes in pieces and never says how long it is, is cut off at the same limit."""
    pieces = (b"theme=dark&back=" + b"x" * 100_000 for _ in range(LARGEST_FORM // 100_000 + 2))
    answer = client.post("/theme", content=pieces, headers={"content-type": "application/x-www-form-urlencoded"})
    assert answer.status_code == 413


def test_a_refusal_is_a_page_to_a_reader(client: TestClient) -> None:
    """A browser is told on a page with the way back; under a foreign name nothing of the shop is linked."""
    reader = {"accept": "text/html,*/*;q=0.8"}
    large = client.post("/photographs/flat-car/photographs", headers={**reader, "content-length": "70000000"})
    assert large.status_code == 413
    assert "at most 64 MB" in large.text
    assert 'href="/photographs/flat-car"' in large.text
    foreign = client.get("/", headers={**reader, "host": "evil.example"})
    assert foreign.headers["content-type"].startswith("text/html")
    assert "<a " not in foreign.text
    assert client.get("/", headers={"host": "evil.example"}).headers["content-type"].startswith("text/plain")


@pytest.mark.parametrize(
    ("asked", "led"),
    [
        ("/print/flat-car", "/print/flat-car"),
        ("//evil.example", "/"),
        ("/\\evil.example", "/"),
        ("https://evil.example", "/"),
        ("/a\r\nset-cookie: x", "/"),
        ("", "/"),
    ],
)
def test_the_way_back_stays_in_the_shop(asked: str, led: str) -> None:
    """An address to go back to leads to a page of ours, or to the line."""
    assert back_to(asked) == led


@pytest.mark.parametrize(
    "name", ["../app.py", "..%2fapp.py", "%2e%2e/app.py", "....//app.py", "page.css/../../app.py", "."]
)
def test_paths_never_come_from_the_client(client: TestClient, name: str) -> None:
    """A file is found among the names that there are; a path leads nowhere."""
    answer = client.get(f"/static/{name}")
    assert answer.status_code == 404
    assert "import" not in answer.text


@pytest.mark.parametrize("path", ["/", "/car/flat-car", "/static/page.css", "/api/v1/cars"])
def test_the_head_of_a_page_is_that_of_the_page(client: TestClient, path: str) -> None:
    """Whoever asks for the head alone gets the page's status and headers without its body; a stream has no head."""
    whole, head = client.get(path), client.head(path)
    assert (head.status_code, head.content) == (whole.status_code, b"")
    for name in ("content-type", "content-security-policy", "cache-control"):
        assert head.headers.get(name) == whole.headers.get(name)
    assert client.head("/live").status_code == 405
