"""how each caregiver wants the calendar, when a promised session begins, and addresses of calendars that were given up for others"""

import sqlalchemy as sa
from alembic import op
from sqlmodel.sql import sqltypes

revision = "0015"
down_revision = "0014"
branch_labels = None
depends_on = None

# What a calendar given before there was a choice goes on to show; no row keeps it as a default.
AS_BEFORE = (
    ("word", sqltypes.AutoString(), ""),
    ("shown", sqltypes.AutoString(), "all-day"),
    ("care", sa.JSON(), '["drops", "visits"]'),
    ("done_shown", sa.Boolean(), sa.false()),
    ("colour", sqltypes.AutoString(), "teal"),
    ("language", sqltypes.AutoString(), "en"),
)


def upgrade() -> None:
    known = sa.CheckConstraint("shown IN ('all-day', 'sessions', 'both')", name="shown_known")
    for name, kind, before in AS_BEFORE:
        op.add_column("subscription", sa.Column(name, kind, *([known] if name == "shown" else []), nullable=False, server_default=before))
        if op.get_bind().dialect.name == "postgresql":
            op.alter_column("subscription", name, server_default=None)
    op.add_column("subscription", sa.Column("session_alarm_minutes", sa.Integer(), nullable=True))
    op.add_column("published_item", sa.Column("start_at", sqltypes.UTCDateTime(), nullable=True))
    op.create_table(
        "retired_feed",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("clinic_id", sa.Integer(), nullable=False),
        sa.Column("subscription_id", sa.Integer(), nullable=False),
        sa.Column("token_hash", sqltypes.AutoString(), nullable=False),
        sa.Column("retired_at", sqltypes.UTCDateTime(), nullable=False),
        sa.Column("changed_at", sqltypes.UTCDateTime(), nullable=False),
        sa.ForeignKeyConstraint(["clinic_id"], ["clinic.id"]),
        sa.ForeignKeyConstraint(["subscription_id"], ["subscription.id"]),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("token_hash"),
    )
    op.create_index(op.f("ix_retired_feed_clinic_id"), "retired_feed", ["clinic_id"])
    op.create_index(op.f("ix_retired_feed_subscription_id"), "retired_feed", ["subscription_id"])


def downgrade() -> None:
    op.drop_table("retired_feed")
    op.drop_column("published_item", "start_at")
    for name in ("session_alarm_minutes", *(name for name, _, _ in AS_BEFORE)):
        op.drop_column("subscription", name)
