"""drops of atropine, days of a pattern, a clinic's own protocols; clinicians may sign drops until an administrator says otherwise"""

import sqlalchemy as sa
from alembic import op
from sqlmodel.sql import sqltypes

revision = "0013"
down_revision = "0012"
branch_labels = None
depends_on = None


def upgrade() -> None:
    with op.batch_alter_table("regimen") as batch_op:
        batch_op.drop_constraint("phase_known", type_="check")
        batch_op.add_column(sa.Column("drop_eye", sqltypes.AutoString(), nullable=True))
        batch_op.add_column(sa.Column("drop_pattern", sqltypes.AutoString(), nullable=True))
        batch_op.create_check_constraint("phase_known", "phase IN ('refractive-adaptation', 'occlusion', 'atropine', 'pause', 'stop')")
        batch_op.create_check_constraint("drop_eye_known", "drop_eye IN ('right', 'left')")
    _every_day()
    op.execute(sa.text("INSERT INTO sign_right (clinic_id, role, kind) SELECT id, 'clinician', 'atropine' FROM clinic"))
    op.create_table(
        "clinic_protocol",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("clinic_id", sa.Integer(), nullable=False),
        sa.Column("public_id", sqltypes.AutoString(), nullable=False),
        sa.Column("name", sqltypes.AutoString(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("from_on", sa.Date(), nullable=False),
        sa.Column("aetiology", sqltypes.AutoString(), nullable=True),
        sa.Column("from_month", sa.Integer(), nullable=False),
        sa.Column("below_month", sa.Integer(), nullable=False),
        sa.Column("band_set", sqltypes.AutoString(), nullable=True),
        sa.Column("severity", sqltypes.AutoString(), nullable=True),
        sa.Column("minutes", sa.Integer(), nullable=True),
        sa.Column("waking_percent", sa.Integer(), nullable=True),
        sa.Column("pattern", sqltypes.AutoString(), nullable=False),
        sa.Column("review_weeks", sa.Integer(), nullable=False),
        sa.Column("near_work", sqltypes.AutoString(), nullable=False),
        sa.Column("author", sqltypes.AutoString(), nullable=False),
        sa.Column("reference", sqltypes.AutoString(), nullable=False),
        sa.Column("ended", sa.Boolean(), nullable=False),
        sa.Column("entered_by", sa.Integer(), nullable=False),
        sa.Column("entered_at", sqltypes.UTCDateTime(), nullable=False),
        sa.CheckConstraint("(minutes IS NULL) <> (waking_percent IS NULL)", name="one_amount"),
        sa.CheckConstraint("(band_set IS NULL) = (severity IS NULL)", name="band_and_set"),
        sa.CheckConstraint("minutes IS NULL OR (minutes >= 1 AND minutes <= 960)", name="minutes_range"),
        sa.CheckConstraint("waking_percent IS NULL OR (waking_percent >= 1 AND waking_percent <= 100)", name="waking_percent_range"),
        sa.ForeignKeyConstraint(["clinic_id"], ["clinic.id"]),
        sa.ForeignKeyConstraint(["entered_by"], ["staff.id"]),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("clinic_id", "name", "number"),
        sa.UniqueConstraint("public_id"),
    )
    op.create_index(op.f("ix_clinic_protocol_clinic_id"), "clinic_protocol", ["clinic_id"])


def _every_day() -> None:
    """A dose signed before there were patterns is one for every day."""
    regimen = sa.table("regimen", sa.column("id", sa.Integer), sa.column("doses", sa.JSON))
    connection = op.get_bind()
    for row in connection.execute(sa.select(regimen.c.id, regimen.c.doses)).all():
        doses = [[on, minutes, "daily"] for on, minutes in row.doses]
        connection.execute(regimen.update().where(regimen.c.id == row.id).values(doses=doses))


def downgrade() -> None:
    raise NotImplementedError("a drop, and a day off by its pattern, have no place in the older tables")
