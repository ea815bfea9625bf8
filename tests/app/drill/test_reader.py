"""What each part of a scenario file's grammar means."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from app.drill.scenario import read, read_file
from app.drill.taps import posts
from tests.app.drill.lines import CASE, STAFF, made, scenario, told

SEVEN = sorted((Path(__file__).parents[2] / "scenarios").glob("s[1-7]-*.scenario"))
T0 = datetime(2026, 11, 3, 14, 10, tzinfo=UTC)


def test_all_seven_shared_scenarios_are_read() -> None:
    read_in = [read_file(path) for path in SEVEN]
    assert [one.name for one in read_in] == [
        "S1 Normal intubation",
        "S2 Difficult airway with front-of-neck rescue",
        "S3 Protective-equipment breach",
        "S4 Network lost in the room",
        "S5 Two rooms, one runner",
        "S6 Planned extubation",
        "S7 Wrong-order taps and corrections",
    ]
    assert len(read_in[0].acts) == 69  # the number in vocabulary.md


def test_the_title_is_the_first_comment_up_to_its_colon() -> None:
    text = f"# Night drill: with a hitch\n# more\n{CASE}\n00:00 | CA | case.open"
    assert read(text).name == "Night drill"


def test_a_file_without_a_comment_is_called_by_its_own_name() -> None:
    assert read(f"{CASE}\n00:00 | CA | case.open", "drill-7").name == "drill-7"


def test_blank_lines_and_carriage_returns_and_a_byte_order_mark_are_no_mistake(tmp_path: Path) -> None:
    path = tmp_path / "x.scenario"
    path.write_bytes(f"\ufeff# Title\r\n\r\n{CASE}\r\n00:00 | CA | case.open\r\n".encode())
    assert read_file(path).name == "Title"


def test_offset_zero_is_t0_in_the_zone_of_the_case() -> None:
    case = "case | A | date=2026-07-01; t0=14:10; tz=Europe/Vienna"
    assert scenario("00:00 | CA | case.open", case=case).acts[0].at == datetime(2026, 7, 1, 12, 10, tzinfo=UTC)


def test_offsets_run_past_sixty_minutes_and_past_midnight() -> None:
    case = "case | A | date=2026-12-31; t0=23:30"
    given = scenario("00:00 | CA | case.open", "76:30 | CA | case.close", case=case)
    assert given.acts[1].at == datetime(2027, 1, 1, 0, 46, 30, tzinfo=UTC)
    assert given.end == given.acts[1].at


@pytest.mark.parametrize(
    ("date", "utc_end"),
    [
        ("2026-03-29", datetime(2026, 3, 29, 1, 30, tzinfo=UTC)),  # clocks go forward at 01:00 UTC
        ("2026-10-25", datetime(2026, 10, 25, 0, 30, tzinfo=UTC)),  # and back at 01:00 UTC
    ],
)
def test_offsets_are_elapsed_time_also_where_clocks_are_changed(date: str, utc_end: datetime) -> None:
    case = f"case | A | date={date}; t0=01:30; tz=Europe/Vienna"
    given = scenario("00:00 | CA | case.open", "60:00 | CA | case.close", case=case)
    assert given.acts[1].at - given.acts[0].at == timedelta(hours=1)
    assert given.acts[1].at == utc_end


def test_an_offset_may_lie_before_t0() -> None:
    assert scenario("-01:30 | CA | note | text=early").acts[0].at == T0 - timedelta(seconds=90)


def test_the_opening_carries_what_the_case_line_says_and_its_own_words_count_more() -> None:
    case = f"{CASE}; urgency=urgent; pbw=66; age=6; difficult=na"
    body = scenario("00:00 | CA | case.open | ref=A; urgency=immediate", case=case).acts[0].body
    assert body == {
        "ref": "A", "procedure": "intubation", "precaution": "airborne", "urgency": "immediate", "pbw": 66, "age": 6,
    }  # fmt: skip


def test_room_facts_come_with_the_opening_and_mixing_is_one_when_absent() -> None:
    (opening,) = made(scenario("00:00 | CA | case.open", case=f"{CASE}; anteroom=n1; tz=Asia/Tokyo"))
    assert opening.facts["room"] == {"ach": 12, "clear": 99.9, "anteroom": "n1", "mixing": 1, "tz": "Asia/Tokyo"}


def test_unknown_room_figures_are_left_out() -> None:
    case = "case | A | date=2026-11-03; t0=14:10; ach=na; mixing=3"
    (opening,) = made(scenario("00:00 | CA | case.open", case=case))
    assert opening.facts["room"] == {"mixing": 3, "tz": "UTC"}


def test_whoever_an_entry_names_comes_with_what_the_register_said() -> None:
    (entry,) = made(scenario("00:45 | CA | role.assign | AO=P1; AA=P9"))
    assert entry.facts["people"] == {
        "P1": {
            "name": "P1", "job": "anaesthetist", "resp": "tight:K2", "fit": {"K2": "2026-02-10"}, "drill": "2026-05-02",
            "immune": "yes",
        }
    }  # fmt: skip


def test_a_person_may_have_a_name_and_several_fit_tests() -> None:
    text = f"{CASE}\nstaff | P2 | name=Ada Lowe; resp=tight:K2; fit=K2:2026-02-10,M1:2026-03-01; immune=na; drill=na"
    person = read(f"{text}\n00:00 | CA | case.open").staff["P2"]
    expected = {"name": "Ada Lowe", "resp": "tight:K2", "fit": {"K2": "2026-02-10", "M1": "2026-03-01"}}
    assert person.facts == expected


def test_a_list_of_people_is_one_entry_each_and_one_post() -> None:
    given = scenario("13:05 | DOC | room.in | p=P1,P2, P3")
    assert told(given) == ["room.in P1", "room.in P2", "room.in P3"]
    assert len(posts(given)) == 1


def test_commas_make_lists_only_where_the_grammar_says_so() -> None:
    given = scenario(
        "03:30 | DR | kit.staged | tray=door; has=fona,sga; missing=none", "04:00 | DOC | note | text=a, b"
    )
    assert given.acts[0].body == {"tray": "door", "has": ["fona", "sga"], "missing": []}
    assert given.acts[1].body == {"text": "a, b"}


def test_a_check_with_start_and_seal_is_three_entries_the_seal_just_before_the_verdict() -> None:
    given = scenario("09:50 | DR | check.done | phase=don; checker=P5; subject=P1; start=09:10; seal=pass; result=pass")
    assert [(one.tap.kind, (one.at - T0) // timedelta(seconds=1)) for one in made(given)] == [
        ("check.start", 550),
        ("seal.check", 590),
        ("check.done", 590),
    ]
    start, seal, done = (one.tap.body for one in made(given))
    assert start == {"phase": "don", "checker": "P5", "subject": "P1"}
    assert seal == {"p": "P1", "result": "pass"}
    assert done == {"phase": "don", "checker": "P5", "subject": "P1", "result": "pass"}


def test_an_untried_seal_makes_no_seal_check() -> None:
    given = scenario("09:50 | DR | check.done | phase=don; checker=P5; subject=P1; seal=na; result=pass")
    assert told(given) == ["check.done P1"]


def test_undressing_with_start_and_checker_brings_the_partner_five_seconds_later() -> None:
    given = scenario("46:10 | DR | doff.done | p=P2; checker=P5; start=43:20")
    assert [(one.tap.kind, (one.at - T0) // timedelta(seconds=1)) for one in made(given)] == [
        ("doff.start", 2600),
        ("check.start", 2605),
        ("doff.done", 2770),
    ]
    assert made(given)[0].tap.body == {"p": "P2"}
    assert made(given)[1].tap.body == {"phase": "doff", "checker": "P5", "subject": "P2"}


def test_undressing_without_a_checker_has_no_partner() -> None:
    assert told(scenario("46:10 | DR | doff.done | p=P2; start=43:20")) == ["doff.start P2", "doff.done P2"]


def test_a_value_may_hold_an_equals_sign_and_a_line_a_bar() -> None:
    given = scenario("01:00 | DOC | note | text=SpO2 = 94 | steady")
    assert given.acts[0].body == {"text": "SpO2 = 94 | steady"}


def test_a_line_without_words_is_an_entry_with_an_empty_body() -> None:
    assert scenario("01:00 | DOC | hold").acts[0].body == {}


def test_a_fix_names_an_entry_by_its_id_and_sets_time_and_values_of_that_kind() -> None:
    given = scenario(
        "11:12 | DOC | room.in | id=x1; p=P6",
        "12:00 | DOC | tap.fix | ref=x1; at=11:10; set_p=P4; why=wrong person",
        "13:00 | DR | kit.staged | id=x2; tray=door; has=fona",
        "13:10 | DR | tap.fix | ref=x2; set_has=fona,sga; set_missing=none",
        "14:00 | DOC | sga.in | id=x3; size=3",
        "14:10 | DOC | tap.fix | ref=x3; set_size=na",
    )
    entry, fix, tray, tray_fix, _, unknown = made(given)
    assert fix.tap.body == {
        "ref": entry.tap.id, "at": "2026-11-03T14:21:10.000000Z", "set_p": "P4", "why": "wrong person",
    }  # fmt: skip
    assert tray_fix.tap.body == {"ref": tray.tap.id, "set_has": ["fona", "sga"], "set_missing": []}
    assert unknown.tap.body["set_size"] is None


def test_a_place_of_a_journey_is_no_offset_though_its_field_is_called_at() -> None:
    assert scenario("50:00 | DOC | tx.arrive | at=intensive care").acts[0].body == {"at": "intensive care"}


def test_a_void_may_stand_before_the_line_it_takes_back() -> None:
    given = scenario("05:00 | DOC | tap.void | ref=late; why=stray", "06:00 | DOC | note | id=late; text=x")
    void, note = made(given)
    assert void.tap.body["ref"] == note.tap.id


def test_a_void_of_a_list_takes_back_each_of_it() -> None:
    given = scenario("05:00 | DOC | room.in | id=x; p=P1,P2", "05:10 | DOC | tap.void | ref=x")
    first, second, *voids = made(given)
    assert [void.tap.body["ref"] for void in voids] == [first.tap.id, second.tap.id]


def test_an_id_on_shorthand_names_what_the_line_is_about() -> None:
    line = "09:50 | DR | check.done | id=x; phase=don; checker=P5; subject=P1; start=09:10; seal=fail; result=pass"
    given = scenario(line, "10:00 | DR | tap.fix | ref=x; set_result=fail")
    *_, done, fix = made(given)
    assert fix.tap.body == {"ref": done.tap.id, "set_result": "fail"}


TWO = f"{CASE}\n{CASE.replace('| A |', '| B |').replace('14:10', '15:00')}\n{STAFF}"


def test_a_line_belongs_to_the_case_it_names_and_to_the_first_when_it_names_none() -> None:
    given = read(f"{TWO}\n00:00 | CA | case.open\n00:10 | DOC | note | case=B; text=x")
    assert [act.case for act in given.acts] == ["A", "B"]


def test_closing_and_correcting_go_to_the_case_of_what_they_name() -> None:
    given = read(
        f"{TWO}\n00:00 | DOC | note | case=B; id=x; text=y\n"
        "00:10 | DOC | tap.void | ref=x\n00:20 | CA | case.close | ref=B"
    )
    assert [act.case for act in given.acts] == ["B", "B", "B"]


def test_each_case_has_its_own_offset_zero() -> None:
    given = read(f"{TWO}\n01:00 | DOC | note | text=x\n01:00 | DOC | note | case=B; text=x")
    assert [act.at.strftime("%H:%M") for act in given.acts] == ["14:11", "15:01"]


def test_the_file_ends_with_what_happens_or_arrives_last() -> None:
    given = scenario("05:00 | DOC | note | text=x; recv=09:00", "06:00 | DOC | note | text=y")
    assert given.end == T0 + timedelta(minutes=9)
