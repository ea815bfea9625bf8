"""Oxygen cylinders can be judged: what a full one reads, to which day it may be used, and in which kit it lies."""

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None


def upgrade() -> None:
    with op.batch_alter_table("cylinder") as table:
        table.add_column(sa.Column("full_bar", sa.Float(), nullable=True))
        table.add_column(sa.Column("expires_on", sa.Date(), nullable=True))
        table.add_column(sa.Column("kit_id", sa.String(), nullable=True))
        table.create_foreign_key("fk_cylinder_kit_id_kit", "kit", ["kit_id"], ["id"])
    op.create_index("ix_cylinder_kit_id", "cylinder", ["kit_id"])
    op.add_column("practice", sa.Column("cylinder_percent", sa.Integer(), nullable=False, server_default="50"))


def downgrade() -> None:
    op.drop_column("practice", "cylinder_percent")
    op.drop_index("ix_cylinder_kit_id", "cylinder")
    with op.batch_alter_table("cylinder") as table:
        table.drop_constraint("fk_cylinder_kit_id_kit", type_="foreignkey")
        table.drop_column("kit_id")
        table.drop_column("expires_on")
        table.drop_column("full_bar")
