"""Every page in each of its states, in Chromium: the accessibility checker, three widths, keys, the live line."""

from __future__ import annotations

import io
from collections.abc import Iterator

import pytest
from PIL import Image
from playwright.sync_api import BrowserContext, Page, expect
from tests.web.browser import checked, chromium, served
from tests.web.conftest import DEMO

from carwright.draw.bars import Correction
from carwright.shop import Shop
from carwright.web.elevations import reckoned
from carwright.web.photographs import pictures_of
from carwright.web.printers import remember

SHELF = b"""
[[shelf.sheet]]
thickness = "0.030"
width = "6"
length = "12"
count = 2

[[shelf.sheet]]
thickness = "0.015"
width = "6"
length = "12"
count = 1

[[shelf.washer]]
thickness = "0.010"
count = 20
"""

PLACES = [
    ("/", "the line"),
    ("/?stage=cut", "one stage"),
    ("/?find=zeppelin", "nothing found"),
    ("/new", "a new car"),
    ("/new/flat-car/check", "print check"),
    ("/new/flat-car/letters", "letters"),
    ("/line/flat-car", "stages"),
    ("/choice/flat-car", "two saves to choose from"),
    ("/files/flat-car", "revisions"),
    ("/photographs/flat-car", "photographs"),
    ("/import", "bring a file"),
    ("/print", "print"),
    ("/print/flat-car?check=first", "the check comes first"),
    ("/print/flat-car", "print a car"),
    ("/car/flat-car/compare?older=1&newer=4", "side by side"),
    ("/shelf?kind=ballast", "shelf"),
    ("/cutting", "cars to cut"),
    ("/cutting?car=double-door-boxcar&kerf=0.3+mm", "a cutting plan"),
    ("/cutting?car=double-door-boxcar&kerf=far", "a cut that cannot be planned"),
    ("/keys", "keys"),
    ("/tablet", "tablet"),
    ("/car/flat-car", "a car"),
    ("/car/double-door-boxcar/finish", "a finish"),
    ("/car/unpainted/finish", "no colour scheme"),
    ("/car/broken-file", "a car whose file cannot be used"),
    ("/car/nobody", "no such car"),
]


@pytest.fixture(scope="module")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Iterator[BrowserContext]:
    """Return one browser for all."""
    with chromium(tmp_path_factory.mktemp("profile")) as made:
        yield made


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[str, Shop]]:
    """Return the address of a shop in which much has happened: findings, unknowns, two saves at once, a photograph."""
    with served(tmp_path_factory.mktemp("states")) as (address, made):
        for name in ("boxcar", "flat_car", "h0_car"):
            data = (DEMO / f"{name}.toml").read_bytes()
            reckoned(made, made.add_car(data).sha256, data)
        made.add_car(b"[body]\nlength = 'far'\n", name="Broken file")
        made.add_car(b"[body]\nlength = '5 in'\n", name="Unpainted")
        made.set_stage("flat-car", "cut")
        head = made.car("flat-car").head
        made.save("flat-car", head.data + b"# one\n", based_on=1, by="ruth")
        made.save("flat-car", head.data + b"# two\n", based_on=1)
        made.save("flat-car", head.data.replace(b"0.296", b"0.300"), based_on=1)
        made.save_shelf(SHELF, based_on=0)
        remember(made, Correction(1.004, 0.997, "the laser in the workshop, Letter paper"))
        file = io.BytesIO()
        Image.new("RGB", (320, 200), "gray").save(file, "JPEG")
        seen = pictures_of(file.getvalue())
        made.photo_add(
            "flat-car", file.getvalue(), kind="as found", caption="left side", shown=seen.shown, thumb=seen.thumb
        )
        yield address, made


SMALLEST = """Math.min(99, ...[...document.querySelectorAll("svg.cutd text")].map((each) => {
    const to = each.getScreenCTM();
    return parseFloat(each.getAttribute("font-size")) * Math.hypot(to.a, to.b);
}))"""
"""The size of the smallest letters of a cutting diagram, in px of the screen."""


@pytest.fixture(scope="module")
def page(browser: BrowserContext) -> Iterator[Page]:
    """Return one page; what the policy refused is a failure."""
    refused: list[str] = []
    made = browser.new_page()
    made.set_viewport_size({"width": 1440, "height": 900})
    made.on("console", lambda message: refused.append(message.text) if "Content Security" in message.text else None)
    yield made
    assert refused == []


_SMALL = """() => [...document.querySelectorAll("a[href], button, input:not([type=hidden]), select, textarea, summary")]
    .filter((each) => each.checkVisibility() && !each.closest("svg, .skip") && !each.matches(".vh"))
    .filter((each) => [each, ...(each.labels || [])].every((one) => {
        const box = one.getBoundingClientRect();
        return box.width < 23.5 || box.height < 23.5;
    })).map((each) => each.outerHTML.slice(0, 90))"""
"""What is pressed and smaller than 24 px either way, its label counted (WCAG 2.2, criterion 2.5.8, from memory)."""

_STEPS = """() => [...document.querySelectorAll("h1, h2, h3, h4")].map((each) => Number(each.tagName[1]))
    .filter((level, at, all) => level > (at ? all[at - 1] : 0) + 1)"""
"""Levels of headings that skip one."""


@pytest.mark.parametrize(("path", "where"), PLACES, ids=[where for _, where in PLACES])
def test_the_checker_finds_nothing(page: Page, shop: tuple[str, Shop], path: str, where: str) -> None:
    """No violation in light or dark; at four widths nothing sticks out at the side, nothing is too small to press.

    The letters of cutting diagrams are no smaller than 11 px at any of these widths.
    """
    page.goto(shop[0] + path)
    page.wait_for_selector("[data-wait]", state="detached")
    checked(page, where)
    assert page.evaluate(_STEPS) == []
    for width in (390, 820, 1280, 1440):
        page.set_viewport_size({"width": width, "height": 900})
        assert page.evaluate("document.documentElement.scrollWidth - innerWidth") <= 0, (where, width)
        assert page.evaluate(_SMALL) == [], (where, width)
        assert page.evaluate(SMALLEST) >= 11, (where, width)


_FOCUS = """() => {
    const held = document.activeElement, box = held.getBoundingClientRect(), style = getComputedStyle(held);
    if (held === document.body) return null;
    const x = Math.min(Math.max(box.left + box.width / 2, 1), innerWidth - 2);
    const high = Math.max(box.top, 0), low = Math.min(box.bottom, innerHeight);
    const seen = [(high + low) / 2, low - 3].some((y) => {
        const top = document.elementFromPoint(x, y);
        return top && (top === held || held.contains(top) || top.contains(held));
    });
    const ringed = parseFloat(style.outlineWidth) >= 2 && style.outlineStyle === "solid";
    return seen && (ringed || held.matches("input[type=date]")) ? "" : `${held.outerHTML.slice(0, 90)} at ${box.top}`;
}"""
"""What has the focus and is out of sight, beneath something else or without its ring; null at the end of the page."""


@pytest.mark.parametrize(("width", "height"), [(390, 844), (820, 1180), (1280, 900)])
def test_what_has_the_focus_is_seen(page: Page, shop: tuple[str, Shop], width: int, height: int) -> None:
    """Tab through a changed car, and on a phone through its stages, shows at every stop where one is, to the end."""
    page.set_viewport_size({"width": width, "height": height})
    for path in ("/car/double-door-boxcar", "/line/double-door-boxcar")[: 2 if width < 400 else 1]:
        page.goto(shop[0] + path)
        if path.startswith("/car"):
            page.fill("[name='body.height']", "0.95")
            page.wait_for_selector("#changed .changed")
            page.evaluate("() => { document.activeElement.blur(); scrollTo(0, 0); }")
        hidden = []
        for count in range(260):
            page.keyboard.press("Tab")
            found = page.evaluate(_FOCUS)
            if found is None or (count and page.evaluate("document.activeElement.matches('.skip:first-child')")):
                break
            if found:
                page.wait_for_timeout(100)  # the page lays out what comes into view, and then has another look itself
                hidden += [again] if (again := page.evaluate(_FOCUS)) else []
        else:
            raise AssertionError(f"no end to {path} by Tab")
        assert hidden == []
    page.set_viewport_size({"width": 1440, "height": 900})


def test_what_is_typed_while_a_cut_is_planned_stays(page: Page, shop: tuple[str, Shop]) -> None:
    """The plan comes up by itself, is said aloud, and leaves the form alone in which somebody types meanwhile."""
    page.goto(shop[0] + "/cutting?car=flat-car&turn=yes&kerf=0.21+mm")
    waited = page.locator("[data-wait]").count()
    page.fill("#kerf", "0.3 mm")
    page.wait_for_selector("[data-wait]", state="detached")
    expect(page.locator("svg.cutd").first).to_be_visible()
    expect(page.locator("#kerf")).to_have_value("0.3 mm")
    assert not waited or page.locator("#said").inner_text() == "The cut is planned."


def test_wrong_answers_are_told_to_everybody(page: Page, shop: tuple[str, Shop]) -> None:
    """A form that comes back with problems passes the checker, and the field names its problem to a screen reader."""
    page.goto(shop[0] + "/new/covered-bogie-wagon/letters")
    page.fill("[name='body.length']", "25 miles")
    page.get_by_role("button", name="Keep them and plan").click()
    field = page.locator("[name='body.length']")
    expect(field).to_have_attribute("aria-invalid", "true")
    expect(page.locator(f"#{field.get_attribute('aria-describedby').split()[0]}")).to_contain_text("Accepted")
    checked(page, "wrong letters")
    page.goto(shop[0] + "/car/unpainted/finish")
    page.fill("[name='finish.scheme']", "sides grey, roff black")
    page.get_by_role("button", name="Keep it and plan").click()
    scheme = page.locator("[name='finish.scheme']")
    expect(scheme).to_have_value("sides grey, roff black")
    expect(page.locator(f"[id='{scheme.get_attribute('aria-describedby').split()[0]}']")).to_contain_text("Accepted")
    checked(page, "wrong scheme")
    page.goto(shop[0] + "/print")
    page.fill("[name=printer]", "bench")
    page.fill("[name=across]", "50")
    page.get_by_role("button", name="Keep what the bars measured").click()
    expect(page.locator("#check-across-wrong")).to_contain_text("cannot be so far out")
    checked(page, "wrong bars")
    page.goto(shop[0] + "/shelf?kind=washer")
    page.fill("#stock-thickness", "thin")
    page.get_by_role("button", name="Put it on the shelf").click()
    expect(page.locator("#stock-thickness")).to_be_focused()
    expect(page.locator("#stock-thickness-wrong")).to_contain_text("not a length")
    checked(page, "wrong stock")
    slips = {"name": "list.csv", "mimeType": "text/csv", "buffer": b"table,thickness\nwasher,0.010\nwasher,thin\n"}
    page.set_input_files("#file", files=[slips])  # type: ignore[list-item]  # the stub wants its own record
    page.get_by_role("button", name="Put the list on the shelf").click()
    expect(page.get_by_role("heading", name="Would come in")).to_be_visible()
    checked(page, "a list with slips")


def test_a_save_elsewhere_appears_on_the_line(browser: BrowserContext, shop: tuple[str, Shop]) -> None:
    """What another tab saves stands on the open line, said aloud, and the focus stays."""
    address, kept = shop
    line, other = browser.new_page(), browser.new_page()
    line.goto(address)
    line.focus("#find")
    other.goto(f"{address}/line/covered-bogie-wagon")
    other.fill("[name=waits_for]", "a new spring")
    other.get_by_role("button", name="Keep what it waits for").click()
    expect(line.locator("#cars")).to_contain_text("a new spring", timeout=15000)
    assert line.evaluate("document.activeElement.id") == "find"
    kept.set_stage("covered-bogie-wagon", "build")
    expect(line.locator("#said")).to_contain_text("moved along the line", timeout=15000)
    expect(line.locator("h2#build")).to_be_visible()
    line.close()
    other.close()


def test_the_keys_open_their_list_and_can_be_switched_off(page: Page, shop: tuple[str, Shop]) -> None:
    """A question mark shows the list, a stroke goes to the search, and both fall silent when they are switched off."""
    page.goto(shop[0])
    page.keyboard.press("?")
    expect(page.get_by_role("dialog", name="Keys")).to_be_visible()
    checked(page, "the list of keys")
    expect(page.get_by_role("button", name="Close")).to_be_focused()
    page.keyboard.press("Enter")
    expect(page.get_by_role("dialog", name="Keys")).to_be_hidden()
    page.keyboard.press("/")
    assert page.evaluate("document.activeElement.id") == "find"
    page.goto(shop[0] + "/keys")
    page.get_by_role("button", name="Switch single keys off").click()
    page.goto(shop[0])
    page.keyboard.press("/")
    assert page.evaluate("document.activeElement.id") != "find"
    page.goto(shop[0] + "/keys")
    page.get_by_role("button", name="Switch single keys on").click()


def test_light_and_dark_follow_the_reader(page: Page, shop: tuple[str, Shop]) -> None:
    """The button turns the page at once, with no reload, and the next page remembers."""
    page.goto(shop[0])
    page.get_by_role("button", name="Dark").click()
    assert page.evaluate("document.documentElement.dataset.theme") == "dark"
    page.goto(shop[0] + "/shelf")
    assert page.evaluate("document.documentElement.dataset.theme") == "dark"
    page.get_by_role("button", name="Light").click()


def test_an_empty_shop_says_what_comes_where(browser: BrowserContext, tmp_path_factory: pytest.TempPathFactory) -> None:
    """Each page of an empty shop says what would stand there and offers the one thing to do; the checker agrees."""
    with served(tmp_path_factory.mktemp("empty")) as (address, _):
        page = browser.new_page()
        for path in ("/", "/shelf", "/cutting", "/print"):
            page.goto(address + path)
            expect(page.locator(".empty").first).to_be_visible()
            checked(page, f"empty {path}")
        page.close()


@pytest.mark.parametrize("width", [390, 765, 1024, 1440])
def test_what_is_typed_is_seen_whole(page: Page, shop: tuple[str, Shop], width: int) -> None:
    """Several readings in one box, both ends in one, a list of layers and a colour scheme are seen from end to end."""
    page.set_viewport_size({"width": width, "height": 900})
    page.goto(shop[0] + "/new/covered-bogie-wagon/letters")
    page.fill("[name='body.inside_width']", "30.60, 30.55, 30.60")
    page.fill("[name='trucks.seat_height']", "A 8.07 B 8.25")
    page.fill("[name='underframe.bolster']", "A 1.00 1.00 0.50 B 1.00 1.00")
    cut = """() => [...document.querySelectorAll("main input, main textarea")].filter(
        (each) => each.offsetParent && each.scrollWidth > each.clientWidth + 1).map((each) => each.name)"""
    assert page.evaluate(cut) == []
    page.goto(shop[0] + "/car/double-door-boxcar")
    page.evaluate("document.querySelectorAll('details').forEach((each) => { each.open = true; })")
    assert page.evaluate(cut) == []
    page.set_viewport_size({"width": 1440, "height": 900})
