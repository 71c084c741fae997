"""what a clinic sets for its reviews, and double vision as a finding"""

import sqlalchemy as sa
from alembic import op
from sqlmodel.sql import sqltypes

revision = "0010"
down_revision = "0009"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "clinic_rules",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("clinic_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("low_share", sa.Float(), nullable=False),
        sa.Column("over_share", sa.Float(), nullable=False),
        sa.Column("lens_off_dioptres", sa.Float(), nullable=False),
        sa.Column("rules_off", sa.JSON(), nullable=False),
        sa.Column("reason", sqltypes.AutoString(), nullable=False),
        sa.Column("set_by", sa.Integer(), nullable=False),
        sa.Column("set_at", sqltypes.UTCDateTime(), nullable=False),
        sa.ForeignKeyConstraint(["clinic_id"], ["clinic.id"]),
        sa.ForeignKeyConstraint(["set_by"], ["staff.id"]),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("clinic_id", "number"),
    )
    with op.batch_alter_table("clinic_rules", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_clinic_rules_clinic_id"), ["clinic_id"], unique=False)
    op.add_column("visit_version", sa.Column("double_vision", sqltypes.AutoString(), nullable=True))


def downgrade() -> None:
    op.drop_column("visit_version", "double_vision")
    op.drop_table("clinic_rules")
