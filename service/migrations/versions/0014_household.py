"""a child's household: who has the child when, and what a day there is like"""

import sqlalchemy as sa
from alembic import op
from sqlmodel.sql import sqltypes

revision = "0014"
down_revision = "0013"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "household",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("clinic_id", sa.Integer(), nullable=False),
        sa.Column("public_id", sqltypes.AutoString(), nullable=False),
        sa.Column("child_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("content", sa.JSON(), nullable=False),
        sa.Column("entered_by", sa.Integer(), nullable=True),
        sa.Column("subscription_id", sa.Integer(), nullable=True),
        sa.Column("entered_at", sqltypes.UTCDateTime(), nullable=False),
        sa.CheckConstraint("(entered_by IS NULL) <> (subscription_id IS NULL)", name="one_author"),
        sa.ForeignKeyConstraint(["child_id"], ["child.id"]),
        sa.ForeignKeyConstraint(["clinic_id"], ["clinic.id"]),
        sa.ForeignKeyConstraint(["entered_by"], ["staff.id"]),
        sa.ForeignKeyConstraint(["subscription_id"], ["subscription.id"]),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("child_id", "number"),
        sa.UniqueConstraint("public_id"),
    )
    op.create_index(op.f("ix_household_child_id"), "household", ["child_id"])
    op.create_index(op.f("ix_household_clinic_id"), "household", ["clinic_id"])


def downgrade() -> None:
    op.drop_table("household")
