"""``carwright length`` as it is used at the bench."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from carwright.cli.main import main


def test_one_length_in_every_style(capsys: pytest.CaptureFixture[str]) -> None:
    """The quoted height of an HO coupler is shown in each style, with fraction, drill and sheet and their errors."""
    assert main(["length", "0.391"]) == 0
    assert capsys.readouterr().out == (
        "0.391\n"
        "\n"
        "  ±             0.001 in (caliper, outside)\n"
        "  fraction      25/64 in\n"
        "  inches        0.391 in\n"
        "  millimetres   9.93 mm\n"
        "  HO, 1:87.1    2' 10.1\" = 0.87 m\n"
        "\n"
        "                nearest                thou         mm   scale in\n"
        "  1/64 in       25/64 in               -0.4      -0.01      -0.03\n"
        "  number drill  #1 (0.228 in)        -163.0      -4.14     -14.20\n"
        "  sheet         0.125 in             -266.0      -6.76     -23.17\n"
        "\n"
        "  The three columns are the error, that size less the length.\n"
        "  Sheet: the usual thicknesses, common practice.\n"
    )


def test_the_same_for_other_programs(capsys: pytest.CaptureFixture[str]) -> None:
    """--json gives text, mm, tolerance_mm, styles and the three nearest sizes with error_mm, size less length."""
    assert main(["length", "#61", "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert (found["text"], found["tolerance_mm"], found["distribution"]) == ("#61", 0.0, "nominal")
    assert found["mm"] == pytest.approx(0.039 * 25.4)
    assert found["styles"] == {
        "fraction": "1/32 in + 0.008",
        "inch": "0.039 in",
        "mm": "0.99 mm",
        "scale": '3.4" scale',
        "scale_m": "0.09 m scale",
    }
    assert list(found["nearest"]) == ["fraction", "drill", "sheet"]
    assert found["nearest"]["drill"] == {"text": "#61 (0.039 in)", "error_mm": pytest.approx(0.0, abs=1e-9)}
    assert found["nearest"]["fraction"]["error_mm"] == pytest.approx((1 / 32 - 0.039) * 25.4)
    assert found["nearest"]["sheet"]["text"] == "0.040 in"


def test_no_line_is_wider_than_a_terminal(capsys: pytest.CaptureFixture[str]) -> None:
    """The longest lengths that are read still fit 80 columns."""
    for text in ("999 m", "-0", "3000 ft", "0.0001 mm"):
        assert main(["length", text, "--scale", "Z"]) == 0
        assert max(map(len, capsys.readouterr().out.splitlines())) <= 80


def test_a_reader_in_millimetres(capsys: pytest.CaptureFixture[str]) -> None:
    """In millimetres a bare number is millimetres, and the usual sheets are metric; NEM takes 1:87."""
    assert main(["length", "0.74", "--units", "mm", "--scale", "H0", "--standard", "NEM"]) == 0
    out = capsys.readouterr().out
    assert "  millimetres   0.74 mm\n" in out
    assert "  H0, 1:87 " in out
    assert "  sheet         0.75 mm                +0.4      +0.01      +0.03\n" in out


def test_a_size_on_paper_has_no_doubt(capsys: pytest.CaptureFixture[str]) -> None:
    """--nominal shows a fraction's millimetres with all usual digits, where a reading to 1/64 supports but one."""
    main(["length", "25/64"])
    assert "  millimetres   9.9 mm\n" in capsys.readouterr().out
    main(["length", "25/64", "--nominal"])
    assert "  millimetres   9.92 mm\n" in capsys.readouterr().out


def test_the_sheets_on_the_shelf_are_looked_through(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """With a car file the nearest sheet is one that is on hand, by its measured thickness; none left is none."""
    car = tmp_path / "car.toml"
    car.write_text(
        '[car]\nscale = "N"\n'
        '[[shelf.sheet]]\nthickness = "0.031"\ncount = 2\n'
        '[[shelf.sheet]]\nthickness = "0.040"\ncount = 0\n'
        '[[shelf.sheet]]\nthickness = "0.015"\n',
        encoding="utf-8",
    )
    assert main(["length", "0.039", "--shelf", str(car)]) == 0
    out = capsys.readouterr().out
    assert "  N, 1:160 " in out
    assert "  sheet         0.031 in               -8.0      -0.20      -1.28\n" in out
    assert "  Sheet: the sheets on the shelf.\n" in out


def test_a_text_that_is_no_length(capsys: pytest.CaptureFixture[str]) -> None:
    """A refused text ends with status 2, one line on standard error and nothing on standard output."""
    assert main(["length", "1,250"]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err == (
        'carwright: a comma with three digits behind it can be read two ways: got "1,250"; accepted: a length such as '
        '1-11/32, 0.284 in, 12.7 mm, 30 thou, #61 or 40\' 6" scale. Write "1.250" or "1250".\n'
    )


def test_a_scale_that_does_not_exist(capsys: pytest.CaptureFixture[str]) -> None:
    """An unknown scale is laid to the option that named it."""
    assert main(["length", "1", "--scale", "HOO", "--json"]) == 2
    (error,) = json.loads(capsys.readouterr().err)["errors"]
    assert (error["key"], error["value"]) == ("--scale", "HOO")
