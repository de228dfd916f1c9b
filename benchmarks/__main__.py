"""Run every module here whose name ends in _bench; print a table, write build/bench.json, fail if a promise is missed.

    python -m benchmarks [NAME ...]      only the modules named: command, core

Each such module has a function ``benches()`` that yields ``Measured``. They run in the order of their names: the
commands come first, while this process has not yet mapped the libraries whose cold start they time.
"""

from __future__ import annotations

import importlib
import sys
from collections.abc import Sequence
from pathlib import Path

from benchmarks.harness import Measured, table, write_json

HERE = Path(__file__).resolve().parent
RESULTS = HERE.parent / "build" / "bench.json"


def main(wanted: Sequence[str]) -> int:
    """Return 0 if every promise was kept, 1 if one was missed, 2 for a name that is not there."""
    names = sorted(path.stem.removesuffix("_bench") for path in HERE.glob("*_bench.py"))
    unknown = [name for name in wanted if name not in names]
    if unknown:
        print(f"there is no benchmark called {', '.join(unknown)}; there are {', '.join(names)}", file=sys.stderr)
        return 2
    results: list[Measured] = []
    for name in wanted or names:
        for measured in importlib.import_module(f"benchmarks.{name}_bench").benches():
            results.append(measured)
            print(f"{measured.name}: {measured.median_ms:.1f} ms", file=sys.stderr, flush=True)
    print(table(results))
    write_json(results, RESULTS)
    missed = [line for each in results for line in each.missed]
    for line in missed:
        print(f"missed: {line}")
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
