"""Every number of the plan answers why: down to its leaves, found again from them, and moving with each of them."""

from __future__ import annotations

import random

import pytest
from tests.plan.cars import CARS
from tests.plan.moving import moved_text

from carwright.car.read import read_car
from carwright.plan import Document, document_of, make_plan
from carwright.working import Working, evaluate, leaves

STEPS = (3e-4, 3e-3, 3e-2, 0.3, 1.0, 3.0, 30.0, 300.0)


def plan_of(text: str) -> Document:
    """Return the published plan of a car file's text."""
    return document_of(make_plan(read_car(text, file="car.toml")))


def readings(document: Document) -> dict[str, Working]:
    """Return every typed reading of the car file by key; the leaf of its ± goes under its own key."""
    found: dict[str, Working] = {}
    for _, working in document.numbers():
        stack = [working]
        while stack:
            node = stack.pop()
            if node.kind == "typed":
                found.setdefault(node.key, node)
            if node.tolerance is not None:
                stack.append(node.tolerance)
            stack.extend(node.inputs.values())
    return found


def _plain_numbers(value: object) -> int:
    """Return how many numbers a plain JSON value holds."""
    if isinstance(value, dict):
        return sum(_plain_numbers(each) for each in value.values())
    if isinstance(value, list):
        return sum(_plain_numbers(each) for each in value)
    return int(isinstance(value, int | float) and not isinstance(value, bool))


@pytest.mark.parametrize("name", CARS)
def test_every_number_of_the_json_has_a_path(name: str) -> None:
    """Every number that is published has a path of its own, and the path finds it."""
    document = plan_of(CARS[name])
    numbers = list(document.numbers())
    assert len(numbers) == len(dict(numbers)) == _plain_numbers(document.as_json())
    for path, working in numbers:
        assert document.find(path) is working, path


@pytest.mark.parametrize("name", CARS)
def test_every_number_walks_down_to_what_was_given(name: str) -> None:
    """Every leaf was typed, is a reference entry with a basis, or is a count or choice that says why."""
    for path, working in plan_of(CARS[name]).numbers():
        for leaf in leaves(working):
            if leaf.kind == "typed":
                assert leaf.key, path
                assert leaf.text, path
                assert leaf.line is not None or leaf.key.endswith("±"), path
            elif leaf.kind == "reference":
                assert all((leaf.key, leaf.basis, leaf.source)), (path, leaf.key)
            else:
                assert leaf.kind == "chosen", path
                assert leaf.note, path


@pytest.mark.parametrize("name", CARS)
def test_every_number_is_found_again_from_its_leaves(name: str) -> None:
    """Evaluated from its leaves alone, each working gives the number of the plan to 1e-9."""
    for path, working in plan_of(CARS[name]).numbers():
        assert evaluate(working) == pytest.approx(working.value, rel=1e-9, abs=1e-9), path


@pytest.mark.parametrize("name", CARS)
def test_every_leaf_moves_its_numbers_as_the_plan_moves(name: str) -> None:
    """A leaf moved in the car file moves the new plan exactly as the old working says, and no leaf moves nothing."""
    text = CARS[name]
    before = plan_of(text)
    ratio = before_ratio(text)
    numbers = dict(before.numbers())
    of_leaf: dict[str, list[str]] = {}
    for path, working in numbers.items():
        for leaf in leaves(working):
            if leaf.kind == "typed":
                of_leaf.setdefault(leaf.key, []).append(path)
    known = readings(before)
    idle: list[tuple[str, str]] = []
    for key, paths in of_leaf.items():
        waiting = set(paths)
        for step in STEPS:
            for sign in (1.0, -1.0):
                if not waiting:
                    break
                waiting -= moved_paths(text, before, known, key, sign * step, waiting, ratio)
        idle += [(key, path) for path in sorted(waiting) if not _moves_elsewhere(numbers[path], key)]
    assert not idle, idle


def _moves_elsewhere(working: Working, key: str) -> bool:
    """Return whether a leaf that moves nothing here moves something once the others stand a little differently.

    A leaf may stand still at a point: where it multiplies a slope that happens to be zero, or where a sampled chance
    is so near to 0 or 1 that no sample changes sides. One that moves nothing there either has no business there.
    """
    others = [leaf for leaf in leaves(working) if leaf.key != key]
    own = next(leaf.value for leaf in leaves(working) if leaf.key == key)
    draw = random.Random(key)  # noqa: S311 - seeded on purpose, nothing is secret
    for size in (1e-3, 1e-2, 0.05):
        for _ in range(40):
            moved = {leaf.key: leaf.value * (1 + size * draw.uniform(-1, 1)) for leaf in others}
            for nudge in (0.01, 0.1, 1.0):
                try:
                    if _differ(evaluate(working, moved), evaluate(working, {**moved, key: own * (1 + nudge)})):
                        return True
                except (ValueError, ZeroDivisionError):
                    continue
    return False


def before_ratio(text: str) -> float:
    """Return the scale's ratio of a car file's text."""
    ratio = read_car(text, file="car.toml").info.ratio
    return 87.1 if ratio is None else ratio.value


def _differ(one: float, other: float) -> bool:
    """Return whether two numbers differ by more than the last bits of a float."""
    return abs(one - other) > 1e-12 * max(1.0, abs(one))


def _sizes(working: Working) -> set[str]:
    """Return the keys of the sizes that a number hangs on; a ± typed in the test stands for the instrument's."""
    return {leaf.key for leaf in leaves(working) if leaf.kind != "reference" and not leaf.key.endswith("±")}


def moved_paths(
    text: str, before: Document, known: dict[str, Working], key: str, step: float, paths: set[str], ratio: float
) -> set[str]:
    """Return the paths that moved, having found each new number equal to what its old working says."""
    reading = known[key.rstrip("±")]
    value = reading.value
    tolerance = None if reading.tolerance is None else reading.tolerance.value
    if key.endswith("±"):
        assert tolerance is not None
        new = tolerance * (1 + step)
        if new <= 0:
            return set()
        changed = moved_text(text, reading, value=value, tolerance=new, ratio=ratio)
    else:
        new = value + step
        changed = moved_text(text, reading, value=new, tolerance=tolerance, ratio=ratio)
    try:
        document = plan_of(changed)
    except ValueError:
        return set()  # so large a step makes a car that cannot be
    after = dict(document.numbers())
    now = readings(document).get(key)
    if now is None:
        return set()
    numbers = dict(before.numbers())
    moved = set()
    for path in paths:
        if path not in after:
            continue
        choices = {leaf.key: leaf.value for leaf in leaves(after[path]) if leaf.kind == "chosen"}
        if set(choices) != {leaf.key for leaf in leaves(numbers[path]) if leaf.kind == "chosen"}:
            continue
        expected = evaluate(numbers[path], {**choices, key: now.value})
        if not _differ(expected, numbers[path].value):
            continue
        if _sizes(after[path]) != _sizes(numbers[path]):
            continue  # another part was chosen, or another limit binds
        assert after[path].value == pytest.approx(expected, rel=1e-9, abs=1e-9), (path, key, step)
        moved.add(path)
    return moved
