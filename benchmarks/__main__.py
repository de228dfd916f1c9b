"""Run every module here whose name ends in _bench; print a table, write build/bench.json, fail if a promise is missed.

    python -m benchmarks [--published FOLDER] [NAME ...]      only the modules named: command, core

Each such module has a function ``benches()`` that yields ``Measured`` and ``Contest``. They run in the order of their
names: the commands come first, while this process has not yet mapped the libraries whose cold start they time. With
``--published`` the modules that have a function ``published(folder)`` measure the tasks in that folder instead.
"""

from __future__ import annotations

import argparse
import importlib
import sys
from collections.abc import Sequence
from pathlib import Path

from benchmarks.contest import Contest, contest_table
from benchmarks.harness import Measured, table, write_json

HERE = Path(__file__).resolve().parent
RESULTS = HERE.parent / "build" / "bench.json"


def main(words: Sequence[str]) -> int:
    """Return 0 if every promise was kept, 1 if one was missed, 2 for a name or folder that is not there."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks")
    parser.add_argument("--published", type=Path, metavar="FOLDER", help="measure the tasks of JSON files in a folder")
    parser.add_argument("names", nargs="*", metavar="NAME")
    asked = parser.parse_args(words)
    names = sorted(path.stem.removesuffix("_bench") for path in HERE.glob("*_bench.py"))
    unknown = [name for name in asked.names if name not in names]
    if unknown:
        print(f"there is no benchmark called {', '.join(unknown)}; there are {', '.join(names)}", file=sys.stderr)
        return 2
    if asked.published is not None and not asked.published.is_dir():
        print(f"there is no folder {asked.published}", file=sys.stderr)
        return 2
    results: list[Measured | Contest] = []
    for name in asked.names or names:
        module = importlib.import_module(f"benchmarks.{name}_bench")
        if asked.published is None:
            found = module.benches()
        else:
            found = module.published(asked.published) if hasattr(module, "published") else ()
        for each in found:
            results.append(each)
            said = f"{each.tasks} tasks" if isinstance(each, Contest) else f"{each.median_ms:.1f} ms"
            print(f"{each.name}: {said}", file=sys.stderr, flush=True)
    measured = [each for each in results if isinstance(each, Measured)]
    contests = [each for each in results if isinstance(each, Contest)]
    print("\n\n".join([*([table(measured)] if measured else []), *map(contest_table, contests)]))
    write_json(results, RESULTS)
    missed = [line for each in results for line in each.missed]
    for line in missed:
        print(f"missed: {line}")
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
