"""where caregivers can be reached and what they wish to be told; the outbox holds each message to each address, and who is sending it

Of messages announced before there were channels it is known that none was sent: nobody could be reached.
"""

import sqlalchemy as sa
from alembic import op
from sqlmodel.sql import sqltypes

revision = "0022"
down_revision = "0021"
branch_labels = None
depends_on = None

USUAL_WISHES = (
    '{"kinds": ["care", "evening", "plan-changed", "review", "session"], "lead_minutes": 15, "day_minutes": 480, "evening_minutes": 1140, '
    '"quiet_from_minutes": 1260, "quiet_until_minutes": 420}'
)


def upgrade() -> None:
    op.create_table(
        "contact",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("clinic_id", sa.Integer(), nullable=False),
        sa.Column("public_id", sqltypes.AutoString(), nullable=False),
        sa.Column("subscription_id", sa.Integer(), nullable=False),
        sa.Column("channel", sqltypes.AutoString(), nullable=False),
        sa.Column("address", sqltypes.AutoString(), nullable=False),
        sa.Column("keys", sa.JSON(), nullable=False),
        sa.Column("added_at", sqltypes.UTCDateTime(), nullable=False),
        sa.Column("off_at", sqltypes.UTCDateTime(), nullable=True),
        sa.Column("bounced_at", sqltypes.UTCDateTime(), nullable=True),
        sa.Column("gone_at", sqltypes.UTCDateTime(), nullable=True),
        sa.ForeignKeyConstraint(["clinic_id"], ["clinic.id"]),
        sa.ForeignKeyConstraint(["subscription_id"], ["subscription.id"]),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("public_id"),
        sa.UniqueConstraint("subscription_id", "channel", "address"),
    )
    op.create_index(op.f("ix_contact_clinic_id"), "contact", ["clinic_id"])
    op.create_index(op.f("ix_contact_subscription_id"), "contact", ["subscription_id"])
    added = (("wishes", sa.JSON(), USUAL_WISHES), ("reminders_facts", sa.Integer(), "-1"))
    for name, kind, before in added:
        op.add_column("subscription", sa.Column(name, kind, nullable=False, server_default=before))
        if op.get_bind().dialect.name == "postgresql":
            op.alter_column("subscription", name, server_default=None)
    op.add_column("subscription", sa.Column("reminders_until", sqltypes.UTCDateTime(), nullable=True))
    _outbox()


def _outbox() -> None:
    for column in (
        sa.Column("contact_id", sa.Integer(), nullable=True),
        sa.Column("channel", sqltypes.AutoString(), nullable=True),
        sa.Column("about", sqltypes.AutoString(), nullable=True),
        sa.Column("on", sa.Date(), nullable=True),
        sa.Column("detail", sa.JSON(), nullable=True),
        sa.Column("attempts", sa.Integer(), nullable=True),
        sa.Column("next_at", sqltypes.UTCDateTime(), nullable=True),
        sa.Column("claimed_by", sqltypes.AutoString(), nullable=True),
        sa.Column("lease_until", sqltypes.UTCDateTime(), nullable=True),
        sa.Column("sent_at", sqltypes.UTCDateTime(), nullable=True),
        sa.Column("error", sqltypes.AutoString(), nullable=True),
    ):
        op.add_column("outbox", column)
    op.execute(sa.text("UPDATE outbox SET attempts = 0, next_at = due_at, state = 'unreached', detail = '{}'"))
    connection = op.get_bind()
    for row_id, key in connection.execute(sa.text("SELECT id, dedupe_key FROM outbox")).all():
        connection.execute(sa.text("UPDATE outbox SET about = :about WHERE id = :id"), {"about": key.split("|")[1], "id": row_id})
    with op.batch_alter_table("outbox") as batch_op:
        for name, kind in (("about", sqltypes.AutoString()), ("detail", sa.JSON()), ("attempts", sa.Integer()), ("next_at", sqltypes.UTCDateTime())):
            batch_op.alter_column(name, existing_type=kind, nullable=False)
        batch_op.create_foreign_key("outbox_contact_id_fkey", "contact", ["contact_id"], ["id"])
        batch_op.drop_index("outbox_waiting")
        batch_op.create_index("outbox_next", ["state", "next_at"])
        batch_op.create_index(batch_op.f("ix_outbox_child_id"), ["child_id"])
        batch_op.create_index(batch_op.f("ix_outbox_subscription_id"), ["subscription_id"])


def downgrade() -> None:
    raise NotImplementedError("a message that was sent cannot become one that waits")
