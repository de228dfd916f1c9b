"""Writing a car file: values changed in place and every comment kept, a new file with every key, a safe save."""

from __future__ import annotations

import contextlib
import os
import re
import tempfile
import textwrap
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING, Any

from carwright.car.document import decoded
from carwright.car.keys import Key, Section, key_named, keys, sections
from carwright.car.statements import quoted
from carwright.problems import InputError, Problem

if TYPE_CHECKING:
    from tomlkit import TOMLDocument

__all__ = ["Written", "new_car_text", "parts_of", "save", "set_values"]

Written = str | int | float | bool | Sequence[str] | Sequence[Sequence[str]] | None
"""What may be written behind a key; None takes the key out."""

_MARK = b"\xef\xbb\xbf"
_PART = re.compile(r"([A-Za-z0-9_-]+)((?:\[\d+\])*)")
_WIDTH = 100


def set_values(document: bytes, changes: Mapping[str, Written]) -> bytes:
    """Return the car file with some values changed; comments, order, byte-order mark and line ends stay as they are.

    Args:
        document: the bytes of a car file that ``read_car`` accepts.
        changes: place ("trucks.a.washers", "body.inside_width[1]", "shelf.sheet[0].thickness") to what shall stand
            there; None takes the key out. A missing section is made; an index one past the last adds a table.

    Returns:
        The new file. Read again, it differs from the old one in ``changes`` alone.

    Raises:
        InputError: the document is not TOML, a place names no key, or an index is past the end.
    """
    import tomlkit
    from tomlkit.exceptions import TOMLKitError

    text = decoded(document)
    crlf = b"\r\n" in document and document.count(b"\n") == document.count(b"\r\n")
    mixed = not crlf and b"\r\n" in document and not re.search(rb"\r(?!\n)", document)
    plain = document.removeprefix(_MARK).decode("utf-8") if mixed else text
    problems = [
        Problem("there is no such key", place, mend="Name a key of the car file.", key=place)
        for place in changes
        if key_named(place) is None or place.startswith("shop.")
    ]
    if problems:
        raise InputError(problems)
    try:
        tomllib.loads(plain)
        tree = tomlkit.parse(plain)
    except (TOMLKitError, ValueError, RecursionError) as error:
        mend = "Mend what reading it reports."
        raise InputError(
            Problem("the file cannot be changed, because it is not TOML", str(error)[:80], "", mend)
        ) from None
    try:
        for place, value in changes.items():
            _set(tree, place, value)
    except InputError:
        raise
    except (TOMLKitError, ValueError, TypeError, LookupError):
        raise _unsafe(changes) from None
    new = tomlkit.dumps(tree)
    if plain and not plain.endswith("\n") and new.startswith(plain):
        new = f"{plain}\n{new[len(plain) :].lstrip()}"
    _check(plain, new, changes)
    new = _spaced(plain, new)
    if crlf:
        new = new.replace("\n", "\r\n")
    return (_MARK if document.startswith(_MARK) else b"") + new.encode("utf-8")


def parts_of(place: str) -> list[str | int]:
    """Return the names and indexes of a place: "body.lug[0].x" is body, lug, 0, x."""
    found: list[str | int] = []
    for name, indexes in _PART.findall(place):
        found.append(name)
        found.extend(int(each) for each in re.findall(r"\d+", indexes))
    return found


def _set(tree: TOMLDocument, place: str, value: Written) -> None:
    """Put ``value`` at ``place`` in the tree, making the tables on the way."""
    import tomlkit
    from tomlkit.items import InlineTable

    parts = parts_of(place)
    node: Any = tree
    for at, part in enumerate(parts[:-1]):
        following = parts[at + 1]
        if isinstance(part, int):
            if part == len(node) and not isinstance(following, int):
                if value is None:
                    return
                node.append(tomlkit.table())
            _in_range(node, part, place)
            node = node[part]
            continue
        if part not in node:
            if value is None:
                return
            inline = isinstance(node, InlineTable)
            fresh: Any = tomlkit.inline_table() if inline else tomlkit.table()
            node[part] = fresh if not isinstance(following, int) else tomlkit.array() if inline else tomlkit.aot()
        node = node[part]
        if not isinstance(node, (dict, list)):
            what = "there is no list at this place" if isinstance(following, int) else "a value stands in the way"
            mend = "Change the value itself, or make it a list or section first."
            raise InputError(Problem(what, place, mend=mend, key=place))
    last = parts[-1]
    if isinstance(last, int):
        if not isinstance(node, list):
            raise InputError(Problem("there is no list at this place", place, "a list", key=place))
        if last == len(node) and value is not None:
            node.append(_item(value))
            return
        _in_range(node, last, place)
        if value is None:
            del node[last]
        else:
            node[last] = _item(value)
    elif value is None:
        if last in node:
            del node[last]
    else:
        old = node.get(last)
        node[last] = _item(value)
        if old is not None and getattr(old, "trivia", None) is not None and old.trivia.comment:
            trivia = node[last].trivia
            room = len(old.as_string()) + len(old.trivia.comment_ws) - len(node[last].as_string())
            trivia.comment_ws = " " * max(2, room)


def _in_range(node: Any, index: int, place: str) -> None:
    if not isinstance(node, list) or index >= len(node):
        raise InputError(
            Problem(
                "there is nothing at this place of the list",
                place,
                f"0 to {len(node)}" if isinstance(node, list) else "a list",
                "Count from 0.",
                key=place,
            )
        )


def _item(value: Written) -> Any:
    import tomlkit

    if isinstance(value, str):
        literal = quoted(value).startswith("'") and value.isprintable()
        return tomlkit.string(value, literal=literal)
    if isinstance(value, (list, tuple)):
        array = tomlkit.array()
        for each in value:
            array.append(_item(each))
        return array
    return tomlkit.item(value)


def _spaced(old: str, new: str) -> str:
    """Return ``new`` with an empty line before each section header that ``old`` has not."""
    known = set(pairwise(old.split("\n")))
    lines: list[str] = []
    for line in new.split("\n"):
        if line.startswith("[") and lines and lines[-1].strip() and not lines[-1].startswith("#"):
            lines.extend([""] if (lines[-1], line) not in known else [])
        lines.append(line)
    spaced = "\n".join(lines)
    return spaced if tomllib.loads(spaced) == tomllib.loads(new) else new


def _plain_value(value: Written) -> Any:
    return [_plain_value(each) for each in value] if isinstance(value, (list, tuple)) else value


def _check(old: str, new: str, changes: Mapping[str, Written]) -> None:
    """Read both texts and make sure that they differ in ``changes`` alone: nothing wrong is ever written."""
    expected: Any = tomllib.loads(old)
    for place, value in changes.items():
        parts = parts_of(place)
        node: Any = expected
        for at, part in enumerate(parts[:-1]):
            empty: Any = [] if isinstance(parts[at + 1], int) else {}
            if isinstance(part, int):
                if part == len(node):
                    node.append(empty)
                node = node[part]
            else:
                node = node.setdefault(part, empty)
        last = parts[-1]
        if value is None:
            if isinstance(last, str):
                node.pop(last, None)
            elif last < len(node):
                del node[last]
        elif isinstance(last, int) and last == len(node):
            node.append(_plain_value(value))
        else:
            node[last] = _plain_value(value)
    if _without_empty(tomllib.loads(new)) != _without_empty(expected):
        raise _unsafe(changes)


def _unsafe(changes: Mapping[str, Written]) -> InputError:
    mend = "Change the values with a text editor; nothing was written."
    problem = "the file is written in a way that cannot be changed safely"
    return InputError(Problem(problem, ", ".join(changes), mend=mend))


def _without_empty(node: Any) -> Any:
    """Return a tree without the tables in which nothing stands."""
    if isinstance(node, dict):
        kept = {name: _without_empty(each) for name, each in node.items()}
        return {name: each for name, each in kept.items() if each != {}}
    if isinstance(node, list):
        return [_without_empty(each) for each in node]
    return node


def save(path: str | Path, data: bytes) -> None:
    """Write ``data`` to ``path`` whole or not at all: a temporary file beside it, forced to the disk, then renamed.

    A file that is there keeps its mode; a link is followed.

    Raises:
        InputError: it cannot be written; then the old file is untouched.
    """
    target = Path(path)
    temporary = ""
    try:
        target = target.resolve() if target.is_symlink() else target
        mode = target.stat().st_mode & 0o7777 if target.exists() else None
        handle, temporary = tempfile.mkstemp(dir=target.parent, prefix=f".{target.name[:80]}.", suffix=".part")
        with os.fdopen(handle, "wb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        Path(temporary).chmod(mode if mode is not None else 0o666 & ~_umask())
        Path(temporary).replace(target)
    except BaseException as error:
        if temporary:
            with contextlib.suppress(OSError):
                Path(temporary).unlink(missing_ok=True)
        if not isinstance(error, (OSError, ValueError)):
            raise
        why = (getattr(error, "strerror", None) or str(error)).lower()
        mend = "Check the folder and its rights; nothing was written."
        raise InputError(Problem(f"the file cannot be written: {why}", str(path), mend=mend)) from None


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask


# ------------------------------------------------------------------------------------------------------------ new file


def new_car_text(answers: Mapping[str, Written]) -> str:
    """Return the text of a new car file: every key with its question, those in ``answers`` filled in.

    Args:
        answers: place to value, as for ``set_values``; None and "" count as not answered.

    Returns:
        TOML that ``read_car`` reads as exactly these answers; every other key stands behind ``#``.

    Raises:
        InputError: a place names no key.
    """
    unknown = [place for place in answers if key_named(place) is None]
    if unknown:
        raise InputError(Problem("there is no such key", place, key=place) for place in unknown)
    given = {place: value for place, value in answers.items() if value is not None and value != ""}
    lines = [
        "# A car file. Measure what you can and leave the rest: nothing is refused because it is missing.",
        "# Take the # away before a key and put the measurement between its quotes.",
        "# The letters are those of the measuring sheet. Bare numbers take the units named below.",
    ]
    for section in sections():
        asked = any(not key.program for key in keys() if key.section == section.path)
        if asked or _rows_given(section.path.removesuffix("[]"), given):
            lines += ["", *_section_lines(section, given)]
    return "\n".join(lines) + "\n"


def _section_lines(section: Section, given: Mapping[str, Written]) -> Iterator[str]:
    yield from _comment(f"{section.title}. {section.what}")
    own = [key for key in keys() if key.section == section.path]
    if not section.many:
        yield section.header
        for key in own:
            yield from _key_lines(key, given.get(key.path))
        if section.ends:
            yield from _end_lines(section, own, given)
        return
    bare = section.path.removesuffix("[]")
    rows = _rows_given(bare, given)
    if not rows:
        yield f"# {section.header}"
        for key in own:
            if not key.program:
                yield from _key_lines(key, None)
        return
    for at, row in enumerate(rows):
        if at:
            yield ""
        yield section.header
        for key in own:
            value = given.get(f"{bare}[{row}].{key.name}")
            if at == 0 and not key.program:
                yield from _key_lines(key, value)
            elif value is not None:
                yield f"{key.name} = {_toml(value)}"


def _rows_given(bare: str, given: Mapping[str, Written]) -> list[int]:
    found = (re.match(rf"{re.escape(bare)}\[(\d+)\]\.", place) for place in given)
    return sorted({int(each.group(1)) for each in found if each is not None})


def _end_lines(section: Section, own: Sequence[Key], given: Mapping[str, Written]) -> Iterator[str]:
    for end in ("a", "b"):
        values = {key.name: given[f"{section.path}.{end}.{key.name}"] for key in own
                  if f"{section.path}.{end}.{key.name}" in given}  # fmt: skip
        yield ""
        if not values:
            yield f"# [{section.path}.{end}]"
            continue
        yield f"[{section.path}.{end}]"
        for name, value in values.items():
            yield f"{name} = {_toml(value)}"


def _key_lines(key: Key, value: Written) -> Iterator[str]:
    words = "" if not key.choices else f" One of: {', '.join(key.choices)}."
    yield from _comment(f"{key.letter}  {key.question} {key.how}{words} Default: {key.default}.")
    if value is not None:
        yield f"{key.name} = {_toml(value)}"
    else:
        yield f"# {key.name} = {'[]' if key.kind in ('lengths', 'texts', 'windows') else _empty(key)}"


def _empty(key: Key) -> str:
    return "false" if key.kind == "flag" else '""'


def _comment(text: str) -> Iterator[str]:
    for at, line in enumerate(textwrap.wrap(text, _WIDTH)):
        yield f"# {line}" if at == 0 else f"#     {line}"


def _toml(value: Written) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, (list, tuple)):
        return f"[{', '.join(_toml(each) for each in value)}]"
    if isinstance(value, str):
        if value.isprintable():
            return quoted(value)
        import tomlkit

        return tomlkit.string(value).as_string()
    return str(value)
