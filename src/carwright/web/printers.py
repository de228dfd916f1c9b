"""The printers of a shop: what the bars of a print measured, kept under the printer's name."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Final

from carwright.draw.bars import Correction, factor_from, usable_factor
from carwright.problems import InputError, Problem

if TYPE_CHECKING:
    from carwright.shop import Shop

__all__ = ["known", "measured", "remember", "remembered"]

_SETTING: Final = "printer."
_LONGEST: Final = 40


def known(shop: Shop) -> tuple[Correction, ...]:
    """Return every printer of the shop, by name."""
    return tuple(_kept(name.removeprefix(_SETTING), text) for name, text in sorted(shop.settings(_SETTING).items()))


def remembered(shop: Shop, name: str) -> Correction | None:
    """Return what is remembered of a printer, None where its bars were never measured."""
    plain = " ".join(name.split())
    text = shop.setting(_SETTING + plain) if plain and len(plain) <= _LONGEST else None
    return None if text is None else _kept(plain, text)


def measured(name: str, across: str, up: str) -> Correction:
    """Return the correction that two readings call for.

    Raises:
        InputError: the name is none, or a reading is not one of a printed bar.
    """
    problems: list[Problem] = []
    plain = " ".join(name.split())
    if not plain or len(plain) > _LONGEST or not plain.isprintable():
        accepted = f"1 to {_LONGEST} printable signs"
        problems.append(Problem("this cannot be a printer's name", name[:80], accepted, key="printer"))
    factors = []
    for key, text in (("across", across), ("up", up)):
        try:
            factors.append(factor_from(text, option=key))
        except InputError as trouble:
            problems.extend(trouble.problems)
    if problems:
        raise InputError(problems)
    return Correction(factors[0], factors[1], plain)


def remember(shop: Shop, correction: Correction) -> None:
    """Keep a correction under its printer's name, in place of what was kept before."""
    shop.put_setting(_SETTING + correction.printer, json.dumps({"x": correction.x, "y": correction.y}))


def _kept(name: str, text: str) -> Correction:
    """Return a correction as it was kept; one that cannot be used counts as none, and its bars are measured again."""
    try:
        found = json.loads(text)
        x, y = float(found["x"]), float(found["y"])
    except (ValueError, TypeError, KeyError):
        return Correction(printer=name)
    return Correction(x, y, name) if usable_factor(x) and usable_factor(y) else Correction(printer=name)
