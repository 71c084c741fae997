"""rights by document: whoever might sign corrections may go on signing spectacles and contact lenses"""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.execute(sa.text("INSERT INTO sign_right (clinic_id, role, kind) SELECT clinic_id, role, 'spectacles' FROM sign_right WHERE kind = 'correction'"))
    op.execute(sa.text("UPDATE sign_right SET kind = 'contact-lens' WHERE kind = 'correction'"))


def downgrade() -> None:
    raise NotImplementedError("a role that may sign only one of the two kinds has no place in the older rights")
