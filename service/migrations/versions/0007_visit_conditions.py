"""conditions of a visit: who examined, which eye was tested first, by what stereo test; a date for each version, so that it can be corrected"""

import sqlalchemy as sa
from alembic import op
from sqlmodel.sql import sqltypes

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None


def upgrade() -> None:
    known = sa.CheckConstraint("tested_first IN ('right', 'left', 'both')", name="tested_first_known")
    op.add_column("acuity_test", sa.Column("tested_first", sqltypes.AutoString(), known, nullable=True))
    op.add_column("visit_version", sa.Column("tester", sqltypes.AutoString(), nullable=True))
    op.add_column("visit_version", sa.Column("stereo_test", sqltypes.AutoString(), nullable=True))
    # A default that no row keeps: SQLite cannot add a mandatory column without one, nor rebuild a table that others refer to.
    op.add_column("visit_version", sa.Column("on", sa.Date(), nullable=False, server_default="1970-01-01"))
    # so far a correction could not move a visit: each version has its visit's date
    op.execute('UPDATE visit_version SET "on" = (SELECT visit."on" FROM visit WHERE visit.id = visit_version.visit_id)')
    if op.get_bind().dialect.name == "postgresql":
        op.alter_column("visit_version", "on", server_default=None)


def downgrade() -> None:
    op.drop_column("visit_version", "on")
    op.drop_column("visit_version", "stereo_test")
    op.drop_column("visit_version", "tester")
    op.drop_column("acuity_test", "tested_first")
