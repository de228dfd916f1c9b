"""0001: papers in revisions, cars on their stages, photographs, settings and the journal of changes."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None


def upgrade() -> None:
    """Make the tables of the first version."""
    op.create_table(
        "document",
        sa.Column("sha256", sa.String(64), nullable=False),
        sa.Column("data", sa.LargeBinary, nullable=False),
        sa.PrimaryKeyConstraint("sha256", name="pk_document"),
    )
    op.create_table(
        "paper",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("kind", sa.String(8), nullable=False),
        sa.Column("slug", sa.String(80), nullable=False),
        sa.Column("head", sa.Integer, nullable=False),
        sa.Column("last", sa.Integer, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_paper"),
        sa.UniqueConstraint("kind", "slug", name="uq_paper_kind_slug"),
    )
    op.create_table(
        "revision",
        sa.Column("paper_id", sa.Integer, nullable=False),
        sa.Column("number", sa.Integer, nullable=False),
        sa.Column("based_on", sa.Integer, nullable=False),
        sa.Column("sha256", sa.String(64), nullable=False),
        sa.Column("saved_at", sa.String(32), nullable=False),
        sa.Column("by", sa.Text, nullable=False),
        sa.Column("note", sa.Text, nullable=False),
        sa.Column("kind", sa.String(16), nullable=False),
        sa.PrimaryKeyConstraint("paper_id", "number", name="pk_revision"),
        sa.ForeignKeyConstraint(["paper_id"], ["paper.id"], name="fk_revision_paper_id"),
        sa.ForeignKeyConstraint(["sha256"], ["document.sha256"], name="fk_revision_sha256"),
    )
    op.create_table(
        "tip",
        sa.Column("paper_id", sa.Integer, nullable=False),
        sa.Column("number", sa.Integer, nullable=False),
        sa.PrimaryKeyConstraint("paper_id", "number", name="pk_tip"),
        sa.ForeignKeyConstraint(
            ["paper_id", "number"], ["revision.paper_id", "revision.number"], name="fk_tip_paper_id_number"
        ),
    )
    op.create_table(
        "car",
        sa.Column("paper_id", sa.Integer, nullable=False),
        sa.Column("slug", sa.String(80), nullable=False),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("stage", sa.String(16), nullable=False),
        sa.Column("waits_for", sa.Text, nullable=False),
        sa.Column("created_at", sa.String(32), nullable=False),
        sa.Column("updated_at", sa.String(32), nullable=False),
        sa.PrimaryKeyConstraint("paper_id", name="pk_car"),
        sa.ForeignKeyConstraint(["paper_id"], ["paper.id"], name="fk_car_paper_id"),
        sa.UniqueConstraint("slug", name="uq_car_slug"),
    )
    op.create_index("ix_car_stage_updated_at_slug", "car", ["stage", "updated_at", "slug"])
    op.create_table(
        "tick",
        sa.Column("paper_id", sa.Integer, nullable=False),
        sa.Column("stage", sa.String(16), nullable=False),
        sa.Column("item", sa.String(200), nullable=False),
        sa.Column("done_on", sa.String(10)),
        sa.Column("note", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("paper_id", "stage", "item", name="pk_tick"),
        sa.ForeignKeyConstraint(["paper_id"], ["car.paper_id"], name="fk_tick_paper_id"),
    )
    op.create_table(
        "photo",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("paper_id", sa.Integer, nullable=False),
        sa.Column("kind", sa.String(16), nullable=False),
        sa.Column("caption", sa.Text, nullable=False),
        sa.Column("added_at", sa.String(32), nullable=False),
        sa.Column("original", sa.String(64), nullable=False),
        sa.Column("shown", sa.String(64), nullable=False),
        sa.Column("thumb", sa.String(64), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_photo"),
        sa.ForeignKeyConstraint(["paper_id"], ["car.paper_id"], name="fk_photo_paper_id"),
        sa.ForeignKeyConstraint(["original"], ["document.sha256"], name="fk_photo_original"),
        sa.ForeignKeyConstraint(["shown"], ["document.sha256"], name="fk_photo_shown"),
        sa.ForeignKeyConstraint(["thumb"], ["document.sha256"], name="fk_photo_thumb"),
    )
    op.create_index("ix_photo_paper_id", "photo", ["paper_id"])
    op.create_table(
        "digest",
        sa.Column("sha256", sa.String(64), nullable=False),
        sa.Column("version", sa.String(40), nullable=False),
        sa.Column("edition", sa.String(64), nullable=False),
        sa.Column("verdict", sa.String(16), nullable=False),
        sa.Column("sentence", sa.Text, nullable=False),
        sa.Column("data", sa.LargeBinary, nullable=False),
        sa.PrimaryKeyConstraint("sha256", "version", "edition", name="pk_digest"),
    )
    op.create_table(
        "setting",
        sa.Column("name", sa.String(200), nullable=False),
        sa.Column("value", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("name", name="pk_setting"),
    )
    op.create_table(
        "change",
        sa.Column("number", sa.Integer, nullable=False),
        sa.Column("at", sa.String(32), nullable=False),
        sa.Column("kind", sa.String(16), nullable=False),
        sa.Column("slug", sa.String(80), nullable=False),
        sa.Column("revision", sa.Integer, nullable=False),
        sa.Column("by", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("number", name="pk_change"),
        sqlite_autoincrement=True,
    )
