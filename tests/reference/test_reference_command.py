"""``carwright reference``: what it prints, on a pipe and as JSON, and how it refuses."""

from __future__ import annotations

import json

import pytest

from carwright.cli.main import main
from carwright.reference import entries, topic_title, topics


def test_without_a_topic_it_lists_them_all(capsys: pytest.CaptureFixture[str]) -> None:
    """The list has every topic with one line of words."""
    assert main(["reference"]) == 0
    page = capsys.readouterr().out
    for topic in topics():
        assert topic in page
        assert topic_title(topic)


@pytest.mark.parametrize("topic", topics())
def test_every_topic_fits_eighty_columns_and_cites_its_sources(topic: str, capsys: pytest.CaptureFixture[str]) -> None:
    """Every topic prints, within 80 columns, with a source under every table and no colour codes on a pipe."""
    assert main(["reference", topic]) == 0
    page = capsys.readouterr().out
    assert max(map(len, page.splitlines())) <= 80
    assert "Source: " in page
    assert "\x1b" not in page


def test_memory_is_shown_as_memory(capsys: pytest.CaptureFixture[str]) -> None:
    """The N height, which was not read, says so where it is printed."""
    assert main(["reference", "coupler_height.S2_N_unconfirmed"]) == 0
    assert "from memory, not read" in capsys.readouterr().out


def test_a_topic_as_json(capsys: pytest.CaptureFixture[str]) -> None:
    """JSON holds every value of the topic with its pedigree, and an edition that was not seen is null."""
    assert main(["reference", "drills.number", "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    fifty = next(each for each in found["entries"] if each["key"] == "workshop.drills.number.rows.50.diameter")
    assert (fifty["value"], fifty["unit"], fifty["basis"], fifty["edition"]) == (0.07, "in", "seen", None)
    assert len(found["entries"]) == len(entries("drills.number"))


def test_an_unknown_topic_is_refused_with_near_misses(capsys: pytest.CaptureFixture[str]) -> None:
    """A topic that does not exist: exit 2, the word, the near misses."""
    assert main(["reference", "couplers"]) == 2
    trouble = capsys.readouterr().err
    assert '"couplers"' in trouble
    assert "coupler_height" in trouble
