"""Where a shop is kept: a file of the user's own, or a server's database."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path, PurePath
from typing import Literal

from carwright.draw.printers import data_folder
from carwright.problems import InputError, Problem

__all__ = ["Place", "ShopDamaged", "ShopFault", "cautions_of", "network_kind", "place_of"]

_FILE = "shop.carwright"
"""Name of the shop's file in the user's data folder."""

_NETWORK = re.compile(
    r"(nfs\d?|cifs|smb\w*|9p|afs|ncpfs|coda|ceph|lustre|glusterfs|davfs\d?|sshfs|gpfs|beegfs|orangefs)$"
)
"""Kinds of file system, as Linux calls them, that are another machine's disk."""

_IN_STEP = re.compile(r"\.\w*sync(_\w+)?(\.db|\.log)?$|\.stfolder$", re.IGNORECASE)
"""Names of hidden files by which services that keep folders in step mark the uppermost of theirs."""

_IN_STEP_ABOVE = frozenset({"cloudstorage"})
"""Folders of the system below which everything is kept in step with another machine."""

_TWIN = re.compile(r"conflict", re.IGNORECASE)
"""What such services put into the name of the second of two files that were changed at once."""


class ShopFault(InputError):  # noqa: N818 -- a fault of the file or server, not a slip in what was typed
    """The shop cannot be reached or written; nothing that was acknowledged is lost."""


class ShopDamaged(ShopFault):
    """The shop's file is damaged, or is none: a copy has to be put back."""


@dataclass(frozen=True, slots=True)
class Place:
    """Where a shop is.

    Args:
        kind: a file, or a server.
        path: of the file; None for a server.
        url: of the server's database, as given; "" for a file.
        journal_beside: whether saves may go to a second file first, which needs memory shared by all programs that
            have the shop open: not so where they may be on several machines.
        cautions: what its owner should know about the place, each a sentence or two.
    """

    kind: Literal["sqlite", "postgresql"]
    path: Path | None = None
    url: str = ""
    journal_beside: bool = True
    cautions: tuple[str, ...] = ()

    def __str__(self) -> str:
        """Return the place as a person may read it: without the password."""
        if self.path is not None:
            return str(self.path)
        before, at, after = self.url.partition("?")[0].rpartition("@")
        scheme, slashes, user = before.partition("://")
        return f"{scheme}{slashes}{user.split(':')[0]}{at}{after}" if at else after


def place_of(where: str | Path | None) -> Place:
    """Return the place that ``where`` means; without it, the shop in the user's data folder.

    Raises:
        InputError: an address of a kind that no shop can be kept in.
    """
    if where is None or where == "":
        return _file((data_folder() / _FILE).absolute())
    text = str(where)
    if isinstance(where, str) and "://" in text:
        scheme = text.partition("://")[0].casefold()
        if scheme in ("postgresql", "postgres", "postgresql+psycopg"):
            return Place("postgresql", url="postgresql+psycopg://" + text.partition("://")[2])
        raise InputError(
            Problem(
                "a shop cannot be kept there",
                value=scheme + "://",
                accepted="a file's name, or postgresql://user@host/database",
                key="--shop",
            )
        )
    return _file(Path(text).expanduser().absolute())


def _file(path: Path) -> Place:
    cautions = cautions_of(path)
    return Place("sqlite", path, journal_beside=not cautions, cautions=cautions)


def cautions_of(path: Path, *, mounts: str | None = None) -> tuple[str, ...]:
    """Return what should be known about keeping a shop at ``path``.

    Args:
        path: of the shop's file, absolute.
        mounts: what is mounted where, as Linux lists it in /proc/mounts; without it, that list, where there is one.
    """
    found = []
    kind = network_kind(path, _mounts() if mounts is None else mounts)
    if kind:
        found.append(
            f"The shop lies on another machine's disk ({kind}). It is saved in the slower, safe way; open it on one "
            "machine at a time, or let the club's machine serve it."
        )
    if _kept_in_step(path.parent):
        found.append(
            "The shop lies in a folder that some service keeps in step with other machines. Such a service may carry "
            "half a save away: close the shop before you open it elsewhere, or keep it outside and send a copy made "
            "with: carwright shop backup"
        )
    twins = sorted(each.name for each in _beside(path) if each.name != path.name and _TWIN.search(each.name))
    if twins:
        found.append(
            f"Beside the shop lies {twins[0]}: a second state of it, made when it was changed on two machines. Open "
            "that too and carry over what is missing; both are whole."
        )
    return tuple(found)


def network_kind(path: PurePath, mounts: str) -> str:
    """Return the kind of network that a path lies on, or "".

    >>> network_kind(PurePath("/home/ada/shop"), "server:/homes /home nfs4 rw 0 0")
    'nfs4'
    """
    if str(path).startswith(("//", "\\\\")):
        return "a network path"
    best = ("", "")
    for line in mounts.splitlines():
        fields = line.split()
        if len(fields) < 3:
            continue
        at = re.sub(r"\\([0-7]{3})", lambda code: chr(int(code[1], 8)), fields[1])
        if path.is_relative_to(at) and len(at) >= len(best[0]):
            best = (at, fields[2])
    kind = best[1].removeprefix("fuse.")
    return kind if _NETWORK.match(kind) else ""


def _mounts() -> str:
    try:
        return Path("/proc/mounts").read_text(encoding="utf-8", errors="replace")
    except OSError:
        return ""


def _kept_in_step(folder: Path) -> bool:
    """Return whether a folder or one above it, up to the user's own, carries such a service's mark."""
    for each in (folder, *folder.parents):
        if each.name.casefold() in _IN_STEP_ABOVE:
            return True
        if each in (Path(each.anchor), Path.home()):
            return False
        if any(_IN_STEP.match(entry.name) for entry in _entries(each)):
            return True
    return False


def _beside(path: Path) -> list[Path]:
    return [each for each in _entries(path.parent) if each.name.startswith(path.stem)]


def _entries(folder: Path) -> list[Path]:
    try:
        return list(folder.iterdir())
    except OSError:
        return []
