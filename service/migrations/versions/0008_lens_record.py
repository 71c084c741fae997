"""lens ranges, the ledger of lenses, and made-up lenses as measured"""

import sqlalchemy as sa
from alembic import op
from sqlmodel.sql import sqltypes

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "lens_range",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("clinic_id", sa.Integer(), nullable=False),
        sa.Column("public_id", sqltypes.AutoString(), nullable=False),
        sa.Column("name", sqltypes.AutoString(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("from_on", sa.Date(), nullable=False),
        sa.Column("powers", sqltypes.AutoString(), nullable=False),
        sa.Column("base_curves_mm", sqltypes.AutoString(), nullable=False),
        sa.Column("diameters_mm", sqltypes.AutoString(), nullable=False),
        sa.Column("material", sqltypes.AutoString(), nullable=True),
        sa.Column("wear_schedule", sqltypes.AutoString(), nullable=True),
        sa.Column("ended", sa.Boolean(), nullable=False),
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
        sa.UniqueConstraint("clinic_id", "name", "number"),
        sa.UniqueConstraint("public_id"),
    )
    with op.batch_alter_table("lens_range", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_lens_range_clinic_id"), ["clinic_id"], unique=False)

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
    )
    with op.batch_alter_table("lens_check", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_lens_check_clinic_id"), ["clinic_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_lens_check_correction_id"), ["correction_id"], unique=False)

    op.create_table(
        "lens_entry",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("clinic_id", sa.Integer(), nullable=False),
        sa.Column("lens_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
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
        sa.UniqueConstraint("lens_id", "number"),
    )
    with op.batch_alter_table("lens_entry", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_lens_entry_clinic_id"), ["clinic_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_lens_entry_lens_id"), ["lens_id"], unique=False)


def downgrade() -> None:
    with op.batch_alter_table("lens_entry", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_lens_entry_lens_id"))
        batch_op.drop_index(batch_op.f("ix_lens_entry_clinic_id"))

    op.drop_table("lens_entry")
    with op.batch_alter_table("lens_check", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_lens_check_correction_id"))
        batch_op.drop_index(batch_op.f("ix_lens_check_clinic_id"))

    op.drop_table("lens_check")
    with op.batch_alter_table("lens", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_lens_clinic_id"))
        batch_op.drop_index(batch_op.f("ix_lens_child_id"))

    op.drop_table("lens")
    with op.batch_alter_table("lens_range", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_lens_range_clinic_id"))

    op.drop_table("lens_range")
