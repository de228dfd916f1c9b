"""The text of a list that a spreadsheet wrote, the sign that stands between its cells, and amounts of money."""

from __future__ import annotations

import re
from decimal import Decimal, InvalidOperation

from carwright.car.document import MAX_BYTES
from carwright.problems import InputError, Problem

__all__ = ["MOST_MONEY", "money", "separator_of", "text_of_list"]

MOST_MONEY = 10**9
"""The largest amount; what is reckoned with it stays exact."""

_MEND = "Save it again as CSV in UTF-8."


def text_of_list(data: bytes, *, file: str = "") -> str:
    """Return the text of a list: UTF-8, with or without the mark at its beginning.

    Args:
        data: the file's bytes, at most ``MAX_BYTES``.
        file: its name, for the problem.

    Raises:
        InputError: too big, not text, or not UTF-8; one problem that says which.
    """
    if len(data) > MAX_BYTES:
        mend = "Check that it is the file you meant."
        raise InputError(Problem("the list is too big", "", f"at most {MAX_BYTES // 1_000_000} MB", mend, file=file))
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        raise InputError(Problem("the list is saved as UTF-16", "", "UTF-8", _MEND, file=file))
    zero = data.find(b"\0")
    if zero >= 0:
        line = data.count(b"\n", 0, zero) + 1
        found = f"a zero byte at byte {zero + 1}"
        mend = f"Check that it is the file you meant. {_MEND}"
        raise InputError(Problem("the list is not a text", found, "CSV in UTF-8", mend, file=file, line=line))
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as slip:
        line = data.count(b"\n", 0, slip.start) + 1
        found = f"byte 0x{data[slip.start]:02x} at byte {slip.start + 1}"
        raise InputError(Problem("the list is not UTF-8", found, "UTF-8", _MEND, file=file, line=line)) from None


def separator_of(text: str) -> str:
    r"""Return what stands between the cells: a comma, or the semicolon or tab that a first line without commas has.

    The first line is the first that is neither empty nor begins with #.

    Example:
        >>> separator_of("name;length\nsill;5,5")
        ';'
    """
    lines = (line for line in text.splitlines() if line.strip() and not line.lstrip("\ufeff ").startswith("#"))
    head = next(lines, "")
    return next((sign for sign in ";\t" if sign in head and "," not in head), ",")


def money(text: str, key: str) -> Decimal | None:
    """Return a cost or value as typed, with or without a sign of money before it; None for nothing.

    Where a comma stands before one or two last figures and there is no point, it is the decimal sign.

    Raises:
        InputError: it is no number, a negative one, or above ``MOST_MONEY``.
    """
    words = text.strip().lstrip("$€£ ").strip()
    if not words:
        return None
    if re.fullmatch(r"-?\d+,\d{1,2}", words):
        words = words.replace(",", ".")
    try:
        number = Decimal(words)
    except InvalidOperation:
        number = Decimal("NaN")
    if not number.is_finite():
        raise InputError(
            Problem("this is no amount", value=text, accepted="1.25", mend="Write the number alone.", key=key)
        )
    if not 0 <= number <= MOST_MONEY:
        mend = "Write what one costs or is worth."
        raise InputError(Problem("this amount cannot be used", text, f"0 to {MOST_MONEY}", mend, key=key))
    return number
