"""a clinic's texts for families, and what caregivers have learnt to do with a lens"""

import sqlalchemy as sa
from alembic import op
from sqlmodel.sql import sqltypes

revision = "0021"
down_revision = "0020"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "family_texts",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("clinic_id", sa.Integer(), nullable=False),
        sa.Column("public_id", sqltypes.AutoString(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
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
        "learnt",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("clinic_id", sa.Integer(), nullable=False),
        sa.Column("public_id", sqltypes.AutoString(), nullable=False),
        sa.Column("child_id", sa.Integer(), nullable=False),
        sa.Column("subscription_id", sa.Integer(), nullable=False),
        sa.Column("skill", sqltypes.AutoString(), nullable=False),
        sa.Column("level", sa.Integer(), nullable=False),
        sa.Column("on", sa.Date(), nullable=False),
        sa.Column("recorded_by", sa.Integer(), nullable=False),
        sa.Column("recorded_at", sqltypes.UTCDateTime(), nullable=False),
        sa.CheckConstraint("skill IN ('put-in', 'take-out', 'clean')", name="skill_known"),
        sa.CheckConstraint("level IS NULL OR (level >= 1 AND level <= 3)", name="level_range"),
        sa.ForeignKeyConstraint(["child_id"], ["child.id"]),
        sa.ForeignKeyConstraint(["clinic_id"], ["clinic.id"]),
        sa.ForeignKeyConstraint(["recorded_by"], ["staff.id"]),
        sa.ForeignKeyConstraint(["subscription_id"], ["subscription.id"]),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("public_id"),
    )
    op.create_index(op.f("ix_family_texts_clinic_id"), "family_texts", ["clinic_id"])
    for column in ("child_id", "clinic_id", "subscription_id"):
        op.create_index(op.f(f"ix_learnt_{column}"), "learnt", [column])


def downgrade() -> None:
    op.drop_table("learnt")
    op.drop_table("family_texts")
