"""Which printer needs which correction: one small file in the user's own data folder.

``printers.toml`` holds one table for each printer with its two factors. The folder is ``CARWRIGHT_DATA`` where that is
set, else the platform's usual place for an application's data. It is written whole, to a temporary file that is then
renamed; a file that cannot be read is reported, never overwritten.
"""

from __future__ import annotations

import json
import os
import sys
import tomllib
from collections.abc import Mapping
from pathlib import Path

from carwright.car.keys import near_words
from carwright.draw.bars import Correction, usable_factor
from carwright.draw.files import write_file
from carwright.problems import InputError, Problem

__all__ = ["data_folder", "known_printers", "remember", "remembered", "remembered_or_new"]

_LONGEST_NAME = 60


def data_folder(environment: Mapping[str, str] = os.environ, platform: str = sys.platform) -> Path:
    """Return the folder for this user's data; it may not exist yet."""
    own = environment.get("CARWRIGHT_DATA", "")
    if own:
        return Path(own)
    home = Path(environment.get("HOME") or environment.get("USERPROFILE") or Path.home())
    if platform == "win32":
        return Path(environment.get("APPDATA") or home / "AppData" / "Roaming") / "Carwright"
    if platform == "darwin":
        return home / "Library" / "Application Support" / "Carwright"
    return Path(environment.get("XDG_DATA_HOME") or home / ".local" / "share") / "carwright"


def known_printers(folder: Path) -> Mapping[str, Correction]:
    """Return every printer remembered, by name.

    Raises:
        InputError: the file is there and cannot be used; it says what to do with it.
    """
    path = folder / "printers.toml"
    try:
        data = path.read_bytes()
    except FileNotFoundError:
        return {}
    except OSError as fault:
        raise _unusable(path, f"it cannot be read ({fault.strerror})") from fault
    try:
        tables = tomllib.loads(data.decode("utf-8"))
    except (UnicodeDecodeError, tomllib.TOMLDecodeError) as fault:
        raise _unusable(path, "it is not a list of printers") from fault
    found: dict[str, Correction] = {}
    for name, table in tables.items():
        x, y = (table.get(axis) if isinstance(table, dict) else None for axis in ("x", "y"))
        if not (isinstance(x, float) and isinstance(y, float) and usable_factor(x) and usable_factor(y)):
            raise _unusable(path, f'the printer "{name}" has no usable x and y')
        found[name] = Correction(x, y, name)
    return found


def remembered(folder: Path, name: str) -> Correction:
    """Return what is remembered of the printer ``name``.

    Raises:
        InputError: the name is none, or nothing was ever remembered under it; it lists those that are known.
    """
    name = _checked(name)
    known = known_printers(folder)
    if name in known:
        return known[name]
    give = "To store one, give --printed-x and --printed-y beside its name."
    if not known:
        accepted, mend = "a printer whose bars were once measured; none is yet", give
    else:
        near = near_words(name, tuple(known), many=1)
        accepted = ", ".join(f'"{each}"' for each in sorted(known))
        mend = (f'Did you mean "{near[0]}"? ' if near else "") + give
    raise InputError(Problem("nothing is remembered of this printer", name, accepted, mend, key="--printer"))


def remembered_or_new(folder: Path, name: str) -> Correction:
    """Return what is remembered of the printer ``name``; nothing corrected where it is new."""
    name = _checked(name)
    return known_printers(folder).get(name, Correction(printer=name))


def remember(folder: Path, correction: Correction) -> None:
    """Keep the correction under its printer's name, in place of what was kept before."""
    name = _checked(correction.printer)
    printers = {**known_printers(folder), name: correction}
    lines = ["# What Carwright knows of your printers: factors for what is drawn true to size.", ""]
    for each in sorted(printers):
        kept = printers[each]
        lines += [f"[{json.dumps(each, ensure_ascii=False)}]", f"x = {kept.x!r}", f"y = {kept.y!r}", ""]
    write_file(folder / "printers.toml", "\n".join(lines).encode("utf-8"))


def _checked(name: str) -> str:
    name = " ".join(name.split())
    if not name or len(name) > _LONGEST_NAME or not name.isprintable():
        accepted = f"1 to {_LONGEST_NAME} printable signs"
        raise InputError(Problem("this cannot be a printer's name", name[:80], accepted, key="--printer"))
    return name


def _unusable(path: Path, why: str) -> InputError:
    mend = "Mend it, or move it away and measure the bars again."
    return InputError(Problem(f"the file of printers cannot be used: {why}", file=str(path), mend=mend))
