"""Laws: what is shown reads back, what was read reads again, and nothing but a refusal ever comes out."""

from __future__ import annotations

from contextlib import suppress
from fractions import Fraction

from hypothesis import example, given, settings
from hypothesis import strategies as st

from carwright.lengths import Reading, Style, parse_angle, parse_count, parse_length, parse_mass, show, show_in
from carwright.problems import InputError

INSTRUMENTS_MM = {"outside": 0.0254, "depth": 0.0508, "inside": 0.0508, "height": 0.0508, "rule": 25.4 / 128}
HO = 87.1

lengths_mm = st.floats(min_value=-5000, max_value=5000, allow_nan=False)
tolerances_mm = st.one_of(st.none(), st.floats(min_value=1e-4, max_value=20))


def _read(text: str | int | float) -> Reading:
    return parse_length(text, ratio=HO, instruments=INSTRUMENTS_MM, allow_negative=True, drill=lambda _: None)


HALF_STEP_MM: dict[Style, float] = {
    "fraction": 0.0005 * 25.4,
    "inch": 0.0005 * 25.4,
    "mm": 0.005,
    "scale": 0.05 * 25.4 / HO,
}
"""Half of the last place that each style shows, in mm at model size."""


@given(lengths_mm, st.sampled_from(sorted(HALF_STEP_MM)), st.booleans())
@example(0.0762, "fraction", True)
@example(-0.0762, "fraction", False)
@example(-40.0, "fraction", False)
def test_what_is_shown_reads_back(mm: float, style: Style, signed: bool) -> None:
    """parse(show(x)) is x to half of the last place of the style, in every style, signed or not."""
    assert abs(_read(show(mm, style, ratio=HO, signed=signed)).mm - mm) <= HALF_STEP_MM[style] + 1e-9


@given(lengths_mm)
def test_metres_of_the_prototype_read_back(mm: float) -> None:
    """A size shown in metres of the prototype reads back to half a centimetre of it."""
    assert abs(_read(show(mm, "scale", ratio=HO, units="mm")).mm - mm) <= 5.0 / HO + 1e-9


@given(lengths_mm, st.sampled_from(sorted(HALF_STEP_MM)), tolerances_mm)
def test_rounding_never_costs_more_than_the_measurement_is_worth(
    mm: float, style: Style, tolerance_mm: float | None
) -> None:
    """Shown with a ±, a length reads back to within that ± or half of the style's own last place."""
    allowed = max(HALF_STEP_MM[style], tolerance_mm or 0.0)
    if style == "scale" and tolerance_mm:
        allowed = max(allowed, 0.5 * 25.4 / HO)
    assert abs(_read(show(mm, style, ratio=HO, tolerance_mm=tolerance_mm)).mm - mm) <= allowed * (1 + 1e-6) + 1e-9


@given(lengths_mm, st.sampled_from(["in", "mm"]), tolerances_mm)
def test_showing_twice_changes_nothing(mm: float, units: str, tolerance_mm: float | None) -> None:
    """A length shown, read and shown again is the same text."""
    once = show_in(mm, units, tolerance_mm=tolerance_mm)  # type: ignore[arg-type]  # the two words of the strategy
    again = show_in(_read(once).mm, units, tolerance_mm=tolerance_mm)  # type: ignore[arg-type]  # likewise
    assert once == again


@given(
    whole=st.integers(0, 999),
    top=st.integers(0, 127),
    bottom=st.integers(1, 128),
    joint=st.sampled_from([" ", "-"]),
    unit=st.sampled_from(["", " in", '"', " mm", " cm", " ft"]),
)
def test_mixed_fractions_are_exact(whole: int, top: int, bottom: int, joint: str, unit: str) -> None:
    """A mixed number is its whole part plus its fraction, exactly, for every denominator."""
    factor = {"": Fraction(254, 10), " mm": Fraction(1), " cm": Fraction(10), " ft": Fraction(3048, 10)}
    text = f"{whole}{joint}{top}/{bottom}{unit}"
    if top >= bottom:
        text = f"{top}/{bottom}{unit}"
        whole = 0
    assert _read(text).exact == (whole + Fraction(top, bottom)) * factor.get(unit, Fraction(254, 10))


@given(st.decimals(min_value=0, max_value=9999, places=4), st.sampled_from(["in", "mm", "thou", "cm", "m", "ft"]))
def test_decimals_are_exact(number: object, unit: str) -> None:
    """A decimal is that decimal times the unit's definition, exactly; a decimal comma is a decimal point."""
    inch = Fraction(254, 10)
    factor = {"in": inch, "mm": 1, "thou": inch / 1000, "cm": 10, "m": 1000, "ft": inch * 12}[unit]
    expected = Fraction(str(number)) * factor
    if expected > 10**6:
        return
    assert _read(f"{number} {unit}").exact == expected
    assert _read(f"{number} {unit}".replace(".", ",")).exact == expected


@given(st.floats(min_value=-9e5, max_value=9e5).filter(lambda number: number == 0.0 or abs(number) > 1e-30))
def test_a_number_of_the_file_means_its_own_digits(number: float) -> None:
    """A bare float means exactly the shortest decimal that stands for it."""
    reading = parse_length(number, units="mm", instruments=INSTRUMENTS_MM, allow_negative=True)
    assert reading.mm == number


@given(
    st.text(max_size=30).flatmap(lambda text: st.sampled_from([text, f"0.284 {text}", f"6 1/8{text}", f"{text}40'"]))
)
@settings(max_examples=300)
def test_any_text_is_read_or_refused(text: str) -> None:
    """Whatever is typed, the answer is a finite reading that reads again the same, or a refusal; nothing else."""
    try:
        reading = _read(text)
    except InputError:
        return
    again = _read(reading.text)
    assert (again.exact, again.tolerance_mm) == (reading.exact, reading.tolerance_mm)
    assert reading.mm == float(reading.exact)


alphabet = st.text(alphabet="0123456789/.,-+± \"'inmftscalerutodp#½″′", max_size=24)


@given(alphabet)
@settings(max_examples=500)
@example("/" * 80)
@example("1-" * 40)
@example("+" * 80)
@example("1 " * 40)
def test_texts_that_look_like_lengths_are_read_or_refused(text: str) -> None:
    """Texts of digits, marks and unit letters never end in anything but a reading or a refusal."""
    for parse in (_read, parse_mass, parse_angle, parse_count):
        with suppress(InputError):
            parse(text)


@given(st.one_of(st.none(), st.booleans(), st.integers(), st.floats(), st.lists(st.integers()), st.binary(max_size=9)))
def test_any_value_of_a_file_is_read_or_refused(value: object) -> None:
    """Values that are no text and no number are refused like any other slip."""
    for parse in (_read, parse_mass, parse_angle, parse_count):
        with suppress(InputError):
            parse(value)  # type: ignore[operator]  # wrong types are the point
