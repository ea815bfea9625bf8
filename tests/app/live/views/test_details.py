"""What can be said along with a tap, without a keyboard."""

import pytest

from app.case.vocabulary.registry import fields_of, read_body
from app.live.views.details import _FIGURES, _WORDS, Details, details, stepper
from app.live.views.next import inside_milestones
from app.protocol.library import protocols
from tests.app.live.views.scene import CREW, GOES_IN, OPEN, Said, html, now

ROOM = (OPEN, CREW, *GOES_IN)


def along(kind: str, *said: Said) -> Details:
    case = now(*said)
    milestone = next(m for m in [*inside_milestones(case), *case.protocol.anytime] if m.kind == kind)
    return details(case, milestone)


def start(name: str, kind: str, *said: Said) -> str:
    return next(one.start for one in along(kind, *said).steppers if one.name == name)


@pytest.mark.parametrize(("kind", "field"), [*_FIGURES, *_WORDS])
def test_what_can_be_said_is_a_field_of_its_kind(kind: str, field: str) -> None:
    assert field in fields_of(kind)


@pytest.mark.parametrize(("kind", "field"), list(_FIGURES))
def test_a_stepper_starts_within_its_bounds(kind: str, field: str) -> None:
    usual, fine, coarse, least, most = _FIGURES[kind, field]
    assert least <= usual <= most
    assert 0 < fine < (coarse or fine + 1)


@pytest.mark.parametrize("protocol", protocols(), ids=lambda protocol: protocol.id)
def test_every_choice_makes_a_body_that_its_kind_takes(protocol: object) -> None:
    case = now(("case.open", {"procedure": protocol.procedure, "age": protocol.ages[0]}), CREW, *GOES_IN)  # type: ignore[attr-defined]
    for milestone in [*inside_milestones(case), *case.protocol.anytime]:
        for one in details(case, milestone).choices:
            for value, _ in one.options:
                read_body(milestone.kind, {**milestone.body, one.name: [value] if one.listed else value,
                                           **({"p": "P1"} if milestone.kind == "breach" else {})})  # fmt: skip


def test_a_size_starts_where_the_plan_put_it() -> None:
    assert start("size", "tube.passed", *ROOM) == "7.5"
    assert start("size", "tube.passed", *ROOM, ("plan.set", {"A": "video and bougie 8.0"})) == "8"
    assert start("size", "tube.passed", *ROOM, ("plan.set", {"tube": 6.5})) == "6.5"
    assert start("size", "sga.in", *ROOM, ("plan.set", {"B": "SGA size 5"})) == "5"


@pytest.mark.parametrize(
    ("age", "size", "depth", "pressure"),
    [("adult", "7.5", "22", "120"), (4, "4.5", "14", "100"), ("child", "5", "15", "100"), (1, "4", "15", "100")],
)
def test_a_childs_figures_start_where_a_childs_do(age: object, size: str, depth: str, pressure: str) -> None:
    """Size: age/4 + 3.5, depth: age/2 + 12 (sources stand with `ett_cuffed_id_mm`, `ett_oral_depth_cm`: 2 to 14 years)."""
    room = (("case.open", {"procedure": "intubation", "age": age}), CREW, *GOES_IN)
    assert (start("size", "tube.passed", *room), start("depth", "tube.passed", *room)) == (size, depth)
    assert stepper(now(*room).state, "vitals", "sbp").start == pressure


def test_a_childs_mask_airway_starts_at_its_weight() -> None:
    """Size 2 from 10 to 20 kg (source stands with `lma_size`)."""
    room = (("case.open", {"procedure": "intubation", "age": 4, "weight_kg": 16}), CREW, *GOES_IN)
    assert start("size", "sga.in", *room) == "2"
    assert stepper(now(*room).state, "vent.set", "vt").start == "120"


def test_a_depth_starts_where_it_was_read_last() -> None:
    said = (*ROOM, ("tube.passed", {"depth": 24}), ("co2.yes", {}))
    assert start("depth", "tube.secured", *said) == "24"


def test_the_device_of_the_plan_stands_chosen_for_the_first_attempt_only() -> None:
    planned = (*ROOM, ("plan.set", {"A": "video+bougie 8.0"}))
    assert along("scope.start", *planned).given == {"device": "video", "op": "P2"}
    tried = (*planned, ("scope.start", {"n": 1}), ("scope.end", {"n": 1, "result": "no view"}))
    assert "device" not in along("scope.start", *tried).given


def test_only_people_in_the_room_can_have_made_an_attempt() -> None:
    (who,) = [one for one in along("scope.start", *ROOM).choices if one.name == "op"]
    assert who.options == (("P2", "Bea"),)


def test_a_word_that_stands_chosen_is_marked_and_is_in_the_tap() -> None:
    said = (*ROOM, ("preox.start", {}), ("drug.given", {"class": "induction"}), ("drug.given", {"class": "relaxant"}))
    drawn = html("next", now(*said))
    assert 'class="say given"' in drawn
    assert "&#34;op&#34;: &#34;P2&#34;" in drawn


def test_a_drug_is_chosen_from_the_departments_list_and_its_dose_starts_at_nothing() -> None:
    said = (*ROOM, ("preox.start", {}))
    drawn = html("next", now(*said))
    assert 'data-value="ketamine"' in drawn
    assert 'data-name="dose" data-value="0"' in drawn
    assert 'data-unit="mg"' in drawn
    again = html(
        "next", now(*said, ("drug.given", {"class": "induction", "drug": "ketamine", "dose": 70, "unit": "mg"}))
    )
    assert 'data-value="rocuronium"' in again
    assert 'data-value="ketamine"' not in again


def test_a_group_given_in_two_units_has_a_stepper_for_each_that_names_its_drugs() -> None:
    case = now(*ROOM, ("drug.given", {"class": "vasopressor", "drug": "ephedrine", "dose": 6, "unit": "mg"}))
    pressor = next(m for m in inside_milestones(case) if m.body.get("class") == "vasopressor")
    found = {one.said_unit: one for one in details(case, pressor).steppers}
    assert found["mg"].only_for == ("ephedrine",)
    assert "noradrenaline" in found["micrograms"].only_for
    assert {one.name for one in found.values()} == {"dose"}
    assert (found["mg"].start, found["micrograms"].start) == ("6", "0")
    drawn = html("mend", case)
    assert 'data-unit="mg"' in drawn
    assert 'data-unit="micrograms"' in drawn
    assert drawn.count('id="mend-set_dose-') == 2
