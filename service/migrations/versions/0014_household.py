"""what families told of their days"""

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
        sa.Column("entered_through", sa.Integer(), nullable=True),
        sa.Column("entered_at", sqltypes.UTCDateTime(), nullable=False),
        sa.CheckConstraint("(entered_by IS NULL) <> (entered_through IS NULL)", name="entered_by_one"),
        sa.ForeignKeyConstraint(["child_id"], ["child.id"]),
        sa.ForeignKeyConstraint(["clinic_id"], ["clinic.id"]),
        sa.ForeignKeyConstraint(["entered_by"], ["staff.id"]),
        sa.ForeignKeyConstraint(["entered_through"], ["subscription.id"]),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("child_id", "number"),
        sa.UniqueConstraint("public_id"),
    )
    with op.batch_alter_table("household", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_household_clinic_id"), ["clinic_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_household_child_id"), ["child_id"], unique=False)


def downgrade() -> None:
    op.drop_table("household")
