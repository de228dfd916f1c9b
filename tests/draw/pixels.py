"""Pages as pixels, by an engine that is not the typesetter's, and the bars on them measured."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

import numpy as np
import pypdfium2
from numpy.typing import NDArray

from carwright.draw.pdf import MARGIN_MM

__all__ = ["DPI", "PER_MM", "TOLERANCE_MM", "dark", "lying", "opened", "runs", "standing", "text_of"]

DPI = 600
PER_MM = DPI / 25.4
"""Pixels to the millimetre."""

TOLERANCE_MM = 0.1
"""What the bars must keep on paper; one pixel is 0.042 mm."""


@contextmanager
def opened(data: bytes) -> Iterator[pypdfium2.PdfDocument]:
    """Open a PDF for as long as it is looked at."""
    document = pypdfium2.PdfDocument(data)
    try:
        yield document
    finally:
        document.close()


def dark(data: bytes, page: int = 0, dpi: float = DPI) -> NDArray[np.bool_]:
    """Return a page as pixels, True where there is ink."""
    with opened(data) as document:
        picture = document[page].render(scale=dpi / 72.0, grayscale=True).to_numpy()
    return np.asarray(picture[..., 0] if picture.ndim == 3 else picture) < 128


def text_of(data: bytes, page: int) -> str:
    """Return the words of a page."""
    with opened(data) as document:
        return str(document[page].get_textpage().get_text_range())


def runs(line: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """Return where ink begins and ends along one line of pixels."""
    edges = np.flatnonzero(np.diff(np.concatenate(([False], line, [False])).astype(np.int8)))
    return list(zip(edges[0::2].tolist(), edges[1::2].tolist(), strict=True))


def _bars(lines: NDArray[np.bool_]) -> list[float]:
    """Return the lengths of the bars: lines with two thin ticks and nothing else, 80 mm or more apart, in mm."""
    found: list[float] = []
    for line in lines:
        found_here = runs(line)
        if len(found_here) != 2:
            continue
        (a0, a1), (b0, b1) = found_here
        thin = max(a1 - a0, b1 - b0) < 0.5 * PER_MM
        length = ((b0 + b1) - (a0 + a1)) / 2 / PER_MM
        if thin and length > 80.0:
            found.append(length)
    distinct: list[float] = []
    for length in sorted(found):
        if not distinct or length - distinct[-1] > 0.5:
            distinct.append(length)
    return distinct


def lying(ink: NDArray[np.bool_]) -> list[float]:
    """Return the lengths of the bars along the foot of a page, from the left margin's lane to where the words begin."""
    height = ink.shape[0]
    left = int((MARGIN_MM + 14.6) * PER_MM)
    return _bars(ink[height - int(48 * PER_MM) : height - int(21 * PER_MM), left : left + int(117 * PER_MM)])


def standing(ink: NDArray[np.bool_]) -> list[float]:
    """Return the lengths of the bars in the left lane of a page."""
    height = ink.shape[0]
    bottom = height - int(24 * PER_MM)
    lane = ink[bottom - int(130 * PER_MM) : bottom, int(MARGIN_MM * PER_MM) : int((MARGIN_MM + 14.6) * PER_MM)]
    return _bars(lane.T)
