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
