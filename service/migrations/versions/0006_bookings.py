"""booked visits, notices, and the clinic's own pathway text"""

import sqlalchemy as sa
from alembic import op
from sqlmodel.sql import sqltypes

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "booking",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("clinic_id", sa.Integer(), nullable=False),
        sa.Column("public_id", sqltypes.AutoString(), nullable=False),
        sa.Column("child_id", sa.Integer(), nullable=False),
        sa.Column("kind", sqltypes.AutoString(), nullable=False),
        sa.Column("on", sa.Date(), nullable=False),
        sa.Column("state", sqltypes.AutoString(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.CheckConstraint("kind IN ('review', 'anaesthetic')", name="kind_known"),
        sa.CheckConstraint("state IN ('booked', 'not-brought', 'cancelled')", name="state_known"),
        sa.ForeignKeyConstraint(["child_id"], ["child.id"]),
        sa.ForeignKeyConstraint(["clinic_id"], ["clinic.id"]),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("public_id"),
    )
    op.create_index(op.f("ix_booking_child_id"), "booking", ["child_id"])
    op.create_index(op.f("ix_booking_clinic_id"), "booking", ["clinic_id"])
    op.create_table(
        "booking_change",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("clinic_id", sa.Integer(), nullable=False),
        sa.Column("booking_id", sa.Integer(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("on", sa.Date(), nullable=False),
        sa.Column("state", sqltypes.AutoString(), nullable=False),
        sa.Column("reason", sqltypes.AutoString(), nullable=False),
        sa.Column("changed_by", sa.Integer(), nullable=False),
        sa.Column("changed_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["booking_id"], ["booking.id"]),
        sa.ForeignKeyConstraint(["changed_by"], ["staff.id"]),
        sa.ForeignKeyConstraint(["clinic_id"], ["clinic.id"]),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("booking_id", "version"),
    )
    op.create_index(op.f("ix_booking_change_booking_id"), "booking_change", ["booking_id"])
    op.create_index(op.f("ix_booking_change_clinic_id"), "booking_change", ["clinic_id"])
    op.create_table(
        "notice",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("clinic_id", sa.Integer(), nullable=False),
        sa.Column("public_id", sqltypes.AutoString(), nullable=False),
        sa.Column("child_id", sa.Integer(), nullable=False),
        sa.Column("for_staff", sa.Integer(), nullable=True),
        sa.Column("urgent", sa.Boolean(), nullable=False),
        sa.Column("message", sa.JSON(), nullable=False),
        sa.Column("dedupe_key", sqltypes.AutoString(), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("seen_by", sa.Integer(), nullable=True),
        sa.Column("seen_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["child_id"], ["child.id"]),
        sa.ForeignKeyConstraint(["clinic_id"], ["clinic.id"]),
        sa.ForeignKeyConstraint(["for_staff"], ["staff.id"]),
        sa.ForeignKeyConstraint(["seen_by"], ["staff.id"]),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("dedupe_key"),
        sa.UniqueConstraint("public_id"),
    )
    op.create_index(op.f("ix_notice_child_id"), "notice", ["child_id"])
    op.create_index(op.f("ix_notice_clinic_id"), "notice", ["clinic_id"])
    op.add_column("clinic", sa.Column("not_brought_pathway", sqltypes.AutoString(), nullable=False, server_default=""))
    if op.get_bind().dialect.name == "postgresql":
        op.alter_column("clinic", "not_brought_pathway", server_default=None)


def downgrade() -> None:
    raise NotImplementedError("a booking has no place in the older tables")
