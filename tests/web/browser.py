"""A shop served to a real browser, its pages walked by keys alone, and the accessibility checker run on them."""

from __future__ import annotations

import socket
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import uvicorn
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import BrowserContext, Page, sync_playwright

from carwright.shop import Shop, open_shop
from carwright.web.app import create_app

__all__ = ["checked", "chromium", "hear", "opened", "served", "tab_to"]

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
MOST_TABS = 260


@contextmanager
def served(folder: Path) -> Iterator[tuple[str, Shop]]:
    """Serve an empty shop on a free port; yield its address and the shop."""
    with open_shop(folder / "shop.db") as shop, socket.socket() as listening:
        listening.bind(("127.0.0.1", 0))
        server = uvicorn.Server(
            uvicorn.Config(create_app(shop), log_level="critical", lifespan="off", timeout_graceful_shutdown=1)
        )
        thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]}, daemon=True)
        thread.start()
        while not server.started:
            time.sleep(0.02)
        try:
            yield f"http://127.0.0.1:{listening.getsockname()[1]}", shop
        finally:
            server.should_exit = True
            thread.join(10)


@contextmanager
def chromium(folder: Path) -> Iterator[BrowserContext]:
    """Start Chromium with a profile of its own, in which a PDF is downloaded and not shown, as its user may choose."""
    profile = folder / "Default"
    profile.mkdir(parents=True)
    (profile / "Preferences").write_text('{"plugins": {"always_open_pdf_externally": true}}', encoding="utf-8")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch_persistent_context(folder, executable_path=CHROMIUM, args=ARGUMENTS)
        try:
            yield browser
        finally:
            browser.close()


def opened(browser: BrowserContext, address: str, *, width: int, height: int) -> Page:
    """Open a page of its own at a size."""
    page = browser.new_page()
    page.set_viewport_size({"width": width, "height": height})
    page.goto(address)
    return page


def tab_to(page: Page, selector: str) -> None:
    """Press Tab until what the selector names has the focus, as somebody does who has no mouse."""
    for _ in range(MOST_TABS):
        page.keyboard.press("Tab")
        if page.evaluate(
            "(wanted) => document.activeElement !== null && document.activeElement.matches(wanted)", selector
        ):
            return
    raise AssertionError(f"no way by Tab to {selector} on {page.url}")


def hear(page: Page) -> str:
    """Return what a screen reader was told last."""
    return page.locator("#said").inner_text()


def checked(page: Page, where: str) -> None:
    """Fail where the accessibility checker finds something in what is shown, in the light or in the dark."""
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme="light" if scheme == "light" else "dark")
        found = Axe().run(page)
        told = [f"{each['id']}: {each['nodes'][0]['html'][:160]}" for each in found.response["violations"]]
        assert not told, f"{where}, {scheme}: {told}"
    page.emulate_media(color_scheme="light")
