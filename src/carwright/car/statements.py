"""The lines of a car file: split into statements, with each slip of TOML named, mended and passed on to be checked.

A *statement* is one section header or one ``key = value``. Each is parsed by itself, so that one bad line does not hide
the others; a line that TOML refuses is taken as the user most likely meant it, and that is said.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

from carwright.problems import Problem
from carwright.records import quickly_made

__all__ = ["MAX_DEPTH", "MAX_LINE", "MAX_PARTS", "MAX_SLIPS", "Statement", "TypedFloat", "quoted", "statements_of"]

MAX_DEPTH = 24
"""Brackets within brackets that a value may have; a car file needs three."""

MAX_LINE = 4000
"""Characters that a line may have; longer ones are not read, because hostile lines can take minutes to parse."""

MAX_SLIPS = 1000
"""Slips after which the rest of a text is not looked at: it is not a car file."""

MAX_PARTS = 8
"""Parts that a dotted name may have; a car file needs three."""

_BARE = r"(?:[A-Za-z0-9_-]+|\"[^\"\n]*\"|'[^'\n]*')"
_KEY = re.compile(rf"\s*({_BARE}(?:\s*\.\s*{_BARE})*)\s*([=:])[ \t\u00a0]*")
_SPACED_KEY = re.compile(r"\s*([A-Za-z][A-Za-z0-9_ .\u00a0-]*?)\s*([=:])[ \t\u00a0]*")
_HEADER = re.compile(r"\s*(\[{1,2})([^\[\]#=\n]*)(\]{0,2})(.*)$", re.DOTALL)
_NEXT = re.compile(r"[,;\s]+[A-Za-z_][\w.-]*\s*=(?!=)")
_STARTS = re.compile(
    r"\s*(?:[A-Za-z_][\w.-]*\s*=(?!=)"  # a key
    r"|\[{1,2}\s*(?!true\b|false\b|inf\b|nan\b)[A-Za-z_][\w.-]*\s*\]{1,2}\s*(?:#.*)?$)"  # a header
)
_COMMENT = re.compile(r"(?:(?<=\s)|^)#(?!\d{1,2}\b).*$", re.DOTALL)
_ON_A_LINE = 40  # values on one line that are still told apart
_MENDABLE = 20_000  # characters of a statement that is looked at closely when TOML refuses it
_OPENING = "“”„‟«»‘’‚‛"
_CLOSING = "“”»«‘’\"'"
_TRUE = {"true": True, "yes": True, "on": True, "false": False, "no": False, "off": False}


class TypedFloat(float):
    """A TOML float that keeps the text it was typed as: 0.250 is a better reading than 0.25."""

    text: str

    def __new__(cls, text: str) -> TypedFloat:
        """Return the float that ``text`` says, with the text kept."""
        made = super().__new__(cls, text.replace("_", ""))
        made.text = text
        return made


@quickly_made
@dataclass(frozen=True, slots=True)
class Statement:
    """One header or one ``key = value``.

    Args:
        header: whether it begins a section.
        path: the parts of its dotted name.
        many: for a header, whether it stands in double brackets.
        value: for a key, what TOML made of it (or we did, where TOML could not).
        text: the statement as written.
        line: line of its first character, counted from 1.
        column: column of the value (of the header), counted from 1.
        offset: where the value begins in ``text``.
    """

    header: bool
    path: tuple[str, ...]
    many: bool
    value: Any
    text: str
    line: int
    column: int
    offset: int


def quoted(value: str) -> str:
    """Return ``value`` as TOML writes it: in double quotes, or in single ones where it holds an inch mark."""
    if '"' not in value and "\\" not in value:
        return f'"{value}"'
    if "'" not in value:
        return f"'{value}'"
    escaped = value.replace("\\", "\\\\").replace('"', '\\"')
    return f'"{escaped}"'


def statements_of(text: str) -> tuple[tuple[Statement, ...], tuple[Problem, ...]]:
    """Return the statements of a car file and the slips in them; a slip that could be mended gives its statement."""
    problems: list[Problem] = []
    found: list[Statement] = []
    under: tuple[str, ...] = ()
    for line, chunk in _chunks(text):
        if len(problems) >= MAX_SLIPS:
            problems.append(
                Problem("the rest of the file was not read", mend="Check that it is a car file.", line=line)
            )
            break
        slips: list[Problem] = []
        for statement in _read_chunk(chunk, line, slips):
            found.append(statement)
            under = statement.path if statement.header else under
        problems.extend(replace(slip, key=".".join((*under, slip.key))) if slip.key else slip for slip in slips)
    return tuple(found), tuple(problems)


def _chunks(text: str) -> Iterator[tuple[int, str]]:
    """Yield each statement's text with the line that it begins on; a list or long text may take several lines."""
    lines = text.split("\n")
    at = 0
    while at < len(lines):
        first, start = lines[at], at
        at += 1
        if not first.strip() or first.lstrip().startswith("#"):
            continue
        if first.lstrip().startswith("["):
            yield start + 1, first
            continue
        depth, fence = _open_after(first, 0, "")
        while (depth > 0 or fence) and at < len(lines):
            if not fence and _STARTS.match(lines[at]):
                break
            depth, fence = _open_after(lines[at], depth, fence)
            at += 1
        if fence:
            at = start + 1
        yield start + 1, "\n".join(lines[start:at])


def _open_after(line: str, depth: int, fence: str) -> tuple[int, str]:
    """Return how many brackets are open after ``line``, and the triple quote that is, if any."""
    if depth == 0 and not fence and not any(mark in line for mark in ("[", "{", '"""', "'''")):
        return 0, ""
    at = 0
    while at < len(line):
        if fence:
            end = line.find(fence, at)
            if end < 0:
                return depth, fence
            at, fence = end + 3, ""
            continue
        character = line[at]
        if character == "#":
            break
        if line.startswith(('"""', "'''"), at):
            fence, at = line[at : at + 3], at + 3
            continue
        if character in "\"'":
            end = at + 1
            while end < len(line) and line[end] != character:
                end += 2 if line[end] == "\\" and character == '"' else 1
            at = end + 1
            continue
        depth += {"[": 1, "{": 1, "]": -1, "}": -1}.get(character, 0)
        at += 1
    return depth, fence


def _read_chunk(chunk: str, line: int, problems: list[Problem], shift: int = 0) -> Iterator[Statement]:
    """Yield the statements of one chunk; ``shift`` columns stand before it on its line."""
    long_at = None
    if len(chunk) > MAX_LINE:
        long_at = next((at for at, each in enumerate(chunk.split("\n")) if len(each) > MAX_LINE), None)
    if long_at is not None:
        problems.append(
            Problem(
                "the line is too long",
                f"{chunk.strip()[:40]}…",
                f"at most {MAX_LINE} characters",
                "Break the list into lines, or shorten the text.",
                line=line + long_at,
                column=MAX_LINE + 1,
            )
        )
        return
    if len(chunk) > 2 * MAX_DEPTH and max(_depths(chunk)) > MAX_DEPTH:
        problems.append(
            Problem(
                "brackets stand too deep within brackets",
                chunk.strip()[:40],
                f"at most {MAX_DEPTH}",
                "Write the value as a plain text or a plain list.",
                line=line,
                column=shift + 1,
            )
        )
        return
    if chunk.lstrip().startswith("["):
        yield from _read_header(chunk, line, problems, shift)
        return
    matched = _KEY.match(chunk)
    if matched is not None and matched.group(1).count(".") >= MAX_PARTS:
        problems.append(
            Problem(
                "the name has too many parts",
                matched.group(1)[:40],
                f"at most {MAX_PARTS}",
                "Write it under its section's header.",
                line=line,
                column=shift + 1,
            )
        )
        return
    parsed = _parsed(chunk)
    if parsed is not None and matched is not None:
        path, value = _unwrapped(parsed, matched.group(1))
        yield Statement(False, path, False, value, chunk, line, shift + matched.end() + 1, matched.end())
        return
    yield from _mend(chunk, line, problems, shift)


def _depths(chunk: str) -> Iterator[int]:
    depth = 0
    yield 0
    for character in chunk:
        if character in "[{":
            depth += 1
            yield depth
        elif character in "]}":
            depth -= 1


def _parsed(text: str) -> dict[str, Any] | None:
    try:
        return tomllib.loads(text, parse_float=TypedFloat)
    except (ValueError, RecursionError):  # TOMLDecodeError is a ValueError; so are a date and an integer out of range
        return None


def _key_parts(name: str) -> tuple[str, ...]:
    return tuple(part.strip().strip("\"'") for part in re.findall(_BARE, name))


def _unwrapped(parsed: dict[str, Any], name: str) -> tuple[tuple[str, ...], Any]:
    """Return the dotted key of a parsed statement and its value."""
    value: Any = parsed
    path: list[str] = []
    for _ in re.findall(_BARE, name):
        if not isinstance(value, dict) or len(value) != 1:
            break
        ((part, value),) = value.items()
        path.append(part)
    return tuple(path), value


def _read_header(chunk: str, line: int, problems: list[Problem], shift: int) -> Iterator[Statement]:
    column = shift + len(chunk) - len(chunk.lstrip()) + 1
    parsed = _parsed(chunk)
    if parsed is not None:
        path: list[str] = []
        many = False
        value: Any = parsed
        while value:
            if isinstance(value, list):
                many, value = True, value[0]
                continue
            ((part, value),) = value.items()
            path.append(part)
        many = many or isinstance(value, list)
        yield Statement(True, tuple(path), many, None, chunk, line, column, 0)
        return
    matched = _HEADER.match(chunk)
    if matched is not None and not matched.group(3) and matched.group(4).startswith("="):
        matched = re.match(r"\s*(\[{1,2})\s*([\w.\-]+)()(.*)$", chunk, re.DOTALL)
    if matched is None or not _key_parts(matched.group(2)):
        problems.append(
            Problem(
                "a section's header cannot be read",
                chunk.strip()[:80],
                "[body], [trucks.a], [[shelf.sheet]]",
                "Write the section's name between brackets, on a line of its own.",
                line=line,
                column=column,
            )
        )
        return
    opened, name, closed, rest = matched.groups()
    name = name.strip()
    path_parts = _key_parts(name)
    many = "[[" in (opened, closed) or closed == "]]"
    brackets = ("[[", "]]") if many else ("[", "]")
    whole = f"{brackets[0]}{'.'.join(path_parts)}{brackets[1]}"
    if len(opened) != len(closed) or ".".join(path_parts) != re.sub(r"\s*\.\s*", ".", name):
        problems.append(
            Problem(
                "a bracket is missing round a section's name"
                if len(opened) != len(closed)
                else "a section's name has other signs than letters, figures and _",
                chunk.strip()[:80],
                whole,
                f"Write {whole} on a line of its own.",
                line=line,
                column=column,
            )
        )
    yield Statement(True, path_parts, many, None, chunk, line, column, 0)
    left = rest.strip()
    if left and not left.startswith("#"):
        start = chunk.rindex(left)
        if len(opened) == len(closed):
            problems.append(
                Problem(
                    "a value stands on the line of its section's header",
                    left[:80].rstrip(),
                    "one header or one value on a line",
                    f"Begin a new line after {whole}.",
                    line=line,
                    column=shift + start + 1,
                )
            )
        yield from _read_chunk(left, line, problems, shift + start)


def _mend(chunk: str, line: int, problems: list[Problem], shift: int) -> Iterator[Statement]:
    """Yield what a refused ``key = value`` most likely meant, after naming the slip."""
    matched = _KEY.match(chunk)
    spaced = None if matched else _SPACED_KEY.match(chunk.split("\n")[0][:200])
    if matched is None and spaced is None:
        problems.append(
            Problem(
                "a line that is neither a section, a key with its value, nor a comment",
                chunk.strip()[:80],
                '[section], key = "value", # comment',
                "Put # before it if it is a note.",
                line=line,
                column=shift + len(chunk) - len(chunk.lstrip()) + 1,
            )
        )
        return
    head = matched if matched is not None else spaced
    assert head is not None
    name = head.group(1)
    path = _key_parts(name) if matched else (re.sub(r"[\s\u00a0]+", "_", name),)
    raw = chunk[head.end() :]
    column = shift + head.end() + 1
    slip, value, rest = _meant(raw)
    if head.group(2) == ":":
        slip = _COLON
    if spaced is not None:
        slip = _SPACES
    shown = value if isinstance(value, str) else raw.split("\n")[0].strip()
    problems.append(
        Problem(
            slip,
            _COMMENT.sub("", shown or raw.split("\n")[0].strip())[:80].strip() if value != "" else "",
            _WHAT_IS_ACCEPTED.get(slip, _ACCEPTED),
            _how_to_write(".".join(path), slip, value),
            key=".".join(path),
            line=line,
            column=column,
        )
    )
    yield Statement(False, path, False, value, chunk, line, column, head.end())
    if rest and rest.count("=") <= _ON_A_LINE:
        start = max(chunk.rfind(rest), 0)
        yield from _read_chunk(rest, line, problems, shift + start)


def _how_to_write(name: str, slip: str, value: Any) -> str:
    key = name.rpartition(".")[2]
    if value == "":
        return f'Write {key} = "" for what was not measured.'
    if isinstance(value, bool):
        return f"Write {key} = {str(value).lower()}."
    if isinstance(value, str):
        lead = "Put quotes round it" if slip == _UNQUOTED else "Write"
        return f"{lead}: {key} = {quoted(value)}"
    if isinstance(value, list) and all(isinstance(each, str) for each in value):
        return f"Write: {key} = [{', '.join(quoted(each) for each in value)}]"
    if isinstance(value, (int, float)):
        return f"Write: {key} = {value.text if isinstance(value, TypedFloat) else value}"
    return 'Write a text in quotes, or a list of them: ["0.030", "0.015"].'


_TWO = "two values stand on one line"
_COLON = "a colon stands where an equals sign belongs"
_SPACES = "a key has no spaces in it"
_NO_BRACKETS = "a list stands without its brackets"
_WHAT_IS_ACCEPTED = {
    _TWO: "one key and its value on a line",
    _COLON: 'key = "value"',
    _SPACES: "letters, figures and _ in a key",
    _NO_BRACKETS: "a list in [ ]",
}
_ACCEPTED = "a text in straight quotes, a plain number or a list in [ ]"
_UNQUOTED = "the value is not in quotes"


def _meant(raw: str) -> tuple[str, Any, str]:
    """Return the slip in a value that TOML refused, what was most likely meant, and what follows it on the line."""
    text = raw.strip()
    if not text or (text.startswith("#") and not re.match(r"#(?:\d{1,2}|[A-Z])\b", text)):
        return "nothing stands after the equals sign", "", ""
    if text.startswith("#"):
        return "# begins a comment, so no value is left", _COMMENT.sub("", " " + text[1:]).strip().join(("#", "")), ""
    if text[0] in "[{":
        return _meant_list(text)
    first = text.split("\n")[0]
    if first[0] in _OPENING:
        body, rest = _before_next(first[1:])
        body = _COMMENT.sub("", body).rstrip()
        return "curly quotes stand where straight ones belong", body.rstrip(_CLOSING), rest
    if first[0] in "\"'":
        return _meant_string(first)
    body, rest = _before_next(first)
    body = _COMMENT.sub("", body).strip().rstrip(",;").rstrip()
    if body.casefold() in _TRUE:
        return "yes and no are written true and false, in small letters", _TRUE[body.casefold()], rest
    plain = _parsed(f"x = {body}")
    if plain is not None and rest:
        return _TWO, plain["x"], rest
    items = [item.strip() for item in re.split(r",\s+", body)]
    if len(items) > 1 and all(re.match(r"[.\d¼½¾]", item) for item in items):
        return _NO_BRACKETS, items, rest
    return _UNQUOTED, body.rstrip(_CLOSING) if body[:1].isalpha() else body, rest


def _before_next(text: str) -> tuple[str, str]:
    """Return what stands before the next ``key =`` on the line, and the rest from that key on."""
    matched = _NEXT.search(text)
    if matched is None:
        return text, ""
    return text[: matched.start()], text[matched.start() :].lstrip(",; \t\u00a0")


def _meant_string(text: str) -> tuple[str, Any, str]:
    quote = text[0]
    whole = re.match(rf"{quote}((?:[^{quote}\\]|\\.)*){quote}", text)
    if whole is not None:
        after = text[whole.end() :]
        following = _NEXT.match(after)
        if following is not None:
            parsed = _parsed(f"x = {whole.group(0)}")
            value = parsed["x"] if parsed is not None else whole.group(1)
            return _TWO, value, after.lstrip(",; \t\u00a0")
        several = _parsed(f"x = [{_COMMENT.sub('', text)}]") if after.lstrip().startswith(",") else None
        if several is not None:
            return _NO_BRACKETS, several["x"], ""
    body, rest = _before_next(text[1:])
    body = _COMMENT.sub("", body).rstrip().rstrip(",;").rstrip()
    inner = body[:-1] if body.endswith(quote) else body
    if quote not in body:
        shut = inner.rstrip(_CLOSING) if inner.endswith(tuple("“”‘’")) else inner
        return "the quote at the end is missing", shut, rest
    if quote not in inner:
        return "a backslash or a control character stands in the text", inner, rest
    if body.endswith(quote):
        return "a quote mark inside the text ends it too early", inner, rest
    return "something stands behind the closing quote", " ".join(inner.replace(quote, " ").split()), rest


def _meant_list(text: str) -> tuple[str, Any, str]:
    """Return a list or inline table as it was most likely meant."""
    close = {"[": "]", "{": "}"}[text[0]]
    if len(text) > _MENDABLE:
        return f"what stands between {text[0]} and {close} cannot be read", "", ""
    for ending in (close, f'"{close}', close * 2):
        parsed = _parsed(f"x = {text.rstrip().rstrip(',')}{ending}") if "#" not in text else None
        if parsed is not None:
            return f"the bracket {close} at the end is missing", parsed["x"], ""
    parsed = _parsed(f"x = {text}\n{close}")
    if parsed is not None:
        return f"the bracket {close} at the end is missing", parsed["x"], ""
    if text[0] == "{":
        return "what stands between { and } cannot be read", "", ""
    lines = [_COMMENT.sub("", " " + line) for line in text[1:].split("\n")]
    body, rest = _before_next(" ".join(lines).strip())
    closed = body.rfind("]")
    body = body[:closed] if closed >= 0 else body
    items = [_bare_item(item) for item in _split_items(body)]
    return "a value in the list is not in straight quotes", [item for item in items if item], rest


def _split_items(body: str) -> Sequence[str]:
    """Return the items of a list's text, split at the commas that stand outside straight quotes."""
    parts = body.split('"')
    marked = '"'.join(part.replace(",", "\0") if at % 2 == 0 else part for at, part in enumerate(parts))
    return marked.split("\0")


def _bare_item(item: str) -> str:
    text = item.strip()
    if text[:1] in _OPENING + "\"'":
        text = text[1:]
        return text.rstrip(_CLOSING).strip()
    return text.strip()
