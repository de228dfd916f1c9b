"""From an empty shop to a downloaded PDF by the keyboard alone, in Debian's Chromium, every state seen by a checker."""

from __future__ import annotations

import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import BrowserContext, Page, expect
from tests.draw.pixels import TOLERANCE_MM, dark, lying, standing
from tests.plan.cars import CARS
from tests.web.browser import checked, chromium, hear, opened, served, tab_to

from carwright.shop import STAGES, Shop

LETTERS = {
    "body.length": "6 1/8",
    "body.width": "1.250",
    "body.inside_length": "5.906, 5.904",
    "body.inside_width": "1.156, 1.153, 1.149",
    "body.lip_depth": "0.188",
    "body.end_notch": "0.142",
    "trucks.centers": "4 1/2",
    "trucks.seat_height": "0.284",
    "coupler.drop": "0.062",
    "coupler.pivot_inset": "0.25",
    "coupler.length": "0.39",
    "underframe.bolster": "0.165",
}
"""Letters of the demonstration's boxcar (invented), as somebody types them."""


@pytest.fixture(scope="module")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Iterator[BrowserContext]:
    """Return one browser for all."""
    with chromium(tmp_path_factory.mktemp("profile")) as made:
        yield made


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[str, Shop]]:
    """Return an address and the empty shop behind it."""
    with served(tmp_path_factory.mktemp("shop")) as made:
        yield made


def planned(page: Page) -> None:
    """Wait until the page shows the plan of what stands in its fields."""
    page.evaluate("""() => new Promise((done) => {
        document.addEventListener("carwright:planned", () => setTimeout(done, 60), { once: true });
    })""")


def test_from_nothing_to_a_template(browser: BrowserContext, shop: tuple[str, Shop]) -> None:
    """By keys alone a car is begun, measured, changed, kept and printed, and the template's bars are true to 0.1 mm."""
    address, kept = shop
    page = opened(browser, address, width=1440, height=1000)
    checked(page, "the empty line")
    tab_to(page, "a[href='/new']")
    page.keyboard.press("Enter")
    page.wait_for_url("**/new")
    checked(page, "a new car")
    tab_to(page, "[name='car.name']")
    page.keyboard.type("Boxcar from a tin")
    tab_to(page, "button.primary")
    page.keyboard.press("Enter")
    page.wait_for_url("**/check")
    checked(page, "the print check")
    tab_to(page, "[name=printer]")
    page.keyboard.type("bench")
    for name in ("across", "up"):
        tab_to(page, f"[name={name}]")
        page.keyboard.type("100")
    page.keyboard.press("Enter")
    page.wait_for_selector("table.tab")
    checked(page, "the print check, made")
    tab_to(page, "a.primary[href$='/letters']")
    page.keyboard.press("Enter")
    page.wait_for_url("**/letters")
    slug = kept.cars()[0].slug
    checked(page, "the letters")
    for name, text in {**LETTERS, "coupler.pivot_inset": "25"}.items():
        page.focus(f"[name='{name}']")
        page.keyboard.type(text)
    page.keyboard.press("Enter")
    page.wait_for_selector("[aria-invalid=true]")
    checked(page, "the letters with an error")
    page.focus("[name='coupler.pivot_inset']")
    page.keyboard.press("Control+A")
    page.keyboard.type("0.25")
    page.keyboard.press("Enter")
    page.wait_for_url(f"**/car/{slug}")
    checked(page, "the car with unknowns")

    # a letter leads to its field, a change is planned while it is typed, an error stays where it was typed
    page.evaluate("() => document.activeElement.blur()")
    page.keyboard.press("j")
    expect(page.locator("[name='trucks.seat_height']")).to_be_focused()
    assert page.locator(".dwg .live").count() > 0
    page.keyboard.press("Control+A")
    page.keyboard.type("0.28")
    planned(page)
    checked(page, "a change that is not kept")
    page.keyboard.press("Control+A")
    page.keyboard.type("28 ft")
    expect(page.locator("[name='trucks.seat_height']")).to_have_attribute("aria-invalid", "true")
    checked(page, "a change that cannot be used")
    before = kept.car(slug).head.number
    page.keyboard.press("Control+A")
    page.keyboard.type("0.281")
    expect(page.locator("[name='trucks.seat_height'][aria-invalid]")).to_have_count(0)
    expect(page.locator("#changed")).to_contain_text("now 0.281")
    page.keyboard.press("Control+Enter")
    page.wait_for_function("() => !document.querySelector('#changed .changed')")
    assert kept.car(slug).head.number == before + 1
    assert b'seat_height = "0.281"' in kept.car(slug).head.data

    # parts by . and , and the working by w
    page.keyboard.press(".")
    assert page.locator(".dwg .lit").count() > 0
    page.keyboard.press("w")
    page.wait_for_selector("#why-head")
    checked(page, "why")

    tab_to(page, f"a[href='/print/{slug}']")
    page.keyboard.press("Enter")
    page.wait_for_url(f"**/print/{slug}")
    checked(page, "print")
    tab_to(page, f"button[formaction='/print/{slug}/template.pdf']")
    with page.expect_download() as begun:
        page.keyboard.press("Enter")
    data = Path(begun.value.path()).read_bytes()
    page.close()
    ink = dark(data)
    assert lying(ink) == pytest.approx([100.0, 101.6], abs=TOLERANCE_MM)
    assert standing(ink) == pytest.approx([100.0, 101.6], abs=TOLERANCE_MM)


@pytest.mark.parametrize("width", [390, 820, 1440])
def test_every_view_at_every_width(browser: BrowserContext, shop: tuple[str, Shop], width: int) -> None:
    """A car that fails, is watched and has unknowns passes the checker in every view, and never scrolls sideways."""
    address, kept = shop
    slug = next((each.slug for each in kept.cars() if "double" in each.slug), "")
    slug = slug or kept.add_car(CARS["boxcar"].encode()).slug
    page = opened(browser, f"{address}/car/{slug}", width=width, height=900)
    for key in "123456":
        page.evaluate("() => document.activeElement.blur()")
        before = page.locator("#drawing").inner_html()
        page.keyboard.press(key)
        if key != "1":
            page.wait_for_function("(old) => document.getElementById('drawing').innerHTML !== old", arg=before)
        assert page.evaluate("() => document.documentElement.scrollWidth <= innerWidth")
    checked(page, f"truck and coupler at {width}")
    page.close()


def test_two_windows(browser: BrowserContext, shop: tuple[str, Shop]) -> None:
    """A save in one window is told in the other, and two saves of one revision lead to a choice with both."""
    address, kept = shop
    slug = kept.add_car(CARS["n_car"].encode(), name="Seen twice").slug
    first, second = (opened(browser, f"{address}/car/{slug}", width=1000, height=800) for _ in range(2))
    for page, text in ((first, "0.433"), (second, "0.435")):
        page.focus("[name='body.height']")
        page.keyboard.press("Control+A")
        page.keyboard.type(text)
        page.wait_for_selector("#changed .changed")
    first.keyboard.press("Control+Enter")
    second.wait_for_selector("#elsewhere .changed")
    assert hear(second)
    second.keyboard.press("Control+Enter")
    second.wait_for_url(f"**/choice/{slug}?saved=3")
    checked(second, "two saves of one car")
    assert len(kept.car(slug).heads) == 2
    first.close()
    second.close()


_COVERED = """() => {
  const held = document.activeElement, box = (held.closest(".entry") || held).getBoundingClientRect();
  const bar = document.querySelector("#changed .changed").getBoundingClientRect();
  const over = [box.top + 2, box.bottom - 2].filter((y) => {
    const met = document.elementFromPoint(box.left + box.width / 2, y)?.closest(".stick, #changed, .desk > .pane");
    return y < 0 || y > innerHeight || (met && !met.contains(held));
  });
  return { name: held.name || held.textContent, over, bar: bar.top > -1 && bar.bottom < innerHeight && bar.height > 9 };
}"""


@pytest.mark.parametrize(("width", "height"), [(390, 844), (820, 1180), (820, 900), (1280, 900)])
def test_what_is_changed_stays_in_sight(
    browser: BrowserContext, shop: tuple[str, Shop], width: int, height: int
) -> None:
    """Wherever one goes by Tab after a change, keeping it is in sight, and neither it nor the drawing hides the field.

    A way to stand that a finding names is a link to that way, and is then in sight under the bar.
    """
    address, kept = shop
    slug = kept.add_car(CARS["boxcar"].encode() + f"# {width} {height}\n".encode(), name="In sight").slug
    page = opened(browser, f"{address}/car/{slug}", width=width, height=height)
    page.focus("[name='trucks.seat_height']")
    page.keyboard.press("ArrowUp")
    page.wait_for_selector("#changed .changed")
    for _ in range(20):
        page.keyboard.press("Tab")
        page.wait_for_timeout(80)  # the small picture of a field comes a moment after the field
        told = page.evaluate(_COVERED)
        assert told["bar"], told
        assert not told["over"], told
    page.locator(".mend a").first.press("Enter")
    page.wait_for_function("""() => {
        const way = document.querySelector(location.hash || "#none"), head = way && way.querySelector("h3");
        const box = head && head.getBoundingClientRect();
        return box && way.contains(document.elementFromPoint(box.left + 5, box.top + 5));
    }""")
    page.close()


_BAR = """() => {
  const bar = document.querySelector("#changed .changed"), text = bar.querySelector("p");
  const box = bar.getBoundingClientRect();
  const main = [...bar.querySelectorAll("[value=keep], [value=back]")].map((each) => each.getBoundingClientRect());
  const inside = (at) => at.left >= 0 && at.right <= innerWidth && at.top >= box.top && at.bottom <= box.bottom;
  return {
    cut: text.scrollHeight > text.clientHeight + 1,
    sideways: [bar, ...bar.children].some((each) => each.scrollWidth > each.clientWidth + 1),
    whole: main.length === 2 && main.every(inside),
    share: box.height / innerHeight,
  };
}"""
_OPEN = "(at) => { for (let box = at; box; box = box.parentElement) if (box.open === false) box.open = true; }"


def test_the_bar_of_changes_is_whole_at_every_size(browser: BrowserContext, shop: tuple[str, Shop]) -> None:
    """However much is changed the bar says so without a cut, its buttons whole, in less than a third of the window."""
    address, kept = shop
    slug = kept.add_car(CARS["boxcar"].encode() + b"# bar\n", name="Many changes").slug
    page = opened(browser, f"{address}/car/{slug}", width=1280, height=900)
    names = ["underframe.bolster", "coupler.drop", "trucks.seat_height", "body.height", "body.width", "trucks.centers"]
    for many in (1, 2, 6):
        for name in names[:many]:
            field = page.locator(f"[name='{name}']")
            field.evaluate(_OPEN)
            field.press("ArrowUp")
        page.wait_for_function("() => document.querySelector('#summary')?.textContent.endsWith('.')")
        for width, height in ((390, 844), (390, 560), (390, 420), (820, 1180), (820, 500), (1280, 900), (1280, 500)):
            page.set_viewport_size({"width": width, "height": height})
            told = page.evaluate(_BAR)
            where = (many, width, height, told)
            assert told["whole"], where
            assert not told["cut"], where
            assert not told["sideways"], where
            assert told["share"] < 1 / 3, where
    page.set_viewport_size({"width": 1280, "height": 900})
    page.click("#changed [value=back]")
    page.wait_for_function("() => document.querySelector('#changed').textContent.startsWith('Gone back')")
    page.locator("h1").click()
    page.keyboard.press("Control+z")
    page.wait_for_function("() => document.querySelector('#said').textContent.includes('last save is revision 1')")
    page.close()


def test_kept_while_it_is_planned(browser: BrowserContext, shop: tuple[str, Shop]) -> None:
    """A change that is kept before its plan is there is kept whole, not the number that was typed halfway."""
    address, kept = shop
    slug = kept.add_car(CARS["n_car"].encode(), name="Kept early").slug
    page = opened(browser, f"{address}/car/{slug}", width=1000, height=800)
    page.route(f"**/car/{slug}/plan", lambda route: (time.sleep(0.4), route.continue_()))
    page.focus("[name='body.height']")
    page.keyboard.press("Control+A")
    page.keyboard.type("0.433")
    page.keyboard.press("Control+Enter")
    page.wait_for_function("() => document.querySelector('#desk').dataset.base === '2'")
    assert b'height = "0.433"' in kept.car(slug).head.data
    page.close()


def test_a_change_survives_leaving_the_page(browser: BrowserContext, shop: tuple[str, Shop]) -> None:
    """What was typed and not kept stands there again after another page; what was kept or taken back does not."""
    address, kept = shop
    slug = kept.add_car(CARS["n_car"].encode(), name="Left and come back to").slug
    page = opened(browser, f"{address}/car/{slug}", width=1280, height=900)
    field, keep = page.locator("[name='body.height']"), page.locator("#changed [value=keep]")
    for typed, key in (("0.433", "Control+Enter"), ("0.44", "Control+z")):
        field.fill(typed)
        expect(keep).to_be_enabled()
        for _ in range(2):
            page.get_by_role("link", name="Stages").click()
            page.get_by_role("link", name="Desk").click()
            expect(field).to_have_value(typed)
            expect(page.locator("#changed")).to_contain_text(f"now {typed}")
        page.locator("body").press(key)
        expect(keep).to_have_count(0)
        page.get_by_role("link", name="Stages").click()
        page.get_by_role("link", name="Desk").click()
        expect(field).to_have_value("0.433")
        expect(keep).to_have_count(0)
    page.close()


def test_a_hidden_window_is_told_when_it_is_seen(browser: BrowserContext, shop: tuple[str, Shop]) -> None:
    """A window behind another does not listen, so that the seventh works as well; seen again it is told at once."""
    address, kept = shop
    slug = kept.add_car(CARS["n_car"].encode(), name="Behind another").slug
    page = opened(browser, f"{address}/car/{slug}", width=1000, height=800)
    page.evaluate("""() => {
        Object.defineProperty(document, "hidden", { configurable: true, get: () => true });
        document.dispatchEvent(new Event("visibilitychange"));
    }""")
    kept.save(slug, CARS["n_car"].encode() + b"# again\n", based_on=1)
    page.wait_for_timeout(1000)
    assert page.locator("#elsewhere .changed").count() == 0
    page.evaluate("""() => { delete document.hidden; document.dispatchEvent(new Event("visibilitychange")); }""")
    page.wait_for_selector("#elsewhere .changed")
    page.close()


_DIFFERS = """(told) => {
  const plain = (box) => {
    for (const each of box.querySelectorAll("[class]")) {
      each.classList.remove("live", "lit");
      if (!each.classList.length) each.removeAttribute("class");
    }
    for (const each of box.querySelectorAll("details[open]")) each.open = false;
    for (const each of box.querySelectorAll("#summary")) each.textContent = "";
    box.normalize();
    return box;
  };
  return ["drawing", "findings", "changed"].filter((id) => {
    const made = document.createElement("template"), wanted = document.createElement("div");
    made.innerHTML = told[id];
    wanted.append(made.content);
    const stands = plain(document.getElementById(id).cloneNode(true)), due = [...plain(wanted).childNodes];
    return stands.childNodes.length !== due.length || !due.every((node, at) => node.isEqualNode(stands.childNodes[at]));
  });
}"""


def test_a_letter_leads_to_its_box(browser: BrowserContext, shop: tuple[str, Shop]) -> None:
    """T12 leads to the box of that letter and turns no view; J to end A's where each end has its own; 3 turns one."""
    address, kept = shop
    seats = '[car]\nname = "Keys"\n[trucks.a]\nseat_height = "0.278"\n[trucks.b]\nseat_height = "0.284"\n'
    slug = kept.add_car(seats.encode(), name="Keys").slug
    page = opened(browser, f"{address}/car/{slug}", width=1440, height=1000)
    held = "() => document.activeElement.closest('.field')?.dataset.letter"
    for keys, letter in (("t12", "T12"), ("r6", "R6"), ("S5", "S5"), ("j", "J"), ("z14", "Z14")):
        page.keyboard.type(keys)
        page.wait_for_function(f"({held})() === '{letter}'")
        if letter == "J":
            assert page.evaluate("document.activeElement.name") == "trucks.a.seat_height"
        page.evaluate("document.activeElement.blur()")
    assert page.evaluate("document.getElementById('desk').dataset.view") == "side"
    page.keyboard.type("3")
    page.wait_for_function("document.getElementById('desk').dataset.view === 'section'")
    page.close()


def test_what_is_changed_in_place_stands_as_it_was_sent(browser: BrowserContext, shop: tuple[str, Shop]) -> None:
    """After other numbers, one that cannot be used, other views and going back, the page has what a new one would."""
    address, kept = shop
    slug = kept.add_car(CARS["boxcar"].encode() + b"# in place\n", name="Changed in place").slug
    page = opened(browser, f"{address}/car/{slug}", width=1440, height=1000)
    page.evaluate("""() => {
        window.plans = 0;
        document.addEventListener("carwright:planned", () => { window.plans += 1; });
    }""")
    acts = (
        ("body.length", "6 1/4"),
        ("trucks.seat_height", "0.31"),
        ("trucks.seat_height", "wide"),
        ("trucks.seat_height", ""),
        ("coupler.drop", "0.07"),
        ("", "section"),
        ("body.width", "1.3"),
        ("", "exploded"),
        ("", "side"),
    )
    for count, (field, text) in enumerate(acts, 1):
        with page.expect_response("**/plan") as sent:
            if field:
                page.fill(f'[name="{field}"]', text)
            else:
                page.click(f"button[name=view][value={text}]")
        page.wait_for_function("(count) => window.plans === count", arg=count)
        assert page.evaluate(_DIFFERS, sent.value.json()) == [], (field, text)
    page.close()


def test_a_drawing_can_be_read_and_leaves_room(browser: BrowserContext, shop: tuple[str, Shop]) -> None:
    """A tablet has figures of 11 px or more; a phone has them too, and what sticks there is a fifth of the height."""
    address, kept = shop
    slug = kept.add_car(CARS["boxcar"].encode()).slug
    sizes = """() => [...document.querySelectorAll("#drawing text")].filter((each) => each.textContent.trim()
        && getComputedStyle(each).visibility === "visible").map((each) => {
            const by = each.getScreenCTM();
            return parseFloat(getComputedStyle(each).fontSize) * Math.sqrt(Math.abs(by.a * by.d - by.b * by.c));
        })"""
    tablet = opened(browser, address, width=820, height=900)
    for view in ("side", "end", "section", "ride", "exploded", "parts"):
        tablet.goto(f"{address}/car/{slug}?view={view}")
        assert min(tablet.evaluate(sizes)) >= 10.9, view
    phone = opened(browser, address, width=390, height=844)
    phone.goto(f"{address}/car/{slug}")
    assert len(phone.evaluate(sizes)) > 20
    assert [each for each in phone.locator(".stages li").all_inner_texts() if each] == list(STAGES)
    field = phone.locator("[name='trucks.seat_height']")
    field.fill("0.281")
    expect(phone.locator("#changed")).to_contain_text("now 0.281")
    field.fill("28 ft")
    expect(phone.locator("#changed")).to_contain_text("“28 ft” cannot be used; the plan goes on with 0.281")
    expect(phone.locator("#changed [value=keep]")).to_be_disabled()
    assert (
        phone.evaluate("""() => [...document.querySelectorAll("body *")].filter((each) =>
        getComputedStyle(each).position === "sticky").map((each) => each.getBoundingClientRect())
        .filter((each) => each.top < 1).reduce((sum, each) => sum + each.height, 0)""")
        <= 844 / 5
    )
    expect(field).to_be_in_viewport()
