"""``carwright shop``: looking after the shop: check, copy, put back, and exchange with plain files."""

from __future__ import annotations

import json as json_format
import sys
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Literal

from cyclopts import Parameter

from carwright.problems import InputError, Problem

if TYPE_CHECKING:
    from carwright.shop import Shop
    from carwright.shop.checking import Checked

__all__ = ["command"]

Act = Literal["list", "check", "backup", "restore", "export", "import", "migrate", "account"]

_TAKES: dict[Act, tuple[int, int, str]] = {
    "list": (0, 0, ""),
    "check": (0, 0, ""),
    "backup": (1, 1, "COPY"),
    "restore": (1, 1, "COPY"),
    "export": (1, 1, "FOLDER"),
    "import": (1, 999, "CAR.toml"),
    "migrate": (0, 0, ""),
    "account": (1, 2, "add NAME"),
}
"""How many words stand behind each, least and most, and an example."""

Said = tuple[dict[str, Any], list[str], int]
"""What was done as JSON values, the same in lines, and the exit status."""


def command(
    act: Act,
    /,
    *words: str,
    shop: Annotated[str | None, Parameter(name="--shop")] = None,
    car: str | None = None,
    originals: bool = False,
    yes: bool = False,
    json: bool = False,
) -> int:
    """List the shop's cars, check it, copy it, put a copy back, or exchange it with plain files.

    list; check goes through every revision; backup COPY copies it while it is open;
    restore COPY puts a copy back; export FOLDER writes everything as plain files;
    import reads such a folder, or adds car files, a shelf file or a shelf's CSV;
    with --car a file becomes the next revision of a car that is there;
    migrate brings the shop of an older version up to this one; account add NAME,
    account remove NAME and account list say who may come into a club's shop.

    Args:
        act: list, check, backup, restore, export, import, migrate or account.
        words: What the word before asks for: files, or what to do with an account.
        shop: The shop: a file, or postgresql://... Without it, the one in your data folder.
        car: With export: only this car's file, by its short name. With import: the car that the file is of.
        originals: With export: photographs too as the camera made them, with the place that they may name.
        yes: With migrate: the server's shop has been copied; bring it up.
        json: Print JSON for other programs.
    """
    least, most, example = _TAKES[act]
    if not least <= len(words) <= most:
        problem = f"`carwright shop {act}` takes {'more' if len(words) < least else 'fewer'} words"
        raise InputError(Problem(problem, " ".join(words), f"carwright shop {act} {example}".rstrip()))
    said, lines, status = _done(act, words, shop, car, originals, yes)
    print(json_format.dumps(said, ensure_ascii=False, indent=2) if json else "\n".join(lines))
    return status


def _done(act: Act, words: tuple[str, ...], where: str | None, car: str | None, originals: bool, yes: bool) -> Said:
    from carwright.shop import open_shop

    files = tuple(map(Path, words))
    match act:
        case "backup":
            return _backup(files[0], where)
        case "restore":
            return _restore(files[0], where)
        case "migrate":
            with open_shop(where, migrate_server=yes) as shop:
                return {"shop": str(shop.place)}, [f"The shop is of this version: {shop.place}"], 0
        case "import":
            with open_shop(where) as shop:
                return _import(shop, files, car)
        case "export":
            with open_shop(where, create=False) as shop:
                return _export(shop, files[0], car, originals)
        case "check":
            return _check(where)
        case "list":
            with open_shop(where, create=False) as shop:
                return _list(shop)
        case "account":
            with open_shop(where) as shop:
                return _account(shop, words[0], words[1] if len(words) > 1 else None)


def _account(shop: Shop, what: str, name: str | None) -> Said:
    """List the accounts, add one with a pass phrase that is asked for, or take one away."""
    from carwright.web.accounts import Accounts

    if what not in ("add", "remove", "list") or (name is None) != (what == "list"):
        accepted = "carwright shop account add NAME, remove NAME, or list"
        raise InputError(Problem("this cannot be done with an account", f"{what} {name or ''}".strip(), accepted))
    accounts = Accounts(shop)
    if name is None:
        names = accounts.names()
        return {"accounts": names}, names or ["Nobody has a name here yet."], 0
    if what == "add":
        kept = accounts.add(name, _phrase(), on=datetime.now(UTC).date().isoformat())
        return {"added": kept}, [f"{kept} may come in with this pass phrase."], 0
    kept = accounts.remove(name)
    line = f"{kept} may no longer come in. Whoever is in stays in until `carwright serve` ends: start it again."
    return {"removed": kept}, [line], 0


def _phrase() -> str:
    """Return the pass phrase as it is typed unseen, twice; or the first line of what comes through a pipe."""
    if sys.stdin is None or not sys.stdin.isatty():
        line = "" if sys.stdin is None else sys.stdin.readline()
        try:
            line.encode("utf-8")
        except UnicodeEncodeError:  # bytes that are no text come as half signs
            mend = "Nothing was kept. Type it, or send one line of text."
            raise InputError(Problem("the pass phrase is no text", accepted="a line in UTF-8", mend=mend)) from None
        return line.rstrip("\r\n")
    from getpass import getpass

    first, again = getpass("Pass phrase, ten signs at least: "), getpass("The same again: ")
    if first != again:
        raise InputError(Problem("the two are not alike", mend="Nothing was kept. Give the command again."))
    return first


def _list(shop: Shop) -> Said:
    from carwright.shop import STAGES, CarCard

    cards: list[CarCard] = []
    while page := shop.cars(limit=500, after=cards[-1].slug if cards else None):
        cards += page
    cards.sort(key=lambda each: (STAGES.index(each.stage), each.slug))
    rows = [
        {"car": each.slug, "name": each.name, "stage": each.stage, "revision": each.revision, "beside": each.beside}
        for each in cards
    ]
    width = max((len(each.slug) for each in cards), default=0)
    lines = [
        f"{each.stage:<8}{each.slug:<{width + 2}}{each.name}, revision {each.revision}"
        + (f"; {each.beside} more beside it to choose from" if each.beside else "")
        for each in cards
    ]
    return {"shop": str(shop.place), "cars": rows}, lines or ["There are no cars in the shop yet."], 0


def _check(where: str | None) -> Said:
    from carwright.shop import open_shop
    from carwright.shop.places import ShopDamaged

    try:
        with open_shop(where, create=False) as shop:
            return _checked(shop, shop.check())
    except ShopDamaged as damage:
        problem = damage.problems[0]
        said = {"shop": problem.file, "faults": [problem.problem]}
        return said, [problem.file, f"{problem.problem[:1].upper()}{problem.problem[1:]}.", problem.mend], 1


def _checked(shop: Shop, found: Checked) -> Said:
    lines = [
        str(shop.place),
        f"{found.cars} cars, {found.revisions} revisions, {found.photographs} photographs.",
        f"{found.bytes / 1e6:.1f} MB of documents, each compared with what was saved.",
        *(found.faults or ("All is well.",)),
        *shop.place.cautions,
    ]
    if found.faults:
        lines.append("Leave the file as it is, and fetch the last copy back with: carwright shop restore COPY")
    said = {"shop": str(shop.place), **asdict(found), "cautions": list(shop.place.cautions)}
    return said, lines, 1 if found.faults else 0


def _backup(to: Path, where: str | None) -> Said:
    from carwright.shop.copies import backup
    from carwright.shop.places import place_of

    place = place_of(where)
    backup(place, to)
    size = to.stat().st_size
    line = f"Copied {where or place} to {to} and checked the copy ({size / 1e6:.1f} MB)."
    return {"shop": str(place), "copy": str(to), "bytes": size}, [line], 0


def _restore(copy: Path, where: str | None) -> Said:
    from carwright.shop import open_shop
    from carwright.shop.copies import restore
    from carwright.shop.places import place_of

    place = place_of(where)
    aside = restore(place, copy, at=datetime.now(UTC))
    open_shop(where).close()  # a copy of an older version is brought up at once
    lines = [f"{where or place} is now as in {copy}."]
    if aside is not None:
        lines.append(f"What stood there before is kept beside it: {aside.name}")
    return {"shop": str(place), "copy": str(copy), "before": None if aside is None else str(aside)}, lines, 0


def _export(shop: Shop, to: Path, car: str | None, originals: bool) -> Said:
    from carwright.draw.files import checked_place, write_file

    if car is not None:
        head = shop.car(car).head
        path = checked_place(to, ".toml", source=Path(), option="export")
        if path.exists() and shop.holder(path.read_bytes()) is None:
            mend = f"Name another, or keep what it says first: carwright shop import {path} --car {car}"
            raise InputError(Problem("the shop does not know what stands in this file", mend=mend, file=str(path)))
        write_file(path, head.data, option="export")
        line = f"Wrote {car}, revision {head.number}, to {path}."
        return {"car": car, "revision": head.number, "file": str(path)}, [line], 0
    count = shop.export_folder(to, originals=originals)
    lines = [f"Wrote {count} files to {to}."]
    if not originals and any(to.glob("cars/*/photographs")):
        lines.append("Photographs are as they are shown; --originals takes them along as the camera made them.")
    return {"folder": str(to), "files": count}, lines, 0


def _import(shop: Shop, files: tuple[Path, ...], car: str | None) -> Said:
    from carwright.shop.folders import is_shop_folder

    if is_shop_folder(files[0]) and len(files) == 1 and car is None:
        count = shop.import_folder(files[0])
        return {"cars": count}, [f"Read the whole shop: {count} cars."], 0
    named = [each for file in files for each in (sorted(file.glob("*.toml")) if file.is_dir() else [file])]
    listed = list(dict.fromkeys(named))
    if not listed:
        raise InputError(Problem("there is no car file in this folder", file=str(files[0]), accepted="files *.toml"))
    if car is not None:
        if len(listed) != 1:
            problem = "a car's next revision is one file"
            raise InputError(Problem(problem, ", ".join(map(str, listed)), "one car file", key="--car"))
        done = [_revised(shop, listed[0], _document(listed[0]), car)]
    else:
        done = _all_taken_in(shop, [(path, _document(path)) for path in listed])
    lines = [line for each in done for line in each.lines]
    said = {"files": [str(each.path) for each in done], "taken_in": [each.as_json() for each in done]}
    return said, lines, 1 if any(each.problems for each in done) else 0


@dataclass(frozen=True, slots=True)
class _TakenIn:
    """One file that came in, or was there: what was done with it, and what in it cannot be used yet."""

    path: Path
    done: str
    car: str | None = None
    added: bool = True
    problems: tuple[Problem, ...] = ()

    @property
    def lines(self) -> list[str]:
        count = len(self.problems)
        if not count:
            return [f"{self.path}: {self.done}"]
        many = "one thing in it cannot be used" if count == 1 else f"{count} things in it cannot be used"
        return [f"{self.path}: {self.done}; {many} until it is mended:", *(f"  {each}" for each in self.problems)]

    def as_json(self) -> dict[str, Any]:
        problems = [each.as_dict() for each in self.problems]
        return {"file": str(self.path), "car": self.car, "added": self.added, "done": self.done, "problems": problems}


def _document(path: Path) -> bytes:
    from carwright.car.read import bytes_of

    return bytes_of(path)


def _revised(shop: Shop, path: Path, data: bytes, car: str) -> _TakenIn:
    """Keep a file as the next revision of a car that is there."""
    from carwright.shop.incoming import car_file

    found, head = car_file(data, file=str(path)), shop.car(car).head
    if head.data == data:
        return _TakenIn(path, f"is revision {head.number} of {car} already; nothing added", car, added=False)
    saved = shop.save(car, data, based_on=head.number, note=f"from {path.name}")
    return _TakenIn(path, f"revision {saved.revision} of {car}", car, problems=found.problems)


def _all_taken_in(shop: Shop, documents: Sequence[tuple[Path, bytes]]) -> list[_TakenIn]:
    """Take in cars and shelves, every one of them or, where one cannot be, none."""
    problems: list[Problem] = []
    acts: list[Callable[[], _TakenIn]] = []
    names: dict[str, Path] = {}
    seen: dict[bytes, Path] = {}
    for path, data in documents:
        first = seen.setdefault(data, path)
        if first != path:
            acts.append(partial(_TakenIn, path, f"is the same file as {first}; nothing added", added=False))
            continue
        try:
            acts.append(_act_for(shop, path, data, names))
        except InputError as error:
            problems += error.problems
    if problems:
        raise InputError(problems)
    return [act() for act in acts]


def _act_for(shop: Shop, path: Path, data: bytes, names: dict[str, Path]) -> Callable[[], _TakenIn]:
    """Return what takes one file in; ``names`` are those of the cars before it, and grow by its own."""
    if path.suffix.casefold() == ".csv":
        return partial(_listed_on_shelf, shop, path, data)
    if _is_shelf(data):
        from carwright.car.read import read_shelf

        read_shelf(data, file=str(path))
        return partial(_on_shelf, shop, data, path)
    from carwright.shop.incoming import car_file

    found = car_file(data, file=str(path))
    holder = shop.holder(data)
    if holder is not None:
        done = f"is in the shop already, as revision {holder[1]} of {holder[0]}; nothing added"
        return lambda: _TakenIn(path, done, holder[0], added=False)
    called = found.name or path.stem
    here = shop.named(called)
    if here:
        mend = (
            f"If it is that car: carwright shop import {path} --car {here[0]} keeps it as the next revision. "
            "If it is another, give it a name of its own in car.name. Nothing was added."
        )
        raise InputError(
            Problem(f"the shop has another file of a car of this name, {here[0]}", called, mend=mend, file=str(path))
        )
    first = names.setdefault(called.casefold(), path)
    if first != path:
        mend = "Give each car a name of its own in car.name. Nothing was added."
        raise InputError(Problem(f"this car has the name of the one in {first}", called, mend=mend, file=str(path)))
    return partial(_added, shop, path, data, called, found.problems)


def _added(shop: Shop, path: Path, data: bytes, name: str, problems: tuple[Problem, ...]) -> _TakenIn:
    saved = shop.add_car(data, name=name, note=f"from {path.name}")
    return _TakenIn(path, f"added as {saved.slug}", saved.slug, problems=problems)


def _listed_on_shelf(shop: Shop, path: Path, data: bytes) -> _TakenIn:
    """Put a shelf's list on the shop's shelf as it then is."""
    from carwright.car.listtext import text_of_list
    from carwright.car.shelfcsv import shelf_of_csv

    made = shelf_of_csv(
        text_of_list(data, file=str(path)), shop.shelf()[0] or None, file=str(path), into="the shop's shelf"
    )
    return _on_shelf(shop, made.document, path)


def _on_shelf(shop: Shop, data: bytes, path: Path) -> _TakenIn:
    saved = shop.save_shelf(data, based_on=shop.shelf()[1], note=f"from {path.name}")
    return _TakenIn(path, f"the shelf, revision {saved.revision}")


def _is_shelf(data: bytes) -> bool:
    """Return whether a file is of a shelf alone, without a car."""
    import tomllib

    try:
        tables = tomllib.loads(data.decode("utf-8-sig"))
    except (ValueError, RecursionError):  # neither text nor TOML, or a number too long to read
        return False
    return "shelf" in tables and tables.keys() <= {"shelf", "car", "paint"} and "name" not in tables.get("car", {})
