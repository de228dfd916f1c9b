"""Words on the command line -> a call of the command's function; slips -> problems that name them and the way out."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any, Literal, get_args, get_origin

from cyclopts import App, CycloptsError, Parameter, UnknownOptionError
from cyclopts.exceptions import (
    CoercionError,
    MissingArgumentError,
    RepeatArgumentError,
    UnusedCliTokensError,
)

from carwright.problems import InputError, Problem

__all__ = ["run_command"]

_TYPE_WORDS: dict[Any, str] = {
    int: "a whole number",
    float: "a number",
    bool: "nothing, or true or false",
    Path: "the name of a file",
}
"""What an option takes, in words, by the type of its parameter."""


def run_command(words: Sequence[str], names: Iterable[str]) -> int:
    """Run the command that ``words`` begins with and return its exit status.

    Args:
        words: command first, then its arguments and options.
        names: every command; each is ``carwright.cli.<name>:command``, imported only when it is run.

    Raises:
        InputError: an option or argument is unknown, missing, repeated or of the wrong kind.
    """
    app = App(
        name="carwright",
        version_flags=[],
        help_format="plaintext",
        # A flag that is off unless it is given needs no --no- twin, and "default: none" is not news.
        default_parameter=Parameter(negative=(), show_default=lambda value: None if value in (None, False) else value),
    )
    for name in names:
        app.command(f"carwright.cli.{name}:command", name=name)
    try:
        run, given, _ = app.parse_args(_same_case(words), exit_on_error=False, print_error=False)
    except CycloptsError as slip:
        raise InputError(_problem(slip, words[0])) from None
    _keep_what_is_read(given.arguments)
    status = run(*given.args, **given.kwargs)
    return status if isinstance(status, int) else 0


_WRITTEN = ("out", "steps", "draw", "ics", "sheets", "routes")
"""Parameters of all commands that name a file or folder to be written."""


def _keep_what_is_read(arguments: Mapping[str, Any]) -> None:
    """Refuse to write over a file that the same words name to be read, and to write two outputs into one file.

    Raises:
        InputError: a place to write is named a second time; nothing was read or written.
    """
    places: dict[Path, str] = {}
    for name, value in sorted(arguments.items(), key=lambda each: each[0] in _WRITTEN):
        for word in value if isinstance(value, tuple) else (value,):
            if not isinstance(word, (str, Path)) or not str(word) or "\0" in str(word):
                continue
            place = Path(word).absolute().resolve()
            if name in _WRITTEN and place in places and not place.is_dir():
                key = f"--{name}"
                other = places[place]
                problem = f"{other} goes into this file too" if other else "this would write over a file that is read"
                raise InputError(Problem(problem, str(word), key=key, mend=f"Choose another name with {key}."))
            places[place] = f"--{name}" if name in _WRITTEN else places.get(place, "")


def _same_case(words: Sequence[str]) -> list[str]:
    """Return the words with the paper's size in small letters: A4 is written so as often as a4."""
    found = list(words)
    for at, word in enumerate(words):
        name, sign, size = word.partition("=")
        if name == "--paper":
            if sign:
                found[at] = f"{name}={size.lower()}"
            elif at + 1 < len(words):
                found[at + 1] = words[at + 1].lower()
    return found


def _problem(slip: CycloptsError, command: str) -> Problem:
    """Return what is wrong with the words behind ``command``."""
    way_out = f"`carwright {command} --help` lists what it takes."
    match slip:
        case UnknownOptionError():
            word = slip.token.keyword or slip.token.value
            options = [name for each in slip.argument_collection for name in each.names if name.startswith("-")]
            return Problem(
                f"`carwright {command}` has no such option",
                value=word,
                mend=_near(word.split("=")[0], options) + way_out,
            )
        case CoercionError():
            value = slip.token.value if slip.token else ""
            key = (slip.token.keyword if slip.token else None) or (slip.argument.name if slip.argument else "")
            choices = _choices(slip.target_type)
            accepted = ", ".join(choices) or _TYPE_WORDS.get(slip.target_type, "")
            return Problem(
                "this cannot be used here",
                value=value,
                accepted=accepted,
                key=key,
                mend=_near(value, choices) + way_out,
            )
        case MissingArgumentError():
            if slip.keyword:
                return Problem("a value must stand behind this option", key=slip.keyword, mend=way_out)
            name = slip.argument.name if slip.argument else "an argument"
            if slip.argument and slip.argument.field_info.is_positional:
                name = name.lstrip("-").upper()  # as the command's help shows it
            return Problem(f"`carwright {command}` needs {name}", mend=way_out)
        case UnusedCliTokensError():
            return Problem(
                f"`carwright {command}` does not take so many words",
                value=" ".join(slip.unused_tokens or ()),
                mend=f"Put quotes round a name or a length that has a space in it. {way_out}",
            )
        case RepeatArgumentError():
            return Problem("this option is given twice", key=slip.token.keyword or "", mend=way_out)
        case _:
            return Problem(str(slip).strip().rstrip("."), mend=way_out)


def _choices(target: object) -> list[str]:
    """Return the words that an option takes where it takes only certain ones, else nothing."""
    found: list[str] = []
    for each in (target, *get_args(target)):
        if get_origin(each) is Literal:
            found += [str(choice) for choice in get_args(each)]
    return found


def _near(word: str, known: Sequence[str]) -> str:
    """Return "Did you mean ...? " for the nearest known word, or nothing."""
    near = difflib.get_close_matches(word, known, n=1)
    return f"Did you mean {near[0]}? " if near else ""
