"""Entries as stations would have made them, and the order in which they reached the server."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from app.base.ids import derived_id, is_uuid7
from app.base.moments import parse_moment, whole_second
from app.case.correction import happenings
from app.case.vocabulary.registry import read_body
from app.drill.scenario import read, read_file
from app.drill.taps import DESK, SERVER, case_ids, posts
from app.journal.entry import Entry
from tests.app.drill.lines import CASE, STAFF, made, scenario
from tests.app.drill.test_reader import SEVEN

T0 = datetime(2026, 11, 3, 14, 10, tzinfo=UTC)


def in_order_of_happening(*lines: str) -> list[str]:
    """Kinds as the fold orders them."""
    entries = [Entry(one.tap, one.facts, 1, "2027-01-01T00:00:00.000000Z", "", "") for one in made(scenario(*lines))]
    return [one.kind for one in happenings(entries)]


def test_lines_of_one_second_happen_in_file_order_whatever_their_stations() -> None:
    lines = (
        "05:00 | SYS | net.down | device=tablet",
        "05:00 | DOC | hold",
        "05:00 | CA | note | text=x",
        "05:00 | DR | door.open",
        "05:00 | DOC | agp.end",
    )
    assert in_order_of_happening(*lines) == ["net.down", "hold", "note", "door.open", "agp.end"]
    assert in_order_of_happening(*reversed(lines)) == ["agp.end", "door.open", "note", "hold", "net.down"]


def test_a_corrected_time_that_meets_another_line_falls_in_file_order_too() -> None:
    first = ("05:00 | DR | door.open | id=x", "06:00 | DOC | hold", "07:00 | DR | tap.fix | ref=x; at=06:00")
    last = ("06:00 | DOC | hold", "06:30 | DR | door.open | id=x", "07:00 | DR | tap.fix | ref=x; at=06:00")
    assert in_order_of_happening(*first) == ["door.open", "hold", "tap.fix"]
    assert in_order_of_happening(*last) == ["hold", "door.open", "tap.fix"]


def test_order_within_a_second_never_shows_in_seconds() -> None:
    entries = made(scenario(*(f"05:00 | DOC | note | text={n}" for n in range(50))))
    assert {whole_second(one.at) for one in entries} == {T0 + timedelta(minutes=5)}
    assert max(one.at for one in entries) - min(one.at for one in entries) < timedelta(milliseconds=0.5)


def test_roles_tap_on_the_station_of_their_side() -> None:
    who = ("DOC", "TL", "AO", "AA", "DM", "FN", "BR", "DR", "OR", "SO", "PO", "CA", "ICU", "IPC", "OH", "SYS")
    entries = made(scenario(*(f"05:00 | {role} | note | text=x" for role in who)))
    assert [one.tap.station for one in entries] == ["A-inside"] * 7 + ["A-outside"] * 4 + [DESK] * 4 + [SERVER]
    assert [one.tap.role for one in entries] == [*who[:-1], None]


def test_each_station_counts_its_own_taps_in_order_of_happening() -> None:
    entries = made(scenario("05:00 | DOC | hold", "05:10 | DR | door.open", "04:00 | DOC | note | text=x"))
    assert [(one.tap.station, one.tap.counter) for one in entries] == [
        ("A-inside", 1),
        ("A-inside", 2),
        ("A-outside", 1),
    ]


def test_lines_of_one_second_arrive_together_and_happen_in_file_order() -> None:
    """They share a `received_at`, so they are folded together before anything is judged (`judging.md`, Notices 1)."""
    (post,) = posts(scenario("05:00 | DOC | hold", "05:00 | DR | door.open"))
    assert [one.tap.kind for one in post.made] == ["hold", "door.open"]
    assert post.made[0].at < post.made[1].at


def test_all_that_arrives_with_one_recv_is_one_post_and_comes_when_it_was_received() -> None:
    given = scenario(
        "05:00 | DOC | hold | recv=09:00",
        "06:00 | DR | door.open",
        "07:00 | DOC | room.in | p=P1,P2; recv=09:00",
        "08:00 | DR | door.shut",
    )
    arrived = posts(given)
    assert [[one.tap.kind for one in post.made] for post in arrived] == [
        ["door.open"],
        ["door.shut"],
        ["hold", "room.in", "room.in"],
    ]
    assert arrived[-1].received == T0 + timedelta(minutes=9)


def test_a_check_that_started_earlier_also_arrived_earlier() -> None:
    given = scenario(
        "09:50 | DR | check.done | phase=don; checker=P5; subject=P1; start=09:10; seal=pass; result=pass",
        "09:30 | DOC | hold",
    )
    assert [[one.tap.kind for one in post.made] for post in posts(given)] == [
        ["check.start"],
        ["hold"],
        ["seal.check", "check.done"],
    ]


def test_the_same_file_makes_the_same_ids_and_another_file_others() -> None:
    once, again = (scenario("05:00 | DOC | room.in | p=P1,P2") for _ in range(2))
    other = scenario("05:00 | DOC | room.in | p=P1,P2", "06:00 | DOC | hold")
    assert posts(once) == posts(again)
    assert {one.tap.id for one in made(once)}.isdisjoint(one.tap.id for one in made(other))
    assert case_ids(once) != case_ids(other)


def test_derived_ids_are_uuids_of_version_seven_with_the_time_of_the_moment() -> None:
    made_id = derived_id(T0, "file", 7)
    assert is_uuid7(made_id)
    assert int(made_id.replace("-", "")[:12], 16) == T0.timestamp() * 1000


@pytest.mark.parametrize("path", SEVEN, ids=lambda path: path.stem[:2])
def test_every_entry_of_the_shared_scenarios_is_sound(path: Path) -> None:
    arrived = posts(read_file(path))
    entries = [one for post in arrived for one in post.made]
    assert [post.received for post in arrived] == sorted({post.received for post in arrived})
    assert len({one.tap.id for one in entries}) == len(entries)
    for one in entries:
        assert is_uuid7(one.tap.id)
        assert parse_moment(one.tap.device_at) == one.at
        read_body(one.tap.kind, one.tap.body)


def test_cases_of_one_file_have_stations_of_their_own_inside_and_share_the_desk() -> None:
    two = f"{CASE}\n{CASE.replace('| A |', '| B |')}\n{STAFF}"
    lines = ("05:00 | DOC | hold", "05:00 | DOC | hold | case=B", "06:00 | CA | note | case=B; text=x")
    entries = made(read("\n".join((two, *lines))))
    assert [one.tap.station for one in entries] == ["A-inside", "B-inside", DESK]
