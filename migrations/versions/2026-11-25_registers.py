"""Registers of the department, each with its history."""

import json
import uuid
from datetime import date

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None

INDEXED = (
    ("ix_fit_test_person_id", "fit_test", "person_id"),
    ("ix_fit_test_respirator_id", "fit_test", "respirator_id"),
    ("ix_follow_up_organism_id", "follow_up", "organism_id"),
    ("ix_immunity_person_id", "immunity", "person_id"),
    ("ix_kit_check_kit_id", "kit_check", "kit_id"),
    ("ix_kit_content_kit_id", "kit_content", "kit_id"),
    ("ix_kit_template_id", "kit", "template_id"),
    ("ix_kit_template_item_template_id", "kit_template_item", "template_id"),
    ("ix_register_change_file_id", "register_change", "file_id"),
    ("ix_register_file_book", "register_file", "book"),
    ("ix_respirator_stock_respirator_id", "respirator_stock", "respirator_id"),
    ("ix_room_check_room_id", "room_check", "room_id"),
    ("ix_shift_starts_at", "shift", "starts_at"),
)
TABLES = (
    "register_change",
    "register_file",
    "practice",
    "protocol_version",
    "shift",
    "cylinder",
    "respirator_stock",
    "fit_test",
    "respirator",
    "immunity",
    "follow_up",
    "organism",
    "room_check",
    "kit_check",
    "kit_content",
    "kit",
    "kit_template_item",
    "kit_template",
)
"""In the order in which they can be dropped."""


def upgrade() -> None:
    op.create_table(
        "respirator",
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("model", sa.String(), nullable=False),
        sa.Column("face", sa.String(), nullable=False),
        sa.Column("sizes", sa.String(), nullable=False),
        sa.Column("note", sa.String(), nullable=True),
        sa.Column("active", sa.Boolean(), nullable=False),
        sa.CheckConstraint("face IN ('half', 'full', 'hood')", name="ck_respirator_face"),
        sa.PrimaryKeyConstraint("id", name="pk_respirator"),
    )
    op.create_table(
        "cylinder",
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("label", sa.String(), nullable=False),
        sa.Column("scheme", sa.String(), nullable=False),
        sa.Column("size", sa.String(), nullable=False),
        sa.Column("gauge_bar", sa.Float(), nullable=True),
        sa.Column("place", sa.String(), nullable=False),
        sa.Column("read_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("active", sa.Boolean(), nullable=False),
        sa.CheckConstraint("scheme IN ('UK', 'US')", name="ck_cylinder_scheme"),
        sa.PrimaryKeyConstraint("id", name="pk_cylinder"),
    )
    op.create_table(
        "kit_template",
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("tray", sa.String(), nullable=False),
        sa.Column("active", sa.Boolean(), nullable=False),
        sa.CheckConstraint("tray IN ('clean', 'soiled', 'door')", name="ck_kit_template_tray"),
        sa.PrimaryKeyConstraint("id", name="pk_kit_template"),
    )
    op.create_table(
        "organism",
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("precaution", sa.String(), nullable=False),
        sa.Column("entry", sa.String(), nullable=False),
        sa.Column("immunity", sa.String(), nullable=True),
        sa.Column("eyes", sa.Boolean(), nullable=False),
        sa.Column("source", sa.String(), nullable=False),
        sa.Column("active", sa.Boolean(), nullable=False),
        sa.CheckConstraint("entry IN ('anyone', 'fit-tested', 'immune', 'trained')", name="ck_organism_entry"),
        sa.CheckConstraint(
            "precaution IN ('contact', 'droplet', 'airborne', 'enhanced')", name="ck_organism_precaution"
        ),
        sa.PrimaryKeyConstraint("id", name="pk_organism"),
    )
    op.create_table(
        "practice",
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("country", sa.String(), nullable=False),
        sa.Column("fit_reading", sa.String(), nullable=False),
        sa.Column("ach_days", sa.Integer(), nullable=False),
        sa.Column("room_check_h", sa.Integer(), nullable=False),
        sa.Column("kit_check_h", sa.Integer(), nullable=False),
        sa.CheckConstraint("fit_reading IN ('us', 'uk', 'both')", name="ck_practice_fit_reading"),
        sa.PrimaryKeyConstraint("id", name="pk_practice"),
    )
    op.create_table(
        "protocol_version",
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("protocol_id", sa.String(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("title", sa.String(), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("plain", sa.Text(), nullable=False),
        sa.Column("digest", sa.String(), nullable=False),
        sa.Column("imported_by", sa.String(), nullable=False),
        sa.Column("imported_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("approved_by", sa.String(), nullable=True),
        sa.Column("approved_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("withdrawn_by", sa.String(), nullable=True),
        sa.Column("withdrawn_at", sa.DateTime(timezone=True), nullable=True),
        sa.PrimaryKeyConstraint("id", name="pk_protocol_version"),
        sa.UniqueConstraint("protocol_id", "version", name="uq_protocol_version_protocol_id_version"),
    )
    op.create_table(
        "register_change",
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("book", sa.String(), nullable=False),
        sa.Column("row_id", sa.String(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("who", sa.String(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("before", sa.Text(), nullable=False),
        sa.Column("after", sa.Text(), nullable=False),
        sa.Column("file_id", sa.String(), nullable=True),
        sa.Column("undoes", sa.String(), nullable=True),
        sa.Column("undone_by", sa.String(), nullable=True),
        sa.PrimaryKeyConstraint("id", name="pk_register_change"),
        sa.UniqueConstraint("book", "row_id", "version", name="uq_register_change_book_row_id_version"),
    )
    op.create_table(
        "register_file",
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("book", sa.String(), nullable=False),
        sa.Column("state", sa.String(), nullable=False),
        sa.Column("who", sa.String(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("rows", sa.Integer(), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.CheckConstraint("state IN ('tried', 'done', 'undone', 'out')", name="ck_register_file_state"),
        sa.PrimaryKeyConstraint("id", name="pk_register_file"),
    )
    op.create_table(
        "shift",
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("starts_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("ends_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("people", sa.String(), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_shift"),
    )
    op.create_table(
        "fit_test",
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("person_id", sa.String(), nullable=False),
        sa.Column("respirator_id", sa.String(), nullable=False),
        sa.Column("size", sa.String(), nullable=True),
        sa.Column("method", sa.String(), nullable=False),
        sa.Column("factors", sa.String(), nullable=False),
        sa.Column("result", sa.String(), nullable=True),
        sa.Column("tested_on", sa.Date(), nullable=False),
        sa.Column("tested_by", sa.String(), nullable=True),
        sa.CheckConstraint("result IN ('pass', 'fail')", name="ck_fit_test_result"),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name="fk_fit_test_person_id_person"),
        sa.ForeignKeyConstraint(["respirator_id"], ["respirator.id"], name="fk_fit_test_respirator_id_respirator"),
        sa.PrimaryKeyConstraint("id", name="pk_fit_test"),
    )
    op.create_table(
        "follow_up",
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("organism_id", sa.String(), nullable=False),
        sa.Column("country", sa.String(), nullable=False),
        sa.Column("who", sa.String(), nullable=False),
        sa.Column("first_day", sa.Integer(), nullable=True),
        sa.Column("last_day", sa.Integer(), nullable=True),
        sa.Column("what", sa.String(), nullable=False),
        sa.Column("source", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["organism_id"], ["organism.id"], name="fk_follow_up_organism_id_organism"),
        sa.PrimaryKeyConstraint("id", name="pk_follow_up"),
    )
    op.create_table(
        "immunity",
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("person_id", sa.String(), nullable=False),
        sa.Column("condition", sa.String(), nullable=False),
        sa.Column("state", sa.String(), nullable=False),
        sa.Column("recorded_on", sa.Date(), nullable=True),
        sa.CheckConstraint("state IN ('yes', 'no', 'unknown')", name="ck_immunity_state"),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name="fk_immunity_person_id_person"),
        sa.PrimaryKeyConstraint("id", name="pk_immunity"),
    )
    op.create_table(
        "kit",
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("template_id", sa.String(), nullable=False),
        sa.Column("place", sa.String(), nullable=False),
        sa.Column("seal", sa.String(), nullable=True),
        sa.Column("active", sa.Boolean(), nullable=False),
        sa.ForeignKeyConstraint(["template_id"], ["kit_template.id"], name="fk_kit_template_id_kit_template"),
        sa.PrimaryKeyConstraint("id", name="pk_kit"),
    )
    op.create_table(
        "kit_template_item",
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("template_id", sa.String(), nullable=False),
        sa.Column("code", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("quantity", sa.Integer(), nullable=False),
        sa.Column("mandatory", sa.Boolean(), nullable=False),
        sa.ForeignKeyConstraint(
            ["template_id"], ["kit_template.id"], name="fk_kit_template_item_template_id_kit_template"
        ),
        sa.PrimaryKeyConstraint("id", name="pk_kit_template_item"),
    )
    op.create_table(
        "respirator_stock",
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("respirator_id", sa.String(), nullable=False),
        sa.Column("size", sa.String(), nullable=False),
        sa.Column("place", sa.String(), nullable=False),
        sa.Column("counted", sa.Integer(), nullable=False),
        sa.Column("counted_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("reorder_at", sa.Integer(), nullable=True),
        sa.ForeignKeyConstraint(
            ["respirator_id"], ["respirator.id"], name="fk_respirator_stock_respirator_id_respirator"
        ),
        sa.PrimaryKeyConstraint("id", name="pk_respirator_stock"),
    )
    op.create_table(
        "room_check",
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("room_id", sa.String(), nullable=False),
        sa.Column("checked_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("pressure_pa", sa.Float(), nullable=True),
        sa.Column("reference", sa.String(), nullable=True),
        sa.Column("direction", sa.String(), nullable=True),
        sa.Column("door_shut", sa.Boolean(), nullable=False),
        sa.Column("checked_by", sa.String(), nullable=False),
        sa.Column("note", sa.String(), nullable=True),
        sa.CheckConstraint("direction IN ('inwards', 'outwards', 'not clear')", name="ck_room_check_direction"),
        sa.ForeignKeyConstraint(["room_id"], ["room.id"], name="fk_room_check_room_id_room"),
        sa.PrimaryKeyConstraint("id", name="pk_room_check"),
    )
    op.create_table(
        "kit_check",
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("kit_id", sa.String(), nullable=False),
        sa.Column("checked_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("why", sa.String(), nullable=False),
        sa.Column("seal", sa.String(), nullable=True),
        sa.Column("whole", sa.Boolean(), nullable=False),
        sa.Column("checked_by", sa.String(), nullable=False),
        sa.Column("note", sa.String(), nullable=True),
        sa.CheckConstraint("why IN ('daily', 'after use')", name="ck_kit_check_why"),
        sa.ForeignKeyConstraint(["kit_id"], ["kit.id"], name="fk_kit_check_kit_id_kit"),
        sa.PrimaryKeyConstraint("id", name="pk_kit_check"),
    )
    op.create_table(
        "kit_content",
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("kit_id", sa.String(), nullable=False),
        sa.Column("code", sa.String(), nullable=False),
        sa.Column("quantity", sa.Integer(), nullable=False),
        sa.Column("expires_on", sa.Date(), nullable=True),
        sa.Column("lot", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["kit_id"], ["kit.id"], name="fk_kit_content_kit_id_kit"),
        sa.PrimaryKeyConstraint("id", name="pk_kit_content"),
    )
    for name, table, column in INDEXED:
        op.create_index(name, table, [column])
    with op.batch_alter_table("room") as room:
        for name, kind in (("ach_on", sa.Date()), ("volume_m3", sa.Float()), ("limit_pa", sa.Float())):
            room.add_column(sa.Column(name, kind, nullable=True))
        for name in ("reference", "meant", "neighbours", "released_by"):
            room.add_column(sa.Column(name, sa.String(), nullable=True))
        room.add_column(sa.Column("state", sa.String(), nullable=False, server_default="ready"))
        room.add_column(sa.Column("released_on", sa.Date(), nullable=True))
    with op.batch_alter_table("person") as person:
        person.add_column(sa.Column("roles", sa.String(), nullable=False, server_default=""))
        for name in ("hood", "no_entry"):
            person.add_column(sa.Column(name, sa.Boolean(), nullable=False, server_default=sa.false()))
    _move_out()
    with op.batch_alter_table("person") as person:
        person.drop_constraint("ck_person_immune", type_="check")
        person.drop_column("fit")
        person.drop_column("immune")


def _move_out() -> None:
    """Fit tests and immunity become rows of their own. Immunity was asked for measles alone until now."""
    connection = op.get_bind()
    models: dict[str, str] = {}
    put = {
        "respirator": "INSERT INTO respirator (id, model, face, sizes, active) VALUES (:id, :model, 'half', '', :yes)",
        "fit_test": (
            "INSERT INTO fit_test (id, person_id, respirator_id, method, factors, result, tested_on) "
            "VALUES (:id, :person, :model, 'not recorded', '', 'pass', :day)"
        ),
        "immunity": ("INSERT INTO immunity (id, person_id, condition, state) VALUES (:id, :person, 'measles', :state)"),
    }
    for person, resp, fit, immune in connection.execute(sa.text("SELECT id, resp, fit, immune FROM person")).all():
        tests = json.loads(fit)
        for model in {*tests, *([resp.removeprefix("tight:")] if resp.startswith("tight:") else [])} - models.keys():
            models[model] = str(uuid.uuid4())
            connection.execute(sa.text(put["respirator"]), {"id": models[model], "model": model, "yes": True})
        for model, day in tests.items():
            told = {"id": str(uuid.uuid4()), "person": person, "model": models[model], "day": date.fromisoformat(day)}
            connection.execute(sa.text(put["fit_test"]).bindparams(sa.bindparam("day", type_=sa.Date())), told)
        if immune != "unknown":
            told = {"id": str(uuid.uuid4()), "person": person, "state": immune}
            connection.execute(sa.text(put["immunity"]), told)


def downgrade() -> None:
    with op.batch_alter_table("person") as person:
        person.add_column(sa.Column("fit", sa.String(), nullable=False, server_default="{}"))
        person.add_column(sa.Column("immune", sa.String(), nullable=False, server_default="unknown"))
        person.create_check_constraint("ck_person_immune", "immune IN ('yes', 'no', 'unknown')")
    _move_back()
    with op.batch_alter_table("person") as person:
        for name in ("roles", "hood", "no_entry"):
            person.drop_column(name)
    with op.batch_alter_table("room") as room:
        for name in ("ach_on", "volume_m3", "limit_pa", "reference", "meant", "neighbours"):
            room.drop_column(name)
        for name in ("released_by", "state", "released_on"):
            room.drop_column(name)
    for name, table, _ in INDEXED:
        op.drop_index(name, table_name=table)
    for table in TABLES:
        op.drop_table(table)


def _move_back() -> None:
    connection = op.get_bind()
    tests: dict[str, dict[str, str]] = {}
    query = (
        "SELECT fit_test.person_id, respirator.model, CAST(fit_test.tested_on AS TEXT) FROM fit_test "
        "JOIN respirator ON respirator.id = fit_test.respirator_id WHERE fit_test.result = 'pass' "
        "ORDER BY fit_test.tested_on"
    )
    for person, model, day in connection.execute(sa.text(query)):
        tests.setdefault(person, {})[model] = day
    for person, fit in tests.items():
        told = {"fit": json.dumps(fit, sort_keys=True), "person": person}
        connection.execute(sa.text("UPDATE person SET fit = :fit WHERE id = :person"), told)
    query = "SELECT person_id, state FROM immunity WHERE condition = 'measles'"
    for person, state in connection.execute(sa.text(query)).all():
        connection.execute(
            sa.text("UPDATE person SET immune = :state WHERE id = :person"), {"state": state, "person": person}
        )
