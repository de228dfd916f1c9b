"""0003: what was reckoned and printed of a car is known by the shelf too that its plan was made with."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"


def upgrade() -> None:
    """Make the store of findings anew, which is reckoned again; of what was printed before, no shelf is known."""
    op.drop_table("digest")
    op.create_table(
        "digest",
        sa.Column("sha256", sa.String(64), nullable=False),
        sa.Column("shelf", sa.String(64), nullable=False),
        sa.Column("version", sa.String(40), nullable=False),
        sa.Column("edition", sa.String(64), nullable=False),
        sa.Column("verdict", sa.String(16), nullable=False),
        sa.Column("sentence", sa.Text, nullable=False),
        sa.Column("data", sa.LargeBinary, nullable=False),
        sa.PrimaryKeyConstraint("sha256", "shelf", "version", "edition", name="pk_digest"),
    )
    op.add_column("plan_made", sa.Column("shelf", sa.String(64), nullable=True))
