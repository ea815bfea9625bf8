"""Pairing by code, what a station last said of itself, and taps held after a revoke."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.add_column("station", sa.Column("room_id", sa.String(), nullable=True))
    op.add_column("station", sa.Column("revision", sa.Integer(), nullable=False, server_default="0"))
    # A station of all cases has a pairing like any other from now on, so that it can end.
    op.execute(
        "INSERT INTO station_case (station_id, case_id, paired_at, ended_at) "
        "SELECT id, '*', created_at, revoked_at FROM station WHERE all_cases"
    )
    op.execute(
        "UPDATE station_case SET ended_at = (SELECT revoked_at FROM station WHERE id = station_id) "
        "WHERE ended_at IS NULL"
    )
    op.drop_column("station", "all_cases")
    op.create_table(
        "pairing_code",
        sa.Column("code_hash", sa.String(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("label", sa.String(), nullable=False),
        sa.Column("language", sa.String(), nullable=False),
        sa.Column("cases", sa.String(), nullable=False),
        sa.Column("room_id", sa.String(), nullable=True),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("made_by", sa.String(), nullable=True),
        sa.Column("used_at", sa.DateTime(timezone=True), nullable=True),
        sa.PrimaryKeyConstraint("code_hash", name="pk_pairing_code"),
    )
    op.create_table(
        "station_report",
        sa.Column("station_id", sa.String(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("battery_percent", sa.Integer(), nullable=True),
        sa.Column("charging", sa.Boolean(), nullable=True),
        sa.Column("offset_ms", sa.Float(), nullable=True),
        sa.Column("error_ms", sa.Float(), nullable=True),
        sa.Column("waiting", sa.Integer(), nullable=False),
        sa.Column("refused", sa.Integer(), nullable=False),
        sa.Column("version", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["station_id"], ["station.id"], name="fk_station_report_station_id_station"),
        sa.PrimaryKeyConstraint("station_id", name="pk_station_report"),
    )
    op.create_table(
        "held_tap",
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("station_id", sa.String(), nullable=False),
        sa.Column("case_id", sa.String(), nullable=False),
        sa.Column("tap", sa.String(), nullable=False),
        sa.Column("held_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("decision", sa.String(), nullable=True),
        sa.Column("decided_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("decided_by", sa.String(), nullable=True),
        sa.CheckConstraint("decision IN ('accepted', 'refused')", name="ck_held_tap_decision"),
        sa.ForeignKeyConstraint(["station_id"], ["station.id"], name="fk_held_tap_station_id_station"),
        sa.PrimaryKeyConstraint("id", name="pk_held_tap"),
    )
    op.create_index("ix_held_tap_station_id", "held_tap", ["station_id"])


def downgrade() -> None:
    op.drop_index("ix_held_tap_station_id", table_name="held_tap")
    for table in ("held_tap", "station_report", "pairing_code"):
        op.drop_table(table)
    op.add_column("station", sa.Column("all_cases", sa.Boolean(), nullable=False, server_default=sa.false()))
    everything = "SELECT station_id FROM station_case WHERE case_id = '*'"
    op.execute(f"UPDATE station SET all_cases = {sa.true().compile(op.get_bind())} WHERE id IN ({everything})")
    op.execute("DELETE FROM station_case WHERE case_id = '*'")
    op.drop_column("station", "revision")
    op.drop_column("station", "room_id")
