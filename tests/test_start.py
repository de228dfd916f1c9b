"""The command answers at once where it can, and turns every slip into a line that says what to type instead."""

from __future__ import annotations

import io
import json
import os
import subprocess
import sys
from collections.abc import Mapping
from pathlib import Path

import pytest

from carwright import __version__
from carwright.cli import main as entry
from carwright.problems import InputError, Problem

ALLOWED_AT_START = {"carwright", "carwright.cli", "carwright.cli.main"}
"""Everything of ours that may be imported before ``--version`` or ``--help`` has answered."""


def run(*words: str, **changes: str) -> subprocess.CompletedProcess[str]:
    """Run the command in a process of its own, with changes to its environment."""
    return subprocess.run(
        [sys.executable, "-m", "carwright", *words],
        capture_output=True,
        encoding="utf-8",
        env={**os.environ, **changes},
        check=False,
        timeout=60,
    )


def modules_after(*words: str) -> set[str]:
    """Return the names in sys.modules after the command has answered, less those of a bare interpreter."""
    program = (
        "import sys; bare = set(sys.modules)\n"
        "from carwright.cli.main import main\n"
        f"status = main({list(words)!r})\n"
        "print('\\n' + ' '.join(sorted(set(sys.modules) - bare)) + f' {status}')"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True, timeout=60)
    *names, status = done.stdout.splitlines()[-1].split()
    assert status == "0"
    return set(names)


@pytest.mark.parametrize("words", [("--version",), ("--help",), ()], ids=["version", "help", "nothing"])
def test_quick_answers_import_nothing_heavy(words: tuple[str, ...]) -> None:
    """``--version``, ``--help`` and the bare command import three small modules of ours and none from elsewhere."""
    after = modules_after(*words)
    ours = {name for name in after if name.split(".")[0] == "carwright"}
    foreign = {name for name in after - ours if name.split(".")[0] not in sys.stdlib_module_names}
    assert ours == ALLOWED_AT_START
    assert foreign == set()


@pytest.mark.parametrize("name", ["carwright", "carwright.problems", "carwright.findings", "carwright.pieces"])
def test_the_package_itself_is_cheap_to_import(name: str) -> None:
    """Importing the package or its plain records imports nothing but the standard library."""
    program = f"import sys; import {name}; print(' '.join(sys.modules))"
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True, timeout=60)
    foreign = {each.split(".")[0] for each in done.stdout.split()} & {
        "cyclopts",
        "ezdxf",
        "numpy",
        "rich",
        "shapely",
        "tomlkit",
        "typst",
    }
    assert foreign == set()


def test_version_is_one_line() -> None:
    """``--version`` prints name and version, and ends with 0."""
    done = run("--version")
    assert (done.returncode, done.stdout, done.stderr) == (0, f"carwright {__version__}\n", "")


def test_help_names_every_command() -> None:
    """``--help``, ``-h`` and the bare command print the same page, with a line for each command."""
    done = run("--help")
    assert done.returncode == 0
    assert done.stdout == run().stdout == run("-h").stdout == entry.help_text() + "\n"
    for name, line in entry.COMMANDS.items():
        assert f"  {name}" in done.stdout
        assert line in done.stdout


def test_help_fits_a_terminal_of_120_columns() -> None:
    """No line of the help page is longer than 120 characters, and each command's line ends with a full stop."""
    assert max(len(line) for line in entry.help_text().splitlines()) <= 120
    assert all(line.endswith(".") for line in entry.COMMANDS.values())


def test_a_mistyped_command_is_named_and_the_near_one_suggested() -> None:
    """An unknown command ends with 2 and one line that has the word, the nearest command and the way to the help."""
    done = run("plna", "car.toml")
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr == (
        'carwright: there is no such command: got "plna"; accepted: start, new, sheet, plan, curve, weigh, train, '
        "draw, book, cut, shelf, finish, calendar, length, reference, shop, serve, demo. "
        "Did you mean plan? `carwright --help` says what each one does.\n"
    )


def test_a_mistyped_first_option_is_named() -> None:
    """An unknown option in front of the command ends with 2 and names the near one."""
    done = run("--hlep")
    assert done.returncode == 2
    assert 'there is no such option: got "--hlep"' in done.stderr
    assert "Did you mean --help?" in done.stderr


def test_json_errors_have_the_one_shape() -> None:
    """With --json an error is one object on standard error, with the eight keys that every surface uses."""
    done = run("plna", "--json")
    assert (done.returncode, done.stdout) == (2, "")
    (error,) = json.loads(done.stderr)["errors"]
    assert list(error) == ["file", "line", "column", "key", "value", "problem", "accepted", "mend"]
    assert error["value"] == "plna"


def test_a_word_behind_two_dashes_is_no_option() -> None:
    """``--json`` behind a bare ``--`` is a word like any other, so the error stays in words."""
    assert run("plna", "--", "--json").stderr.startswith("carwright: there is no such command")


@pytest.mark.parametrize("encoding", ["ascii", "latin-1"])
def test_output_is_utf8_whatever_the_locale_says(encoding: str) -> None:
    """A prime or a plus-minus sign reaches the terminal as UTF-8 where the locale knows neither."""
    done = run("40′±½", PYTHONUTF8="0", PYTHONIOENCODING=encoding, LC_ALL="C.UTF-8")
    assert done.returncode == 2
    assert 'got "40′±½"' in done.stderr


def test_no_traceback_reaches_the_user(tmp_path: Path) -> None:
    """A closed pipe ends quietly: nothing on standard error, status 141."""
    program = (
        "import os, sys\n"
        "from carwright.cli.main import main\n"
        "reader, writer = os.pipe(); os.close(reader); os.dup2(writer, 1)\n"
        "sys.exit(main(['--help']))"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=False, timeout=60)
    assert (done.returncode, done.stderr) == (141, "")


COMMAND = '''
from pathlib import Path
from typing import Annotated, Literal

from cyclopts import Parameter

from carwright.problems import InputError, Problem


def command(
    file: Path,
    *,
    view: Literal["plan", "side", "template"] = "plan",
    take: int | None = None,
    json: bool = False,
) -> int:
    """Do what the file's name says.

    Args:
        file: what to do.
        view: which drawing.
        take: a number.
        json: print JSON.
    """
    match file.name:
        case "fine":
            print(view, take, json)
            return 0
        case "fails":
            return 1
        case "wrong":
            raise InputError([Problem("too long", value="9 in", file="car.toml", line=3), Problem("too wide")])
        case "hostile":
            raise InputError(Problem("odd", value="a\\x1b[2J\\nb\\u202ec"))
        case "fault":
            raise KeyError("thickness")
        case "stopped":
            raise KeyboardInterrupt
        case "absent":
            Path("/nowhere/at/all").read_text()
        case "table":
            Path(__import__("carwright").__file__).with_name("lost.toml").read_text()
    return 0
'''


@pytest.fixture
def stand_in(tmp_path: Path) -> Mapping[str, str]:
    """Put a command of the test's own in the place of ``plan``, in a package path that is searched first."""
    (tmp_path / "plan.py").write_text(COMMAND, encoding="utf-8")
    (tmp_path / "sitecustomize.py").write_text(
        f"import carwright.cli\ncarwright.cli.__path__.insert(0, {str(tmp_path)!r})\n", encoding="utf-8"
    )
    return {"PYTHONPATH": str(tmp_path)}


@pytest.mark.parametrize(("name", "status"), [("fine", 0), ("fails", 1), ("wrong", 2), ("fault", 3), ("stopped", 130)])
def test_exit_status_says_how_it_ended(stand_in: Mapping[str, str], name: str, status: int) -> None:
    """0 done, 1 a finding fails, 2 unusable input, 3 a fault of the program, 130 stopped from the keyboard."""
    done = run("plan", name, **stand_in)
    assert done.returncode == status
    assert "Traceback" not in done.stderr


def test_options_reach_the_command(stand_in: Mapping[str, str]) -> None:
    """Options are parsed by the types of the command's parameters, and --json may stand anywhere."""
    assert run("plan", "fine", "--take", "2", "--view", "side", **stand_in).stdout == "side 2 False\n"
    assert run("--json", "plan", "fine", **stand_in).stdout == "plan None True\n"


def test_every_problem_is_a_line(stand_in: Mapping[str, str]) -> None:
    """All problems of an input are printed at once, one a line, each with its place."""
    done = run("plan", "wrong", **stand_in)
    assert done.stderr == 'car.toml, line 3: too long: got "9 in".\ncarwright: too wide.\n'
    errors = json.loads(run("plan", "wrong", "--json", **stand_in).stderr)["errors"]
    assert [each["problem"] for each in errors] == ["too long", "too wide"]


def test_a_hostile_value_cannot_move_the_terminal(stand_in: Mapping[str, str]) -> None:
    """Escape, line end and turn-of-direction characters in a value are printed as their codes, on one line."""
    assert run("plan", "hostile", **stand_in).stderr == 'carwright: odd: got "a\\x1b[2J\\nb\\u202ec".\n'


def test_a_fault_is_one_plain_line(stand_in: Mapping[str, str]) -> None:
    """A fault of the program names the exception and asks for a report; the traceback comes only when asked for."""
    done = run("plan", "fault", **stand_in)
    assert done.stderr.count("\n") == 1
    assert "a fault of the program, not of your file: KeyError: 'thickness'" in done.stderr
    assert "Traceback (most recent call last)" in run("plan", "fault", CARWRIGHT_TRACEBACK="1", **stand_in).stderr


def test_a_file_that_is_not_there_is_input_but_a_lost_table_is_a_fault(stand_in: Mapping[str, str]) -> None:
    """A missing file of the user's ends with 2 and its name; one of the program's own with 3."""
    done = run("plan", "absent", **stand_in)
    assert done.returncode == 2
    assert "/nowhere/at/all" in done.stderr
    assert run("plan", "table", **stand_in).returncode == 3


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["fine", "--jsno"], '`carwright plan` has no such option: got "--jsno". Did you mean --json?'),
        (["fine", "--view", "sdie"], '--view: this cannot be used here: got "sdie"; accepted: plan, side, template.'),
        (["fine", "--take", "two"], '--take: this cannot be used here: got "two"; accepted: a whole number.'),
        (["fine", "--take"], "--take: a value must stand behind this option."),
        (["fine", "--take", "1", "--take", "2"], "--take: this option is given twice."),
        ([], "`carwright plan` needs FILE."),
        (["fine", "6", "1/8"], '`carwright plan` does not take so many words: got "6 1/8". Put quotes round'),
    ],
)
def test_a_slip_in_a_command_says_what_to_type(stand_in: Mapping[str, str], words: list[str], said: str) -> None:
    """A slip behind a command ends with 2 and one line that names it, what is accepted and where the help is."""
    done = run("plan", *words, **stand_in)
    assert (done.returncode, done.stdout) == (2, "")
    assert said in done.stderr
    assert "`carwright plan --help` lists what it takes." in done.stderr
    assert done.stderr.count("\n") == 1


def test_a_missing_command_does_not_break_the_others(stand_in: Mapping[str, str]) -> None:
    """Each command's module is imported only for that command."""
    program = (
        "import sys; from carwright.cli.main import COMMANDS, main; COMMANDS['absent'] = 'Not there.'\n"
        "sys.exit(main(['plan', 'fails']))"
    )
    done = subprocess.run(
        [sys.executable, "-c", program],
        capture_output=True,
        text=True,
        env={**os.environ, **stand_in},
        check=False,
        timeout=60,
    )
    assert (done.returncode, done.stderr) == (1, "")


def test_main_can_be_called_from_a_program(capsys: pytest.CaptureFixture[str]) -> None:
    """``main`` takes the words as an argument, returns the status and raises nothing, whatever the streams are."""
    assert entry.main(["--version"]) == 0
    assert entry.main(["nonsense"]) == 2
    assert isinstance(sys.stdout, io.IOBase)
    assert "no such command" in capsys.readouterr().err


def test_a_command_s_own_help_names_its_options(stand_in: Mapping[str, str]) -> None:
    """``carwright COMMAND --help`` prints the command's arguments, options and choices, and ends with 0."""
    done = run("plan", "--help", **stand_in)
    assert done.returncode == 0
    for word in ("FILE", "--view", "--take", "--json", "template"):
        assert word in done.stdout
    assert "--no-json" not in done.stdout
    assert "default: plan" in done.stdout
    assert "False" not in done.stdout
    assert "None" not in done.stdout


def test_an_error_always_says_something() -> None:
    """An input error made without a problem still has a sentence."""
    assert str(InputError([])) != ""
    assert "got" in str(Problem("too long", value="9 in"))
