"""a timer for each caregiver; times of wear; whether one caregiver sees what the others noted"""

import sqlalchemy as sa
from alembic import op
from sqlmodel.sql import sqltypes

revision = "0019"
down_revision = "0018"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "timer",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("clinic_id", sa.Integer(), nullable=False),
        sa.Column("public_id", sqltypes.AutoString(), nullable=False),
        sa.Column("child_id", sa.Integer(), nullable=False),
        sa.Column("subscription_id", sa.Integer(), nullable=False),
        sa.Column("client_key", sqltypes.AutoString(), nullable=False),
        sa.Column("started_at", sqltypes.UTCDateTime(), nullable=False),
        sa.Column("stopped_at", sqltypes.UTCDateTime(), nullable=True),
        sa.ForeignKeyConstraint(["child_id"], ["child.id"]),
        sa.ForeignKeyConstraint(["clinic_id"], ["clinic.id"]),
        sa.ForeignKeyConstraint(["subscription_id"], ["subscription.id"]),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("public_id"),
        sa.UniqueConstraint("subscription_id", "client_key"),
    )
    op.create_index(op.f("ix_timer_child_id"), "timer", ["child_id"])
    op.create_index(op.f("ix_timer_clinic_id"), "timer", ["clinic_id"])
    op.create_index(op.f("ix_timer_subscription_id"), "timer", ["subscription_id"])
    for name in ("started_at", "ended_at", "said_at"):
        op.add_column("wear_entry", sa.Column(name, sqltypes.UTCDateTime(), nullable=True))
    op.add_column("subscription", sa.Column("sees_others", sa.Boolean(), nullable=False, server_default=sa.true()))


def downgrade() -> None:
    raise NotImplementedError("timed entries have no place in the older tables")
