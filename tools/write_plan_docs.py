"""Write what is generated in docs/plan-json.md: the table of keys, from the schema, and the example, from the boxcar.

Run it after a change of the schema or of the plan: ``.venv/bin/python tools/write_plan_docs.py``. A test holds that
both are true.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from carwright.car.read import read_car_file
from carwright.plan import document_of, make_plan

ROOT = Path(__file__).resolve().parent.parent
SCHEMA = ROOT / "src/carwright/plan/schema/plan.json"
PAGE = ROOT / "docs/plan-json.md"
BOXCAR = ROOT / "src/carwright/demo/boxcar.toml"


def key_rows(node: Mapping[str, Any], path: str, schema: Mapping[str, Any]) -> Iterator[str]:
    """Yield a row of the table for each key at and below ``node``; what stands twice is told once, by its name."""
    for name, each in node.get("properties", {}).items():
        place = f"{path}.{name}" if path else name
        kind, about, inside = _kind(each, schema)
        yield f"| `{place}{'[]' if each.get('type') == 'array' else ''}` | {kind} | {about} |"
        if "$ref" not in each:
            yield from key_rows(inside, f"{place}[]" if each.get("type") == "array" else place, schema)
        elif name == "a":
            yield f"| `{place}.…` | | The plain keys of `{path}` again, for this end. |"


def _kind(each: Mapping[str, Any], schema: Mapping[str, Any]) -> tuple[str, str, Mapping[str, Any]]:
    """Return a key's kind in words, what it is, and the schema of what stands inside it."""
    if "$ref" in each:
        target = schema["$defs"][each["$ref"].rpartition("/")[2]]
        return "object", target["description"], target
    kinds = each["type"] if isinstance(each["type"], list) else [each["type"]]
    inside: Mapping[str, Any] = each
    words = " or ".join(kinds)
    if "array" in kinds:
        items = each["items"]
        if "$ref" in items:
            items = schema["$defs"][items["$ref"].rpartition("/")[2]]
        words, inside = f"list of {items.get('type', 'string')}s", items
    if "enum" in each:
        words = ", ".join(f"`{one}`" for one in each["enum"])
    return words, each["description"], inside


def key_table() -> str:
    """Return the table of every key of a plan."""
    schema = json.loads(SCHEMA.read_text(encoding="utf-8"))
    return "\n".join(["| key | is | what it is |", "| --- | --- | --- |", *key_rows(schema, "", schema)])


def example() -> str:
    """Return the boxcar's plan as JSON, lists of bare numbers and words on one line."""
    document = document_of(make_plan(read_car_file(BOXCAR).car)).as_json()
    text = json.dumps(document, ensure_ascii=False, indent=1)
    text = re.sub(r"\[\s+([^\[\]{}]*?)\s+\]", lambda found: "[" + re.sub(r",\s+", ", ", found[1]) + "]", text)
    return f"```json\n{text}\n```"


def between(text: str, name: str, middle: str) -> str:
    """Return ``text`` with ``middle`` between the marks that begin and end the part called ``name``."""
    begin, end = f"<!-- {name}: begin -->\n", f"<!-- {name}: end -->\n"
    head, rest = text.split(begin)
    return f"{head}{begin}\n{middle}\n\n{end}{rest.split(end)[1]}"


if __name__ == "__main__":
    page = PAGE.read_text(encoding="utf-8")
    PAGE.write_text(between(between(page, "keys", key_table()), "example", example()), encoding="utf-8")
