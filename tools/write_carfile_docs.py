"""Write what is generated of the car file: its stored schema, and the tables and the example in docs/carfile.md.

Run it after a change of ``keys.toml``: ``.venv/bin/python tools/write_carfile_docs.py``. Tests hold that both are true.
"""

from __future__ import annotations

import json
from pathlib import Path

from carwright.car.published import SCHEMA_ID, car_schema, key_table

ROOT = Path(__file__).resolve().parent.parent


def between(text: str, name: str, middle: str) -> str:
    """Return ``text`` with ``middle`` between the marks that begin and end the part called ``name``."""
    begin, end = f"<!-- {name}: begin -->\n", f"<!-- {name}: end -->\n"
    head, rest = text.split(begin)
    return f"{head}{begin}\n{middle}\n{end}{rest.split(end)[1]}"


if __name__ == "__main__":
    stored = ROOT / "src/carwright/car/schema" / SCHEMA_ID
    stored.write_text(json.dumps(car_schema(), indent=2, ensure_ascii=False) + "\n", encoding="utf-8")
    page = ROOT / "docs/carfile.md"
    text = page.read_text(encoding="utf-8")
    example = (ROOT / "src/carwright/demo/boxcar.toml").read_text(encoding="utf-8")
    text = between(text, "example", f"```toml\n{example}```\n")
    page.write_text(between(text, "keys", key_table()), encoding="utf-8")
