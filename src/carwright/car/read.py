"""Reading a car file: text to ``Car``, or every problem of the file at once.

The way of a value: statement, cell, key of the table, leaf. ``Reader`` turns a cell into a leaf; here it is decided
which table of the file goes into which record, what an end inherits from the pair, and which names belong nowhere.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields, replace
from functools import lru_cache
from pathlib import Path
from typing import Any, Literal, TypeVar, cast

from carwright import reference
from carwright.car.clashes import report_clashes
from carwright.car.document import MAX_BYTES, Cell, Node, Table, decoded, document_of
from carwright.car.draft import drafted
from carwright.car.keys import Key, keys, near, near_words, section_named, sections
from carwright.car.model import (
    BallastStock,
    Block,
    Body,
    BolsterStock,
    Car,
    CarInfo,
    Coupler,
    CouplerStock,
    DrillStock,
    Ends,
    Finish,
    Found,
    FoundEnd,
    GaugeReadings,
    Grab,
    Lug,
    Notch,
    OldHole,
    Paint,
    PieceChange,
    RodStock,
    ScrewStock,
    Sheet,
    Shelf,
    Strip,
    TakenPlan,
    Tried,
    Truck,
    Underframe,
    Washer,
    WeightWish,
)
from carwright.car.values import Reader, Taking
from carwright.car.write import Written
from carwright.problems import InputError, Problem
from carwright.working import Working

__all__ = ["CarFile", "bytes_of", "read_car", "read_car_file", "read_shelf", "read_shelf_file"]

MOST_PROBLEMS = 200
"""Problems that one report lists; a file with more is not a car file."""

_ENDS = ("a", "b")
Values = dict[str, Any]
R = TypeVar("R")


@dataclass(frozen=True, slots=True)
class CarFile:
    """A car file as it lies on the disk: the car it describes, where it lies, and its bytes for writing back."""

    car: Car
    path: Path
    document: bytes


def read_car(
    data: bytes | str, *, file: str = "", shelf: Shelf | None = None, changes: Mapping[str, Written] | None = None
) -> Car:
    """Return the car that a car file describes.

    Args:
        data: the file's bytes (UTF-8, with or without byte-order mark, any line ends), or its text.
        file: its name, for the problems.
        shelf: what lies on the shop's shelf; it stands behind the file's own [shelf], what is cut in its place.
        changes: values to read in place of the file's, as ``set_values`` would write them.

    Returns:
        The car; what the file does not give is None or empty. Nothing is refused because it is missing.

    Raises:
        InputError: with every problem of the file, in the order of its lines.

    Example:
        >>> car = read_car('trucks.seat_height = "0.284"')
        >>> car.trucks.a.seat_height.value, car.trucks.a.seat_height.key, car.trucks.a.seat_height.tolerance_value
        (7.2136, 'trucks.seat_height', 0.0508)
    """
    root, reader = _opened(data, file, changes)
    car = _car(root, reader)
    report_clashes(car, reader)
    _raise_all(reader)
    return car if shelf is None else replace(car, shelf=_joined(car.shelf, shelf))


def read_car_file(path: str | Path, *, shelf: Shelf | None = None) -> CarFile:
    """Return the car file at ``path``.

    Raises:
        InputError: it cannot be opened, or what ``read_car`` finds.
    """
    data = bytes_of(path)
    return CarFile(read_car(data, file=str(path), shelf=shelf), Path(path), data)


def read_shelf(data: bytes | str, *, file: str = "") -> Shelf:
    """Return the shelf that a shop-wide shelf file lists; the keys of its leaves begin with ``shop``.

    Its tables are those of a car file's [shelf]; bare numbers take ``[shelf] units``. A whole car file may be given
    too: its [car] section says units and scale, and the rest of it is not read.

    Raises:
        InputError: with every problem of its shelf.
    """
    root, reader = _opened(data, file)
    for name in root.inside:
        if name not in ("shelf", *(section.path.split(".")[0].removesuffix("[]") for section in sections())):
            _unknown(reader, root.inside[name], name, name)
    _car_info(root, reader)
    shelf = _shelf(root, reader, within="shop")
    reader.problems = [replace(p, key=f"shelf{p.key[4:]}") if p.key[:5] == "shop." else p for p in reader.problems]
    _raise_all(reader)
    return shelf


def read_shelf_file(path: str | Path) -> Shelf:
    """Return the shelf file at ``path``; see ``read_shelf``.

    Raises:
        InputError: it cannot be opened, or what ``read_shelf`` finds.
    """
    return read_shelf(bytes_of(path, what="a shelf file"), file=str(path))


def bytes_of(path: str | Path, *, what: str = "a car file") -> bytes:
    """Return a file's bytes, no more than one byte above what is accepted.

    Args:
        path: the file.
        what: what it should be, for problems.

    Raises:
        InputError: it is not named, not there, a folder, or cannot be read.
    """
    name = str(path)
    if not name.strip():
        raise InputError(Problem("no file is named", "", f"the path of {what}", "Type the file's name."))
    try:
        with Path(name).open("rb") as stream:
            return stream.read(MAX_BYTES + 1)
    except IsADirectoryError:
        raise InputError(Problem("this is a folder", "", what, "Name a file in it.", file=name)) from None
    except FileNotFoundError:
        mend = "Check the path"
        mend += ", or write a new file with: carwright new" if what == "a car file" else "."
        raise InputError(Problem("there is no such file", "", f"the path of {what}", mend, file=name)) from None
    except (OSError, ValueError) as error:
        why = (getattr(error, "strerror", None) or str(error)).lower()
        mend = "Check the path and its rights."
        raise InputError(Problem(f"the file cannot be read: {why}", mend=mend, file=name)) from None


def _opened(data: bytes | str, file: str, changes: Mapping[str, Written] | None = None) -> tuple[Table, Reader]:
    raw = data.encode("utf-8", "surrogatepass") if isinstance(data, str) else data
    root, slips = document_of(decoded(raw, file=file)) if changes is None else drafted(raw, changes, file=file)
    reader = Reader(file)
    reader.problems.extend(replace(slip, file=file) for slip in slips)
    return root, reader


def _raise_all(reader: Reader) -> None:
    if not reader.problems:
        return
    ordered = sorted(
        dict.fromkeys(reader.problems), key=lambda each: (each.line is None, each.line or 0, each.column or 0)
    )
    if len(ordered) > MOST_PROBLEMS:
        rest = Problem(
            f"there are {len(ordered) - MOST_PROBLEMS} more problems",
            mend="Mend these first, and check that it is a car file.",
            file=reader.file,
        )
        ordered = [*ordered[:MOST_PROBLEMS], rest]
    raise InputError(ordered)


# ---------------------------------------------------------------------------------------------------------- one table


@lru_cache(maxsize=64)
def _keys_in(section: str) -> Mapping[str, Key]:
    return {key.name: key for key in keys() if key.section == section}


@lru_cache(maxsize=64)
def _subsections(section: str) -> tuple[str, ...]:
    lead = f"{section}." if section else ""
    return tuple(
        path.removeprefix(lead).removesuffix("[]")
        for path in (each.path for each in sections())
        if path.startswith(lead) and "." not in path.removeprefix(lead)
    )


def _read_table(
    table: Table, section: str, place: str, reader: Reader, *, end: str = ""
) -> tuple[Values, Values, Values]:
    """Return a table's values, and those its keys give for end A and for end B: ``{a = …, b = …}``.

    An empty list counts as given; an empty text does not.
    """
    known = _keys_in(section)
    about = section_named(section)
    values: Values = {}
    at_end: dict[str, Values] = {"a": {}, "b": {}}
    for name, node in table.inside.items():
        key = known.get(name)
        if key is None:
            if not end and (name in _subsections(section) or (about is not None and about.ends and name in _ENDS)):
                continue
            _unknown(reader, node, f"{place}.{name}", f"{section}.{name}")
            continue
        if end and not key.ends:
            mend = f"Put it under [{section}]."
            reader.refuse(node, f"{place}.{name}", "this belongs to both ends together", f"[{section}]", mend)
            continue
        if isinstance(node, Table) and key.ends and not end and node.inside and set(node.inside) <= set(_ENDS):
            for which, each in node.inside.items():
                found = reader.value(each, key, f"{place}.{name}.{which}")
                if found is not None:
                    at_end[which][name] = found
            continue
        found = reader.value(node, key, f"{place}.{name}")
        if found is not None:
            values[name] = found
    return values, at_end["a"], at_end["b"]


def _unknown(reader: Reader, node: Node, place: str, path: str) -> None:
    """Report a name that the file has and the key table has not, with where it belongs or what was meant."""
    is_table = not isinstance(node, Cell)
    names = [section.path.removesuffix("[]") for section in sections()]
    close = near_words(path, names, many=1) if is_table else ()
    meant = () if is_table else near(path)
    what = "there is no such section" if is_table else "there is no such key"
    if not is_table and "." not in path:
        homes = [key for key in keys() if key.name == path]
        what = "this key stands before any section"
        mend = f"Put it under [{homes[0].section.removesuffix('[]')}]." if homes else "Put it under its section."
    elif is_table and any(each.ends and path.rpartition(".")[0] == each.path for each in sections()):
        pair = path.rpartition(".")[0]
        mend = f"A section for one end is [{pair}.a] or [{pair}.b]."
    elif close:
        section = section_named(close[0]) or section_named(f"{close[0]}[]")
        mend = f"Did you mean {section.header}?" if section is not None else ""
    elif meant:
        section_path, _, name = path.rpartition(".")
        homes = [key for key in keys() if key.path in meant and key.name == name and key.section != section_path]
        if homes:
            what = "this key belongs to another section"
            places = " or ".join(section_named(key.section).header for key in homes)  # type: ignore[union-attr]
            mend = f"Move it under {places}."
        else:
            mend = f"Did you mean {' or '.join(meant)}?"
    else:
        mend = "Delete it, or put # before it." if not is_table else "Delete it, or put # before its lines."
    if is_table:
        accepted = f"a section of the car file ({', '.join(_subsections(''))})"
    elif "." not in path:
        accepted = "a section's header before its keys"
    else:
        about = section_named(path.rpartition(".")[0])
        accepted = f"a key of {about.header}" if about is not None else "a key of the car file"
    reader.refuse(node, place, what, accepted, mend)


def _table(root: Table, path: str, reader: Reader) -> Table | None:
    """Return the single table at a dotted path, or None; what stands there otherwise is reported."""
    table = root
    for at, part in enumerate(path.split(".")):
        node = table.inside.get(part)
        if node is None:
            return None
        so_far = ".".join(path.split(".")[: at + 1])
        if isinstance(node, list):
            if so_far == path:
                mend = f"Write [{path}], once."
                reader.refuse(node, path, "a section in double brackets that stands once", f"[{path}]", mend)
            node = node[0]
        if isinstance(node, Cell):
            if so_far == path:
                mend = f"Write [{path}] on a line of its own and its keys below it."
                reader.refuse(node, path, "a value stands where a section belongs", f"[{path}]", mend)
            return None
        table = node
    return table


def _rows(root: Table, path: str, reader: Reader) -> Iterator[tuple[Table, str]]:
    """Yield each table of a list of tables with its place ("body.lug[0]")."""
    parent = _table(root, path.rpartition(".")[0], reader) if "." in path else root
    node = parent.inside.get(path.rpartition(".")[2]) if parent is not None else None
    if node is None or (isinstance(node, Cell) and node.value in ((), "")):
        return
    if isinstance(node, Cell):
        mend = f"Write [[{path}]] on a line of its own and its keys below it."
        reader.refuse(node, path, "a value stands where a section belongs", f"[[{path}]]", mend)
        return
    if isinstance(node, Table):
        if node.explicit:
            mend = f"Write [[{path}]]: there may be several."
            reader.refuse(
                node, path, "single brackets round a section that may stand several times", f"[[{path}]]", mend
            )
        node = [node]
    for at, row in enumerate(node):
        yield row, f"{path}[{at}]"


def _section(root: Table, path: str, reader: Reader) -> Values:
    table = _table(root, path, reader)
    return {} if table is None else _read_table(table, path, path, reader)[0]


def _both_ends(root: Table, path: str, reader: Reader) -> tuple[Values, Values, Values]:
    """Return a section's own values, and all that holds at end A and at end B."""
    table = _table(root, path, reader)
    if table is None:
        return {}, {}, {}
    shared, a, b = _read_table(table, path, path, reader)
    ends: dict[str, Values] = {"a": a, "b": b}
    for end in _ENDS:
        own = _table(root, f"{path}.{end}", reader)
        if own is not None:
            given, _, _ = _read_table(own, path, f"{path}.{end}", reader, end=end)
            ends[end].update(given)
    return shared, {**shared, **ends["a"]}, {**shared, **ends["b"]}


def _record(kind: type[R], values: Values, **more: Any) -> R:
    known = {each.name for each in fields(kind)}  # type: ignore[arg-type]  # every record is a dataclass
    return kind(**{name: value for name, value in values.items() if name in known}, **more)


# ------------------------------------------------------------------------------------------------------- the whole car


def _layers(given: object) -> tuple[Working, ...]:
    """Return the layers of a bolster, lowest first: one for a single height, none where it is to be built."""
    if isinstance(given, Working):
        return (given,)
    return given if isinstance(given, tuple) else ()


def _car(root: Table, reader: Reader) -> Car:
    tops = _subsections("")
    for name, node in root.inside.items():
        if name not in tops:
            _unknown(reader, node, name, name)
    info = _car_info(root, reader)
    _, truck_a, truck_b = _both_ends(root, "trucks", reader)
    _, coupler_a, coupler_b = _both_ends(root, "coupler", reader)
    frame, frame_a, frame_b = _both_ends(root, "underframe", reader)
    found, found_a, found_b = _both_ends(root, "found", reader)
    gauge, gauge_a, gauge_b = _both_ends(root, "gauge", reader)
    bolsters = (frame_a.get("bolster"), frame_b.get("bolster"))
    return Car(
        info=info,
        body=_body(root, reader),
        trucks=Ends(_record(Truck, truck_a), _record(Truck, truck_b)),
        coupler=Ends(_record(Coupler, coupler_a), _record(Coupler, coupler_b)),
        underframe=_record(
            Underframe,
            {name: value for name, value in frame.items() if name != "bolster"},
            bolster=Ends(*(_layers(each) for each in bolsters)),
            build_bolster=Ends(*(each == "build" for each in bolsters)),
        ),
        weight=_record(WeightWish, _section(root, "weight", reader)),
        found=_record(
            Found,
            {k: v for k, v in found.items() if k != "coupler_height"},
            ends=Ends(_record(FoundEnd, found_a), _record(FoundEnd, found_b)),
        ),
        gauge=_record(
            GaugeReadings,
            {k: v for k, v in gauge.items() if k not in ("coupler_height", "trip_pin")},
            coupler_height=Ends(gauge_a.get("coupler_height"), gauge_b.get("coupler_height")),
            trip_pin=Ends(gauge_a.get("trip_pin"), gauge_b.get("trip_pin")),
        ),
        finish=_record(
            Finish,
            _section(root, "finish", reader),
            minutes=_section(root, "finish.minutes", reader),
            log=tuple(
                _record(Tried, _read_table(row, "finish.log[]", place, reader)[0])
                for row, place in _rows(root, "finish.log", reader)
            ),
        ),
        paints=tuple(
            _record(Paint, {"name": f"paint {at + 1}", **_read_table(row, "paint[]", place, reader)[0]})
            for at, (row, place) in enumerate(_rows(root, "paint", reader))
        ),
        pieces=tuple(_pieces(root, reader)),
        shelf=_shelf(root, reader, within="shelf"),
    )


def _car_info(root: Table, reader: Reader) -> CarInfo:
    """Return section [car], and set how all later values are taken."""
    table = _table(root, "car", reader)
    inside = {} if table is None else table.inside
    quiet = Reader(reader.file)
    known = _keys_in("car")
    early = {
        name: quiet.value(inside[name], known[name], f"car.{name}")
        for name in ("units", "measured_with", "standard", "scale")
        if name in inside
    }
    standard: Literal["NMRA", "NEM"] = early.get("standard") or "NMRA"
    scale = early.get("scale") or "HO"
    scale_problem: InputError | None = None
    try:
        word = reference.scale_word(scale)
    except InputError as error:
        word, scale, scale_problem = "HO", "HO", error
    typed = scale.strip().upper()
    shown = typed if typed.replace("0", "O") == word else word
    ratio = reference.scale_ratio(word, standard)
    reader.taking = Taking(
        early.get("units") or "in", early.get("measured_with") or "caliper", shown, ratio.value, standard
    )
    values = {} if table is None else _read_table(table, "car", "car", reader)[0]
    node = inside.get("scale")
    if scale_problem is not None and node is not None:
        for each in scale_problem.problems:
            reader.refuse(node, "car.scale", each.problem, each.accepted, each.mend)
    return _record(CarInfo, {**values, "scale": shown}, ratio=ratio)


def _body(root: Table, reader: Reader) -> Body:
    values = _section(root, "body", reader)
    corner = _section(root, "body.notch", reader).get("corner", ())
    lugs: list[Lug] = []
    for at, (row, place) in enumerate(_rows(root, "body.lug", reader)):
        lug = _read_table(row, "body.lug[]", place, reader)[0]
        if "side" not in lug and "side" not in row.inside:
            reader.refuse(row, place, "a lug does not say on which side it is", "left or right", 'Write side = "left"')
        lugs.append(
            Lug(
                lug.get("name", f"lug {at + 1}"),
                lug.get("x"),
                lug.get("side", "left"),
                lug.get("length"),
                lug.get("depth"),
            )
        )
    blocks: list[Block] = []
    for at, (row, place) in enumerate(_rows(root, "body.block", reader)):
        block = _read_table(row, "body.block[]", place, reader)[0]
        bottom, top = block.pop("from", None), block.pop("to", None)
        whole = {
            "name": f"block {at + 1}",
            "kind": "solid",
            "x": None,
            "y": None,
            "length": None,
            "width": None,
            **block,
        }
        blocks.append(_record(Block, whole, bottom=bottom, top=top))
    return _record(
        Body,
        values,
        notch=Notch(*corner) if len(corner) == 2 else None,
        lugs=tuple(lugs),
        blocks=tuple(blocks),
        holes=tuple(_old_holes(root, reader)),
        grabs=tuple(_grabs(root, reader)),
    )


def _grabs(root: Table, reader: Reader) -> Iterator[Grab]:
    for at, (row, place) in enumerate(_rows(root, "body.grab", reader)):
        values = _read_table(row, "body.grab[]", place, reader)[0]
        if values.get("kind") == "step" and str(values.get("side", "left")).endswith("end"):
            mend = 'Write side = "left" or "right"; what hangs on an end is a grab iron.'
            reader.refuse(row.inside["side"], f"{place}.side", "a sill step hangs from a side", "left or right", mend)
            values.pop("side")
        yield _record(Grab, {"name": f"grab {at + 1}", **values})


def _old_holes(root: Table, reader: Reader) -> Iterator[OldHole]:
    known = [each.name for each in reference.threads()]
    for at, (row, place) in enumerate(_rows(root, "body.hole", reader)):
        values = _read_table(row, "body.hole[]", place, reader)[0]
        stripped = values.get("stripped", "")
        if stripped and reference.thread(stripped) is None:
            mend = "Write the thread by its name, or leave it out where the hole never had one."
            node = row.inside["stripped"]
            reader.refuse(node, f"{place}.stripped", "this is no thread that is known", ", ".join(known), mend)
            values.pop("stripped")
        yield _record(OldHole, {"name": f"old hole {at + 1}", **values})


def _pieces(root: Table, reader: Reader) -> Iterator[PieceChange]:
    for row, place in _rows(root, "piece", reader):
        values = _read_table(row, "piece[]", place, reader)[0]
        if not values.get("name"):
            if not isinstance(row.inside.get("name"), Cell) or row.inside["name"].value == "":  # type: ignore[union-attr]
                mend = 'Write name = "floor", or the name on the drawing.'
                reader.refuse(row, place, "a piece has no name", "the name of a piece", mend)
            continue
        values["name"] = "_".join(values["name"].split())
        yield _record(PieceChange, values)


_STOCK: Mapping[str, tuple[str, type[Any], Values]] = {
    "sheet": ("sheets", Sheet, {}),
    "strip": ("strips", Strip, {}),
    "rod": ("rods", RodStock, {"form": "rod"}),
    "tube": ("rods", RodStock, {"form": "tube"}),
    "wire": ("rods", RodStock, {"form": "wire", "material": "phosphor bronze"}),
    "washer": ("washers", Washer, {"material": "fibre"}),
    "bolster": ("bolsters", BolsterStock, {}),
    "coupler": ("couplers", CouplerStock, {}),
    "screw": ("screws", ScrewStock, {"material": "steel"}),
    "drill": ("drills", DrillStock, {"material": "steel"}),
    "ballast": ("ballast", BallastStock, {"material": "lead"}),
}
"""Table of the shelf to the field it goes into, its record, and what it takes without being told."""


def _shelf(root: Table, reader: Reader, *, within: Literal["shelf", "shop"]) -> Shelf:
    """Return section [shelf]; ``within`` is the first part of its leaves' keys."""
    table = _table(root, "shelf", reader)
    if table is None:
        return Shelf()
    taking = reader.taking
    units_node = table.inside.get("units")
    if units_node is not None:
        units = Reader(reader.file).value(units_node, _keys_in("shelf")["units"], "shelf.units")
        reader.taking = replace(taking, units=units or taking.units)
    values = _read_table(table, "shelf", within, reader)[0]
    rows: dict[str, list[Any]] = {}
    for name, (into, record, defaults) in _STOCK.items():
        for row, place in _rows(root, f"shelf.{name}", reader):
            key = place if within == "shelf" else f"{within}{place.removeprefix('shelf')}"
            given = _read_table(row, f"shelf.{name}[]", key, reader)[0]
            rows.setdefault(into, []).append(_stock(record, {**defaults, **given}, key))
    reader.taking = taking
    for row, place in _rows(root, "shelf.taken", reader):
        given = _read_table(row, "shelf.taken[]", place, reader)[0]
        for name in ("pieces", "offcuts"):
            number = given.pop(name, None)
            if isinstance(number, Working):
                given[name] = int(number.value)
        rows.setdefault("taken", []).append(_record(TakenPlan, given, key=place))
    return _record(Shelf, values, **{into: tuple(found) for into, found in rows.items()})


def _stock(record: type[R], values: Values, key: str) -> R:
    """Return a row of the shelf; its typed tolerance goes to what was measured, and a count of "any" is None."""
    count = values.pop("count", None)
    pack = values.pop("pack", None)
    tolerance = values.pop("tolerance", None)
    if isinstance(tolerance, Working) and tolerance.value > 0:
        for name in ("thickness", "diameter", "height"):
            size = values.get(name)
            if isinstance(size, Working):
                values[name] = replace(size, tolerance=tolerance, distribution="normal")
    return _record(
        record,
        values,
        key=key,
        count=int(count.value) if isinstance(count, Working) else None,
        pack=int(pack.value) if isinstance(pack, Working) else 1,
    )


def _joined(own: Shelf, shop: Shelf) -> Shelf:
    """Return the car's own shelf with the shop's behind it; what is cut is the shop's where it has any of its kind."""
    joined: Values = {}
    for each in fields(Shelf):
        mine, theirs = getattr(own, each.name), getattr(shop, each.name)
        if isinstance(mine, tuple):
            joined[each.name] = theirs if theirs and each.name in ("sheets", "strips", "rods") else (*mine, *theirs)
        else:
            joined[each.name] = cast(Any, mine if mine is not None else theirs)
    return Shelf(**joined)
