"""a clinic's own table of what is added for near, by age"""

import sqlalchemy as sa
from alembic import op
from sqlmodel.sql import sqltypes

revision = "0011"
down_revision = "0010"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "near_table",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("clinic_id", sa.Integer(), nullable=False),
        sa.Column("public_id", sqltypes.AutoString(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("from_on", sa.Date(), nullable=False),
        sa.Column("near_rows", sqltypes.AutoString(), nullable=False),
        sa.Column("author", sqltypes.AutoString(), nullable=False),
        sa.Column("entered_by", sa.Integer(), nullable=False),
        sa.Column("entered_at", sqltypes.UTCDateTime(), nullable=False),
        sa.ForeignKeyConstraint(["clinic_id"], ["clinic.id"]),
        sa.ForeignKeyConstraint(["entered_by"], ["staff.id"]),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("clinic_id", "number"),
        sa.UniqueConstraint("public_id"),
    )
    with op.batch_alter_table("near_table", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_near_table_clinic_id"), ["clinic_id"], unique=False)


def downgrade() -> None:
    with op.batch_alter_table("near_table", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_near_table_clinic_id"))
    op.drop_table("near_table")
