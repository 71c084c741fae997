"""findings"""

import sqlalchemy as sa
from alembic import op
from sqlmodel.sql import sqltypes

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    with op.batch_alter_table("eye_finding", schema=None) as batch_op:
        batch_op.add_column(sa.Column("fixation_central", sqltypes.AutoString(), nullable=True))
        batch_op.add_column(sa.Column("fixation_steady", sqltypes.AutoString(), nullable=True))
        batch_op.add_column(sa.Column("fixation_maintained", sqltypes.AutoString(), nullable=True))
        batch_op.add_column(sa.Column("objection_to_cover", sqltypes.AutoString(), nullable=True))
        batch_op.add_column(sa.Column("red_reflex", sqltypes.AutoString(), nullable=True))
        batch_op.add_column(sa.Column("axis_clear", sqltypes.AutoString(), nullable=True))
        batch_op.add_column(sa.Column("stitches_in", sqltypes.AutoString(), nullable=True))
        batch_op.add_column(sa.Column("pressure_not_obtained", sqltypes.AutoString(), nullable=True))
        batch_op.add_column(sa.Column("pressure_method", sqltypes.AutoString(), nullable=True))
        batch_op.add_column(sa.Column("pressure_measured", sqltypes.AutoString(), nullable=True))
        batch_op.add_column(sa.Column("on_steroid", sqltypes.AutoString(), nullable=True))
        batch_op.add_column(sa.Column("corneal_thickness_um", sa.Float(), nullable=True))
        batch_op.add_column(sa.Column("axial_length_method", sqltypes.AutoString(), nullable=True))
        batch_op.add_column(sa.Column("corneal_diameter_mm", sa.Float(), nullable=True))
        batch_op.add_column(sa.Column("lens_movement", sqltypes.AutoString(), nullable=True))
        batch_op.add_column(sa.Column("staining_grade", sa.Float(), nullable=True))
        batch_op.add_column(sa.Column("corneal_vessels", sqltypes.AutoString(), nullable=True))
        batch_op.add_column(sa.Column("corneal_oedema", sqltypes.AutoString(), nullable=True))

    with op.batch_alter_table("visit_version", schema=None) as batch_op:
        batch_op.add_column(sa.Column("cover_near", sqltypes.AutoString(), nullable=True))
        batch_op.add_column(sa.Column("cover_near_prism_dioptres", sa.Float(), nullable=True))
        batch_op.add_column(sa.Column("cover_distance", sqltypes.AutoString(), nullable=True))
        batch_op.add_column(sa.Column("cover_distance_prism_dioptres", sa.Float(), nullable=True))
        batch_op.add_column(sa.Column("stereoacuity_arc_seconds", sa.Float(), nullable=True))
        batch_op.add_column(sa.Column("nystagmus_manifest", sqltypes.AutoString(), nullable=True))
        batch_op.add_column(sa.Column("nystagmus_latent", sqltypes.AutoString(), nullable=True))
        batch_op.add_column(sa.Column("fogging_used", sqltypes.AutoString(), nullable=True))


def downgrade() -> None:
    with op.batch_alter_table("visit_version", schema=None) as batch_op:
        batch_op.drop_column("fogging_used")
        batch_op.drop_column("nystagmus_latent")
        batch_op.drop_column("nystagmus_manifest")
        batch_op.drop_column("stereoacuity_arc_seconds")
        batch_op.drop_column("cover_distance_prism_dioptres")
        batch_op.drop_column("cover_distance")
        batch_op.drop_column("cover_near_prism_dioptres")
        batch_op.drop_column("cover_near")

    with op.batch_alter_table("eye_finding", schema=None) as batch_op:
        batch_op.drop_column("corneal_oedema")
        batch_op.drop_column("corneal_vessels")
        batch_op.drop_column("staining_grade")
        batch_op.drop_column("lens_movement")
        batch_op.drop_column("corneal_diameter_mm")
        batch_op.drop_column("axial_length_method")
        batch_op.drop_column("corneal_thickness_um")
        batch_op.drop_column("on_steroid")
        batch_op.drop_column("pressure_measured")
        batch_op.drop_column("pressure_method")
        batch_op.drop_column("pressure_not_obtained")
        batch_op.drop_column("stitches_in")
        batch_op.drop_column("axis_clear")
        batch_op.drop_column("red_reflex")
        batch_op.drop_column("objection_to_cover")
        batch_op.drop_column("fixation_maintained")
        batch_op.drop_column("fixation_steady")
        batch_op.drop_column("fixation_central")
