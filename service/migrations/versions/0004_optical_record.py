"""the optical record: operations, lenses, bookings, notices; a right for each kind of document"""

import sqlalchemy as sa
from alembic import op
from sqlmodel.sql import sqltypes

revision = "0004"
down_revision = "0003"
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
        sa.CheckConstraint("state IN ('booked', 'kept', 'not-brought', 'cancelled')", name="state_known"),
        sa.ForeignKeyConstraint(
            ["child_id"],
            ["child.id"],
        ),
        sa.ForeignKeyConstraint(
            ["clinic_id"],
            ["clinic.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("public_id"),
    )
    with op.batch_alter_table("booking", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_booking_child_id"), ["child_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_booking_clinic_id"), ["clinic_id"], unique=False)

    op.create_table(
        "lens_range",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("clinic_id", sa.Integer(), nullable=False),
        sa.Column("public_id", sqltypes.AutoString(), nullable=False),
        sa.Column("name", sqltypes.AutoString(), nullable=False),
        sa.Column("from_on", sa.Date(), nullable=False),
        sa.Column("powers", sqltypes.AutoString(), nullable=False),
        sa.Column("base_curves_mm", sqltypes.AutoString(), nullable=False),
        sa.Column("diameters_mm", sqltypes.AutoString(), nullable=False),
        sa.Column("material", sqltypes.AutoString(), nullable=True),
        sa.Column("wear_schedule", sqltypes.AutoString(), nullable=True),
        sa.Column("withdrawn", sa.Boolean(), nullable=False),
        sa.Column("entered_by", sa.Integer(), nullable=False),
        sa.Column("entered_at", sqltypes.UTCDateTime(), nullable=False),
        sa.ForeignKeyConstraint(
            ["clinic_id"],
            ["clinic.id"],
        ),
        sa.ForeignKeyConstraint(
            ["entered_by"],
            ["staff.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("clinic_id", "name", "from_on"),
        sa.UniqueConstraint("public_id"),
    )
    with op.batch_alter_table("lens_range", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_lens_range_clinic_id"), ["clinic_id"], unique=False)

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
        sa.Column("made_at", sqltypes.UTCDateTime(), nullable=False),
        sa.Column("seen_by", sa.Integer(), nullable=True),
        sa.Column("seen_at", sqltypes.UTCDateTime(), nullable=True),
        sa.ForeignKeyConstraint(
            ["child_id"],
            ["child.id"],
        ),
        sa.ForeignKeyConstraint(
            ["clinic_id"],
            ["clinic.id"],
        ),
        sa.ForeignKeyConstraint(
            ["for_staff"],
            ["staff.id"],
        ),
        sa.ForeignKeyConstraint(
            ["seen_by"],
            ["staff.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("dedupe_key"),
        sa.UniqueConstraint("public_id"),
    )
    with op.batch_alter_table("notice", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_notice_child_id"), ["child_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_notice_clinic_id"), ["clinic_id"], unique=False)

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
        sa.Column("signed_at", sqltypes.UTCDateTime(), nullable=False),
        sa.ForeignKeyConstraint(
            ["child_id"],
            ["child.id"],
        ),
        sa.ForeignKeyConstraint(
            ["clinic_id"],
            ["clinic.id"],
        ),
        sa.ForeignKeyConstraint(
            ["signed_by"],
            ["staff.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("public_id"),
    )
    with op.batch_alter_table("operation", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_operation_child_id"), ["child_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_operation_clinic_id"), ["clinic_id"], unique=False)

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
        sa.Column("changed_at", sqltypes.UTCDateTime(), nullable=False),
        sa.ForeignKeyConstraint(
            ["booking_id"],
            ["booking.id"],
        ),
        sa.ForeignKeyConstraint(
            ["changed_by"],
            ["staff.id"],
        ),
        sa.ForeignKeyConstraint(
            ["clinic_id"],
            ["clinic.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("booking_id", "version"),
    )
    with op.batch_alter_table("booking_change", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_booking_change_booking_id"), ["booking_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_booking_change_clinic_id"), ["clinic_id"], unique=False)

    op.create_table(
        "lens",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("clinic_id", sa.Integer(), nullable=False),
        sa.Column("public_id", sqltypes.AutoString(), nullable=False),
        sa.Column("child_id", sa.Integer(), nullable=False),
        sa.Column("correction_id", sa.Integer(), nullable=False),
        sa.Column("eye", sqltypes.AutoString(), nullable=False),
        sa.Column("power", sa.Float(), nullable=False),
        sa.Column("power_plane", sqltypes.AutoString(), nullable=False),
        sa.Column("base_curve_mm", sa.Float(), nullable=True),
        sa.Column("diameter_mm", sa.Float(), nullable=True),
        sa.CheckConstraint("eye IN ('right', 'left')", name="eye_known"),
        sa.CheckConstraint("power_plane IN ('back-vertex', 'front-vertex')", name="power_plane_known"),
        sa.CheckConstraint("power IS NULL OR (power >= -40 AND power <= 60)", name="power_range"),
        sa.ForeignKeyConstraint(
            ["child_id"],
            ["child.id"],
        ),
        sa.ForeignKeyConstraint(
            ["clinic_id"],
            ["clinic.id"],
        ),
        sa.ForeignKeyConstraint(
            ["correction_id"],
            ["correction.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("public_id"),
    )
    with op.batch_alter_table("lens", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_lens_child_id"), ["child_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_lens_clinic_id"), ["clinic_id"], unique=False)

    op.create_table(
        "lens_check",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("clinic_id", sa.Integer(), nullable=False),
        sa.Column("public_id", sqltypes.AutoString(), nullable=False),
        sa.Column("correction_id", sa.Integer(), nullable=False),
        sa.Column("measured", sa.JSON(), nullable=False),
        sa.Column("recorded_by", sa.Integer(), nullable=False),
        sa.Column("recorded_at", sqltypes.UTCDateTime(), nullable=False),
        sa.ForeignKeyConstraint(
            ["clinic_id"],
            ["clinic.id"],
        ),
        sa.ForeignKeyConstraint(
            ["correction_id"],
            ["correction.id"],
        ),
        sa.ForeignKeyConstraint(
            ["recorded_by"],
            ["staff.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("public_id"),
    )
    with op.batch_alter_table("lens_check", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_lens_check_clinic_id"), ["clinic_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_lens_check_correction_id"), ["correction_id"], unique=False)

    op.create_table(
        "lens_entry",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("clinic_id", sa.Integer(), nullable=False),
        sa.Column("lens_id", sa.Integer(), nullable=False),
        sa.Column("state", sqltypes.AutoString(), nullable=False),
        sa.Column("on", sa.Date(), nullable=False),
        sa.Column("note", sqltypes.AutoString(), nullable=False),
        sa.Column("recorded_by", sa.Integer(), nullable=False),
        sa.Column("recorded_at", sqltypes.UTCDateTime(), nullable=False),
        sa.CheckConstraint("state IN ('ordered', 'arrived', 'in-use', 'taken-out', 'lost', 'found', 'broken', 'out-of-date')", name="state_known"),
        sa.ForeignKeyConstraint(
            ["clinic_id"],
            ["clinic.id"],
        ),
        sa.ForeignKeyConstraint(
            ["lens_id"],
            ["lens.id"],
        ),
        sa.ForeignKeyConstraint(
            ["recorded_by"],
            ["staff.id"],
        ),
        sa.PrimaryKeyConstraint("id"),
    )
    with op.batch_alter_table("lens_entry", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_lens_entry_clinic_id"), ["clinic_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_lens_entry_lens_id"), ["lens_id"], unique=False)

    # SQLite cannot rebuild a table that others refer to, so the column is added as it is, with a default
    op.add_column("clinic", sa.Column("not_brought_pathway", sqltypes.AutoString(), nullable=False, server_default=""))
    if op.get_bind().dialect.name == "postgresql":
        op.alter_column("clinic", "not_brought_pathway", server_default=None)
    with op.batch_alter_table("eye_status", schema=None) as batch_op:
        batch_op.drop_constraint("status_known", type_="check")
        batch_op.create_check_constraint("status_known", "status IN ('phakic', 'aphakic', 'pseudophakic', 'absent')")

    # whoever might sign corrections may go on signing both kinds; a signer of regimens also signs the day of surgery where a clinician does
    connection = op.get_bind()
    for clinic_id, role in connection.execute(sa.text("SELECT clinic_id, role FROM sign_right WHERE kind = 'correction'")).all():
        for kind in ("spectacles", "contact-lens"):
            connection.execute(sa.text("INSERT INTO sign_right (clinic_id, role, kind) VALUES (:c, :r, :k)"), {"c": clinic_id, "r": role, "k": kind})
    connection.execute(sa.text("DELETE FROM sign_right WHERE kind = 'correction'"))
    connection.execute(
        sa.text(
            "INSERT INTO sign_right (clinic_id, role, kind) SELECT clinic_id, role, 'operation' FROM sign_right WHERE kind = 'occlusion' AND role = 'clinician'"
        )
    )


def downgrade() -> None:
    raise NotImplementedError("documents of these kinds cannot be undone")
