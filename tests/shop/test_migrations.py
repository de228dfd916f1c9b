"""A shop of every earlier version is brought to the present one whole or not at all, and nothing in it is lost."""

from __future__ import annotations

import sqlite3
import subprocess
import sys
from contextlib import closing
from datetime import date
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.runtime.migration import MigrationContext
from sqlalchemy import text
from tests.shop.older import CAR, LATER, ODD, make_older

from carwright.shop import ShopFault, migrating, open_shop
from carwright.shop.engine import engine_of
from carwright.shop.places import place_of
from carwright.shop.tables import CURRENT, VERSIONS, metadata


def test_every_version_has_its_script() -> None:
    """The versions that the program knows are those that it has scripts for, in their order."""
    assert migrating.known_versions() == VERSIONS


@pytest.mark.parametrize("version", VERSIONS)
def test_a_shop_of_every_earlier_version_opens_with_all_that_was_in_it(tmp_path: Path, version: str) -> None:
    """Documents, heads, stage, checklist, photographs, shelf and settings of each version are there afterwards."""
    path = tmp_path / "shop.carwright"
    make_older(path, version)
    with open_shop(path) as shop:
        state = shop.car("kept")
        assert (state.name, state.stage, state.waits_for) == ("Kept", "build", "wheels")
        assert [(each.number, each.data, each.by) for each in state.heads] == [(2, LATER, "Ada"), (3, ODD, "Ada")]
        assert shop.revision("kept", 1).data == CAR
        done = [each for each in state.checklist if each.done_on]
        assert [(each.item, each.done_on, each.note) for each in done] == [
            ("Cut the pieces", date(2026, 2, 1), "slowly")
        ]
        assert shop.photo("kept", shop.photos("kept")[0].id, "original") == ODD
        assert shop.shelf() == (ODD, 1)
        assert shop.setting("printer/attic") == "kept"
        assert [each.number for each in shop.changes(0)] == [1]
        if version >= "0002":
            assert [each.bought_for for each in shop.lots()] == ["35.00"]
            assert [each.key for each in shop.measured("kept")] == ["found.coupler_height"]
            assert [each.plan for each in shop.takings()] == ["a1b2"]
            assert shop.plan_data("kept", shop.plans("kept")[0].id) == ODD
        assert shop.save("kept", b"goes on", based_on=2).revision == 4


@pytest.mark.parametrize("version", VERSIONS[:-1])
def test_a_copy_is_made_before_a_shop_is_changed(tmp_path: Path, version: str) -> None:
    """Beside a shop that was brought up lies a whole, sound copy of it as it was; a current shop gets none."""
    path = tmp_path / "shop.carwright"
    make_older(path, version)
    open_shop(path).close()
    (copy,) = tmp_path.glob("*.copy")
    with closing(sqlite3.connect(copy)) as old:
        assert old.execute("SELECT version_num FROM alembic_version").fetchone() == (version,)
        assert old.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        assert old.execute("SELECT count(*) FROM revision").fetchone() == (4,)
    open_shop(path).close()
    assert len(list(tmp_path.glob("*.copy"))) == 1


def test_a_migration_that_fails_leaves_the_shop_as_it_was(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A script that stops half-way changes nothing: the tables made before it are gone again, the rows are there."""
    path = tmp_path / "shop.carwright"
    make_older(path, "0001")
    with closing(sqlite3.connect(path)) as before:
        tables = before.execute("SELECT name, sql FROM sqlite_master ORDER BY name").fetchall()
    real = migrating.MigrationContext.stamp

    def stamp(*_: object) -> None:
        raise RuntimeError("power cut")

    monkeypatch.setattr(migrating.MigrationContext, "stamp", stamp)
    with pytest.raises(RuntimeError, match="power cut"):
        open_shop(path)
    with closing(sqlite3.connect(path)) as after:
        assert after.execute("SELECT name, sql FROM sqlite_master ORDER BY name").fetchall() == tables
    monkeypatch.setattr(migrating.MigrationContext, "stamp", real)
    with open_shop(path) as shop:
        assert shop.car("kept").head.data == LATER


def test_the_scripts_make_the_tables_that_the_program_uses(tmp_path: Path) -> None:
    """Alembic, asked what it would have to change in a migrated shop to match the tables, has nothing to name."""
    path = tmp_path / "shop.carwright"
    open_shop(path).close()
    engine = engine_of(place_of(path))
    with engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        assert compare_metadata(context, metadata) == []
    engine.dispose()


def test_the_shop_of_a_newer_program_is_left_alone(tmp_path: Path) -> None:
    """A version that this program does not know is refused by name, and not one byte of the file changes."""
    path = tmp_path / "shop.carwright"
    make_older(path, CURRENT)
    with closing(sqlite3.connect(path)) as newer:
        newer.execute("UPDATE alembic_version SET version_num = '9999'")
        newer.execute("UPDATE setting SET value = '7.0.0' WHERE name = 'program'")
        newer.commit()
        newer.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    before = path.read_bytes()
    with pytest.raises(ShopFault, match=r"newer version of the program \(7\.0\.0\)"):
        open_shop(path)
    assert path.read_bytes() == before


def test_a_current_shop_opens_without_the_migrations(tmp_path: Path) -> None:
    """Opening a shop of the present version imports neither Alembic nor our own module of migrations."""
    path = tmp_path / "shop.carwright"
    open_shop(path).close()
    program = (
        "import sys; from carwright.shop import open_shop\n"
        "assert 'sqlalchemy' not in sys.modules\n"
        f"shop = open_shop({str(path)!r}); print(shop.counts()['lot'])\n"
        "print([name for name in sys.modules if 'alembic' in name or name.endswith('shop.migrating')])"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True, timeout=60)
    assert done.stdout.split() == ["0", "[]"]


def test_two_programs_that_open_an_old_shop_at_once_bring_it_up_once(tmp_path: Path) -> None:
    """Both go on with the same current shop; the one that waited finds nothing left to do."""
    path = tmp_path / "shop.carwright"
    make_older(path, "0001")
    program = f"from carwright.shop import open_shop\nprint(open_shop({str(path)!r}).car('kept').head.number)"
    both = [
        subprocess.Popen([sys.executable, "-c", program], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
        for _ in range(2)
    ]
    assert [each.communicate(timeout=60) for each in both] == [("2\n", "")] * 2
    engine = engine_of(place_of(path))
    with engine.connect() as connection:
        assert connection.scalar(text("SELECT version_num FROM alembic_version")) == CURRENT
    engine.dispose()
