"""nurseries' links; an entry of wear names who said it, for it may come from a nursery or from a sheet of paper"""

import sqlalchemy as sa
from alembic import op
from sqlmodel.sql import sqltypes

revision = "0017"
down_revision = "0016"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "nursery_link",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("clinic_id", sa.Integer(), nullable=False),
        sa.Column("public_id", sqltypes.AutoString(), nullable=False),
        sa.Column("child_id", sa.Integer(), nullable=False),
        sa.Column("place", sqltypes.AutoString(), nullable=False),
        sa.Column("label", sqltypes.AutoString(), nullable=False),
        sa.Column("until_on", sa.Date(), nullable=False),
        sa.Column("token_hash", sqltypes.AutoString(), nullable=False),
        sa.Column("created_at", sqltypes.UTCDateTime(), nullable=False),
        sa.Column("revoked_at", sqltypes.UTCDateTime(), nullable=True),
        sa.ForeignKeyConstraint(["child_id"], ["child.id"]),
        sa.ForeignKeyConstraint(["clinic_id"], ["clinic.id"]),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("public_id"),
        sa.UniqueConstraint("token_hash"),
    )
    op.create_index(op.f("ix_nursery_link_child_id"), "nursery_link", ["child_id"])
    op.create_index(op.f("ix_nursery_link_clinic_id"), "nursery_link", ["clinic_id"])
    op.add_column("wear_entry", sa.Column("recorded_by", sqltypes.AutoString(), nullable=True))
    op.execute(sa.text("UPDATE wear_entry SET recorded_by = (SELECT 'link:' || s.public_id FROM subscription s WHERE s.id = wear_entry.subscription_id)"))
    with op.batch_alter_table("wear_entry") as batch_op:
        batch_op.alter_column("recorded_by", existing_type=sqltypes.AutoString(), nullable=False)
        batch_op.drop_column("subscription_id")
        batch_op.create_unique_constraint("wear_entry_recorded_by_client_key_key", ["recorded_by", "client_key"])


def downgrade() -> None:
    raise NotImplementedError("what a nursery or a member of staff noted has no place in the older tables")
