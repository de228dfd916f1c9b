"""A car's page in a real browser: from the key that changes a number to the painted drawing and findings.

Chromium is driven by Playwright. A key press in a field is one change; the clock starts at the field's ``input`` event
and stops in the first task after the frame in which the new drawing was painted, the wait before planning included. The
first series is taken while no study runs, the second while one is always in work.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING

from benchmarks.harness import Measured, Promise, taken

if TYPE_CHECKING:
    from playwright.sync_api import Page

__all__ = ["benches", "browser_page", "served"]

CHANGES = 200
CHROMIUM = "/usr/bin/chromium"
ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]

_CLOCK = """() => {
  const known = window.took !== undefined;
  window.took = [];
  if (known) return;
  let begun = 0;
  document.addEventListener("input", () => { begun = begun || performance.now(); }, true);
  document.addEventListener("carwright:planned", () => {
    const start = begun; begun = 0;
    if (!start) return;
    requestAnimationFrame(() => { const after = new MessageChannel();
      after.port1.onmessage = () => { window.took.push(performance.now() - start); window.painted?.(); };
      after.port2.postMessage(0); });
  });
}"""

_PAINTED = """(count) => new Promise((done) => {
  const enough = () => { if (window.took.length > count) { window.painted = undefined; done(); } };
  window.painted = enough;
  enough();
})"""
"""Waits within the page: whoever asks again and again from outside takes the processor from what is measured."""


@contextmanager
def served() -> Iterator[str]:
    """Serve a shop with the demonstration's boxcar from a process of its own; yield the address of the car's page."""
    from carwright.shop import open_shop

    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder) / "shop.db"
        with open_shop(place) as shop:
            slug = shop.add_car(resources.files("carwright.demo").joinpath("boxcar.toml").read_bytes()).slug
        command = [sys.executable, "-m", "carwright", "serve", "--port", "0", "--shop", str(place)]
        with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as server:
            assert server.stdout is not None
            address = server.stdout.readline().split()[-1]
            try:
                yield f"{address}/car/{slug}"
            finally:
                server.terminate()


@contextmanager
def browser_page(address: str) -> Iterator[Page]:
    """Open an address in Chromium."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=ARGUMENTS)
        try:
            page = browser.new_page(viewport={"width": 1440, "height": 1000})
            page.goto(address)
            yield page
        finally:
            browser.close()


def changes(page: Page, count: int, *, rest_ms: int) -> list[float]:
    """Change one field after another by a key press; return how long each took to be painted, in ms."""
    page.evaluate(_CLOCK)
    names: list[str] = page.evaluate(
        """() => [...document.querySelectorAll("input[data-saved]")].filter((each) => /^\\d*\\.\\d+$/.test(each.value)
           && !each.name.startsWith("shelf.")).map((each) => each.name)"""
    )
    for each in page.locator("details.more").all():
        each.evaluate("(box) => { box.open = true; }")
    for count_so_far in range(count):
        name = names[count_so_far % len(names)]
        page.focus(f'[name="{name}"]')
        page.keyboard.press("ArrowUp" if (count_so_far // len(names)) % 2 == 0 else "ArrowDown")
        page.evaluate(_PAINTED, count_so_far)
        page.wait_for_timeout(rest_ms)
    times: list[float] = page.evaluate("window.took")
    return times


def benches() -> Iterator[Measured]:
    """Yield 200 changes of a car's page with nothing else to do, and 200 while studies are in work."""
    with served() as address, browser_page(address) as page:
        changes(page, 10, rest_ms=50)  # the first ones wake everything
        quick = changes(page, CHANGES, rest_ms=130)  # a quick typist; what else moves is asked for in between
        yield taken("a change on the car's page, painted", quick, promises=(Promise("p95_ms", 100),))
        busy = changes(page, CHANGES, rest_ms=400)
        yield taken("the same with studies in work", busy, promises=(Promise("p95_ms", 100),))
