"""A station that catches up in several lists: the rules wait for the last of them, ten seconds at most."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

from app.base.moments import moment_text
from app.case.fold import Record
from app.case.rules import judge
from app.case.rules.day import Day
from app.journal.entry import Entry
from tests.app.case.telling import CASE, moment, told

OPENED = "10:00 case.open ref=A; procedure=intubation; age=adult"
ASKED = "20:00 req.new q=q1; item=pump; urg=now"
ANSWERED = ("20:10 req.ack q=q1", "20:15 req.got q=q1")


def in_lists(*lists: tuple[str, bool, str]) -> list[list[Entry]]:
    """Entries by list. Each list: when it came, whether its station had more, and its lines."""
    entries = told(OPENED, *(lines for _, _, lines in lists))
    counts = [1, *(len(lines.splitlines()) for _, _, lines in lists)]
    found, place = [], 0
    for count, (recv, more, _) in zip(counts, (("10:01", False, ""), *lists), strict=True):
        part, place = entries[place : place + count], place + count
        found.append(
            [replace(one, received_at=moment_text(moment(recv)), facts={"more": True} if more else {}) for one in part]
        )
    return found


def day_of(lists: list[list[Entry]], until: str) -> Day:
    return judge.day({CASE: [entry for some in lists for entry in some]}, moment(until))


def rules_of(day: Day) -> list[str]:
    return [notice.rule for notice in day.notices()]


def test_what_the_rest_answers_raises_nothing():
    lists = in_lists(("25:00", True, ASKED), ("25:04", False, "\n".join(ANSWERED)))
    assert rules_of(day_of(lists, "40:00")) == []
    alone = in_lists(("25:00", False, ASKED), ("25:04", False, "\n".join(ANSWERED)))
    assert rules_of(day_of(alone, "40:00")) == ["R43", "R43"], "without the word the first list is judged by itself"


def test_three_lists_are_judged_when_the_third_is_in():
    lists = in_lists(
        ("25:00", True, ASKED), ("25:03", True, ANSWERED[0]), ("25:06", False, "20:15 breach p=P1; grade=major")
    )
    assert rules_of(day_of(lists[:3], "25:06")) == []
    (life,) = [life for life in day_of(lists, "25:06").lives() if life.notice.rule == "R24"]
    assert (life.notice.at, life.raised, life.notice.late) == (moment("20:15"), moment("25:06"), True)


def test_when_the_rest_does_not_come_what_there_is_is_judged_after_ten_seconds():
    lists = in_lists(("25:00.4", True, ASKED))
    assert rules_of(day_of(lists, "25:08")) == []
    waiting = Day().arrive(lists[0]).arrive(lists[1])
    assert waiting.next_due() == moment("25:09"), "the last second that is waited for"
    assert [life.raised for life in waiting.end(moment("25:09")).lives()] == [moment("25:09")] * 2


def test_ten_seconds_are_counted_from_the_first_list_and_the_next_may_wait_anew():
    lists = in_lists(("25:00", True, ASKED), ("25:08", True, "20:01 note text=a"), ("25:12", True, "20:02 note text=b"))
    assert [life.raised for life in day_of(lists, "25:12").lives()] == [moment("25:09")] * 2


def test_a_limit_that_comes_due_while_the_rest_is_waited_for_waits_too():
    lists = in_lists(("20:15", False, ASKED), ("20:18", True, "20:10 note text=a"), ("20:25", False, ANSWERED[0]))
    assert rules_of(day_of(lists, "20:30")) == []


def test_what_another_station_says_of_the_case_meanwhile_waits_with_it_and_does_not_end_the_wait():
    lists = in_lists(
        ("25:00", True, ASKED),
        ("25:02", False, "25:01 breach p=P1; grade=major; station=outside"),
        ("25:04", False, "\n".join(ANSWERED)),
    )
    assert rules_of(day_of(lists[:3], "25:03")) == []
    assert [life.raised for life in day_of(lists, "25:04").lives()] == [moment("25:04")]


def test_another_case_is_judged_as_if_nothing_waited():
    lists = in_lists(("25:00", True, ASKED))
    breach = told("25:01 breach p=P1; grade=major")[0]
    other = replace(breach, tap=replace(breach.tap, case="other", id="o1"), received_at=moment_text(moment("25:02")))
    day = Day().arrive(lists[0]).arrive(lists[1]).arrive([other])
    assert {life.notice.case for life in day.lives()} == {"other"}
    assert day.without(CASE).waiting == {}


def test_a_case_that_waits_is_left_alone_when_another_that_shares_a_notice_with_it_is_judged():
    def of(case: str, lists: list[list[Entry]]) -> list[list[Entry]]:
        return [
            [replace(one, tap=replace(one.tap, case=case, id=f"{case}-{one.tap.id}")) for one in some] for some in lists
        ]

    runner = "19:50 role.assign DR=P5"
    theirs = of("theirs", in_lists(("20:01", False, f"{runner}\n{ASKED}"), ("20:26", False, "20:25 note text=a")))
    ours = of("ours", in_lists(("20:05", False, f"{runner}\n20:04 req.new q=q2; item=drug; urg=now"),
                               ("20:20", True, "20:06 note text=b"),
                               ("20:29", False, "20:15 req.ack q=q2")))  # fmt: skip
    day = Day()
    for some in (theirs[0], ours[0], theirs[1], ours[1]):
        day = day.arrive(some)
    assert day.sharing == {"ours"}, "one runner for both doors"
    for some in (ours[2], theirs[2]):
        day = day.arrive(some)
    assert "R43" not in [life.notice.rule for life in day.lives_of("ours")]
    day = day.arrive(ours[3])
    assert {life.notice.rule for life in day.lives_of("ours")} == {"R45"}


def test_a_journal_that_is_read_again_gives_the_day_that_was_lived():
    """Lived: records folded beside it, and a clock that asks each second. Read again: entries alone, and one end."""
    lists = in_lists(
        ("20:01", False, ASKED),
        ("20:15", True, "20:02 note text=a"),
        ("20:17", False, "20:03 breach p=P1; grade=major; station=outside"),
        ("20:26", True, "20:11 req.ack q=q1; via=voice"),
        ("20:31", False, "20:12 note text=b"),
    )
    lived, known, clock = Day(), [], moment("20:00")
    for some in lists:
        known.extend(some)
        while clock < some[0].received:
            lived, clock = lived.tick(clock), clock + timedelta(seconds=1)
        lived = lived.folded({CASE: Record.of(CASE, known)}, some[0].received)
    assert lived.end(moment("30:00")).lives() == day_of(lists, "30:00").lives() != ()
