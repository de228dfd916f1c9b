"""The style sheets hold nothing that no page uses, and what pages use is there."""

from __future__ import annotations

import html
import re
from collections.abc import Iterator
from pathlib import Path

from tests.web.conftest import DEMO

from carwright.car.read import read_car
from carwright.draw.lettered import SCREEN_VIEWS, screen_drawing
from carwright.draw.svg import page_svg
from carwright.findings import VERDICT_ORDER
from carwright.plan import make_plan

WEB = Path(__file__).resolve().parents[2] / "src" / "carwright" / "web"
VERDICTS = "|".join(VERDICT_ORDER)
MADE = re.compile(rf"at-\d|v-(?:{VERDICTS})|{VERDICTS}|of-[a-z]+|d\d|s\d+(?:-\d+)?")
"""Classes that are put together where they are used: stage, verdict, view, depth, size of letters."""


def styled() -> set[str]:
    """Return every class that a style sheet speaks of."""
    found: set[str] = set()
    for sheet in (WEB / "static").glob("*.css"):
        text = sheet.read_text(encoding="utf-8")
        plain = re.sub(r"(?s)/\*.*?\*/|@font-face\s*\{.*?\}|url\([^)]*\)|\"[^\"]*\"", " ", text)
        for selector in re.findall(r"([^{};]+)\{", plain):
            found.update(re.findall(r"\.([a-zA-Z][\w-]*)", selector))
    return found


def used() -> set[str]:
    """Return every class that a template, a drawing, a script or a module of the pages gives to something."""
    return {name for text in _texts() for each in _given(text) for name in re.findall(r"[a-zA-Z][\w-]*", each)}


def _texts() -> Iterator[str]:
    for path in (*(WEB / "templates").iterdir(), *WEB.glob("*.py")):
        yield path.read_text(encoding="utf-8")
    for path in (*(WEB / "static").glob("*.js"), WEB.parent / "draw" / "svg.py"):
        yield " ".join(f'class="{each}"' for each in re.findall(r"[\"'`.]([\w -]+)", path.read_text(encoding="utf-8")))
    for name in ("boxcar", "n_car"):
        plan = make_plan(read_car((DEMO / f"{name}.toml").read_bytes()))
        for view in SCREEN_VIEWS:
            yield page_svg(screen_drawing(plan, view))


def _given(text: str) -> Iterator[str]:
    for each in re.findall(r"class(?:es)?=\"((?:\{%.*?%\}|\{\{.*?\}\}|[^\"])*)\"", html.unescape(text)):
        yield re.sub(r"\{%.*?%\}|\{\{(.*?)\}\}", lambda found: f" {found[1] or ''} ", each)
        yield " ".join(re.findall(r"['\"]([^'\"]+)['\"]", each))


def test_every_class_is_used() -> None:
    """No rule stands in a style sheet for a class that nothing on any page has."""
    idle = {name for name in styled() - used() if not MADE.fullmatch(name)}
    assert sorted(idle) == []


def test_paper_is_white_whatever_the_screen_is() -> None:
    """The colours of the dark are for screens alone: what is printed in the dark is black on white."""
    for sheet in (WEB / "static").glob("*.css"):
        text = sheet.read_text(encoding="utf-8")
        for found in re.finditer(r'prefers-color-scheme: dark|:root\[data-theme="dark"\]', text):
            before = text[: found.start()]
            assert re.search(r"@media screen[^{}]*(?:\{\s*)?$", before), (sheet.name, text[found.start() :][:80])


def _themes() -> dict[str, dict[str, str]]:
    """Return the colours of each theme by their names."""
    text = (WEB / "static" / "page.css").read_text(encoding="utf-8")
    blocks = {"light": r":root \{(.*?)\n\}", "dark": r'data-theme="dark"\] \{(.*?)\n\}'}
    found = {name: re.search(pattern, text, re.DOTALL) for name, pattern in blocks.items()}
    return {name: dict(re.findall(r"--([a-z-]+): (#[0-9A-F]{6})", each[1])) for name, each in found.items() if each}


def _light(colour: str) -> float:
    """Return the relative luminance of a colour (WCAG 2.2)."""
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (each / 12.92 if each <= 0.04045 else ((each + 0.055) / 1.055) ** 2.4 for each in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def _contrast(one: str, two: str) -> float:
    high, low = sorted((_light(one), _light(two)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_drawings_are_readable_in_both_themes() -> None:
    """Words of a drawing stand out 4.5 to 1 from paper and from a band, its lines 3 to 1 (WCAG 2.2, 1.4.3, 1.4.11).

    So do the dimension in hand and what moved; a knocked-out number is paper on ink.
    """
    themes = _themes()
    assert set(themes) == {"light", "dark"}
    for name, colours in themes.items():
        for ground in ("paper", "band"):
            for pen in ("ink", "graphite", "held", "now", "fail", "watch", "ok"):
                assert _contrast(colours[pen], colours[ground]) >= 4.5, (name, pen, ground)
        assert _contrast(colours["line"], colours["paper"]) >= 3.0, name


def test_widths_are_told_in_the_readers_own_letters() -> None:
    """Where a page turns narrow is told in em: whoever asks his browser for larger letters gets the narrower layout."""
    for sheet in (WEB / "static").glob("*.css"):
        assert not re.findall(r"\((?:max|min)-(?:width|height):[^()]*px\)", sheet.read_text(encoding="utf-8")), sheet
