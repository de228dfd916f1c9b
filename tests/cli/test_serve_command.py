"""``carwright serve`` as its user meets it: started, asked, ended with Ctrl+C."""

from __future__ import annotations

import http.client
import re
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from carwright.cli.main import main


@contextmanager
def serving(*words: str) -> Iterator[tuple[subprocess.Popen[str], int, str]]:
    """Start the program and yield it, the port that it names, and the line in which it does."""
    command = [sys.executable, "-m", "carwright", "serve", "--port", "0", *words]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None
        try:
            line = process.stdout.readline()
            yield process, int(re.findall(r":(\d+)$", line.strip())[0]), line
        finally:
            process.kill()


def test_it_makes_a_shop_answers_and_ends_at_once(tmp_path: Path) -> None:
    """It prints where it is, answers to this machine, and Ctrl+C ends it with 0 even while a page is listening."""
    shop = tmp_path / "new.carwright"
    with serving("--shop", str(shop)) as (process, port, line):
        assert line == f"The shop is open at http://127.0.0.1:{port}\n"
        connection = http.client.HTTPConnection("127.0.0.1", port, timeout=20)
        connection.request("GET", "/")
        answer = connection.getresponse()
        assert answer.status == 200
        assert "No car yet" in answer.read().decode()
        live = http.client.HTTPConnection("127.0.0.1", port, timeout=20)
        live.request("GET", "/live?since=0")
        assert live.getresponse().status == 200
        process.send_signal(signal.SIGINT)
        assert process.wait(timeout=10) == 0
        assert process.stderr is not None
        assert process.stderr.read() == ""
    assert shop.exists()


def test_a_tablet_is_told_how_to_come_in(tmp_path: Path) -> None:
    """With --tablet it prints a code in two halves, and says who can see the link and when pairing ends."""
    with serving("--tablet", "--shop", str(tmp_path / "s")) as (process, _, _):
        process.send_signal(signal.SIGINT)
        process.wait(timeout=10)
        assert process.stdout is not None
        said = process.stdout.read()
    if "no network" in said:
        return  # a machine without a network has no address to print
    assert re.search(r"Pairing code: \d{4} \d{4}\n", said)
    assert "not encrypted" in said
    assert "Pairing ends when the program ends." in said


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--port", "70000"], "there is no such port"),
        (["--listen", "0.0.0.0"], "others would come in without being asked"),  # noqa: S104 -- it is refused
        (["--listen", "bench.example", "--club"], "this is no address to listen on"),
        (["--shop", "ftp://server/shop"], "a shop cannot be kept there"),
    ],
)
def test_what_cannot_be_is_said(words: list[str], said: str, capsys: pytest.CaptureFixture[str]) -> None:
    """A port, address or shop that cannot be is named, and the command ends with 2."""
    assert main(["serve", *words]) == 2
    assert said in capsys.readouterr().err
