"""What the rooms say of keys, lines and options, in the words of the page: letters, labels, buttons.

The rooms speak to whoever keeps car files, because that is where a plan begins. On a page, and in what is printed from
one, the same sentence names the field by its letter and label, and the button instead of the option.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterable
from dataclasses import fields, is_dataclass, replace
from functools import lru_cache
from typing import Any, Final

from carwright.car.keys import key_named, keys, section_named
from carwright.draw.blocks import Page, Picture, Table
from carwright.draw.model import Drawing, Text
from carwright.problems import Problem
from carwright.web.choicewords import choice_said

__all__ = ["READ_INTO", "label_of", "on_page", "printed_words", "problem_on_page"]

READ_INTO: Final = "on the page Print"
"""Where the readings of a print's bars go."""

_PLACE: Final = (
    r"\b(?:car|body|trucks|coupler|underframe|piece|weight|found|gauge|finish|paint|shelf|shop)"
    r"(?:\[\d*\])?(?:\.[a-z_]+(?:\[\d*\])?){1,3}(?:\b|(?<=\]))(?:\[\d+\]|(?=±))?"
)
_BARE: Final = r"\b[a-z]+(?:_[a-z]+)+\b"
_CODE: Final = re.compile(r"(“|\b(?:the )?)[P-Z]\d{1,3} (?=([a-z]+))")
"""A reading that no drawing has a letter for, before its name: its code is for finding its field, and tells nothing."""

_NO_ARTICLE: Final = frozenset({"how", "on", "where"})
"""Words that begin the name of a reading which is no noun."""

_SHAPE: Final = r"(?:rect|normal|tri)\b"
_WORTH: Final = re.compile(rf"--|`|\[|_|\bline \d|\bcar file\b|\bthe file\b|carwright|\b[P-Z]\d|±.* {_SHAPE}|{_PLACE}")
"""Without one of these nothing is to be said otherwise."""

_SENTENCES: Final = (
    (rf"(± ?[^;,±]*?) {_SHAPE}", r"\1"),
    (r"Take it with --take (\d+)", r"It is way \1 of the ways to stand"),
    (
        r"carwright plan CAR --take N writes way N into the file\.",
        "Take it, on the car's page, makes a revision of it.",
    ),
    (
        r"Any other number of the plan tells its working to carwright plan CAR --why PATH\.",
        "On the car's page every underlined number tells its working.",
    ),
    (
        r"a word with dots is a reading of the car file, listed after this",
        "a letter and a name are a reading, listed after",
    ),
    (r'name one with \[\[body\.block\]\] kind = "cavity"', "name one under “Blocks”, of the kind “room for weight”"),
    (
        r"Give --radius [^.]*? or --track with a track file\.",
        "Give car.radius, the sharpest that the car must go round.",
    ),
    (r"Give --radius or --track, or car\.radius in the car file\.", "Give car.radius."),
    (
        r"What (?:carwright cut takes from a shelf|your shelf has) stands [^:]*: carwright book CAR --shelf FILE\.",
        "What the shelf gives stands on the page Cutting.",
    ),
    (r"the car file's own list of stock", "the car's own list of stock"),
    (r"\bthe car file lists no sheet", "the car lists no sheet"),
    (r"The car file names no curve\. Write car\.radius", "No curve is named. Give car.radius"),
    (r" ?`--why list` names every number there is\.", ""),
    (r"(?:The )?first is on line \d+; delete one of the two", "Leave one of the two out"),
    (rf"The ({_PLACE}|{_BARE}) is on line \d+", r"Look at \1 too"),
    (rf"({_PLACE}|{_BARE}) is on line \d+", r"look at \1 too"),
    (r",? on line \d+", ""),
    (r"\bthe car file's ", ""),
    (r"\bthe file does not say\b", "it is not said"),
    (r"as the car file stands", "as the car was saved"),
    (r"\bin the (?:car )?file\b(?!')", "on the car's page"),
    (r"\b(into|of) the (?:car )?file\b(?!')", r"\1 the car's page"),
    (rf'\(({_PLACE}) = "([^"]*)"\)', r"(“\1”: \2)"),
    (rf"\(({_PLACE})\)", r"(field “\1”)"),
    (rf"({_PLACE}) = true\b", r"“\1”: yes"),
    (rf"({_PLACE}) = false\b", r"“\1”: no"),
    (rf'({_PLACE}|{_BARE}) = (?=["\d])', r"\1 "),
    (r'Add a \[\[paint\]\] with colour = "primer" and its family', "Say of which family the primer is"),
    (r'Add a \[\[paint\]\] with colour = "(gloss|flat)" and its family', r"Say of which family the \1 coat is"),
    (r'Add a \[\[paint\]\] with colour = "([^"]*)" and its family', r"Say of which family the paint is that is \1"),
)
_SAID: Final = tuple((re.compile(pattern), said) for pattern, said in _SENTENCES)
_CHOICE: Final = re.compile(rf'({_PLACE}) = "([^"]*)"')
_EXAMPLE: Final = re.compile(
    r'Write (?:(all four figures): )?[a-z_]+ = (\[.*\]|"[^"]*"|[\w.-]+)(?:, without quotes)?\.?'
)
"""How a value would stand in the car file, which on a page is typed into its field."""

_LIST: Final = re.compile(r"\[\[?['\"].*['\"]\]?\]")
_SECTION: Final = re.compile(r"\[\[?([a-z_.]+)\]?\]")


@lru_cache(maxsize=4096)
def on_page(text: str) -> str:
    """Return a sentence of a room in the words of the page.

    Example:
        >>> on_page("Weigh one with its box, and give coupler.mass. Take it with --take 2.")
        'Weigh one with its box, and give the mass of one coupler. It is way 2 of the ways to stand.'
    """
    if not _WORTH.search(text):
        return text
    text = _CHOICE.sub(lambda found: f'{found[1]} = "{choice_said(found[1], found[2])}"', text)
    for pattern, said in _SAID:
        text = pattern.sub(said, text)
    text = _PLACES.sub(_named, text)
    text = _SECTION.sub(_sectioned, text)
    return _CODE.sub(_without_code, _BARES.sub(_bare_named, text))


_PLACES: Final = re.compile(_PLACE)
_BARES: Final = re.compile(_BARE)


@lru_cache(maxsize=4096)
def label_of(place: str, *, lettered: bool = True) -> str:
    """Return what the page calls a place of the car file: letter, label, which of several, which end; "" if none.

    Example:
        >>> label_of("trucks.a.seat_height"), label_of("body.inside_width[1]")
        ('J truck seat height, end A', 'D inside width, in the middle')
    """
    key = key_named(place)
    if key is None:
        return ""
    said = f"{key.letter} {key.called}" if lettered and key.letter else key.called
    row = re.match(r"[a-z_.]+\[(\d+)\]\.", place)
    if row is not None and key.section.endswith("[]"):
        said += f", number {int(row[1]) + 1}"
    listed = re.search(r"\[(\d+)\]$", place)
    if listed is not None:
        at = int(listed[1])
        said += f", {key.places[at]}" if at < len(key.places) else f", {at + 1}"
    end = re.search(r"\.([ab])(?:\.|\[|$)", place)
    return f"{said}, end {end[1].upper()}" if end is not None else said


def problem_on_page(problem: Problem) -> Problem:
    """Return what is wrong in the words of the page; its place is a label, not a line of a file."""
    return replace(
        problem,
        problem=on_page(problem.problem),
        accepted=on_page(_filled_in(problem.accepted)),
        mend=on_page(_EXAMPLE.sub(_so_written, problem.mend)),
        key=label_of(problem.key),
        file="",
        line=None,
        column=None,
    )


def _filled_in(text: str) -> str:
    """Return values as they are typed on a page: yes and no, and lists without brackets."""
    plain = re.sub(r"\btrue or false\b", "yes or no", text)
    return _LIST.sub(lambda found: _typed(found.group()) or found.group(), plain)


def _so_written(found: re.Match[str]) -> str:
    told = _typed(found[2])
    return f"{found[1] or 'For example'}: {told}." if told else found.group()


def _typed(text: str) -> str:
    """Return a value of the car file as it is typed into a field; "" where it is none."""
    try:
        value = json.loads(text.replace("'", '"'))
    except ValueError:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    rows = value if isinstance(value, list) else [value]
    return "; ".join(" to ".join(each) if isinstance(each, list) else str(each) for each in rows)


def _named(found: re.Match[str]) -> str:
    return label_of(found.group()) or found.group()


def _without_code(found: re.Match[str]) -> str:
    lead, word = found.groups()
    return lead if lead == "“" else "" if word in _NO_ARTICLE else "the "


def _sectioned(found: re.Match[str]) -> str:
    section = section_named(found[1]) or section_named(f"{found[1]}[]")
    return found.group() if section is None else f"“{section.title}”"


def _bare_named(found: re.Match[str]) -> str:
    return _bare().get(found.group(), found.group())


@lru_cache(maxsize=1)
def _bare() -> dict[str, str]:
    """Return the plain name of every key that is named without its section, where only one key has that name."""
    names: dict[str, set[str]] = {}
    for key in keys():
        names.setdefault(key.name, set()).add(key.called)
    return {name: next(iter(called)) for name, called in names.items() if len(called) == 1 and "_" in name}


def printed_words(pages: Iterable[Page]) -> tuple[Page, ...]:
    """Return sheets with every word that stands on them in the words of the page."""
    return tuple(_mapped(page) for page in pages)


def _mapped(node: Any) -> Any:
    if isinstance(node, str):
        return on_page(node)
    if isinstance(node, tuple):
        return tuple(_mapped(each) for each in node)
    if isinstance(node, Picture):
        return replace(node, drawing=_drawing(node.drawing))
    if isinstance(node, Table) and node.heads[1:3] == ("Key", "Line"):
        return _readings(node)
    return _changed(node, _mapped) if is_dataclass(node) else node


def _drawing(drawing: Drawing) -> Drawing:
    """Return a drawing with its words changed; parts, layers and keys stay what they are."""
    marks = tuple(replace(each, text=on_page(each.text)) if isinstance(each, Text) else each for each in drawing.marks)
    return replace(drawing, marks=marks, alt=on_page(drawing.alt), notes=tuple(map(on_page, drawing.notes)))


def _readings(table: Table) -> Table:
    """Return the table of readings without lines of the file; what was read has its name beside its letter."""

    def kept(row: tuple[Any, ...]) -> tuple[Any, ...]:
        return (*row[:2], *row[3:])

    rows = tuple(kept((row[0], label_of(row[1], lettered=False) or row[1], *row[2:])) for row in table.rows)
    heads = ("", "Reading", *table.heads[3:])
    return replace(table, heads=heads, rows=rows, widths_mm=kept(table.widths_mm), right=kept(table.right))


def _changed(node: Any, change: Callable[[Any], Any]) -> Any:
    new = {}
    for each in fields(node):
        old = getattr(node, each.name)
        now = change(old)
        if now is not old and now != old:
            new[each.name] = now
    return replace(node, **new) if new else node
