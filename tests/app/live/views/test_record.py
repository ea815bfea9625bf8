"""The whole record of a case, corrections in sight."""

from dataclasses import replace

from app.case.fold import Record
from app.live.views.record import RecordView
from app.protocol.library import protocol_for
from app.protocol.pinned import facts_of
from tests.app.live.views.scene import CREW, GOES_IN, OPEN, after, entries, html, now, words

INDUCED = (OPEN, CREW, *GOES_IN, ("drug.given", {"class": "induction", "drug": "ketamine", "dose": 70, "unit": "mg"}))


def test_every_entry_is_a_line_in_order_of_happening() -> None:
    view = RecordView.of([now(*INDUCED)])
    assert [line.kind for line in view.lines] == ["case.open", "role.assign", "don.start", "room.in", "drug.given"]
    assert [line.at for line in view.lines] == [after(10 * n) for n in range(5)]


def test_a_sentence_names_people_and_carries_its_figures() -> None:
    text = words("record", now(*INDUCED))
    assert "Bea goes in" in text
    assert "70" in text
    assert "P2" not in text


def test_a_voided_entry_stays_readable_and_says_so() -> None:
    case = now(*INDUCED, ("tap.void", {"ref": "e5", "why": "stray"}))
    line = RecordView.of([case]).lines[4]
    assert not line.stands
    assert "did not happen" in words("record", case)
    assert "ketamine" in words("record", case)


def test_a_corrected_time_moves_the_line_and_is_marked() -> None:
    case = now(*INDUCED, ("tap.fix", {"ref": "e5", "at": "2026-11-03T14:00:05Z"}))
    lines = RecordView.of([case]).lines
    assert [line.kind for line in lines][:2] == ["case.open", "drug.given"]
    assert "time corrected" in lines[1].marks


def test_an_entry_from_before_the_opening_is_marked() -> None:
    assert "before the case was opened" in RecordView.of([now(("vitals", {"spo2": 98}), OPEN)]).lines[0].marks


def test_a_correction_is_one_tap_away_on_lines_that_stand() -> None:
    assert 'data-kind="tap.void"' in html("record", now(*INDUCED))


def test_a_rule_that_is_switched_off_stands_in_the_record_with_the_departments_reason() -> None:
    built_in = protocol_for("intubation", "adult")
    off = replace(built_in.rules["R24"], on=False, why_off="Told by voice here.")
    facts = facts_of(replace(built_in, rules={**built_in.rules, "R24": off}))
    (opened,) = entries(OPEN)
    case = now(OPEN)
    pinned = Record.of("A", [replace(opened, facts={**opened.facts, "protocol": facts})])
    text = words("record", replace(case, state=pinned.now))
    assert "Rules switched off by the department Major breach Told by voice here. R24" in text
    assert "switched off" not in words("record", case)


def test_a_record_without_entries_says_so() -> None:
    assert "Nothing has happened yet." in words("record", now())


def test_a_dressing_step_says_whose_it_was_by_name() -> None:
    text = words("record", now(OPEN, CREW, ("local.done", {"name": "dressing right: gown", "value": "P2"})))
    assert "dressing right: Gown on, tied at neck and waist" in text
    assert "Bea" in text.split("dressing right:")[1]
    assert "P2" not in text


def test_an_interval_of_a_request_names_the_thing_and_who_is_inside_is_still_inside() -> None:
    """What stands for them in the journal, `q1` and `P2`, is nobody's word."""
    case = now(OPEN, CREW, *GOES_IN, ("req.new", {"q": "q1", "item": "bougie"}), ("req.ack", {"q": "q1"}))
    parts = {one.code: one.parts for one in RecordView.of([case]).intervals}
    assert [whose for whose, _ in parts["I14"]] == ["bougie"]
    assert parts["I15"] == (("Bea", "still inside"),)
