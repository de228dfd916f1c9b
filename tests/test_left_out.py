"""A run of the tests that leaves one out is a failed run, and says which one and why."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

PASSES = "def test_passes():\n    pass\n"
SKIPPED = "import pytest\n\n\ndef test_skipped():\n    pytest.skip('no printer here')\n"
MODULE_SKIPPED = "import pytest\n\npytest.skip('no paper here', allow_module_level=True)\n"
EXPECTED = (
    "import pytest\n\n\n@pytest.mark.xfail(reason='the book is wrong')\ndef test_differs():\n    raise ValueError\n"
)


def run_tests(folder: Path, sources: dict[str, str], **changes: str) -> subprocess.CompletedProcess[str]:
    """Run pytest on small test files, under a copy of this suite's own conftest."""
    shutil.copy(Path(__file__).with_name("conftest.py"), folder)
    for name, source in sources.items():
        (folder / name).write_text(source, encoding="utf-8")
    kept = {name: value for name, value in os.environ.items() if name != "ALLOW_SKIPS"}
    return subprocess.run(
        [sys.executable, "-m", "pytest", "-p", "no:cacheprovider", str(folder)],
        capture_output=True,
        encoding="utf-8",
        cwd=folder,
        env={**kept, **changes},
        check=False,
        timeout=120,
    )


@pytest.mark.parametrize(
    ("source", "reason"), [(SKIPPED, "no printer here"), (MODULE_SKIPPED, "no paper here")], ids=["test", "module"]
)
def test_a_run_with_a_test_left_out_fails_and_names_it(tmp_path: Path, source: str, reason: str) -> None:
    """One skipped test or module turns a run that is green otherwise into status 1, with its name and reason."""
    done = run_tests(tmp_path, {"test_a.py": PASSES, "test_b.py": source})
    assert done.returncode == 1
    assert "test_b.py" in done.stdout
    assert reason in done.stdout
    assert "ALLOW_SKIPS=1 accepts it" in done.stdout


def test_allow_skips_accepts_it_and_still_names_it(tmp_path: Path) -> None:
    """With ALLOW_SKIPS=1 the same run ends with 0 and names what was left out all the same."""
    done = run_tests(tmp_path, {"test_a.py": PASSES, "test_b.py": SKIPPED}, ALLOW_SKIPS="1")
    assert done.returncode == 0
    assert "no printer here" in done.stdout


def test_an_expected_failure_is_not_left_out(tmp_path: Path) -> None:
    """A test that is expected to fail was run, so the run stays green."""
    done = run_tests(tmp_path, {"test_a.py": PASSES, "test_b.py": EXPECTED})
    assert done.returncode == 0
    assert "left out" not in done.stdout
