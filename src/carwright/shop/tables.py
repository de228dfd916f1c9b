"""The tables of a shop as they are now; ``migrations/`` has how they came to be so, and a test holds the two together.

A *paper* is anything that is kept in revisions: each car's file, and the shelf. A revision names its document by hash;
documents are stored once. A *tip* is a revision that nothing was based on yet and nobody decided against: a paper has
one, or several while saves stand beside each other. Moments are text in UTC, so that they read and sort alike in every
database.
"""

from __future__ import annotations

from sqlalchemy import (
    Column,
    ForeignKey,
    ForeignKeyConstraint,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    String,
    Table,
    Text,
    UniqueConstraint,
)

__all__ = [
    "CURRENT",
    "VERSIONS",
    "car",
    "change",
    "digest",
    "document",
    "lot",
    "lot_car",
    "measured",
    "metadata",
    "paper",
    "photo",
    "plan_made",
    "revision",
    "setting",
    "taking",
    "tick",
    "tip",
]

VERSIONS = ("0001", "0002", "0003")
"""Every version of the tables that this program knows, oldest first."""

CURRENT = VERSIONS[-1]

metadata = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "fk": "fk_%(table_name)s_%(column_0_N_name)s",
        "pk": "pk_%(table_name)s",
    }
)

document = Table(
    "document",
    metadata,
    Column("sha256", String(64), primary_key=True),
    Column("data", LargeBinary, nullable=False),
)

paper = Table(
    "paper",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("kind", String(8), nullable=False),  # car, shelf
    Column("slug", String(80), nullable=False),
    Column("head", Integer, nullable=False),
    Column("last", Integer, nullable=False),
    UniqueConstraint("kind", "slug"),
)

revision = Table(
    "revision",
    metadata,
    Column("paper_id", ForeignKey("paper.id"), primary_key=True),
    Column("number", Integer, primary_key=True),
    Column("based_on", Integer, nullable=False),
    Column("sha256", ForeignKey("document.sha256"), nullable=False),
    Column("saved_at", String(32), nullable=False),
    Column("by", Text, nullable=False),
    Column("note", Text, nullable=False),
    Column("kind", String(16), nullable=False),
)

tip = Table(
    "tip",
    metadata,
    Column("paper_id", Integer, primary_key=True),
    Column("number", Integer, primary_key=True),
    ForeignKeyConstraint(["paper_id", "number"], ["revision.paper_id", "revision.number"]),
)

car = Table(
    "car",
    metadata,
    Column("paper_id", ForeignKey("paper.id"), primary_key=True),
    Column("slug", String(80), nullable=False, unique=True),
    Column("name", Text, nullable=False),
    Column("stage", String(16), nullable=False),
    Column("waits_for", Text, nullable=False),
    Column("created_at", String(32), nullable=False),
    Column("updated_at", String(32), nullable=False),
    Index(None, "stage", "updated_at", "slug"),
)

tick = Table(
    "tick",
    metadata,
    Column("paper_id", ForeignKey("car.paper_id"), primary_key=True),
    Column("stage", String(16), primary_key=True),
    Column("item", String(200), primary_key=True),
    Column("done_on", String(10)),
    Column("note", Text, nullable=False),
)

photo = Table(
    "photo",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("paper_id", ForeignKey("car.paper_id"), nullable=False, index=True),
    Column("kind", String(16), nullable=False),
    Column("caption", Text, nullable=False),
    Column("added_at", String(32), nullable=False),
    Column("original", ForeignKey("document.sha256"), nullable=False),
    Column("shown", ForeignKey("document.sha256"), nullable=False),
    Column("thumb", ForeignKey("document.sha256"), nullable=False),
)

digest = Table(
    "digest",
    metadata,
    Column("sha256", String(64), primary_key=True),
    Column("shelf", String(64), primary_key=True),  # hash of the shelf's file, "" where there is none
    Column("version", String(40), primary_key=True),
    Column("edition", String(64), primary_key=True),
    Column("verdict", String(16), nullable=False),
    Column("sentence", Text, nullable=False),
    Column("data", LargeBinary, nullable=False),
)

setting = Table(
    "setting",
    metadata,
    Column("name", String(200), primary_key=True),
    Column("value", Text, nullable=False),
)

change = Table(
    "change",
    metadata,
    Column("number", Integer, primary_key=True),
    Column("at", String(32), nullable=False),
    Column("kind", String(16), nullable=False),
    Column("slug", String(80), nullable=False),
    Column("revision", Integer, nullable=False),
    Column("by", Text, nullable=False),
    sqlite_autoincrement=True,
)

measured = Table(
    "measured",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("paper_id", ForeignKey("car.paper_id"), nullable=False),
    Column("key", String(200), nullable=False),
    Column("value", Text, nullable=False),
    Column("revision", Integer, nullable=False),
    Column("taken_at", String(32), nullable=False),
    Column("by", Text, nullable=False),
    Column("note", Text, nullable=False),
    Index(None, "paper_id", "key", "id"),
)

plan_made = Table(
    "plan_made",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("paper_id", Integer, nullable=False),
    Column("revision", Integer, nullable=False),
    Column("kind", String(40), nullable=False),
    Column("version", String(40), nullable=False),
    Column("edition", String(64), nullable=False),
    Column("made_at", String(32), nullable=False),
    Column("by", Text, nullable=False),
    Column("data", ForeignKey("document.sha256"), nullable=False),
    Column("shelf", String(64)),  # as in digest; None where it is not known
    ForeignKeyConstraint(["paper_id", "revision"], ["revision.paper_id", "revision.number"]),
    Index(None, "paper_id", "id"),
)

lot = Table(
    "lot",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("name", Text, nullable=False),
    Column("bought_on", String(10)),
    Column("bought_for", Text, nullable=False),
    Column("note", Text, nullable=False),
)

lot_car = Table(
    "lot_car",
    metadata,
    Column("lot_id", ForeignKey("lot.id"), primary_key=True),
    Column("paper_id", ForeignKey("car.paper_id"), primary_key=True),
)

taking = Table(
    "taking",
    metadata,
    Column("plan", String(80), primary_key=True),
    Column("revision", Integer, nullable=False),
    Column("taken_at", String(32), nullable=False),
    Column("by", Text, nullable=False),
)
