"""Who may sign in at a desk, with what rights, and who is signed in."""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "person_right",
        sa.Column("person_id", sa.String(), nullable=False),
        sa.Column("level", sa.String(), nullable=True),
        sa.Column("editor", sa.Boolean(), nullable=False),
        sa.Column("admin", sa.Boolean(), nullable=False),
        sa.Column("pin_hash", sa.String(), nullable=True),
        sa.Column("must_change", sa.Boolean(), nullable=False),
        sa.CheckConstraint("level IN ('view', 'document', 'lead')", name="ck_person_right_level"),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name="fk_person_right_person_id_person"),
        sa.PrimaryKeyConstraint("person_id", name="pk_person_right"),
    )
    op.create_table(
        "right_change",
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("person_id", sa.String(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("what", sa.String(), nullable=False),
        sa.Column("by_person", sa.String(), nullable=True),
        sa.Column("how", sa.String(), nullable=False),
        sa.Column("before", sa.String(), nullable=False),
        sa.Column("after", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name="fk_right_change_person_id_person"),
        sa.ForeignKeyConstraint(["by_person"], ["person.id"], name="fk_right_change_by_person_person"),
        sa.PrimaryKeyConstraint("id", name="pk_right_change"),
    )
    op.create_index("ix_right_change_person_id", "right_change", ["person_id"])
    op.create_table(
        "desk_session",
        sa.Column("id_hash", sa.String(), nullable=False),
        sa.Column("person_id", sa.String(), nullable=False),
        sa.Column("station_id", sa.String(), nullable=False),
        sa.Column("level", sa.String(), nullable=True),
        sa.Column("editor", sa.Boolean(), nullable=False),
        sa.Column("admin", sa.Boolean(), nullable=False),
        sa.Column("begun_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("used_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("ended_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name="fk_desk_session_person_id_person"),
        sa.ForeignKeyConstraint(["station_id"], ["station.id"], name="fk_desk_session_station_id_station"),
        sa.PrimaryKeyConstraint("id_hash", name="pk_desk_session"),
    )
    op.create_index("ix_desk_session_person_id", "desk_session", ["person_id"])
    op.create_index("ix_desk_session_station_id", "desk_session", ["station_id"])
    op.create_table(
        "sign_in_failure",
        sa.Column("subject", sa.String(), nullable=False),
        sa.Column("failed", sa.Integer(), nullable=False),
        sa.Column("last_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("locked_until", sa.DateTime(timezone=True), nullable=True),
        sa.PrimaryKeyConstraint("subject", name="pk_sign_in_failure"),
    )


def downgrade() -> None:
    op.drop_table("sign_in_failure")
    op.drop_index("ix_desk_session_station_id", table_name="desk_session")
    op.drop_index("ix_desk_session_person_id", table_name="desk_session")
    op.drop_table("desk_session")
    op.drop_index("ix_right_change_person_id", table_name="right_change")
    op.drop_table("right_change")
    op.drop_table("person_right")
