"""Draw the pictures of the README and the docs again: ``.venv/bin/python tools/write_pictures.py``.

They are what the program draws of the demonstration's cars, nothing else; a test holds that they are.
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from importlib import resources
from pathlib import Path

from carwright.book.contents import book_pdf
from carwright.car.read import read_car
from carwright.draw.svg import sheet_svg, svg
from carwright.draw.views import View, drawing_of, overview
from carwright.plan import Plan, make_plan

ROOT = Path(__file__).resolve().parent.parent
PICTURES = ROOT / "docs" / "pictures"
GALLERY = ROOT / "docs" / "gallery"
CARS = ("boxcar", "n_car", "h0_car")
VIEWS: tuple[tuple[str, View], ...] = (
    ("boxcar", "section"),
    ("boxcar", "exploded"),
    ("n_car", "exploded"),
    ("h0_car", "section"),
)
"""Single views that the gallery shows."""

PAGES = (
    ("boxcar", ("Ride height", "Floor templates", "Setting-out template", "Order of work", "Drill table")),
    ("n_car", ("Pieces",)),
    ("h0_car", ("Build book", "Pieces and jigs")),
)
"""Pages of the books that the gallery shows, by the beginnings of their titles."""

_DPI = 72


def planned(name: str) -> Plan:
    """Return the plan of one of the demonstration's cars."""
    text = resources.files("carwright.demo").joinpath(f"{name}.toml").read_bytes()
    return make_plan(read_car(text, file=f"{name}.toml"))


def pictures() -> Iterator[tuple[str, str]]:
    """Yield the name of each picture and its SVG."""
    for name in CARS:
        plan = planned(name)
        title = plan.car.info.name
        alt = f"{title}: side, end B, floor from below and ride height, drawn from its measurements"
        yield f"{name}.svg", sheet_svg(overview(plan), title=title, alt=alt)
    for name, view in VIEWS:
        yield f"{name}-{view}.svg", svg(drawing_of(planned(name), view))


def book_pages() -> Iterator[tuple[str, bytes]]:
    """Yield the name of each page of a book that the gallery shows, and the page as PNG."""
    import pypdfium2

    for name, titles in PAGES:
        plan = planned(name)
        document = pypdfium2.PdfDocument(book_pdf(plan, paper="a4" if plan.car.info.units == "mm" else "letter"))
        for title in titles:
            entry = next(each for each in document.get_toc() if each.get_title().startswith(title))
            page = document[entry.get_dest().get_index()]
            picture = page.render(scale=_DPI / 72, grayscale=True).to_pil().quantize(8)
            made = io.BytesIO()
            picture.save(made, "png", optimize=True)
            yield f"{name}-{title.lower().replace(' ', '-')}.png", made.getvalue()


if __name__ == "__main__":
    PICTURES.mkdir(parents=True, exist_ok=True)
    for file, drawn in pictures():
        (PICTURES / file).write_text(drawn, encoding="utf-8")
        print(f"wrote {(PICTURES / file).relative_to(ROOT)}")
    GALLERY.mkdir(parents=True, exist_ok=True)
    for file, page in book_pages():
        (GALLERY / file).write_bytes(page)
        print(f"wrote {(GALLERY / file).relative_to(ROOT)}")
