"""Where a value comes from, and how to say so in words."""

from __future__ import annotations

from dataclasses import dataclass

from carwright.working import Basis

__all__ = ["Citation", "Entry", "Value", "basis_words"]

Value = str | int | float | bool | tuple["Value", ...]
"""One stored value: a text, a number, a yes or no, or a list of these."""

_WORDS: dict[str, str] = {
    "seen": "read",
    "memory": "from memory",
    "practice": "common practice",
    "derived": "worked out",
}


def basis_words(basis: Basis, reading: str = "") -> str:
    """Return how a value is known, in the words shown to the reader.

    Args:
        basis: "seen", "memory", "practice" or "derived".
        reading: "direct", "second_hand" or "" where it was not recorded.

    Example:
        >>> basis_words("seen", "second_hand")
        'read in a quotation'
    """
    if basis == "seen" and reading == "second_hand":
        return "read in a quotation"
    return _WORDS.get(basis, "")


@dataclass(frozen=True, slots=True)
class Citation:
    """The pedigree of a value; every field but ``basis`` may be "" or empty where nothing was recorded.

    Args:
        basis: how it is known.
        reading: "direct" or "second_hand".
        document: what was read, or what the recalled figure is said to be in.
        edition: edition and place; "" where it was not seen.
        confidence: "high", "medium" or "low", where it was not read.
        address: where the copy stood.
        sources: titles of the documents that bear on it.
    """

    basis: Basis = ""
    reading: str = ""
    document: str = ""
    edition: str = ""
    confidence: str = ""
    address: tuple[str, ...] = ()
    sources: tuple[str, ...] = ()

    @property
    def basis_words(self) -> str:
        """Return how the value is known, in words."""
        return basis_words(self.basis, self.reading)

    @property
    def edition_words(self) -> str:
        """Return the edition, "edition not seen" for a document without one, or "" where there is no document."""
        if self.edition:
            return self.edition
        return "edition not seen" if self.document and self.basis in ("seen", "memory") else ""

    def __str__(self) -> str:
        documents = self.document or "; ".join(self.sources)
        if self.basis == "memory":
            start = "from memory, not read" + (f" ({documents})" if documents else "")
            return start + (f"; confidence {self.confidence}" if self.confidence else "")
        if self.basis == "practice":
            return f"common practice ({documents})" if documents else "common practice, no source"
        if self.basis == "derived":
            return f"worked out from {documents}" if documents else "worked out"
        edition = self.edition_words
        return f"{documents}{'; ' + edition if edition else ''}; {self.basis_words}"


@dataclass(frozen=True, slots=True)
class Entry:
    """One stored value with everything that was recorded beside it.

    Args:
        key: file, tables and name joined by dots ("standards.coupler_height.NMRA_S2_HO.center_above_railhead").
        path: the same as a tuple.
        value: the value as stored, in ``unit``.
        unit: unit as the source prints it, or "".
        citation: its pedigree.
        note: note of the nearest table that has one.
        disagreement: what other sources say.
        tolerance: what the source says about the tolerance.
        scale: the scale it belongs to, or "".
    """

    key: str
    path: tuple[str, ...]
    value: Value
    unit: str
    citation: Citation
    note: str = ""
    disagreement: str = ""
    tolerance: str = ""
    scale: str = ""

    @property
    def name(self) -> str:
        """Return the last word of the key in plain words."""
        return self.path[-1].replace("_", " ")

    @property
    def number(self) -> float:
        """Return the value as a number; for values known to be one."""
        if isinstance(self.value, bool) or not isinstance(self.value, int | float):
            msg = f"{self.key} holds no number: {self.value!r}"
            raise TypeError(msg)
        return float(self.value)

    @property
    def words(self) -> str:
        """Return the value as a text, a list with commas between."""
        return value_words(self.value)

    def __str__(self) -> str:
        unit = f" {self.unit}" if self.unit else ""
        return f"{self.name} {self.words}{unit}: {self.citation}"


def value_words(value: Value) -> str:
    """Return a stored value as text: numbers as short as they are exact, lists with commas, yes and no."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:g}" if float(f"{value:g}") == value else repr(value)
    if isinstance(value, tuple):
        return ", ".join(f"({value_words(each)})" if isinstance(each, tuple) else value_words(each) for each in value)
    return str(value)
