"""more findings of a visit: how it was refracted, kind of deviation, movements, disc and fundus, skin, a remark"""

import sqlalchemy as sa
from alembic import op
from sqlmodel.sql import sqltypes

revision = "0009"
down_revision = "0008"
branch_labels = None
depends_on = None

EYE = {
    "secondary_membrane": sqltypes.AutoString(),
    "implant_position": sqltypes.AutoString(),
    "pupil": sqltypes.AutoString(),
    "optic_disc": sqltypes.AutoString(),
    "cup_disc_ratio": sa.Float(),
    "fundus": sqltypes.AutoString(),
    "k2_axis": sa.Float(),
    "skin_under_patch": sqltypes.AutoString(),
    "near_acuity": sqltypes.AutoString(),
}
VISIT = {
    "cycloplegic": sqltypes.AutoString(),
    "refraction_method": sqltypes.AutoString(),
    "deviation_kind": sqltypes.AutoString(),
    "deviating_eye": sqltypes.AutoString(),
    "vertical_deviation": sqltypes.AutoString(),
    "vertical_prism_dioptres": sa.Float(),
    "cover_correction": sqltypes.AutoString(),
    "movements_full": sqltypes.AutoString(),
    "head_posture": sqltypes.AutoString(),
    "convergence_cm": sa.Float(),
    "stereo_seen": sqltypes.AutoString(),
    "sensory_fusion": sqltypes.AutoString(),
    "remark": sqltypes.AutoString(),
}


def upgrade() -> None:
    for table, columns in (("eye_finding", EYE), ("visit_version", VISIT)):
        for name, kind in columns.items():
            op.add_column(table, sa.Column(name, kind, nullable=True))


def downgrade() -> None:
    for table, columns in (("eye_finding", EYE), ("visit_version", VISIT)):
        for name in columns:
            op.drop_column(table, name)
