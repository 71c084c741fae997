"""a signed grace past the review, doses on weekdays of one's choice, and eyes that alternate"""

from collections.abc import Callable
from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0018"
down_revision = "0017"
branch_labels = None
depends_on = None

_REGIMEN = sa.table("regimen", sa.column("id", sa.Integer), sa.column("doses", sa.JSON))


def upgrade() -> None:
    op.add_column("regimen", sa.Column("grace_days", sa.Integer(), nullable=False, server_default="0"))
    op.add_column("regimen", sa.Column("turn_days", sa.Integer(), nullable=False, server_default="0"))
    _each_dose(lambda dose: [*dose, []])


def downgrade() -> None:
    _each_dose(lambda dose: dose[:3])
    op.drop_column("regimen", "turn_days")
    op.drop_column("regimen", "grace_days")


def _each_dose(made: Callable[[list[Any]], list[Any]]) -> None:
    connection = op.get_bind()
    for row in connection.execute(sa.select(_REGIMEN)).all():
        connection.execute(sa.update(_REGIMEN).where(_REGIMEN.c.id == row.id).values(doses=[made(dose) for dose in row.doses]))
