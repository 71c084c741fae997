"""what families tell the clinic, and what became of it"""

import sqlalchemy as sa
from alembic import op
from sqlmodel.sql import sqltypes

revision = "0020"
down_revision = "0019"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "telling",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("clinic_id", sa.Integer(), nullable=False),
        sa.Column("public_id", sqltypes.AutoString(), nullable=False),
        sa.Column("child_id", sa.Integer(), nullable=False),
        sa.Column("subscription_id", sa.Integer(), nullable=False),
        sa.Column("client_key", sqltypes.AutoString(), nullable=False),
        sa.Column("about", sqltypes.AutoString(), nullable=False),
        sa.Column("eye", sqltypes.AutoString(), nullable=True),
        sa.Column("text", sqltypes.AutoString(), nullable=False),
        sa.Column("said_at", sqltypes.UTCDateTime(), nullable=True),
        sa.Column("told_at", sqltypes.UTCDateTime(), nullable=False),
        sa.CheckConstraint(
            "about IN ('signs', 'lens-lost', 'lens-broken', 'glasses', 'skin', 'patches', 'refuses', 'double-vision', 'question')", name="about_known"
        ),
        sa.CheckConstraint("eye IN ('right', 'left')", name="eye_known"),
        sa.ForeignKeyConstraint(["child_id"], ["child.id"]),
        sa.ForeignKeyConstraint(["clinic_id"], ["clinic.id"]),
        sa.ForeignKeyConstraint(["subscription_id"], ["subscription.id"]),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("public_id"),
        sa.UniqueConstraint("subscription_id", "client_key"),
    )
    op.create_table(
        "telling_step",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("clinic_id", sa.Integer(), nullable=False),
        sa.Column("telling_id", sa.Integer(), nullable=False),
        sa.Column("step", sqltypes.AutoString(), nullable=False),
        sa.Column("answer", sqltypes.AutoString(), nullable=False),
        sa.Column("note", sqltypes.AutoString(), nullable=False),
        sa.Column("made_by", sa.Integer(), nullable=False),
        sa.Column("made_at", sqltypes.UTCDateTime(), nullable=False),
        sa.CheckConstraint("step IN ('taken', 'closed')", name="step_known"),
        sa.ForeignKeyConstraint(["clinic_id"], ["clinic.id"]),
        sa.ForeignKeyConstraint(["made_by"], ["staff.id"]),
        sa.ForeignKeyConstraint(["telling_id"], ["telling.id"]),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("telling_id", "step"),
    )
    for table, column in (
        ("telling", "child_id"),
        ("telling", "clinic_id"),
        ("telling", "subscription_id"),
        ("telling_step", "clinic_id"),
        ("telling_step", "telling_id"),
    ):
        op.create_index(op.f(f"ix_{table}_{column}"), table, [column])


def downgrade() -> None:
    raise NotImplementedError("what a family told has no place in the older tables")
