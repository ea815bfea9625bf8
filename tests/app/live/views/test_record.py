"""The whole record of a case, corrections in sight."""

from app.live.views.record import RecordView
from tests.app.live.views.scene import CREW, GOES_IN, OPEN, after, html, now, words

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


def test_a_record_without_entries_says_so() -> None:
    assert "Nothing has happened yet." in words("record", now())
