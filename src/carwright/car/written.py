"""A size as the car file must have it in order to read it again as it is, with its doubt."""

from __future__ import annotations

from carwright.car.keys import key_named
from carwright.car.model import CarInfo
from carwright.lengths import LENGTH_TOL_MM, Taken, exact_in, parse_length
from carwright.problems import InputError
from carwright.working import Working

__all__ = ["text_for"]


def text_for(size: Working, path: str, info: CarInfo) -> str:
    """Return how the file writes a size behind a key: in its owner's words where they read the same, else with a ±.

    Args:
        size: the size with its tolerance, mm; it may come from another file, with other units for bare numbers.
        path: the key that it shall stand behind ("underframe.bolster").
        info: how the file takes what it reads.
    """
    if size.kind == "typed" and size.text and _reads_alike(size, path, info):
        return size.text
    text = exact_in(size.value, info.units)
    if size.tolerance is None:
        return f"{text} ± 0"
    shape = "" if size.distribution == "normal" else f" {size.distribution}"  # a ± alone is read as normal
    return f"{text} ± {exact_in(size.tolerance.value, info.units)}{shape}"


def _reads_alike(size: Working, path: str, info: CarInfo) -> bool:
    """Return whether the file would give the text the same value and the same doubt behind this key."""
    key = key_named(path)
    taken: Taken = key.taken if key is not None and key.taken else "nominal"  # type: ignore[assignment]  # the table's words
    try:
        read = parse_length(
            size.text,
            units=info.units,
            ratio=info.ratio.value if info.ratio is not None else None,
            taken=taken,
            measured_with=info.measured_with,
            allow_negative=True,
        )
    except InputError:
        return False
    return (
        abs(read.mm - size.value) < LENGTH_TOL_MM
        and read.distribution == size.distribution
        and abs(read.tolerance_mm - size.tolerance_value) < LENGTH_TOL_MM
    )
