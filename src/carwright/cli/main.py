"""The entry point: quick answers, then one command, then one place where every trouble becomes a line and a status.

Nothing heavy is imported at the top: ``--version`` and ``--help`` answer before the command-line library, the numeric
library or the terminal library is touched; a command's own module is imported only when that command is asked for.

Exit status: 0 done and nothing fails; 1 done, and a finding fails; 2 the input cannot be used; 3 a fault of the
program; 130 stopped from the keyboard, 141 the reader of a pipe went away (both as shells count them).
"""

from __future__ import annotations

import errno
import io
import os
import sys
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from carwright import __version__

if TYPE_CHECKING:
    from carwright.problems import Problem

__all__ = ["COMMANDS", "help_text", "main"]

COMMANDS: dict[str, str] = {
    "start": "Answer a few questions about a shell; get its car file and first drawing.",
    "new": "Write a car file with every key explained, ready to fill in.",
    "sheet": "Make the measuring sheet for the bench.",
    "plan": "Work out floor, ride height and holes of a car, and say what passes.",
    "curve": "Place a car on track: angles, what touches, and the least radius.",
    "weigh": "Say what a car should weigh, where ballast goes, and what pull tips it.",
    "train": "Drag, pulls and tipping of a train, car by car, up a grade and round a curve.",
    "draw": "Draw plan, sections, exploded view, ride height; templates and pieces true to size.",
    "book": "Make the build book: checks, tables, templates, order of work, sources.",
    "cut": "Cut the pieces of a batch out of the shelf, proven the cheapest where it can be.",
    "shelf": "List what lies on the shelf, add and take, undo a cutting plan, exchange lists.",
    "finish": "Plan a car's paint: the order that masks least, every act, every wait.",
    "calendar": "Say when each step of a batch happens, proven the shortest where it can be.",
    "length": "Show one length in every style, with the nearest fraction, drill and sheet.",
    "reference": "Show the values that are used, each with its source.",
    "shop": "Look after the shop: list, check, copy, put back, exchange with plain files.",
    "serve": "Open the shop's pages in a browser.",
    "demo": "Plan, draw and print the six cars of the demonstration.",
}
"""Name of each command and its one line of help; the code is ``carwright.cli.<name>:command``."""

OK, INPUT, FAULT, INTERRUPTED, PIPE_CLOSED = 0, 2, 3, 130, 141


def help_text() -> str:
    """Return what ``carwright --help`` prints."""
    width = max(len(name) for name in COMMANDS)
    lines = [
        "Carwright designs what is missing under a second-hand freight car, and draws it true to size.",
        "",
        "Usage: carwright COMMAND [OPTIONS]",
        "",
        "Commands:",
        *(f"  {name:<{width}}  {line}" for name, line in COMMANDS.items()),
        "",
        "  carwright start            where to begin with a shell in the hand",
        "  carwright COMMAND --help   what a command takes",
        "  carwright --version        the version",
        "",
        "With --json a command prints its results, and its errors, for other programs.",
        "Status: 0 done, nothing fails; 1 done, a check fails; 2 the input cannot be used; 3 a fault of the program.",
    ]
    return "\n".join(lines)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command and return its exit status; nothing is raised but ``SystemExit``.

    Args:
        arguments: the words after ``carwright``; without it, those of this process.
    """
    given = list(sys.argv[1:] if arguments is None else arguments)
    _speak_utf8()
    # Words behind a bare -- are never options.
    as_json = "--json" in (given[: given.index("--")] if "--" in given else given)
    try:
        status = _run(given, as_json=as_json)
        if sys.stdout is not None:  # closed by whoever started the program
            sys.stdout.flush()
    except KeyboardInterrupt:
        print("\ncarwright: stopped", file=sys.stderr)
        return INTERRUPTED
    except BrokenPipeError:
        _flush_nowhere()
        return PIPE_CLOSED
    except Exception as trouble:
        return _report(trouble, as_json=as_json)
    return status


def _flush_nowhere() -> None:
    """Let the interpreter's last flush go nowhere where what was printed cannot be written."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _run(given: Sequence[str], *, as_json: bool) -> int:
    """Answer at once what can be, else hand the words to the command's own module."""
    words = [word for word in given if word != "--json"] if as_json else given
    if not words or words[0] in ("--help", "-h", "help"):
        print(help_text())
        return OK
    if words[0] == "--version":
        print(f"carwright {__version__}")
        return OK
    if words[0] not in COMMANDS:
        raise _unknown(words[0])
    from carwright.cli.usage import run_command

    # A --json in front of the command belongs to the command.
    position = given.index(words[0])
    return run_command([words[0], *given[:position], *given[position + 1 :]], COMMANDS)


def _unknown(word: str) -> Exception:
    """Return the error for a first word that is neither a command nor an option of ours."""
    import difflib

    from carwright.problems import InputError, Problem

    if word.startswith("-"):
        kind, names = "option", ["--help", "--version", "--json"]
    else:
        kind, names = "command", list(COMMANDS)
    near = difflib.get_close_matches(word, names, n=1)
    hint = f"Did you mean {near[0]}? " if near else ""
    return InputError(
        Problem(
            f"there is no such {kind}",
            value=word,
            accepted=", ".join(names),
            mend=f"{hint}`carwright --help` says what each one does.",
        )
    )


def _report(trouble: Exception, *, as_json: bool) -> int:
    """Print an error on standard error and return the status that it asks for."""
    from carwright.problems import InputError, Problem

    if isinstance(trouble, InputError):
        _print_problems(trouble.problems, as_json=as_json)
        return INPUT
    if isinstance(trouble, OSError) and trouble.errno in (errno.ENOSPC, errno.EIO) and trouble.filename is None:
        reason = (trouble.strerror or "").lower()
        mend = "Make room, or print into a file elsewhere."
        _print_problems([Problem(f"what is printed cannot be written: {reason}", mend=mend)], as_json=as_json)
        _flush_nowhere()
        return INPUT
    if isinstance(trouble, OSError) and trouble.filename is not None and not _is_ours(trouble.filename):
        reason = (trouble.strerror or type(trouble).__name__).lower()
        named = os.fsdecode(trouble.filename) if isinstance(trouble.filename, (str, bytes)) else str(trouble.filename)
        _print_problems(
            [Problem(f"the file cannot be used: {reason}", value=named, mend="Name another file or folder.")],
            as_json=as_json,
        )
        return INPUT
    if os.environ.get("CARWRIGHT_TRACEBACK"):
        import traceback

        traceback.print_exception(trouble, file=sys.stderr)
    # The library hides why a command's module could not be imported; the first cause is the one to report.
    first = trouble
    while isinstance(first.__cause__, Exception):
        first = first.__cause__
    fault = Problem(
        f"a fault of the program, not of your file: {type(first).__name__}: {first}",
        mend="Please report it, with the command and the car file; CARWRIGHT_TRACEBACK=1 shows where it happened.",
    )
    _print_problems([fault], as_json=as_json)
    return FAULT


def _is_ours(filename: object) -> bool:
    """Return whether a file belongs to the program: one that is missing there is a fault, not a user's slip."""
    from pathlib import Path

    folder = Path(__file__).resolve().parent.parent
    return isinstance(filename, (str, os.PathLike)) and Path(filename).resolve().is_relative_to(folder)


def _print_problems(problems: Iterable[Problem], *, as_json: bool) -> None:
    """Print problems on standard error: one a line, or as one JSON object."""
    if as_json:
        import json

        print(json.dumps({"errors": [each.as_dict() for each in problems]}, ensure_ascii=False), file=sys.stderr)
        return
    for each in problems:
        # A place in a file comes first, as editors and eyes expect it.
        print(_one_line(str(each) if each.file else f"carwright: {each}"), file=sys.stderr)


def _one_line(text: str) -> str:
    """Return text with every character escaped that would move a terminal's cursor, colour it or turn its direction."""
    return "".join(each if each.isprintable() else each.encode("unicode_escape").decode("ascii") for each in text)


def _speak_utf8() -> None:
    """Print UTF-8 whatever the locale says: prime and plus-minus signs belong to the trade."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(encoding="utf-8", errors="backslashreplace")
