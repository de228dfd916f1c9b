"""Where an output goes, and writing it whole or not at all."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from carwright.car.write import save
from carwright.problems import InputError, Problem

__all__ = ["checked_place", "write_file"]


def write_file(path: Path, data: bytes, *, option: str = "--out") -> bool:
    """Write ``data`` to ``path`` whole or not at all, making the folder where it is wanting.

    Args:
        path: the file's place.
        data: its bytes.
        option: by which the place was named, for the problem.

    Returns:
        Whether a file was there before.

    Raises:
        InputError: the place cannot be written, with the system's reason.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except (OSError, ValueError) as fault:
        reason = (getattr(fault, "strerror", None) or str(fault)).lower()
        mend = f"Choose another place with {option}."
        problem = f"the folder cannot be made: {reason}"
        raise InputError(Problem(problem, str(path.parent), key=option, mend=mend)) from None
    there = path.exists()
    try:
        save(path, data)
    except InputError as error:
        mend = f"Choose another place with {option}, or check the folder and its rights; nothing was written."
        raise InputError(replace(each, key=option, mend=mend) for each in error.problems) from None
    return there


def checked_place(path: Path, suffix: str, *, source: Path, option: str = "--out") -> Path:
    """Return ``path`` where a file of this kind may be written, or over one of the same kind.

    Args:
        path: the file's place.
        suffix: what its name has to end in (".pdf"), upper or lower case.
        source: the car file, which is never written over.
        option: by which the place was named, for the problem.

    Raises:
        InputError: the name ends otherwise, a folder is in its place, or it is the car file.
    """
    if path.suffix.lower() != suffix:
        accepted = f"a name that ends in {suffix}" + (", or a folder" if option == "--out" else "")
        raise InputError(Problem("the name does not fit what is written", str(path), accepted, key=option))
    if path.is_dir():
        mend = "Name a file in it, or another place."
        raise InputError(Problem("a folder is in the file's place", str(path), key=option, mend=mend))
    if path.exists() and source.exists() and path.samefile(source):
        mend = f"Choose another name with {option}."
        raise InputError(Problem("this would write over the car file", str(path), key=option, mend=mend))
    return path
