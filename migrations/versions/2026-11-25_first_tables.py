"""First tables: the journal with its guards, and the registers of people, rooms and stations."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

GUARDS_SQLITE = (
    """CREATE TRIGGER journal_entry_no_update BEFORE UPDATE ON journal_entry
    BEGIN SELECT RAISE(ABORT, 'a stored entry is never changed'); END""",
    """CREATE TRIGGER journal_entry_no_delete BEFORE DELETE ON journal_entry
    BEGIN SELECT RAISE(ABORT, 'a stored entry is never removed'); END""",
    # INSERT OR REPLACE removes rows without firing the trigger above.
    """CREATE TRIGGER journal_entry_no_replace BEFORE INSERT ON journal_entry
    WHEN EXISTS (SELECT 1 FROM journal_entry WHERE id = NEW.id)
      OR EXISTS (SELECT 1 FROM journal_entry WHERE case_id = NEW.case_id AND seq = NEW.seq)
    BEGIN SELECT RAISE(ABORT, 'a stored entry is never replaced'); END""",
)
GUARDS_POSTGRESQL = (
    """CREATE FUNCTION journal_entry_refuse() RETURNS trigger LANGUAGE plpgsql AS $$
    BEGIN RAISE EXCEPTION 'a stored entry is never changed or removed' USING ERRCODE = 'integrity_constraint_violation';
    END $$""",
    """CREATE TRIGGER journal_entry_no_update BEFORE UPDATE ON journal_entry
    FOR EACH ROW EXECUTE FUNCTION journal_entry_refuse()""",
    """CREATE TRIGGER journal_entry_no_delete BEFORE DELETE ON journal_entry
    FOR EACH ROW EXECUTE FUNCTION journal_entry_refuse()""",
    """CREATE TRIGGER journal_entry_no_truncate BEFORE TRUNCATE ON journal_entry
    FOR EACH STATEMENT EXECUTE FUNCTION journal_entry_refuse()""",
)


def upgrade() -> None:
    op.create_table(
        "journal_entry",
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("case_id", sa.Text(), nullable=False),
        sa.Column("seq", sa.BigInteger(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("body", sa.Text(), nullable=False),
        sa.Column("role", sa.Text(), nullable=True),
        sa.Column("person", sa.Text(), nullable=True),
        sa.Column("station", sa.Text(), nullable=False),
        sa.Column("counter", sa.BigInteger(), nullable=False),
        sa.Column("device_at", sa.Text(), nullable=False),
        sa.Column("offset_ms", sa.Double(), nullable=True),
        sa.Column("error_ms", sa.Double(), nullable=True),
        sa.Column("facts", sa.Text(), nullable=False),
        sa.Column("received_at", sa.Text(), nullable=False),
        sa.Column("prev", sa.Text(), nullable=False),
        sa.Column("hash", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_journal_entry"),
        sa.UniqueConstraint("case_id", "seq", name="uq_journal_entry_case_id_seq"),
    )
    op.create_table(
        "journal_head",
        sa.Column("case_id", sa.Text(), nullable=False),
        sa.Column("seq", sa.BigInteger(), nullable=False),
        sa.Column("hash", sa.Text(), nullable=False),
        sa.Column("signature", sa.Text(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("ref", sa.Text(), nullable=True),
        sa.Column("room_id", sa.Text(), nullable=True),
        sa.Column("ended", sa.Boolean(), nullable=False),
        sa.PrimaryKeyConstraint("case_id", name="pk_journal_head"),
    )
    op.create_table(
        "server_key",
        sa.Column("public_key", sa.Text(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("public_key", name="pk_server_key"),
    )
    op.create_table(
        "person",
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("initials", sa.String(), nullable=False),
        sa.Column("job", sa.String(), nullable=False),
        sa.Column("resp", sa.String(), nullable=False),
        sa.Column("fit", sa.String(), nullable=False),
        sa.Column("drill", sa.Date(), nullable=True),
        sa.Column("immune", sa.String(), nullable=False),
        sa.Column("active", sa.Boolean(), nullable=False),
        sa.CheckConstraint("immune IN ('yes', 'no', 'unknown')", name="ck_person_immune"),
        sa.PrimaryKeyConstraint("id", name="pk_person"),
    )
    op.create_table(
        "room",
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("ach", sa.Float(), nullable=True),
        sa.Column("clear", sa.Float(), nullable=False),
        sa.Column("anteroom", sa.String(), nullable=True),
        sa.Column("mixing", sa.Float(), nullable=True),
        sa.Column("active", sa.Boolean(), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_room"),
    )
    op.create_table(
        "station",
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("label", sa.String(), nullable=False),
        sa.Column("secret_hash", sa.String(), nullable=False),
        sa.Column("language", sa.String(), nullable=False),
        sa.Column("all_cases", sa.Boolean(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("revoked_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("last_seen_at", sa.DateTime(timezone=True), nullable=True),
        sa.CheckConstraint("kind IN ('inside', 'outside', 'board', 'desk')", name="ck_station_kind"),
        sa.PrimaryKeyConstraint("id", name="pk_station"),
    )
    op.create_table(
        "station_case",
        sa.Column("station_id", sa.String(), nullable=False),
        sa.Column("case_id", sa.String(), nullable=False),
        sa.Column("paired_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("ended_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["station_id"], ["station.id"], name="fk_station_case_station_id_station"),
        sa.PrimaryKeyConstraint("station_id", "case_id", "paired_at", name="pk_station_case"),
    )
    op.create_index("ix_station_case_case_id", "station_case", ["case_id"])
    for guard in GUARDS_SQLITE if op.get_bind().dialect.name == "sqlite" else GUARDS_POSTGRESQL:
        op.execute(guard)


def downgrade() -> None:
    op.drop_index("ix_station_case_case_id", table_name="station_case")
    for table in ("station_case", "station", "room", "person", "server_key", "journal_head", "journal_entry"):
        op.drop_table(table)
    if op.get_bind().dialect.name == "postgresql":
        op.execute("DROP FUNCTION journal_entry_refuse()")
