"""operations, and an eye that is absent; clinicians may sign operations until an administrator says otherwise"""

import sqlalchemy as sa
from alembic import op
from sqlmodel.sql import sqltypes

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "operation",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("clinic_id", sa.Integer(), nullable=False),
        sa.Column("public_id", sqltypes.AutoString(), nullable=False),
        sa.Column("child_id", sa.Integer(), nullable=False),
        sa.Column("operation", sqltypes.AutoString(), nullable=False),
        sa.Column("eye", sqltypes.AutoString(), nullable=True),
        sa.Column("on", sa.Date(), nullable=False),
        sa.Column("note", sqltypes.AutoString(), nullable=False),
        sa.Column("signed_by", sa.Integer(), nullable=False),
        sa.Column("signed_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["child_id"], ["child.id"]),
        sa.ForeignKeyConstraint(["clinic_id"], ["clinic.id"]),
        sa.ForeignKeyConstraint(["signed_by"], ["staff.id"]),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("public_id"),
    )
    op.create_index(op.f("ix_operation_child_id"), "operation", ["child_id"])
    op.create_index(op.f("ix_operation_clinic_id"), "operation", ["clinic_id"])
    with op.batch_alter_table("eye_status") as batch_op:
        batch_op.drop_constraint("status_known", type_="check")
        batch_op.create_check_constraint("status_known", "status IN ('phakic', 'aphakic', 'pseudophakic', 'absent')")
    op.execute(sa.text("INSERT INTO sign_right (clinic_id, role, kind) SELECT id, 'clinician', 'operation' FROM clinic"))


def downgrade() -> None:
    raise NotImplementedError("an operation has no place in the older tables")
