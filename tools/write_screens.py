"""Take the pictures of the page for the docs again: ``.venv/bin/python tools/write_screens.py``.

A shop with the demonstration's cars is served and looked at in Chromium: the line, and a car with a way to stand drawn.
"""

from __future__ import annotations

import io
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
SCREENS = ROOT / "docs" / "screens"
SIZE = (1280, 900)


def reduced(picture: bytes) -> bytes:
    """Return a picture with as few colours as a quiet page needs."""
    from PIL import Image

    made = io.BytesIO()
    Image.open(io.BytesIO(picture)).convert("RGB").quantize(128).save(made, "png", optimize=True)
    return made.getvalue()


if __name__ == "__main__":
    sys.path.insert(0, str(ROOT))
    from tests.web.browser import chromium, opened, served

    from carwright.cli.demo import fill_shop

    SCREENS.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as at:
        folder = Path(at)
        with served(folder) as (address, shop), chromium(folder / "browser") as browser:
            fill_shop(shop)
            slug = next(each.slug for each in shop.cars(limit=10) if each.slug.startswith("double-door"))
            page = opened(browser, address, width=SIZE[0], height=SIZE[1])
            page.wait_for_timeout(2000)
            (SCREENS / "line.png").write_bytes(reduced(page.screenshot()))
            page = opened(browser, f"{address}/car/{slug}", width=SIZE[0], height=SIZE[1])
            page.locator("button[name='try'][value='1']").click()
            page.wait_for_timeout(2500)
            (SCREENS / "car.png").write_bytes(reduced(page.screenshot()))
    print(f"wrote {SCREENS.relative_to(ROOT)}/line.png and car.png")
