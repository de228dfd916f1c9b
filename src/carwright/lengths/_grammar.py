"""The grammar shared by lengths, masses and angles: numbers, units, and the ± behind them.

Everything is exact. A text goes through ``plain`` (one spelling for quotes, dashes, spaces and built-up fractions),
``split_tolerance`` (what stands before and behind the ±) and ``read_amount`` (one number with at most one unit).
A text that does not fit raises ``Refusal``, which the public functions turn into an ``InputError``.
"""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Final, Literal

LENGTH_TOL_MM: Final[float] = 1e-6
"""Two lengths nearer than this are the same length, in mm.

A thousandth of the finest doubt any workshop instrument claims, and ten million times the rounding error of a sum of
doubles as long as a car: it swallows arithmetic and never a measurement.
"""

LONGEST_MM: Final[float] = 1e6
"""The longest length that is read, in mm: a kilometre at model size is a slip of the pen in any scale."""

LONGEST_TEXT: Final = 80
"""No length needs more characters; it also bounds the work that a hostile text can ask for."""

AmountKind = Literal["decimal", "fraction", "whole"]
Shape = Literal["", "rect", "normal", "tri"]


class Refusal(Exception):  # noqa: N818 - it never leaves this package; InputError is what users catch
    """A text that does not fit, with what is wrong and, where known, how to mend it."""

    def __init__(self, problem: str, mend: str = "") -> None:
        super().__init__(problem)
        self.problem = problem
        self.mend = mend


@dataclass(frozen=True, slots=True)
class Amount:
    """A number as typed: ``numerator / denominator`` of ``unit`` ("" where none was typed).

    ``places`` is the number of decimals typed, 0 for fractions and whole numbers.
    """

    numerator: int
    denominator: int
    kind: AmountKind
    places: int
    unit: str

    @property
    def exact(self) -> Fraction:
        """Return the number as a fraction, without its unit."""
        return Fraction(self.numerator, self.denominator)


@dataclass(frozen=True, slots=True)
class Spread:
    """What stands behind the ±, not yet read: texts of the upper and lower half, and the shape named."""

    plus: str
    minus: str
    shape: Shape


def _spellings() -> dict[int, str]:
    table: dict[int, str] = {}
    for group, one in (
        ("\u00a0\u2000\u2001\u2002\u2003\u2004\u2005\u2006\u2007\u2008\u2009\u200a\u202f\u205f\u3000\t\r\n", " "),
        ("\u2010\u2011\u2012\u2013\u2014\u2015\u2212\ufe63\uff0d", "-"),
        ("\u2032\u2018\u2019\u201a\u201b\u00b4\u0060\u02b9\u02bc\uff07", "'"),
        ("\u2033\u201c\u201d\u201e\u201f\u02ba\u3003\uff02", '"'),
        ("\u2044\u2215\uff0f", "/"),
        ("\u215f", " 1/"),
        ("\u00ba\u02da", "°"),
        ("\u2116", "#"),
        ("\u200b\ufeff\u2060", ""),
    ):
        table.update(dict.fromkeys(map(ord, group), one))
    for code in (*range(0xBC, 0xBF), *range(0x2150, 0x215F), 0x2189):
        table[code] = " " + unicodedata.normalize("NFKD", chr(code)).replace("\u2044", "/")
    return table


_SPELLINGS: Final = _spellings()

_DECIMAL = r"[0-9]*[.,][0-9]+"
_AMOUNT = re.compile(
    rf"(?:(?:([0-9]+)(?: +|-))?([0-9]+) */ *([0-9]+)|({_DECIMAL})|([0-9]+)) *((?:[a-z\"'°%][a-z\"'°%.]*)?)"
)
_SHAPE = re.compile(r" +(rect(?:angular)?|normal|tri(?:angular)?)$")
_SYMMETRIC = re.compile(r"(.*?[^ +]) *(?:±|\+ */ *-|\+-) *([^ ].*)")
_PART = rf"(?:{_DECIMAL}|[0-9]+) *(?:[a-z\"][a-z\".]*)?"
_PLUS_MINUS = re.compile(rf"(.*?[^ ]) *\+ *({_PART}) *[/,]? *- *({_PART})")
_MINUS_PLUS = re.compile(rf"(.*?[^ ]) +- *({_PART}) */ *\+ *({_PART})")
_SHAPES: Final[Mapping[str, Shape]] = {"r": "rect", "n": "normal", "t": "tri"}


def as_typed(given: object, *, what: str) -> str:
    """Return ``given`` as the text that a person would have typed; a number is written out without an exponent.

    Raises:
        Refusal: it is neither text nor a finite number; ``what`` names what was wanted ("length").
    """
    if isinstance(given, str):
        return given
    if isinstance(given, bool) or not isinstance(given, (int, float)):
        raise Refusal(f"this is not a {what}", f"Write the {what} in quotes.")
    if isinstance(given, int):
        if abs(given) > 10**LONGEST_TEXT:
            raise Refusal(f"no {what} has so many digits")
        return str(given)
    if not math.isfinite(given):
        raise Refusal(f"a {what} must be a finite number", "Leave the key empty where it is not known.")
    return format(Decimal(repr(given)), "f")


def plain(text: str, *, what: str) -> str:
    """Return ``text`` in small letters and one spelling: plain quotes, dashes, spaces and slashes, ½ as 1/2.

    Raises:
        Refusal: nothing is left, it is too long, or it is a word for "not a number".
    """
    if len(text) > LONGEST_TEXT:
        raise Refusal(f"this is too long for a {what}", f"Use at most {LONGEST_TEXT} characters.")
    if not text.isascii() or "`" in text or "\t" in text or "\n" in text or "\r" in text:
        text = text.translate(_SPELLINGS)
    text = text.strip().lower()
    if "''" in text:
        text = text.replace("''", '"')
    if not text:
        raise Refusal(f"no {what} is given", f"Type a {what}, or leave the key out where it is not known.")
    if text.lstrip("+-") in {"nan", "inf", "infinity"}:
        raise Refusal(f"a {what} must be a finite number", "Leave the key empty where it is not known.")
    return text


def split_tolerance(text: str) -> tuple[str, Spread | None]:
    """Return what stands before the ± and what stands behind it, None where there is none.

    ``text`` comes from ``plain``. Forms: ``A ± b``, ``A +/- b``, ``A +b/-c``, ``A -c/+b``, each with ``rect``,
    ``normal`` or ``tri`` behind it.
    """
    if "±" not in text and "+" not in text[1:]:
        return text, None
    shape: Shape = ""
    body = text
    if found := _SHAPE.search(text):
        shape, body = _SHAPES[found[1][0]], text[: found.start()]
    if found := _SYMMETRIC.fullmatch(body):
        return found[1], Spread(found[2], found[2], shape)
    if found := _PLUS_MINUS.fullmatch(body):
        return found[1], Spread(found[2], found[3], shape)
    if found := _MINUS_PLUS.fullmatch(body):
        return found[1], Spread(found[3], found[2], shape)
    return text, None


def split_sign(text: str) -> tuple[int, str]:
    """Return the sign in front (1 where there is none) and what follows it."""
    if text[:1] in {"+", "-"}:
        return (-1 if text[0] == "-" else 1), text[1:].lstrip(" ")
    return 1, text


def read_amount(text: str, units: Mapping[str, str]) -> Amount | None:
    """Return the unsigned number that ``text`` is, with its unit by ``units`` (spelling to unit); None if it is none.

    Raises:
        Refusal: a number stands there, but its fraction, comma or unit cannot be used.
    """
    found = _AMOUNT.fullmatch(text)
    if found is None:
        return None
    whole, top, bottom, decimal, digits, spelling = found.groups()
    unit = ""
    if spelling:
        unit = units.get(spelling) or units.get(spelling.rstrip(".")) or ""
        if not unit:
            raise _unknown_unit(text[: found.start(6)].rstrip(), spelling, units)
    if digits is not None:
        return Amount(int(digits), 1, "whole", 0, unit)
    if decimal is not None:
        before, comma, after = decimal.partition(",")
        if not comma:
            before, _, after = decimal.partition(".")
        elif len(after) == 3 and 0 < len(before) <= 3 and before[0] != "0":
            rest = f" {spelling}" if spelling else ""
            raise Refusal(
                "a comma with three digits behind it can be read two ways",
                f'Write "{before}.{after}{rest}" or "{before}{after}{rest}".',
            )
        scale = 10 ** len(after)
        return Amount(int(before or "0") * scale + int(after), scale, "decimal", len(after), unit)
    n, d = int(top), int(bottom)
    if d == 0:
        raise Refusal(
            "a fraction over zero has no value", "Write the fraction with the number of parts below the line."
        )
    if whole is not None:
        if n >= d:
            raise Refusal(
                "the fraction behind a whole number must be less than one",
                f'Did you mean "{int(whole) + n // d} {n % d}/{d}", or "{top}/{bottom}" alone?',
            )
        n += int(whole) * d
    return Amount(n, d, "fraction", 0, unit)


def _unknown_unit(number: str, spelling: str, units: Mapping[str, str]) -> Refusal:
    if spelling in {"mil", "mils", "mill", "mills"}:
        return Refusal(
            f'"{spelling}" can be read two ways', f'Write "{number} thou" for thousandths of an inch, or "{number} mm".'
        )
    if spelling.startswith(("rect", "normal", "tri")):
        return Refusal(
            f'"{spelling}" says how a ± is spread, and there is none', f'Write "{number} ± 0.002 {spelling}".'
        )
    if re.fullmatch("[oil]+", spelling):
        figures = spelling.translate(str.maketrans("oil", "011"))
        return Refusal("a letter stands among the figures", f'Did you mean "{number}{figures}"?')
    import difflib  # late: only a refusal needs it

    number = number.strip()
    near = difflib.get_close_matches(spelling, [each for each in units if len(each) > 1], n=1, cutoff=0.5)
    problem = f'"{spelling}" is not a unit that is known here'
    if near:
        return Refusal(problem, f'Did you mean "{number} {units[near[0]]}"?')
    known = [f'"{number} {unit}"' for unit in list(dict.fromkeys(units.values()))[:2] if unit]
    return Refusal(problem, f"Write {' or '.join(known)}." if known else f'Write "{number}" alone.')
