"""Who may come in: a paired tablet, a member of the club, and nobody else."""

from __future__ import annotations

import base64
import dataclasses
from collections.abc import Iterator

import pytest
from fastapi.testclient import TestClient

from carwright.cli import serve
from carwright.problems import InputError
from carwright.shop import Shop
from carwright.web.accounts import Accounts
from carwright.web.app import create_app
from carwright.web.sessions import Patience, Sessions
from carwright.web.settings import LOOPBACK, Settings
from carwright.web.tablet import Pairing, local_addresses, qr_svg, qr_text

PHRASE = "four words not together"


class Clock:
    """A clock that a test sets."""

    def __init__(self) -> None:
        self.now = 0.0

    def __call__(self) -> float:
        return self.now


@pytest.fixture
def clock() -> Clock:
    """Return a clock that stands."""
    return Clock()


@pytest.fixture
def accounts(shop: Shop, clock: Clock) -> Accounts:
    """Return the accounts of a club with one member."""
    made = Accounts(shop)
    made.patience = Patience(clock)
    made.add("Ruth", PHRASE, on="2026-11-25")
    return made


@pytest.fixture
def club(shop: Shop, accounts: Accounts) -> Iterator[TestClient]:
    """Return a stranger's client at a club's shop."""
    app = create_app(shop, Settings(hosts=(*LOOPBACK, "192.0.2.5"), accounts=accounts))
    with TestClient(app, base_url="http://192.0.2.5:8765", follow_redirects=False, client=("192.0.2.9", 5000)) as made:
        yield made


@pytest.fixture
def pairing(clock: Clock) -> Pairing:
    """Return the pairing of one run."""
    return Pairing(("http://192.0.2.5:8765",), code="12345678", patience=Patience(clock))


def tablet(shop: Shop, pairing: Pairing, address: str) -> TestClient:
    """Return a client that speaks from an address to a shop that pairs."""
    app = create_app(shop, Settings(hosts=(*LOOPBACK, "192.0.2.5"), pairing=pairing))
    return TestClient(app, base_url="http://192.0.2.5:8765", follow_redirects=False, client=(address, 5000))


def test_a_club_asks_everybody_for_a_name(club: TestClient, shop: Shop) -> None:
    """Without a session every page leads to the door, every program gets 401, and nothing can be changed."""
    before = shop.last_change()
    assert club.get("/print").headers["location"] == "/enter?back=/print"
    assert club.get("/api/v1/cars").status_code == 401
    assert club.get("/openapi.json").status_code == 401
    assert club.get("/live?since=0").status_code == 401
    assert club.post("/line/flat-car/stage", data={"stage": "build"}).headers["location"] == "/enter?back=/&sent=yes"
    assert club.get("/static/page.css").status_code == 200
    assert shop.last_change() == before


def test_a_member_comes_in_and_his_saves_carry_his_name(club: TestClient, shop: Shop) -> None:
    """Name and pass phrase begin a session, in a cookie that no script sees; a save carries the member's name."""
    done = club.post("/enter", data={"name": " ruth ", "phrase": PHRASE, "back": "/print"})
    assert done.headers["location"] == "/print"
    cookie = done.headers["set-cookie"].lower()
    assert "httponly" in cookie
    assert "samesite=strict" in cookie
    assert club.post("/new/flat-car/letters", data={"body.width": "1.33", "based_on": "1"}).status_code == 303
    assert shop.car("flat-car").head.by == "ruth"
    club.post("/leave")
    assert club.get("/").status_code == 303


def test_a_program_comes_in_by_basic_credentials(club: TestClient) -> None:
    """A program sends name and pass phrase with each request; a wrong one, or none that can be read, is refused."""
    right = base64.b64encode(f"Ruth:{PHRASE}".encode()).decode()
    assert club.get("/api/v1/cars", headers={"authorization": f"Basic {right}"}).status_code == 200
    for wrong in ("Basic eA==", "Basic \u00e9", "Bearer x", "Basic " + base64.b64encode(b"Ruth:wrong").decode()):
        assert club.get("/api/v1/cars", headers={"authorization": wrong.encode("latin-1")}).status_code == 401


def test_wrong_pass_phrases_are_slowed_down(club: TestClient, clock: Clock) -> None:
    """After five wrong tries even the right one must wait five minutes; no page says who exists."""
    said = set()
    for name in ("Ruth", "Nobody"):
        said.add(club.post("/enter", data={"name": name, "phrase": "wrong"}).status_code)
    assert said == {401}
    for _ in range(3):
        club.post("/enter", data={"name": "Ruth", "phrase": "wrong"})
    late = club.post("/enter", data={"name": "Ruth", "phrase": PHRASE})
    assert late.status_code == 429
    assert 0 < int(late.headers["retry-after"]) <= 300
    clock.now = 301.0
    assert club.post("/enter", data={"name": "Ruth", "phrase": PHRASE}).status_code == 303


def test_pass_phrases_are_kept_hashed(shop: Shop, accounts: Accounts) -> None:
    """The shop holds an Argon2id hash and never the pass phrase; a short one is refused."""
    stored = dict(shop.settings("account."))
    assert list(stored) == ["account.ruth"]
    assert "$argon2id$" in stored["account.ruth"]
    assert PHRASE not in stored["account.ruth"]
    with pytest.raises(InputError, match="10 to 200"):
        accounts.add("Ann", "short", on="2026-11-25")
    with pytest.raises(InputError, match="cannot be a name"):
        accounts.add("\n", PHRASE, on="2026-11-25")


def test_a_tablet_is_let_in_by_its_code(shop: Shop, pairing: Pairing) -> None:
    """Another device sees nothing until it gives the code; this machine needs none; a new run knows nobody."""
    with tablet(shop, pairing, "192.0.2.9") as device:
        assert device.get("/").headers["location"] == "/pair?back=/"
        assert device.get("/tablet").headers["location"] == "/pair?back=/tablet"
        late = device.post("/line/flat-car/waits", headers={"referer": "http://127.0.0.1:8765/line/flat-car"})
        assert late.headers["location"] == "/pair?back=/line/flat-car&sent=yes"
        assert "not saved" in device.get(late.headers["location"]).text
        assert "not saved" not in device.get("/pair?back=/").text
        assert device.post("/pair", data={"code": "0000 0000"}).status_code == 401
        assert device.post("/pair", data={"code": "1234 5678", "back": "/"}).headers["location"] == "/"
        assert device.get("/").status_code == 200
        cookies = dict(device.cookies)
    with tablet(shop, pairing, "127.0.0.1") as here:
        page = here.get("/tablet").text
        assert "1234 5678" in page
        assert "not encrypted" in page
        assert '<svg viewBox="0 0' in page
    with tablet(shop, dataclasses.replace(pairing, sessions=Sessions()), "192.0.2.9") as later:
        later.cookies.update(cookies)
        assert later.get("/").status_code == 303


def test_the_code_cannot_be_guessed(shop: Shop, pairing: Pairing, clock: Clock) -> None:
    """Five wrong codes, from whatever addresses, shut the door for five minutes."""
    for address in ("192.0.2.9", "192.0.2.10", "192.0.2.11", "192.0.2.12", "192.0.2.13"):
        pairing.pair("00000000", address)
    with tablet(shop, pairing, "192.0.2.14") as device:
        assert device.post("/pair", data={"code": "12345678"}).status_code == 429
        clock.now = 301.0
        assert device.post("/pair", data={"code": "12345678"}).status_code == 303


def test_sessions_end() -> None:
    """A session lasts two weeks, and an unknown secret is nobody's."""
    clock = Clock()
    sessions = Sessions(clock)
    secret = sessions.begin("ruth")
    assert sessions.name_of(secret) == "ruth"
    assert sessions.name_of("") is None
    clock.now = 15 * 86400.0
    assert sessions.name_of(secret) is None


def test_each_run_has_its_own_code() -> None:
    """The code is eight figures, made anew for each run, and read in two halves."""
    codes = {Pairing(()).code for _ in range(20)}
    assert len(codes) == 20
    assert all(len(code) == 8 and code.isdigit() for code in codes)
    assert Pairing((), code="12345678").said == "1234 5678"


def test_the_address_stands_as_a_qr_code() -> None:
    """The QR code has no style of its own for the page, and block characters for a terminal."""
    drawn = qr_svg("http://192.0.2.5:8765/pair?code=12345678")
    assert drawn.startswith("<svg")
    assert "style=" not in drawn
    assert len(qr_text("http://192.0.2.5:8765").splitlines()) > 10
    assert local_addresses(lambda: "192.0.2.5")[0] == "192.0.2.5"


def test_nobody_is_let_in_unasked() -> None:
    """Without accounts or a code the program listens to this machine alone, whatever it is told."""
    assert serve._host(None, tablet=False, club=False) == "127.0.0.1"
    assert serve._host(None, tablet=True, club=False) == "0.0.0.0"  # noqa: S104 -- what it listens on is the point
    assert serve._host("192.0.2.5", tablet=False, club=True) == "192.0.2.5"
    with pytest.raises(InputError, match="without being asked"):
        serve._host("0.0.0.0", tablet=False, club=False)  # noqa: S104 -- it is refused
    with pytest.raises(InputError, match="no address"):
        serve._host("shop.example", tablet=False, club=True)
