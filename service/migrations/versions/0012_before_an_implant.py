"""what is measured before a secondary lens: anterior chamber, capsule, endothelium"""

import sqlalchemy as sa
from alembic import op
from sqlmodel.sql import sqltypes

revision = "0012"
down_revision = "0011"
branch_labels = None
depends_on = None

COLUMNS = {"anterior_chamber_mm": sa.Float(), "capsule_support": sqltypes.AutoString(), "endothelial_cells_per_mm2": sa.Float()}


def upgrade() -> None:
    for name, kind in COLUMNS.items():
        op.add_column("eye_finding", sa.Column(name, kind, nullable=True))


def downgrade() -> None:
    for name in COLUMNS:
        op.drop_column("eye_finding", name)
