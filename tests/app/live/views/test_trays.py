"""Trays: what should be there, what is, what moves on, what is counted."""

import json
import re

from app.live.views.trays import CaseTrays, TraysView, counted
from tests.app.live.views.scene import CREW, GOES_IN, OPEN, Said, html, now, words

STAGED = tuple(("kit.staged", {"tray": tray, "missing": []}) for tray in ("clean", "soiled", "door"))


def trays(*said: Said) -> CaseTrays:
    (one,) = TraysView.of([now(OPEN, *said)]).cases
    return one


def test_a_tray_that_was_never_laid_out_is_a_gap_while_there_is_time() -> None:
    assert [tray.code for tray in trays().gaps] == ["clean", "soiled", "door"]
    assert trays(CREW, *GOES_IN).gaps == ()
    assert "not laid out" in words("trays", now(OPEN))


def test_the_list_of_the_procedure_is_what_should_be_there() -> None:
    clean = trays().trays[0]
    assert {"capnography", "suction", "oxygen", "bougie"} <= {piece.code for piece in clean.pieces}
    assert {piece.state for piece in clean.pieces} == {"there"}


def test_what_is_missing_or_out_of_date_is_named_also_what_the_list_does_not_know() -> None:
    said = {"tray": "clean", "has": ["suction"], "missing": ["bougie", "swivel valve"], "expired": ["filter"]}
    clean = trays(("kit.staged", said)).trays[0]
    assert {piece.code: piece.state for piece in clean.pieces if piece.state != "there"} == {
        "bougie": "missing",
        "filter": "expired",
    }
    assert "swivel valve" in clean.lacks
    assert "lacks Bougie, swivel valve" in words("trays", now(OPEN, ("kit.staged", said)))


def test_complete_trays_leave_no_gap() -> None:
    assert trays(*STAGED).gaps == ()
    none = ("kit.staged", {"tray": "clean", "missing": ["none"]})
    assert trays(*STAGED, none).gaps == ()


def test_one_tap_lays_a_tray_out_with_everything_that_is_marked_as_there() -> None:
    form = re.search(r'<form class="pieces" data-kind="kit.staged".*?</form>', html("trays", now(OPEN)), re.DOTALL)
    assert form is not None
    assert 'data-there="has" data-missing="missing" data-expired="expired"' in form[0]
    assert form[0].count('data-value="there"') == len(trays().trays[0].pieces)


def test_things_move_one_way() -> None:
    said = ("kit.staged", {"tray": "door", "has": ["fona", "hyperangulated"]})
    moved: list[Said] = [said]
    seen = []
    for _ in range(3):
        offer = next(one for _, one in trays(*moved).moves if one.body["item"] == "hyperangulated")
        seen.append((offer.body["from"], offer.body["to"]))
        moved.append(("item.move", offer.body))
    assert seen == [("door", "room"), ("room", "soiled"), ("soiled", "decontamination")]
    assert "hyperangulated" not in [one.body["item"] for _, one in trays(*moved).moves]


def test_what_is_used_once_goes_from_the_soiled_side_to_waste() -> None:
    said = (
        ("kit.staged", {"tray": "door", "has": ["fona"]}),
        ("item.move", {"item": "fona", "from": "door", "to": "soiled"}),
    )
    (offer,) = [one for _, one in trays(*said).moves]
    assert offer.body["to"] == "waste"


def test_the_count_names_the_sharps_that_went_in() -> None:
    door = ("kit.staged", {"tray": "door", "has": ["fona"]})
    went_in = ("item.move", {"item": "fona", "from": "door", "to": "room"})
    assert trays(door).count.sharps == ()
    (sharp,) = trays(door, went_in).count.sharps
    assert "scalpel" in sharp
    assert "Sharps and wires: Front-of-neck set" in words("trays", now(OPEN, door, went_in))


def test_what_was_not_found_is_sent_by_name_so_that_a_sharp_is_known_as_one() -> None:
    case = now(OPEN, ("kit.staged", {"tray": "door", "has": ["fona"]}), ("item.move", {"item": "fona", "to": "room"}))
    assert [piece.name for piece in counted(case) if piece.sharp] == ["Front-of-neck set: scalpel 10, bougie, tube 6.0"]
    assert 'data-code="Front-of-neck set: scalpel 10, bougie, tube 6.0"' in html("trays", case)


def test_a_count_that_was_taken_is_shown() -> None:
    (one,) = TraysView.of(
        [now(OPEN, CREW, *GOES_IN, ("count.done", {"expected": 9, "found": 8, "lost": ["wire"]}))]
    ).cases
    assert (one.count.expected, one.count.found, one.count.lost) == (9, 8, ("wire",))
    assert "not found : wire" in words("trays", now(OPEN, CREW, *GOES_IN, ("count.done", {"lost": ["wire"]}))).replace(
        "not found:", "not found :"
    )


def test_bodies_are_json() -> None:
    assert json.loads(trays().trays[0].stage.body_json) == {"tray": "clean"}


def test_a_closed_case_has_no_trays_and_no_case_is_said() -> None:
    assert TraysView.of([now(OPEN, ("case.close", {}))]).cases == ()
    assert "No case is open." in words("trays")
