"""Drawings as SVG: true millimetres, one group for each layer, ids that are the parts' names.

Coordinates are paper millimetres with at most four decimals (0.1 of a micrometre, far below any pen); y is turned over
here and nowhere else. Pens and faces are classes in one style block, so that a page may restyle them. The same model
gives the same file, byte for byte. A drawing at 1 : 1 opened in a browser measures what the model says.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import lru_cache
from typing import Final
from xml.sax.saxutils import escape, quoteattr

from carwright.draw.glyphs import BOLD_FAMILY, FAMILY, FRACTION_SIZE, Run, run_width_mm, runs, shown, width_mm
from carwright.draw.model import LAYERS, XY, Drawing, Layer, Sheet
from carwright.draw.strokes import FINE, Box, Curve, Disc, Ink, Path, Words, bounds, ink, moved

__all__ = [
    "MARGIN_MM",
    "drawn_width",
    "number",
    "outline_of",
    "page_svg",
    "safe_attribute",
    "safe_xml",
    "sheet_svg",
    "svg",
    "svg_of",
]

MARGIN_MM: Final = 2.0
"""White around a drawing."""

_FINENESS: Final = ("", "fine", "tiny")
_BAR_MM: Final = 0.3


def svg(drawing: Drawing) -> str:
    """Return one drawing as an SVG document just large enough for it, with ``MARGIN_MM`` of white around."""
    pieces = ink(drawing)
    box = bounds(pieces).grown(MARGIN_MM)
    return svg_of(pieces, box, title=drawing.title, alt=drawing.alt, name=drawing.name, white=True)


def sheet_svg(sheet: Sheet, *, title: str, alt: str) -> str:
    """Return a sheet with its views where they were placed; the origin is its lower left corner."""
    pieces = [piece for view in sheet.views for piece in moved(ink(view.drawing), view.at)]
    box = Box(0.0, 0.0, sheet.width_mm, sheet.height_mm)
    return svg_of(pieces, box, title=title, alt=alt, name=sheet.name, white=True)


def svg_of(pieces: Sequence[Ink], box: Box, *, title: str, alt: str, name: str, white: bool = False) -> str:
    """Return an SVG document showing ``box`` of the ink given, in paper millimetres.

    With ``white`` it has its own paper, so that black lines are seen on a dark ground as well.
    """
    ids = _Ids()
    label = ids.take(f"{name}-title")
    left, top, width, height = (number(n) for n in (box.left_mm, -box.top_mm, box.width_mm, box.height_mm))
    size = f'width="{width}mm" height="{height}mm" viewBox="{left} {top} {width} {height}"'
    lines = [
        f'<svg xmlns="http://www.w3.org/2000/svg" {size} role="img" aria-labelledby={quoteattr(label)}>',
        f"<title id={quoteattr(label)}>{safe_xml(title)}</title>",
        f"<desc>{safe_xml(alt)}</desc>",
        f"<style>{_style(pieces)}</style>",
    ]
    if white:
        lines.append(f'<rect class="paper" x="{left}" y="{top}" width="{width}" height="{height}"/>')
    for layer, here in _by_layer(pieces):
        lines.append(f'<g class="{layer}" data-layer="{layer}">')
        lines.extend(_layer(here, ids, layer))
        lines.append("</g>")
    lines.append("</svg>\n")
    return "\n".join(lines)


def page_svg(drawing: Drawing, *, classes: str = "dwg", sized: bool = False, times: float = 1.0) -> str:
    """Return a drawing as an ``<svg>`` to stand in a page, which gives it size, pens and faces by its style sheet.

    Beside what ``svg`` writes, what tells a measurement carries its place in the car file as ``data-key``, and a ringed
    letter is a group of class ``ball``. Ids begin with the drawing's name, so that several can stand in one page.
    ``sized`` gives it its own size on paper, ``times`` as large, for drawings that are not to fill their column.
    """
    pieces = ink(drawing)
    box = bounds(pieces).grown(MARGIN_MM)
    ids = _Ids(f"{drawing.name}-")
    label, told = ids.take("title"), ids.take("about")
    view = " ".join(number(n) for n in (box.left_mm, -box.top_mm, box.width_mm, box.height_mm))
    named = f'role="group" aria-labelledby="{label}" aria-describedby="{told}" data-view={quoteattr(drawing.name)}'
    wide, high = number(box.width_mm * times), number(box.height_mm * times)
    own = f' width="{wide}mm" height="{high}mm"' if sized else ""
    lines = [
        f'<svg xmlns="http://www.w3.org/2000/svg" class={quoteattr(classes)}{own} viewBox="{view}" {named}>',
        f'<title id="{label}">{safe_xml(drawing.title)}</title>',
        f'<desc id="{told}">{safe_xml(drawing.alt)}</desc>',
    ]
    for layer, here in _by_layer(pieces):
        lines.append(f'<g class="{layer}">')
        lines.extend(_layer(here, ids, layer, keyed=True))
        lines.append("</g>")
    lines.append("</svg>")
    return "\n".join(lines)


def _by_layer(pieces: Sequence[Ink]) -> Iterator[tuple[Layer, list[Ink]]]:
    """Yield each layer in which there is ink, in the order of the layers' table, with its ink as it was given."""
    found: dict[Layer, list[Ink]] = {}
    for piece in pieces:
        found.setdefault(piece.layer, []).append(piece)
    return ((layer, found[layer]) for layer in LAYERS if layer in found)


def drawn_width(drawing: Drawing) -> float:
    """Return how wide a drawing is on paper, mm, as ``page_svg`` makes it with its own size."""
    return bounds(ink(drawing)).grown(MARGIN_MM).width_mm


def safe_xml(text: str) -> str:
    """Return text that XML accepts: its own signs escaped, signs that it forbids replaced by U+FFFD."""
    if text.isprintable():  # none of the signs that are forbidden is
        return escape(text)
    kept = "".join(sign if sign in "\t\n" or (sign >= " " and not _forbidden(ord(sign))) else "\ufffd" for sign in text)
    return escape(kept)


@lru_cache(maxsize=1 << 14)
def number(value: float) -> str:
    """Return a coordinate with at most four decimals and no needless ones."""
    text = f"{value:.4f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _forbidden(code: int) -> bool:
    return 0x7F <= code <= 0x9F or 0xD800 <= code <= 0xDFFF or code & 0xFFFE == 0xFFFE


@lru_cache(maxsize=4096)
def _name_of(wanted: str) -> str:
    """Return a part's name as an id may be written."""
    base = "".join(sign if sign.isascii() and (sign.isalnum() or sign in "-_.") else "_" for sign in wanted)
    return base if base[:1].isalpha() else f"part-{base}"


class _Ids:
    """Gives every id once: a part's own name at its first appearance, then with a figure behind it."""

    def __init__(self, lead: str = "") -> None:
        self.given: set[str] = set()
        self.lead = lead

    def take(self, wanted: str) -> str:
        wanted = self.lead + wanted
        base = _name_of(wanted)
        name, count = base, 1
        while name in self.given:
            count += 1
            name = f"{base}-{count}"
        self.given.add(name)
        return name


def _style(pieces: Sequence[Ink]) -> str:
    rules = [
        "g{fill:none;stroke:#000;stroke-linecap:butt;stroke-linejoin:miter}",
        f'text{{font-family:"{FAMILY}",sans-serif;fill:#000;stroke:none}}',
        f'.bold{{font-family:"{BOLD_FAMILY}","{FAMILY}",sans-serif;font-weight:600}}',
        ".quiet{fill:#333}",
        ".paper{fill:#fff;stroke:none}",
        ".ring{fill:#fff}",
        ".solid{fill:#000;stroke:none}",
        ".tint{fill:#e6e6e6}",
        ".outline{stroke-linecap:square}",
        f".bar{{stroke-width:{number(_BAR_MM)}}}",
        ".ring.dash{stroke-dasharray:1.3 0.9}",
    ]
    if any(isinstance(piece, Words) and piece.knocked for piece in pieces):
        rules.append(".knocked{fill:#fff}")
    if any(_is_toned(piece) for piece in pieces):
        rules.append(".toned{fill:#e6e6e6;stroke:none}")
    used = {piece.layer for piece in pieces}
    for layer, pen in LAYERS.items():
        if layer in used:
            dashes = f";stroke-dasharray:{' '.join(number(d) for d in pen.dashes_mm)}" if pen.dashes_mm else ""
            rules.append(f".{layer}{{stroke-width:{number(pen.width_mm)}{dashes}}}")
            if pen.dashes_mm:
                for name, part in zip(_FINENESS[1:], FINE[1:], strict=True):
                    fine = " ".join(number(d * part) for d in pen.dashes_mm)
                    rules.append(f".{layer} .{name}{{stroke-dasharray:{fine}}}")
    sizes = {piece.size_mm for piece in pieces if isinstance(piece, Words)}
    rules.extend(f".{_size(size)}{{font-size:{number(size)}px}}" for size in sorted(sizes | _smaller(pieces)))
    return "".join(rules)


def _smaller(pieces: Sequence[Ink]) -> set[float]:
    return {
        piece.size_mm * FRACTION_SIZE
        for piece in pieces
        if isinstance(piece, Words) and any(run.below for run in runs(shown(piece.text)))
    }


def _size(size_mm: float) -> str:
    return "s" + number(size_mm).replace(".", "-")


def _layer(pieces: Sequence[Ink], ids: _Ids, layer: Layer, *, keyed: bool = False) -> list[str]:
    """Return a layer's ink; what belongs to one part and follows on is one group with its id and title.

    ``keyed`` parts what tells different measurements, too, and says which; and each text carries its own size, as a
    page's style sheet cannot know every size that a drawing uses.
    """
    lines: list[str] = []
    nothing = ("", "", "")
    open_part = nothing
    for at, piece in enumerate(pieces):
        part = (piece.part, piece.title, piece.key if keyed else "")
        if part != open_part:
            if open_part != nothing:
                lines.append("</g>")
            if part != nothing:
                name = ids.take(piece.part or f"{layer}-note")
                tie = f" data-part={quoteattr(safe_attribute(piece.part))}" if piece.part else ""
                tie += f" data-key={quoteattr(safe_attribute(piece.key))}" if keyed and piece.key else ""
                lines.append(f"<g id={quoteattr(name)}{tie}>")
                if piece.title:
                    lines.append(f"<title>{safe_xml(piece.title)}</title>")
            open_part = part
        if keyed and _ringed(pieces, at):
            lines.append(f'<g class="ball">{_element(piece, sized=keyed)}')
        elif keyed and _ringed(pieces, at - 1):
            lines.append(f"{_element(piece, sized=keyed)}</g>")
        else:
            lines.append(_element(piece, sized=keyed))
    if open_part != nothing:
        lines.append("</g>")
    return lines


def _ringed(pieces: Sequence[Ink], at: int) -> bool:
    """Return whether a ring stands at that place, its letter behind it."""
    if not 0 <= at < len(pieces) - 1:
        return False
    ring, letter = pieces[at], pieces[at + 1]
    return isinstance(ring, Disc) and ring.layer == "text" and isinstance(letter, Words) and letter.bold


def safe_attribute(text: str) -> str:
    """Return text for an attribute, before quoting: one line, nothing that XML forbids."""
    if text.isprintable():
        return text
    return "".join(sign if sign >= " " and not _forbidden(ord(sign)) else "\ufffd" for sign in text)


def _element(piece: Ink, *, sized: bool = False) -> str:
    if isinstance(piece, Words):
        return _words(piece, sized=sized)
    if isinstance(piece, Curve):
        return outline_of(piece)
    cleared = "paper" if piece.layer in ("text", "hatch") and isinstance(piece, Path) else "ring"
    kind = {"none": "", "paper": cleared, "ink": "solid", "band": "toned" if _is_toned(piece) else "tint"}[piece.fill]
    if isinstance(piece, Path) and piece.colour:
        return outline_of(piece, f" fill={quoteattr(safe_attribute(piece.colour))}")
    dashed = "dash" if isinstance(piece, Disc) and piece.dashed else ""
    return outline_of(piece, _class(" ".join(filter(None, (kind, _FINENESS[piece.fineness], dashed)))))


def _is_toned(piece: Ink) -> bool:
    """Return whether it clears what lies behind words in a band."""
    return isinstance(piece, Path) and piece.layer == "text" and piece.fill == "band"


def outline_of(piece: Path | Curve | Disc, attributes: str = "") -> str:
    """Return the element that draws a line, an arc or a circle, with more attributes (a space before each)."""
    if isinstance(piece, Disc):
        at = f'cx="{number(piece.centre.x_mm)}" cy="{number(-piece.centre.y_mm)}" r="{number(piece.radius_mm)}"'
        return f"<circle{attributes} {at}/>"
    if isinstance(piece, Curve):
        return f'<path{attributes} d="{_arc(piece)}"/>'
    steps = [f"{number(at.x_mm)} {number(-at.y_mm)}" for at in piece.points]
    return f'<path{attributes} d="M{"L".join(steps)}{"Z" if piece.closed else ""}"/>'


def _class(kind: str) -> str:
    return f' class="{kind}"' if kind else ""


def _arc(piece: Curve) -> str:
    import math

    def at(angle_deg: float) -> str:
        a = math.radians(angle_deg)
        x = piece.centre.x_mm + piece.radius_mm * math.cos(a)
        y = piece.centre.y_mm + piece.radius_mm * math.sin(a)
        return f"{number(x)} {number(-y)}"

    r = number(piece.radius_mm)
    large = 1 if (piece.end_deg - piece.start_deg) % 360 > 180 else 0
    return f"M{at(piece.start_deg)}A{r} {r} 0 {large} 0 {at(piece.end_deg)}"


def _words(piece: Words, *, sized: bool) -> str:
    text = shown(piece.text)
    cut = runs(text)
    kinds = [_size(piece.size_mm), *(["bold"] if piece.bold else []), *(["quiet"] if piece.quiet else [])]
    if piece.knocked:
        kinds.append("knocked")
    x, y = piece.at.x_mm, -piece.at.y_mm
    turn = f' transform="rotate(-90 {number(x)} {number(y)})"' if piece.turn_deg == 90 else ""
    if len(cut) == 1 and not cut[0].below:
        anchor = "" if piece.anchor == "start" else f' text-anchor="{piece.anchor}"'
        place = f'x="{number(x)}" y="{number(y)}"'
        own = _own_size(piece.size_mm) if sized else ""
        return f'<text{own} class="{" ".join(kinds)}" {place}{anchor}{turn}>{escape(text)}</text>'
    length = width_mm(text, piece.size_mm, bold=piece.bold)
    left = x - {"start": 0.0, "middle": length / 2, "end": length}[piece.anchor]
    return _stacked(piece, cut, XY(left, y), " ".join(kinds), turn, sized=sized)


def _own_size(size_mm: float) -> str:
    return f' font-size="{number(size_mm)}"'


def _stacked(piece: Words, cut: tuple[Run, ...], at: XY, kinds: str, turn: str, *, sized: bool) -> str:
    """Return words with stacked fractions; the stroke between the figures is there for copying, but has no ink."""
    small = piece.size_mm * FRACTION_SIZE
    axis = at.y_mm - 0.34 * piece.size_mm
    little = kinds.replace(_size(piece.size_mm), _size(small), 1)
    own, small_own = (_own_size(piece.size_mm), _own_size(small)) if sized else ("", "")
    x = at.x_mm
    spans: list[str] = []
    bars: list[str] = []
    for run in cut:
        room = run_width_mm(run, piece.size_mm, bold=piece.bold)
        if run.below:
            middle = x + room / 2
            above = f'x="{number(middle)}" y="{number(axis - 0.22 * small)}"'
            below = f'x="{number(middle)}" y="{number(axis + 0.94 * small)}"'
            spans.append(f'<text{small_own} class="{little}" text-anchor="middle" {above}>{run.text}</text>')
            spans.append(f'<text{small_own} class="{little}" text-anchor="middle" {below}>{run.below}</text>')
            near, far = x + 0.06 * piece.size_mm, x + room - 0.06 * piece.size_mm
            bars.append(f'<path class="bar" d="M{number(near)} {number(axis)}H{number(far)}"/>')
        else:
            place = f'x="{number(x)}" y="{number(at.y_mm)}"'
            spans.append(f'<text{own} class="{kinds}" xml:space="preserve" {place}>{escape(run.text)}</text>')
        x += room
    return f'<g role="img" aria-label={quoteattr(shown(piece.text))}{turn}>{"".join(spans + bars)}</g>'
