"""Draw the pictures of the README and the docs again: ``.venv/bin/python tools/write_pictures.py``.

They are what the program draws of the demonstration's cars, nothing else; a test holds that they are.
"""

from __future__ import annotations

from collections.abc import Iterator
from importlib import resources
from pathlib import Path

from carwright.car.read import read_car
from carwright.draw.svg import sheet_svg
from carwright.draw.views import overview
from carwright.plan import make_plan

ROOT = Path(__file__).resolve().parent.parent
PICTURES = ROOT / "docs" / "pictures"


def pictures() -> Iterator[tuple[str, str]]:
    """Yield the name of each picture and its SVG."""
    for name in ("boxcar", "n_car", "h0_car"):
        text = resources.files("carwright.demo").joinpath(f"{name}.toml").read_bytes()
        plan = make_plan(read_car(text, file=f"{name}.toml"))
        title = plan.car.info.name
        alt = f"{title}: side, end B, floor from below and ride height, drawn from its measurements"
        yield f"{name}.svg", sheet_svg(overview(plan), title=title, alt=alt)


if __name__ == "__main__":
    PICTURES.mkdir(parents=True, exist_ok=True)
    for file, drawn in pictures():
        (PICTURES / file).write_text(drawn, encoding="utf-8")
        print(f"wrote {(PICTURES / file).relative_to(ROOT)}")
