"""Frozen records that are made by the thousand, made at the cost of ordinary ones.

A frozen dataclass sets each field through ``object.__setattr__``, which looks its name up again every time: making one
takes four times as long as making a record that is not frozen. Here a record begins as one of an open twin of its
class, with the same slots, and is given its own class when it is filled.
"""

from __future__ import annotations

from dataclasses import MISSING, Field, fields
from types import CodeType, FunctionType
from typing import Any, Final, TypeVar

__all__ = ["quickly_made"]

_Record = TypeVar("_Record")

_NEW: Final = object()
"""Stands for what a field's factory is to make."""


def quickly_made(record: type[_Record]) -> type[_Record]:
    """Give a frozen dataclass with slots a ``__new__`` that fills an open twin, in place of its ``__init__``.

    Fields, defaults and ``__post_init__`` mean what they mean in any dataclass; the record stays frozen, and is copied
    and pickled as before. No other class may be made from it.

    Args:
        record: a dataclass with ``frozen=True, slots=True``, every field of which is an argument.

    Raises:
        TypeError: a field has no slot, or is no argument.

    Example:
        >>> from dataclasses import dataclass
        >>> @quickly_made
        ... @dataclass(frozen=True, slots=True)
        ... class Place:
        ...     x_mm: float
        ...     y_mm: float = 0.0
        >>> Place(2.0)
        Place(x_mm=2.0, y_mm=0.0)
    """
    told: tuple[Field[Any], ...] = fields(record)  # type: ignore[arg-type]
    if any(not each.init or not hasattr(getattr(record, each.name, None), "__set__") for each in told):
        raise TypeError(f"{record.__name__} has a field without a slot, or one that is no argument")
    own = {"__slots__": vars(record)["__slots__"], "__setattr__": object.__setattr__, "__delattr__": object.__delattr__}
    twin = type(f"_Open{record.__name__}", record.__bases__, own)
    known: dict[str, Any] = {"_begin": object.__new__, "_twin": twin, "_own": record, "_new": _NEW}
    by_place = [each.name for each in told if not each.kw_only]
    by_name = [each.name for each in told if each.kw_only]
    heads = ["cls", *by_place, *(["*", *by_name] if by_name else [])]
    lines = [f"def __new__({', '.join(heads)}):", " self = _begin(_twin)"]
    defaults: dict[str, Any] = {}
    for each in told:
        value = each.name
        if each.default_factory is not MISSING:
            known[f"_make_{each.name}"] = each.default_factory
            value = f"_make_{each.name}() if {each.name} is _new else {each.name}"
            defaults[each.name] = _NEW
        elif each.default is not MISSING:
            defaults[each.name] = each.default
        lines.append(f" self.{each.name} = {value}")
    lines.append(" self.__class__ = _own")
    if hasattr(record, "__post_init__"):
        lines.append(" self.__post_init__()")
    lines.append(" return self")
    code = compile("\n".join(lines), f"<making {record.__name__}>", "exec")
    body = next(each for each in code.co_consts if isinstance(each, CodeType))
    made: Any = FunctionType(body, known, "__new__", tuple(defaults[name] for name in by_place if name in defaults))
    made.__kwdefaults__ = {name: defaults[name] for name in by_name if name in defaults}
    made.__qualname__ = f"{record.__qualname__}.__new__"
    of_class: Any = record
    of_class.__init__ = object.__init__
    of_class.__new__ = made
    of_class.__reduce__ = lambda self: (_again, (record, tuple(getattr(self, each.name) for each in told)))
    return record


def _again(record: type[_Record], values: tuple[Any, ...]) -> _Record:
    """Return a record as it was when it was copied or pickled."""
    made = object.__new__(record)
    for each, value in zip(fields(record), values, strict=True):  # type: ignore[arg-type]
        object.__setattr__(made, each.name, value)
    return made
