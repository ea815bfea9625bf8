"""Every register by the same tests: CSV out and in, history, undo, imports. The rows are those of the invented year."""

from __future__ import annotations

import csv
import io
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, date, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from sqlalchemy import Engine, text

from app.base.database import migrate, open_engine
from app.base.errors import Conflict, NotValid, Unknown
from app.base.register import imports, sheet
from app.base.register.spec import Names, Register, Row
from app.base.register.store import changing, files, history, reading, taking_back
from app.drill.department import staff, wards
from app.drill.register import register as enter_demo
from app.drill.year import ORDER, fill, fill_demo, year
from app.live.books import BOOKS, names_for
from app.people.store import all_facts

ZONE = ZoneInfo("Europe/Vienna")
NOW = datetime(2026, 11, 3, 14, 10, tzinfo=UTC)
EVERY = pytest.mark.parametrize("register", ORDER, ids=lambda register: register.name)
FILLED = [register for register in ORDER if register.name != "follow-ups"]


@pytest.fixture(scope="module")
def department(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Engine]:
    """A department after a year. Read only: tests share it."""
    url = f"sqlite:///{tmp_path_factory.mktemp('year') / 'year.db'}"
    migrate(url)
    engine = open_engine(url)
    fill(engine, 7, NOW)
    yield engine
    engine.dispose()


@pytest.fixture
def own(department: Engine, tmp_path: Path) -> Iterator[Engine]:
    """The same department, to change."""
    path = tmp_path / "own.db"
    source = department.raw_connection()
    with closing(sqlite3.connect(path)) as copy:
        source.driver_connection.backup(copy)  # type: ignore[union-attr]
    source.close()
    engine = open_engine(f"sqlite:///{path}")
    yield engine
    engine.dispose()


def test_every_register_of_the_desk_has_its_place_in_the_year() -> None:
    assert {register.name for register in ORDER} == set(BOOKS)


@EVERY
def test_the_rows_of_the_year_pass_the_registers_own_checks(department: Engine, register: Register) -> None:
    names = names_for(department, register)
    assert [row for row in reading.find(register, department) if changing.check(register, row, names)] == []


@EVERY
def test_a_register_that_went_out_as_csv_comes_in_again_as_it_is(department: Engine, register: Register) -> None:
    names, rows = names_for(department, register), reading.find(register, department)
    raw = sheet.written(register, rows, names, ZONE)
    plan, count = imports.planned(register, department, raw, names, ZONE)
    assert (plan.problems, plan.pairs, plan.same, count) == ((), (), len(rows), len(rows))


def test_every_register_taken_into_an_empty_department_is_the_same_there(department: Engine, engine: Engine) -> None:
    """On SQLite and on PostgreSQL, in the order in which rows name each other."""
    for register in FILLED:
        raw = sheet.written(register, reading.find(register, department), names_for(department, register), ZONE)
        names = names_for(engine, register)
        file_id, plan = imports.tried(register, engine, raw, "x.csv", who="P1", now=NOW, names=names, zone=ZONE)
        assert plan.problems == ()
        imports.confirmed(register, engine, file_id, who="P1", now=NOW, names=names, zone=ZONE)
    for register in FILLED:
        assert {str(row["id"]): row for row in reading.find(register, engine)} == {
            str(row["id"]): row for row in reading.find(register, department)
        }, register.name


def test_a_year_of_follow_ups_can_begin_with_the_rows_that_doorside_brings(own: Engine) -> None:
    from app.live.books import starters

    register = BOOKS["follow-ups"]
    made = imports.put_starters(register, own, starters(own, register), who="P1", now=NOW)
    assert made == len(reading.find(register, own)) > 5
    assert all(row["source"] for row in reading.find(register, own))
    (file,) = files.latest(own, register.name)
    assert imports.undone(register, own, file.id, who="P1", now=NOW) == made
    assert reading.find(register, own) == []


def other(register: Register, row: Row) -> Row:
    """A change of a row that its register allows: the last word, figure or day in it becomes another."""
    texts = (
        "note",
        "place",
        "neighbours",
        "tested_by",
        "checked_by",
        "source",
        "what",
        "name",
        "condition",
        "lot",
        "sizes",
    )
    for name in texts:
        if name in register.names:
            return {name: "Changed"}
    raise AssertionError(f"{register.name} has nothing to change")


@pytest.mark.parametrize("register", FILLED, ids=lambda register: register.name)
def test_a_change_is_kept_with_who_and_when_and_from_what_and_can_be_taken_back(
    own: Engine, register: Register
) -> None:
    before = reading.find(register, own)[0]
    row_id, names = str(before["id"]), names_for(own, register)
    given = other(register, before)
    changing.save(
        register, own, row_id, given, who="P1", now=NOW, refs=names, seen=history.version(register, own, row_id)
    )
    last, first = history.of_row(register, own, row_id)[:2]
    assert (last.who, last.at, last.before, last.after) == ("P1", NOW, before, {**before, **given})
    assert first.version == last.version - 1
    taking_back.undo(register, own, last.id, who="P2", now=NOW)
    assert reading.get(register, own, row_id) == before
    undoing, undone = history.of_row(register, own, row_id)[:2]
    assert (undoing.who, undoing.undoes, undone.undone_by) == ("P2", last.id, undoing.id)
    with pytest.raises(Conflict, match="taken back already"):
        taking_back.undo(register, own, last.id, who="P2", now=NOW)


PEOPLE, ROOMS, FIT = BOOKS["people"], BOOKS["rooms"], BOOKS["fit-tests"]
ADA = {"name": "Ada Moor", "initials": "AM", "job": "consultant"}


def made(engine: Engine, register: Register = PEOPLE, **given: object) -> str:
    return changing.save(register, engine, None, {**ADA, **given}, who="P1", now=NOW, refs=names_for(engine, register))  # type: ignore[dict-item]


def test_taking_back_that_a_row_was_entered_removes_it_and_taking_that_back_brings_it_again(engine: Engine) -> None:
    row_id = made(engine)
    (entered,) = history.of_row(PEOPLE, engine, row_id)
    taking_back.undo(PEOPLE, engine, entered.id, who="P1", now=NOW)
    with pytest.raises(Unknown):
        reading.get(PEOPLE, engine, row_id)
    taking_back.undo(PEOPLE, engine, history.of_row(PEOPLE, engine, row_id)[0].id, who="P1", now=NOW)
    assert reading.get(PEOPLE, engine, row_id)["name"] == "Ada Moor"


def test_taking_back_an_older_change_leaves_what_was_changed_elsewhere(engine: Engine) -> None:
    row_id, names = made(engine), names_for(engine, PEOPLE)
    changing.save(PEOPLE, engine, row_id, {"job": "lead"}, who="P1", now=NOW, refs=names)
    changing.save(PEOPLE, engine, row_id, {"initials": "A"}, who="P1", now=NOW, refs=names)
    job = history.of_row(PEOPLE, engine, row_id)[1]
    taking_back.undo(PEOPLE, engine, job.id, who="P1", now=NOW)
    row = reading.get(PEOPLE, engine, row_id)
    assert (row["job"], row["initials"]) == ("consultant", "A")


def test_what_was_changed_again_since_is_not_taken_back_over_it(engine: Engine) -> None:
    row_id, names = made(engine), names_for(engine, PEOPLE)
    for job in ("lead", "chief"):
        changing.save(PEOPLE, engine, row_id, {"job": job}, who="P1", now=NOW, refs=names)
    with pytest.raises(Conflict, match="changed again"):
        taking_back.undo(PEOPLE, engine, history.of_row(PEOPLE, engine, row_id)[1].id, who="P1", now=NOW)
    assert reading.get(PEOPLE, engine, row_id)["job"] == "chief"


def test_two_people_who_looked_at_the_same_row_do_not_overwrite_each_other(engine: Engine) -> None:
    row_id, names = made(engine), names_for(engine, PEOPLE)
    changing.save(PEOPLE, engine, row_id, {"job": "lead"}, who="P1", now=NOW, refs=names, seen=1)
    with pytest.raises(Conflict, match="meanwhile"):
        changing.save(PEOPLE, engine, row_id, {"job": "chief"}, who="P2", now=NOW, refs=names, seen=1)
    assert reading.get(PEOPLE, engine, row_id)["job"] == "lead"


def test_a_save_that_changes_nothing_leaves_no_trace(engine: Engine) -> None:
    row_id = made(engine)
    changing.save(PEOPLE, engine, row_id, ADA, who="P1", now=NOW, refs=Names())
    assert len(history.of_row(PEOPLE, engine, row_id)) == 1


def test_nobody_may_have_the_same_working_name_whatever_its_letters(engine: Engine) -> None:
    made(engine)
    with pytest.raises(changing.Wrong) as refused:
        made(engine, name="ADA MOOR")
    assert [problem.column for problem in refused.value.problems] == ["name"]


def test_a_row_that_others_name_cannot_be_taken_out(engine: Engine) -> None:
    person = made(engine)
    model = changing.save(BOOKS["respirators"], engine, None, {"model": "K2"}, who="P1", now=NOW, refs=Names())
    told = {
        "person_id": person,
        "respirator_id": model,
        "tested_on": date(2026, 1, 5),
        "method": "bitter aerosol",
        "result": "pass",
    }
    changing.save(FIT, engine, None, told, who="P1", now=NOW, refs=names_for(engine, FIT))
    with pytest.raises(NotValid, match="name this one"):
        taking_back.undo(PEOPLE, engine, history.of_row(PEOPLE, engine, person)[0].id, who="P1", now=NOW)
    assert reading.get(PEOPLE, engine, person)["name"] == "Ada Moor"


def test_people_and_rooms_are_set_aside_never_removed(engine: Engine) -> None:
    row_id = made(engine)
    with pytest.raises(NotValid, match="set aside"):
        changing.remove(PEOPLE, engine, row_id, who="P1", now=NOW)


def test_a_row_is_found_by_its_words_and_by_what_it_names(department: Engine) -> None:
    names = names_for(department, FIT)
    person = reading.find(PEOPLE, department)[3]
    found = reading.find(FIT, department, str(person["name"]).upper(), names)
    assert found
    assert {row["person_id"] for row in found} == {person["id"]}
    assert reading.find(PEOPLE, department, "100%_") == []


def csv_of(*rows: tuple[str, ...]) -> bytes:
    out = io.StringIO()
    csv.writer(out).writerows(rows)
    return out.getvalue().encode()


def test_a_file_may_leave_out_what_names_a_row_only_where_there_is_something_to_say(engine: Engine) -> None:
    """A model of one size has none to write."""
    model = changing.save(BOOKS["respirators"], engine, None, {"model": "K2"}, who="P1", now=NOW, refs=Names())
    ada = made(engine)
    raw = csv_of(("person_id", "respirator_id", "tested_on", "method", "result"), (ada, model, "2026-10-01", "bitter aerosol", "pass"))  # fmt: skip
    plan, _ = imports.planned(FIT, engine, raw, names_for(engine, FIT), ZONE)
    assert (plan.problems, plan.new) == ((), 1)
    plan, _ = imports.planned(FIT, engine, csv_of(("person_id", "method"), (ada, "bitter aerosol")), names_for(engine, FIT), ZONE)  # fmt: skip
    assert {problem.column for problem in plan.problems} == {"respirator_id", "tested_on"}


def dump(engine: Engine) -> dict[str, list[object]]:
    with engine.connect() as connection:
        return {
            name: [tuple(row) for row in connection.execute(text(f"SELECT * FROM {name} ORDER BY id"))]
            for name in ("person", "room", "fit_test", "register_change")
        }


HEAD = ("name", "initials", "job", "drill", "hood", "active")
SPOILED = (
    HEAD,
    ("Ada Moor", "AM", "doctor", "03/04/2026", "yes", ""),
    ("Bo Hale", "BH", "doctor", "3.4.2026", "no", ""),
    ("Cy Ott", "CO", "doctor", "3 Apr 2026", "maybe", ""),
    ("=HYPERLINK(1)", "X", "doctor", "", "", ""),
    ("@Dov", "D", "+doctor", "", "", ""),
    ("Elin", "E", "doctor", "", "", ""),
    ("elin", "E", "nurse", "", "", ""),
    ("", "F", "doctor", "", "", ""),
    ("Gwen", "G", "doctor", "", ""),
)


def test_a_spoiled_file_gets_every_problem_by_line_and_column_and_changes_nothing(own: Engine) -> None:
    before = dump(own)
    names = names_for(own, PEOPLE)
    file_id, plan = imports.tried(PEOPLE, own, csv_of(*SPOILED), "staff.csv", who="P1", now=NOW, names=names, zone=ZONE)
    told = [(one.line, one.column) for one in plan.problems]
    assert told == [
        (2, "drill"), (3, "drill"), (4, "drill"), (4, "hood"), (5, "name"), (6, "job"), (6, "name"), (8, "name"),
        (9, "name"), (10, ""),
    ]  # fmt: skip
    assert dump(own) == before
    with pytest.raises(Conflict):
        imports.confirmed(PEOPLE, own, file_id, who="P1", now=NOW, names=names, zone=ZONE)
    assert dump(own) == before


@pytest.mark.parametrize(
    ("raw", "line", "said"),
    [
        ("name,initials,job\nJürgen,J,doctor\n".encode("cp1252"), 2, "Windows-1252"),
        ("name,initials,job\nAda,A,doctor\n".encode("utf-16"), 1, "UTF-16"),
        (b"name,initials,job\nA\0da,A,doctor\n", 2, "zero byte"),
        (b"", 1, "empty"),
        (b"name,initials,jobb\n", 1, "job"),
        (b"name,name,initials,job\n", 1, "twice"),
        (b"initials,job\nA,doctor\n", 1, "missing"),
        (b'name,initials,job\n"Ada,A,doctor\n', 3, "no CSV"),
    ],
    ids=["cp1252", "utf-16", "zero", "empty", "unknown column", "column twice", "no key", "open quote"],
)
def test_a_file_that_cannot_be_read_is_told_what_it_is(engine: Engine, raw: bytes, line: int, said: str) -> None:
    plan, _ = imports.planned(PEOPLE, engine, raw, Names(), ZONE)
    (problem,) = plan.problems
    assert said in problem.message % problem.params
    assert problem.line == line or said == "no CSV"


@pytest.mark.parametrize("mark", [",", ";", "\t"])
def test_files_of_other_countries_spreadsheets_are_read_too(engine: Engine, mark: str) -> None:
    raw = "\ufeff" + mark.join(("name", "initials", "job")) + "\r\n" + mark.join(("Ada Moor", "AM", "doctor")) + "\r\n"
    plan, rows = imports.planned(PEOPLE, engine, raw.encode(), Names(), ZONE)
    assert (plan.problems, plan.new, rows) == ((), 1, 1)


def test_columns_that_a_file_leaves_out_stay_as_they_are(own: Engine) -> None:
    person = reading.find(PEOPLE, own)[0]
    names = names_for(own, PEOPLE)
    raw = csv_of(("id", "job"), (str(person["id"]), "retired"))
    file_id, plan = imports.tried(PEOPLE, own, raw, "x", who="P1", now=NOW, names=names, zone=ZONE)
    assert (plan.new, plan.changed) == (0, 1)
    imports.confirmed(PEOPLE, own, file_id, who="P1", now=NOW, names=names, zone=ZONE)
    assert reading.get(PEOPLE, own, str(person["id"])) == {**person, "job": "retired"}


def test_an_import_of_fifty_thousand_rows_is_one_history_entry_a_row_and_is_taken_back_as_a_whole(
    engine: Engine,
) -> None:
    """Their time is measured by hand, never asserted. PostgreSQL gets fewer: it is there for the SQL, not the size."""
    many = 50_000 if engine.dialect.name == "sqlite" else 2_000
    raw = csv_of(("name", "initials", "job"), *((f"Person {n}", "P", "doctor") for n in range(many)))
    file_id, plan = imports.tried(PEOPLE, engine, raw, "big.csv", who="P1", now=NOW, names=Names(), zone=ZONE)
    assert (plan.new, plan.problems) == (many, ())
    assert reading.count(PEOPLE, engine) == 0
    assert imports.confirmed(PEOPLE, engine, file_id, who="P1", now=NOW, names=Names(), zone=ZONE) == many
    with engine.connect() as connection:
        told = text("SELECT count(*), count(DISTINCT row_id) FROM register_change WHERE file_id = :file")
        assert tuple(connection.execute(told, {"file": file_id}).one()) == (many, many)
    assert imports.undone(PEOPLE, engine, file_id, who="P1", now=NOW) == many
    assert reading.count(PEOPLE, engine) == 0


def test_an_import_is_not_taken_back_over_what_was_changed_since(engine: Engine) -> None:
    raw = csv_of(("name", "initials", "job"), ("Ada Moor", "AM", "doctor"), ("Bo Hale", "BH", "doctor"))
    file_id, _ = imports.tried(PEOPLE, engine, raw, "x", who="P1", now=NOW, names=Names(), zone=ZONE)
    imports.confirmed(PEOPLE, engine, file_id, who="P1", now=NOW, names=Names(), zone=ZONE)
    ada = next(row for row in reading.find(PEOPLE, engine) if row["name"] == "Ada Moor")
    changing.save(PEOPLE, engine, str(ada["id"]), {"job": "lead"}, who="P1", now=NOW, refs=Names())
    with pytest.raises(NotValid, match="1 rows"):
        imports.undone(PEOPLE, engine, file_id, who="P1", now=NOW)
    assert reading.count(PEOPLE, engine) == 2


def test_a_file_is_taken_over_once_and_only_the_one_tried_last(engine: Engine) -> None:
    raw = csv_of(("name", "initials", "job"), ("Ada Moor", "AM", "doctor"))
    told = {"who": "P1", "now": NOW, "names": Names(), "zone": ZONE}
    first, _ = imports.tried(PEOPLE, engine, raw, "x", **told)  # type: ignore[arg-type]
    second, _ = imports.tried(PEOPLE, engine, raw, "x", **told)  # type: ignore[arg-type]
    with pytest.raises(Unknown):
        imports.confirmed(PEOPLE, engine, first, **told)  # type: ignore[arg-type]
    imports.confirmed(PEOPLE, engine, second, **told)  # type: ignore[arg-type]
    with pytest.raises(Conflict):
        imports.confirmed(PEOPLE, engine, second, **told)  # type: ignore[arg-type]


def test_the_demo_gets_a_year_about_its_own_people_whose_facts_stay_as_they_are(engine: Engine) -> None:
    enter_demo(engine, staff(NOW, ZONE), wards())
    before = all_facts(engine), len(reading.find(ROOMS, engine))
    assert fill_demo(engine, 7, NOW) > 3000
    assert (all_facts(engine), len(reading.find(ROOMS, engine))) == before
    assert fill_demo(engine, 7, NOW) == 0


def test_the_same_seed_and_day_make_the_same_year() -> None:
    assert year(7, NOW.date()) == year(7, NOW.date())
    assert year(8, NOW.date()).rows["people"] != year(7, NOW.date()).rows["people"]
    counts = {name: len(rows) for name, rows in year(7, NOW.date()).rows.items()}
    assert (counts["people"], counts["rooms"], len(year(7, NOW.date()).cases)) == (80, 12, 900)
