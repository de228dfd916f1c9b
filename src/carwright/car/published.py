"""What is published of the car file: its JSON schema and the table of its keys, both made from ``keys.toml``."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from carwright.car.keys import HO_RATIO, Key, Section, keys, sections
from carwright.car.statements import quoted

__all__ = ["SCHEMA_ID", "car_schema", "key_table"]

SCHEMA_ID = "carfile.schema.json"
"""Name of the stored schema, beside this module in ``schema/``."""

_TAKEN = {
    "outside": "outside jaws",
    "inside": "inside jaws",
    "depth": "depth rod",
    "height": "above rail",
    "rule": "rule",
    "nominal": "wish or name",
    "": "",
}


def car_schema() -> Mapping[str, Any]:
    """Return the JSON schema (2020-12) of a car file, as TOML reads it.

    It says which keys stand where and of which kind their values are. The text of a length, and what contradicts what,
    is for the reader to judge: a file that fits the schema may still be refused.
    """
    properties: dict[str, Any] = {}
    for section in sections():
        if "." not in section.path:
            properties[section.path.removesuffix("[]")] = _section_schema(section)
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": SCHEMA_ID,
        "title": "Carwright car file",
        "description": "What was measured on a car and what is wanted, as a TOML file of at most 1 MB.",
        "type": "object",
        "properties": properties,
        "additionalProperties": False,
        "$defs": {
            "length": {"type": ["string", "number"], "description": "A length as people write it: 1-11/32, 12.7 mm."},
            "mass": {"type": ["string", "number"], "description": "A mass: 14 g, 0.5 oz; a bare number is grams."},
            "angle": {"type": ["string", "number"], "description": "Degrees."},
        },
    }


def _section_schema(section: Section, *, one_end: bool = False) -> dict[str, Any]:
    own = [key for key in keys() if key.section == section.path and (key.ends or not one_end)]
    properties: dict[str, Any] = {key.name: _key_schema(key, one_end=one_end) for key in own}
    bare = section.path
    if not one_end:
        for inner in sections():
            parent, _, name = inner.path.rpartition(".")
            if parent == bare:
                properties[name.removesuffix("[]")] = _section_schema(inner)
        if section.ends:
            properties["a"] = _section_schema(section, one_end=True)
            properties["b"] = _section_schema(section, one_end=True)
    table: dict[str, Any] = {
        "type": "object",
        "description": section.what,
        "properties": properties,
        "additionalProperties": False,
    }
    needed = [key.name for key in own if key.needed and section.many]
    if needed:
        table["required"] = needed
    return {"type": "array", "items": table} if section.many else table


def _key_schema(key: Key, *, one_end: bool) -> dict[str, Any]:
    value = {**_value_schema(key), "description": f"{key.question} {key.how} Default: {key.default}."}
    value["examples"] = [key.example]
    value["$comment"] = f"letter {key.letter}"
    if not key.ends or one_end:
        return value
    both = {"type": "object", "properties": {"a": _value_schema(key), "b": _value_schema(key)}}
    rest = {name: value.pop(name) for name in ("description", "examples", "$comment")}
    return {"anyOf": [value, {**both, "additionalProperties": False}], **rest}


def _value_schema(key: Key) -> dict[str, Any]:
    plain: Mapping[str, dict[str, Any]] = {
        "length": {"$ref": "#/$defs/length"},
        "mass": {"$ref": "#/$defs/mass"},
        "angle": {"$ref": "#/$defs/angle"},
        "count": {"type": ["string", "number" if key.unit else "integer"]},
        "year": {"type": ["string", "integer"]},
        "text": {"type": ["string", "number"]},
        "flag": {"anyOf": [{"type": "boolean"}, {"const": ""}]},
        "texts": {"anyOf": [{"type": "array", "items": {"type": "string"}, "maxItems": key.upto}, {"type": "string"}]},
        "windows": {
            "type": "array",
            "items": {"type": "array", "items": {"type": "string"}, "minItems": 2, "maxItems": 2},
            "maxItems": key.upto,
        },
    }
    if key.kind == "lengths":
        several = {"type": "array", "items": {"$ref": "#/$defs/length"}, "maxItems": key.upto}
        return {"anyOf": [{"$ref": "#/$defs/length"}, several]}
    if key.kind == "choice":
        return {"enum": [*key.choices, ""]} if key.choices else {"type": "string"}
    return dict(plain[key.kind])


def key_table() -> str:
    """Return the table of every key as Markdown, section by section, as it stands in ``docs/carfile.md``.

    Ranges are those at HO; lengths marked ``(HO)`` go with the scale, 1:87.1 over the scale's ratio.
    """
    lines: list[str] = []
    for section in sections():
        ends = f"; any key marked *ends* again under `[{section.path}.a]`, `[{section.path}.b]`" if section.ends else ""
        lines += [f"### `{section.header}`", "", f"{section.what.rstrip('.')}{ends}.", ""]
        own = [key for key in keys() if key.section == section.path]
        lines += ["| key | letter | kind | taken | accepted | default |", "| --- | --- | --- | --- | --- | --- |"]
        lines += [_row(key) for key in own]
        lines.append("")
    return "\n".join(lines).rstrip() + "\n"


def _row(key: Key) -> str:
    kind = key.kind + (", ends" if key.ends else "")
    cells = (f"`{key.name}`", key.letter, kind, _TAKEN[key.taken], _accepted(key), key.default)
    return "| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |"


def _accepted(key: Key) -> str:
    if key.choices:
        return ", ".join(f"`{choice}`" for choice in key.choices)
    parts: list[str] = []
    low, high = key.limits(HO_RATIO)
    if low is not None and high is not None:
        unit = {"length": " mm", "lengths": " mm", "mass": " g", "angle": "°"}.get(
            key.kind, f" {key.unit}" if key.unit else ""
        )
        scaled = " (HO)" if key.scaled and unit == " mm" else ""
        parts.append(f"{low:g} to {high:g}{unit}{scaled}")
    if key.kind in ("lengths", "texts", "windows"):
        span = f"{key.least} to {key.upto}" if key.least != key.upto else f"{key.upto}"
        parts.append(f"{span} values" + (f": {', '.join(key.places)}" if key.places else ""))
    if key.words:
        parts.append("or " + " or ".join(f"`{quoted(word)}`" for word in key.words))
    if key.most:
        share = "" if key.most_share == 1 else "half of "
        parts.append(f"at most {share}`{key.most}`")
    return "; ".join(parts) or "any"
