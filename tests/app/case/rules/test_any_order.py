"""Any order of arrival and any split into batches gives the same notices; no valid entries break a rule."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from random import Random

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from app.base.moments import moment_text, parse_moment, whole_second
from app.case.rules import judge
from app.case.rules.day import Day
from app.case.rules.judgement import Judgement

SEEDS = range(1, 11)


def _all(entries):
    return [entry for case in entries.values() for entry in case]


def _batches(entries, chance):
    rest = list(entries)
    while rest:
        size = chance.randint(1, 9)
        yield rest[:size]
        rest = rest[size:]


@pytest.mark.parametrize("seed", SEEDS)
def test_what_stands_does_not_depend_on_the_order_of_arrival(scenario_files, tools, seed):
    for scenario in scenario_files.values():
        entries, chance = tools.entries_of(scenario), Random(seed)
        mixed = _all(entries)
        chance.shuffle(mixed)
        judgement = Judgement()
        for batch in _batches(mixed, chance):
            judgement = judgement.with_entries(batch)
        assert judgement.notices(scenario.end) == judge.standing(entries, scenario.end)


@pytest.mark.parametrize("seed", SEEDS)
def test_a_day_on_which_everything_came_late_ends_with_the_same_notices(scenario_files, tools, seed):
    for scenario in scenario_files.values():
        entries, chance = tools.entries_of(scenario), Random(seed)
        mixed = _all(entries)
        chance.shuffle(mixed)
        day, moment = Day(), scenario.end + timedelta(hours=1)
        for batch in _batches(mixed, chance):
            moment += timedelta(seconds=1)
            day = day.arrive([replace(entry, received_at=moment_text(moment)) for entry in batch])
        stands = [life.notice for life in day.end(scenario.end).lives() if life.corrected is None]
        final = judge.standing(entries, moment)
        assert [notice.identity for notice in stands] == [notice.identity for notice in final]


def test_each_tap_judged_as_it_came_equals_the_whole_judged_at_once(scenario_files, tools):
    for scenario in scenario_files.values():
        entries = tools.entries_of(scenario)
        judgement, so_far = Judgement(), {}
        for batch in judge.batches(_all(entries)):
            judgement = judgement.with_entries(batch)
            for entry in batch:
                so_far.setdefault(entry.tap.case, []).append(entry)
            now = whole_second(batch[-1].received)
            assert judgement.notices(now) == judge.standing(so_far, now)


def test_records_folded_elsewhere_give_the_same_judgement(scenario_files, tools):
    for scenario in scenario_files.values():
        entries = tools.entries_of(scenario)
        judgement = Judgement().with_entries(_all(entries))
        again = Judgement().with_records({case: judged.record for case, judged in judgement.cases.items()})
        assert again.notices(scenario.end) == judgement.notices(scenario.end)


def test_a_case_can_be_let_go_of(scenario_files, tools):
    scenario = scenario_files["s5-two-rooms-one-runner"]
    entries = tools.entries_of(scenario)
    kept, let_go = entries
    judgement = Judgement().with_entries(_all(entries)).without(let_go)
    assert judgement.notices(scenario.end) == judge.standing({kept: entries[kept]}, scenario.end)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_no_valid_entries_in_any_order_break_a_rule(scenario_files, tools, data):
    pool = [entry for scenario in scenario_files.values() for entry in _all(tools.entries_of(scenario))]
    opening = next(entry for entry in pool if entry.tap.kind == "case.open")
    start = parse_moment(opening.tap.device_at)
    picked = data.draw(st.lists(st.integers(0, len(pool) - 1), max_size=40))
    offsets = data.draw(st.lists(st.integers(0, 4000), min_size=len(picked), max_size=len(picked)))
    sides = data.draw(st.lists(st.sampled_from(["in", "out"]), min_size=len(picked), max_size=len(picked)))
    end = start + timedelta(hours=3)
    entries = [replace(opening, seq=1, received_at=moment_text(end))]
    for place, (index, offset, side) in enumerate(zip(picked, offsets, sides, strict=True), start=2):
        tap = replace(
            pool[index].tap,
            id=f"{place:04d}",
            case=opening.tap.case,
            station=side,
            counter=place,
            device_at=moment_text(start + timedelta(seconds=offset)),
        )
        entries.append(replace(pool[index], tap=tap, seq=place, received_at=moment_text(end)))
    whole = judge.standing({opening.tap.case: entries}, end)
    assert all(notice.message.format(**notice.params) for notice in whole)
    assert len({notice.identity for notice in whole}) == len(whole)
    by_one = Judgement()
    for entry in reversed(entries):
        by_one = by_one.with_entries([entry])
    assert by_one.notices(end) == whole
    day = Day().arrive(entries).end(end)
    assert [notice.identity for notice in day.notices()] == [notice.identity for notice in whole]
