"""a clinic's care sets, and what was said of a child's care"""

import sqlalchemy as sa
from alembic import op
from sqlmodel.sql import sqltypes

revision = "0016"
down_revision = "0015"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "care_set",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("clinic_id", sa.Integer(), nullable=False),
        sa.Column("public_id", sqltypes.AutoString(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("from_on", sa.Date(), nullable=False),
        sa.Column("content", sa.JSON(), nullable=False),
        sa.Column("entered_by", sa.Integer(), nullable=False),
        sa.Column("entered_at", sqltypes.UTCDateTime(), nullable=False),
        sa.ForeignKeyConstraint(["clinic_id"], ["clinic.id"]),
        sa.ForeignKeyConstraint(["entered_by"], ["staff.id"]),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("clinic_id", "number"),
        sa.UniqueConstraint("public_id"),
    )
    op.create_table(
        "care_entry",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("clinic_id", sa.Integer(), nullable=False),
        sa.Column("public_id", sqltypes.AutoString(), nullable=False),
        sa.Column("child_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("kind", sqltypes.AutoString(), nullable=False),
        sa.Column("content", sa.JSON(), nullable=False),
        sa.Column("recorded_by", sa.Integer(), nullable=True),
        sa.Column("recorded_through", sa.Integer(), nullable=True),
        sa.Column("recorded_at", sqltypes.UTCDateTime(), nullable=False),
        sa.CheckConstraint("kind IN ('sheet-line', 'line-ended', 'patches', 'secondary-lens', 'lens-wear')", name="kind_known"),
        sa.CheckConstraint("(recorded_by IS NULL) <> (recorded_through IS NULL)", name="recorded_by_one"),
        sa.ForeignKeyConstraint(["child_id"], ["child.id"]),
        sa.ForeignKeyConstraint(["clinic_id"], ["clinic.id"]),
        sa.ForeignKeyConstraint(["recorded_by"], ["staff.id"]),
        sa.ForeignKeyConstraint(["recorded_through"], ["subscription.id"]),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("child_id", "number"),
        sa.UniqueConstraint("public_id"),
    )
    with op.batch_alter_table("care_set", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_care_set_clinic_id"), ["clinic_id"], unique=False)
    with op.batch_alter_table("care_entry", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_care_entry_clinic_id"), ["clinic_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_care_entry_child_id"), ["child_id"], unique=False)


def downgrade() -> None:
    op.drop_table("care_entry")
    op.drop_table("care_set")
