"""The pages say what is so: their commands print what they show, and what they name is there."""

from __future__ import annotations

import importlib
import io
import re
from pathlib import Path

import pytest
from tests.docs.pages import DOCS, Command, File, pages, said_in_order, steps

from carwright.cli.main import COMMANDS, main

ROOT = DOCS.parent
README = ROOT / "README.md"
RUNNABLE = [page for page in (README, *pages()) if any(isinstance(step, Command) for step in steps(page))]


@pytest.mark.parametrize("page", RUNNABLE, ids=lambda page: page.name)
def test_commands_of_a_page_print_what_it_shows(
    page: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Done in order in an empty folder, each command ends with 0 or 1 and prints what the page shows."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("CARWRIGHT_DATA", str(tmp_path / "data"))
    for step in steps(page):
        if isinstance(step, File):
            before = Path(step.name).read_text(encoding="utf-8") if step.append else ""
            Path(step.name).parent.mkdir(parents=True, exist_ok=True)
            Path(step.name).write_text(before + step.text, encoding="utf-8")
            continue
        monkeypatch.setattr("sys.stdin", io.StringIO(step.typed))
        status = main(step.words)
        printed = capsys.readouterr()
        place = f"{page.name}, line {step.line}"
        assert status in (0, 1), f"{place}: {printed.err}"
        missed = said_in_order(step.said, printed.out.splitlines())
        assert not missed, f"{place}: not printed: {missed}\n{printed.out}"


@pytest.mark.parametrize("page", [*pages(), README], ids=lambda page: page.name)
def test_links_lead_somewhere(page: Path) -> None:
    """Each link to a file of ours leads to one that is there, and each to a heading to one on that page."""
    if not page.exists():
        pytest.fail(f"{page} is not there")
    for target in re.findall(r"\]\(([^)\s]+)\)", page.read_text(encoding="utf-8")):
        if re.match(r"[a-z]+:", target):
            continue
        name, _, heading = target.partition("#")
        there = (page.parent / name).resolve() if name else page
        assert there.exists(), f"{page.name}: {target}"
        if heading:
            assert heading in _anchors(there), f"{page.name}: {target}"


def test_the_readme_leads_through_the_whole_job() -> None:
    """The README's commands are run like any page's, come in the order of the work, and its links reach every page."""
    assert README in RUNNABLE
    commands = [step.words[0] for step in steps(README) if isinstance(step, Command)]
    assert list(dict.fromkeys(commands)) == ["start", "plan", "curve", "draw", "book", "cut"]
    text = README.read_text(encoding="utf-8")
    assert [page.name for page in sorted(DOCS.glob("*.md")) if f"(docs/{page.name})" not in text] == []


def test_the_readme_shows_no_output_that_is_not_run() -> None:
    """Indented blocks of the README are commands for a shell; what the program prints stands in blocks that are run."""
    blocks = re.findall(r"^    (\S+)", README.read_text(encoding="utf-8"), re.MULTILINE)
    assert set(blocks) <= {"git", "make", ".", "python3", "python", "carwright"}


def test_the_readme_says_how_the_command_is_found() -> None:
    """The line behind `make demo` puts the command on the shell's path, before any other command needs it."""
    text = README.read_text(encoding="utf-8")
    assert re.search(r"^    make demo .*\n    \. \.venv/bin/activate", text, re.MULTILINE)
    assert text.index(". .venv/bin/activate") < text.index("$ carwright ")


def _anchors(page: Path) -> set[str]:
    """Return the anchors that a page's headings get where it is shown: small letters, hyphens for spaces, no marks."""
    headings = re.findall(r"^#+ (.+)$", page.read_text(encoding="utf-8"), re.MULTILINE)
    return {re.sub(r"[^\w\- ]", "", each.lower()).strip().replace(" ", "-") for each in headings}


@pytest.mark.parametrize("page", pages(), ids=lambda page: page.name)
def test_tests_that_a_page_names_are_there(page: Path) -> None:
    """A test that a page names is there: the file, the function, or a folder with tests in it."""
    text = page.read_text(encoding="utf-8")
    files = {path.name: path for path in (ROOT / "tests").rglob("test_*.py")}
    functions = {
        name for path in files.values() for name in re.findall(r"^def (test_\w+)", path.read_text("utf-8"), re.M)
    }
    for name in re.findall(r"`(?:tests/[\w/]*/)?(test_\w+\.py)`", text):
        assert name in files, f"{page.name}: {name}"
    for path in re.findall(r"`(tests/[\w/]+\.py)`", text):
        assert (ROOT / path).exists(), f"{page.name}: {path}"
    for folder in re.findall(r"`(tests/[\w/]*)/`", text):
        assert list((ROOT / folder).glob("test_*.py")), f"{page.name}: {folder}"
    for name in re.findall(r"`(test_\w+)`", text):
        assert name in functions, f"{page.name}: {name}"


def test_every_command_has_its_place() -> None:
    """Each command stands under a heading of its own in the recipes' list of commands, with every option it takes."""
    text = (DOCS / "howto.md").read_text(encoding="utf-8")
    parts = dict(re.findall(r"^### `carwright (\w+)`\n(.*?)(?=^#|\Z)", text, re.MULTILINE | re.DOTALL))
    assert list(parts) == list(COMMANDS)
    for command, part in parts.items():
        named = set(re.findall(r"`(--[a-z-]+)[ `]", part))
        assert named == _options(command), command


def _options(command: str) -> set[str]:
    """Return the options of a command, as its help lists them."""
    from cyclopts import App, Parameter

    module = importlib.import_module(f"carwright.cli.{command}")
    app = App(default_command=module.command, default_parameter=Parameter(negative=()))
    arguments = app.assemble_argument_collection()
    return {name for each in arguments if not each.field_info.is_positional_only for name in each.names}
