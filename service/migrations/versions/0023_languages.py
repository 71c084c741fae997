"""the language a family speaks, whether it needs an interpreter, and which translations a clinic has checked"""

import sqlalchemy as sa
from alembic import op
from sqlmodel.sql import sqltypes

revision = "0023"
down_revision = "0022"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "catalogue_review",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("clinic_id", sa.Integer(), nullable=False),
        sa.Column("language", sqltypes.AutoString(), nullable=False),
        sa.Column("digest", sqltypes.AutoString(), nullable=False),
        sa.Column("reviewed_by", sa.Integer(), nullable=False),
        sa.Column("reviewed_at", sqltypes.UTCDateTime(), nullable=False),
        sa.ForeignKeyConstraint(["clinic_id"], ["clinic.id"]),
        sa.ForeignKeyConstraint(["reviewed_by"], ["staff.id"]),
        sa.PrimaryKeyConstraint("id"),
    )
    op.create_index(op.f("ix_catalogue_review_clinic_id"), "catalogue_review", ["clinic_id"])
    op.add_column("child", sa.Column("spoken_language", sqltypes.AutoString(), nullable=False, server_default=""))
    op.add_column("child", sa.Column("interpreter_needed", sa.Boolean(), nullable=False, server_default=sa.false()))


def downgrade() -> None:
    op.drop_column("child", "interpreter_needed")
    op.drop_column("child", "spoken_language")
    op.drop_index(op.f("ix_catalogue_review_clinic_id"), "catalogue_review")
    op.drop_table("catalogue_review")
