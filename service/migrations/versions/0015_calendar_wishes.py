"""what a person wants of their calendar"""

import sqlalchemy as sa
from alembic import op
from sqlmodel.sql import sqltypes

revision = "0015"
down_revision = "0014"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.add_column("subscription", sa.Column("style", sqltypes.AutoString(), nullable=False, server_default="all-day"))
    op.add_column("subscription", sa.Column("session_alarm_minutes", sa.Integer(), nullable=True))
    for name in ("shows_care", "shows_visits", "shows_done"):
        op.add_column("subscription", sa.Column(name, sa.Boolean(), nullable=False, server_default=sa.false()))


def downgrade() -> None:
    for name in ("shows_done", "shows_visits", "shows_care", "session_alarm_minutes", "style"):
        op.drop_column("subscription", name)
