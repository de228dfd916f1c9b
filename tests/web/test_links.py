"""Everything that a filled shop's pages point to is there: links, pictures, style sheets, scripts and forms."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import urldefrag, urljoin, urlsplit

import pytest
from fastapi.testclient import TestClient
from httpx import Response
from PIL import Image
from tests.web.conftest import DEMO

from carwright.shop import STAGES, open_shop
from carwright.web import printers
from carwright.web.app import create_app
from carwright.web.photographs import pictures_of

HOME = "http://127.0.0.1:8765"
LOADED = {"a": "href", "link": "href", "script": "src", "img": "src", "form": "action"}


class Pointers(HTMLParser):
    """Collects what a page points to: addresses, and forms with what stands in their fields."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.page = page
        self.addresses: set[str] = set()
        self.names: set[str] = set()
        self.forms: list[tuple[str, str, dict[str, str]]] = []
        self._form: dict[str, str] | None = None
        self._select = ""
        self._fields: dict[str, str] = {}

    def handle_starttag(self, tag: str, attributes: list[tuple[str, str | None]]) -> None:
        """Note what a tag points to, or what a form would send with it."""
        at = {name: value or "" for name, value in attributes}
        if "id" in at:
            self.names.add(at["id"])
        if tag in ("a", "link", "script", "img") and at.get(LOADED[tag]):
            self.addresses.add(urljoin(self.page, at[LOADED[tag]]))
        elif tag == "form":
            self._form, self._fields = at, {}
            self.forms.append((at.get("method", "get"), urljoin(self.page, at.get("action", self.page)), self._fields))
        elif tag in ("input", "textarea") and at.get("name") and at.get("type") not in ("file", "checkbox", "radio"):
            self._fields[at["name"]] = at.get("value", "")
        elif tag == "select":
            self._select = at.get("name", "")
        elif tag == "option" and self._select and (self._select not in self._fields or "selected" in at):
            self._fields[self._select] = at.get("value", "")
        elif tag == "button" and self._form is not None and at.get("formaction"):
            method = at.get("formmethod", self._form.get("method", "get"))
            self.forms.append((method, urljoin(self.page, at["formaction"]), self._fields))

    def handle_endtag(self, tag: str) -> None:
        """Leave a form."""
        if tag == "form":
            self._form, self._fields = None, {}
        elif tag == "select":
            self._select = ""


@pytest.fixture(scope="module")
def client(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    """Return a client of a filled shop: the demonstration's cars at several stages, revisions, a printer, a picture."""
    with open_shop(Path(tmp_path_factory.mktemp("links")) / "shop.db") as shop:
        for stage, name in zip(STAGES[1:], ("boxcar", "flat_car", "gondola", "h0_car", "n_car"), strict=False):
            slug = shop.add_car((DEMO / f"{name}.toml").read_bytes()).slug
            shop.set_stage(slug, stage)
        head = shop.car("flat-car").head
        changed = head.data.replace(b'seat_height = "0.281"', b'seat_height = "0.279"')
        shop.save("flat-car", changed + b"# once more\n", based_on=1)
        shop.save_shelf((DEMO / "shelf.toml").read_bytes(), based_on=0)
        printers.remember(shop, printers.measured("bench", "100", "100"))
        picture = io.BytesIO()
        Image.new("RGB", (320, 200), "gray").save(picture, "JPEG")
        seen = pictures_of(picture.getvalue())
        shop.photo_add(
            "flat-car", picture.getvalue(), kind="as found", caption="left", shown=seen.shown, thumb=seen.thumb
        )
        with TestClient(create_app(shop), base_url=HOME, follow_redirects=True) as made:
            yield made


def shape(address: str) -> str:
    """Return an address with names and numbers left out, so that like forms count once."""
    return re.sub(r"/(?:[a-z0-9]+-)+[a-z0-9]+(?=/|$)|\d+", "/*", urlsplit(address).path)


def test_every_pointer_leads_somewhere(client: TestClient) -> None:
    """From the line every link, picture, style sheet, script and form of every page is followed, and all are there."""
    waiting, met = [f"{HOME}/"], {f"{HOME}/"}
    forms: dict[tuple[str, str], tuple[str, dict[str, str], str]] = {}
    lost: list[str] = []
    names: dict[str, set[str]] = {}
    jumps: list[tuple[str, str, str]] = []

    def take(answer: Response, said: str) -> None:
        if answer.status_code >= 500 or answer.status_code in (404, 405):
            lost.append(f"{answer.status_code} {said}")
            return
        kind = answer.headers.get("content-type", "")
        page = str(answer.url)
        found: set[str] = set()
        if kind.startswith("text/css"):
            found = {urljoin(page, each) for each in re.findall(r'url\("?([^)"#]+)"?\)', answer.text)}
        elif kind.startswith("text/html"):
            pointers = Pointers(page)
            pointers.feed(answer.text)
            found = pointers.addresses
            names[urldefrag(said)[0]] = names[urldefrag(page)[0]] = pointers.names
            for method, address, fields in pointers.forms:
                forms.setdefault((method.lower(), shape(address)), (address, fields, page))
        for each in sorted(found):
            plain, jump = urldefrag(each)
            if jump:
                jumps.append((plain, jump, said))
            if plain.startswith(HOME) and plain not in met:
                met.add(plain)
                waiting.append(plain)

    while waiting:
        address = waiting.pop()
        take(client.get(address), address)
    for (method, _), (address, fields, page) in sorted(forms.items()):
        if method == "get":
            take(client.get(address, params=fields), f"{address} of a form on {page}")
        else:
            take(client.post(address, data=fields, headers={"origin": HOME}), f"{address} of a form on {page}")
    while waiting:
        address = waiting.pop()
        take(client.get(address), address)
    gone = {f"{plain}#{jump} on {where}" for plain, jump, where in jumps if plain in names and jump not in names[plain]}
    assert not lost, "\n".join(lost)
    assert not gone, "\n".join(sorted(gone))
    assert len(met) > 60, "the walk stopped early"
    assert len(forms) > 20, "the walk met few forms"
