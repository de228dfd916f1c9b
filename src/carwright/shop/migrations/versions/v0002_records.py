"""0002: when each reading was taken, plans made, lots, and cutting plans taken from the shelf."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    """Add the tables of records; what an older program kept stays as it is."""
    op.create_table(
        "measured",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("paper_id", sa.Integer, nullable=False),
        sa.Column("key", sa.String(200), nullable=False),
        sa.Column("value", sa.Text, nullable=False),
        sa.Column("revision", sa.Integer, nullable=False),
        sa.Column("taken_at", sa.String(32), nullable=False),
        sa.Column("by", sa.Text, nullable=False),
        sa.Column("note", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_measured"),
        sa.ForeignKeyConstraint(["paper_id"], ["car.paper_id"], name="fk_measured_paper_id"),
    )
    op.create_index("ix_measured_paper_id_key_id", "measured", ["paper_id", "key", "id"])
    op.create_table(
        "plan_made",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("paper_id", sa.Integer, nullable=False),
        sa.Column("revision", sa.Integer, nullable=False),
        sa.Column("kind", sa.String(40), nullable=False),
        sa.Column("version", sa.String(40), nullable=False),
        sa.Column("edition", sa.String(64), nullable=False),
        sa.Column("made_at", sa.String(32), nullable=False),
        sa.Column("by", sa.Text, nullable=False),
        sa.Column("data", sa.String(64), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_plan_made"),
        sa.ForeignKeyConstraint(["data"], ["document.sha256"], name="fk_plan_made_data"),
        sa.ForeignKeyConstraint(
            ["paper_id", "revision"], ["revision.paper_id", "revision.number"], name="fk_plan_made_paper_id_revision"
        ),
    )
    op.create_index("ix_plan_made_paper_id_id", "plan_made", ["paper_id", "id"])
    op.create_table(
        "lot",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("bought_on", sa.String(10)),
        sa.Column("bought_for", sa.Text, nullable=False),
        sa.Column("note", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_lot"),
    )
    op.create_table(
        "lot_car",
        sa.Column("lot_id", sa.Integer, nullable=False),
        sa.Column("paper_id", sa.Integer, nullable=False),
        sa.PrimaryKeyConstraint("lot_id", "paper_id", name="pk_lot_car"),
        sa.ForeignKeyConstraint(["lot_id"], ["lot.id"], name="fk_lot_car_lot_id"),
        sa.ForeignKeyConstraint(["paper_id"], ["car.paper_id"], name="fk_lot_car_paper_id"),
    )
    op.create_table(
        "taking",
        sa.Column("plan", sa.String(80), nullable=False),
        sa.Column("revision", sa.Integer, nullable=False),
        sa.Column("taken_at", sa.String(32), nullable=False),
        sa.Column("by", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("plan", name="pk_taking"),
    )
