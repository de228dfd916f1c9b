"""Writing a file whole or not at all."""

from __future__ import annotations

import contextlib
import os
import tempfile
from pathlib import Path

from carwright.problems import InputError, Problem

__all__ = ["write_file"]


def write_file(path: Path, data: bytes) -> None:
    """Write ``data`` to ``path`` by way of a temporary file beside it, making the folder where it is wanting.

    A reader sees the old file or the new one, never a part; an existing file keeps its mode.

    Raises:
        InputError: the place cannot be written, with the system's reason.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, temporary = tempfile.mkstemp(prefix=f".{path.name[:40]}.", suffix=".tmp", dir=path.parent)
        try:
            with os.fdopen(handle, "wb") as stream:
                stream.write(data)
                stream.flush()
                os.fsync(stream.fileno())
            mode = path.stat().st_mode & 0o777 if path.exists() else 0o666 & ~_mask()
            Path(temporary).chmod(mode)
            Path(temporary).replace(path)
        except BaseException:
            with contextlib.suppress(OSError):
                Path(temporary).unlink()
            raise
    except OSError as fault:
        reason = fault.strerror or str(fault)
        mend = "Choose another place with --out."
        raise InputError(Problem("the file cannot be written", reason, file=str(path), mend=mend)) from fault


def _mask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
