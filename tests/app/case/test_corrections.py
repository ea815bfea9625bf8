"""Fixes and voids: the record as it stands, the first tap still readable."""

from __future__ import annotations

from app.case.correction import first_taps
from app.case.happening import Mark
from tests.app.case.telling import history_of, moment, state_of, told

CUFF = "01:00 cuff.up cuff=20; id=x"


def test_a_fix_gives_an_entry_another_time_and_moves_it_in_the_order() -> None:
    history = history_of(told(CUFF, "02:00 vent.first id=y", "03:00 tap.fix ref=x; at=02:30"))
    assert history["x"].at == moment("02:30")
    assert history["x"].marks == {Mark.FIXED_TIME}
    assert [name for name in history if name in "xy"] == ["y", "x"]


def test_a_fix_gives_an_entry_another_value() -> None:
    lines = (CUFF, "03:00 tap.fix ref=x; set_cuff=26")
    assert state_of(*lines).airway.cuff_cmh2o == 26
    assert history_of(told(*lines))["x"].marks == {Mark.FIXED_VALUE}


def test_the_first_tap_stays_readable_beside_its_correction() -> None:
    (x, _) = first_taps(told(CUFF, "03:00 tap.fix ref=x; set_cuff=26; at=02:00"))
    assert (x.at, getattr(x.body, "cuff", None)) == (moment("01:00"), 20)


def test_the_last_fix_of_a_field_in_order_of_happening_wins_whatever_arrived_first() -> None:
    late = "02:00 tap.fix ref=x; set_cuff=22; recv=20:00"
    assert state_of(CUFF, "03:00 tap.fix ref=x; set_cuff=26", late).airway.cuff_cmh2o == 26


def test_fixes_of_different_fields_add_up() -> None:
    state = state_of(
        "01:00 vent.set vt=400; rate=12; id=x", "02:00 tap.fix ref=x; set_vt=420", "03:00 tap.fix ref=x; set_rate=14"
    )
    body = state.all("vent.set")[0].body
    assert (getattr(body, "vt", None), getattr(body, "rate", None)) == (420, 14)


def test_a_fix_to_an_unknown_value_makes_it_unknown() -> None:
    entries = told(CUFF, "03:00 tap.fix ref=x; id=f")
    entries[1].tap.body["set_cuff"] = None  # type: ignore[index]
    assert getattr(history_of(entries)["x"].body, "cuff", 0) is None


def test_a_fix_that_does_not_fit_is_left_out_and_marked_and_the_fitting_one_still_counts() -> None:
    lines = (CUFF, "02:00 tap.fix ref=x; set_colour=blue", "03:00 tap.fix ref=x; set_cuff=26")
    assert state_of(*lines).airway.cuff_cmh2o == 26
    assert history_of(told(*lines))["x"].marks == {Mark.BAD_FIX, Mark.FIXED_VALUE}


def test_a_fix_to_a_time_that_cannot_be_read_leaves_the_time_and_is_marked() -> None:
    (entry, fix) = told(CUFF, "02:00 tap.fix ref=x; why=slip")
    fix.tap.body["at"] = "teatime"  # type: ignore[index]
    h = history_of([entry, fix])["x"]
    assert (h.at, h.marks) == (moment("01:00"), {Mark.BAD_FIX})


def test_a_fixed_time_replaces_the_doubt_about_the_stations_clock() -> None:
    h = history_of(told("01:00 cuff.up id=x; offset=none; recv=09:00", "10:00 tap.fix ref=x; at=01:00"))["x"]
    assert (h.at, h.marks) == (moment("01:00"), {Mark.FIXED_TIME})


def test_a_fix_waits_for_what_it_corrects() -> None:
    fix = "02:00 tap.fix ref=x; set_cuff=26"
    assert state_of(fix).all("cuff.up") == ()
    assert state_of(fix, CUFF + "; recv=30:00").airway.cuff_cmh2o == 26


def test_a_voided_entry_is_kept_in_the_history_and_out_of_the_state() -> None:
    lines = (CUFF, "02:00 tap.void ref=x; why=stray")
    assert history_of(told(*lines))["x"].stands is False
    assert state_of(*lines).airway.cuff_up_at is None
    assert state_of(*lines).all("cuff.up") == ()


def test_a_void_waits_for_its_target() -> None:
    assert state_of("00:30 tap.void ref=x", CUFF + "; recv=30:00").all("cuff.up") == ()


def test_a_void_of_a_void_puts_the_entry_back() -> None:
    assert state_of(CUFF, "02:00 tap.void ref=x; id=v", "03:00 tap.void ref=v").airway.cuff_cmh2o == 20


def test_a_void_of_a_fix_restores_what_was_said_first() -> None:
    lines = (CUFF, "02:00 tap.fix ref=x; set_cuff=26; id=f", "03:00 tap.void ref=f")
    assert state_of(*lines).airway.cuff_cmh2o == 20
    assert history_of(told(*lines))["x"].marks == frozenset()


def test_an_entry_with_two_voids_comes_back_only_when_both_are_voided() -> None:
    two = (CUFF, "02:00 tap.void ref=x; id=v", "02:10 tap.void ref=x; id=w", "03:00 tap.void ref=v")
    assert state_of(*two).all("cuff.up") == ()
    assert len(state_of(*two, "03:10 tap.void ref=w").all("cuff.up")) == 1


def test_voids_in_a_ring_cancel_out_however_long_the_ring_is() -> None:
    for size in (1, 2, 3, 4):
        ring = [f"02:0{n} tap.void ref=v{(n + 1) % size}; id=v{n}" for n in range(size)]
        history = history_of(told(CUFF, *ring))
        assert [history[f"v{n}"].stands for n in range(size)] == [False] * size, size
        assert history["x"].stands


def test_a_void_from_outside_breaks_a_ring() -> None:
    lines = ("02:00 tap.void ref=b; id=a", "02:01 tap.void ref=a; id=b", "02:02 tap.void ref=a; id=c")
    assert {name: h.stands for name, h in history_of(told(*lines)).items()} == {"a": False, "b": True, "c": True}


def test_a_chain_of_thousands_of_voids_is_read() -> None:
    chain = [f"02:00 tap.void ref=v{n}; id=v{n + 1}" for n in range(3000)]
    history = history_of(told(CUFF.replace("id=x", "id=v0"), *chain))
    assert history["v0"].stands  # 3000 voids above it: every second one counts


def test_a_fix_of_a_fix_or_of_a_void_is_left_out_and_marked() -> None:
    lines = (CUFF, "02:00 tap.fix ref=x; set_cuff=26; id=f", "03:00 tap.fix ref=f; set_set_cuff=30; at=00:10")
    assert state_of(*lines).airway.cuff_cmh2o == 26
    assert history_of(told(*lines))["f"].marks == {Mark.BAD_FIX}
    assert history_of(told(*lines))["f"].at == moment("02:00")


def test_a_fix_that_makes_an_entry_readable_takes_its_mark_away() -> None:
    (strange, fix) = told("01:00 kit.staged tray=door; id=x", "02:00 tap.fix ref=x; set_tray=clean")
    strange.tap.body["tray"] = "roof"  # type: ignore[index]
    assert history_of([strange])["x"].marks == {Mark.UNREADABLE}
    assert history_of([strange, fix])["x"].marks == {Mark.FIXED_VALUE}
