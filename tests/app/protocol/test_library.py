"""The protocols that come with Doorside: complete, sourced, and holding the figures of their sources."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest

from app.base.errors import Unknown
from app.base.kinds import IN_ROOM_ROLES, KINDS, OUTSIDE_ROLES, ROLES
from app.protocol.library import age_group, ensemble, ensembles, protocol_by_id, protocol_for, protocols, shared
from app.protocol.read import digest, from_plain, plain
from app.protocol.values import LookAhead, Protocol
from app.protocol.words import parse_match

ALL = [
    "bronchoscopy",
    "extubation",
    "intubation-adult",
    "intubation-child",
    "tracheostomy",
    "transport",
]
every = pytest.mark.parametrize("protocol", protocols(), ids=lambda protocol: protocol.id)


def test_all_six_procedures_are_there() -> None:
    assert [protocol.id for protocol in protocols()] == ALL


@pytest.mark.parametrize(
    ("procedure", "age", "wanted"),
    [
        ("intubation", "adult", "intubation-adult"),
        ("intubation", "child", "intubation-child"),
        ("intubation", "15.9", "intubation-child"),
        ("intubation", "16", "intubation-adult"),
        ("intubation", "", "intubation-adult"),
        ("transport", "child", "transport"),
        ("bronchoscopy", "adult", "bronchoscopy"),
    ],
)
def test_a_case_gets_the_protocol_of_its_procedure_and_age(procedure: str, age: str, wanted: str) -> None:
    assert protocol_for(procedure, age).id == wanted


def test_a_protocol_given_for_want_of_one_says_that_it_is_not_for_that_age() -> None:
    assert age_group("6") not in protocol_for("transport", "6").ages


def test_an_unknown_procedure_or_name_is_refused_with_the_known_ones() -> None:
    with pytest.raises(Unknown, match="intubation"):
        protocol_for("dialysis", "adult")
    with pytest.raises(Unknown, match="transport"):
        protocol_by_id("transprot")
    with pytest.raises(Unknown, match="airborne"):
        ensemble("airbourne")


def test_a_normal_intubation_has_its_next_steps_in_this_order() -> None:
    spine = [
        milestone.name
        for phase in protocol_for("intubation", "adult").phases
        if phase.id in ("airway", "settle")
        for milestone in phase.milestones
        if milestone.spine
    ]
    assert spine == [
        "room.in",
        "monitor.on capno=waveform",
        "preox.start",
        "drug.given class=induction",
        "drug.given class=relaxant",
        "scope.start",
        "tube.passed",
        "scope.end result=tube",
        "cuff.up",
        "vent.first",
        "co2.yes",
        "tube.secured",
        "vent.set",
        "agp.end",
        "count.done",
    ]


@pytest.mark.parametrize(
    ("protocol_id", "kinds"),
    [
        ("extubation", "ext.decide kit.staged room.in monitor.on ext.step ext.out o2.mask agp.end count.done"),
        (
            "transport",
            "plan.set o2.check route.clear vent.hold clamp.on circuit.off circuit.on clamp.off vent.resume "
            "tx.depart tx.arrive vent.hold tx.accept",
        ),
        (
            "tracheostomy",
            "monitor.on drug.given tr.trial tr.incise tr.ett vent.hold tr.open tr.tube_in cuff.up vent.first co2.yes "
            "tube.out agp.end count.done",
        ),
        ("bronchoscopy", "monitor.on local.done drug.given br.in br.out agp.end count.done"),
        ("intubation-child", "weight.set monitor.on preox.start drug.given scope.start cuff.up vent.first co2.yes"),
    ],
)
def test_each_variant_has_its_own_steps_in_the_order_of_the_job_map(protocol_id: str, kinds: str) -> None:
    spine = iter([m.kind for phase in protocol_by_id(protocol_id).phases for m in phase.milestones if m.spine])
    assert all(kind in spine for kind in kinds.split()), kinds  # each found behind the one before


@every
def test_every_kind_and_role_is_of_the_vocabulary(protocol: Protocol) -> None:
    for _, milestone in protocol.milestones():
        assert milestone.kind in KINDS
        assert milestone.by in ROLES
    for slot in protocol.roles:
        assert slot.role in ROLES


@every
def test_the_crew_has_the_roles_whose_gap_is_told(protocol: Protocol) -> None:
    required = {slot.role for slot in protocol.roles if slot.required}
    assert required >= {"TL", "AO", "AA", "DOC", "DR"}  # job map, R01
    for slot in protocol.roles:
        if slot.role in IN_ROOM_ROLES:
            assert slot.side == "inside"
        elif slot.role in OUTSIDE_ROLES:
            assert slot.side != "inside"


@every
def test_a_page_has_one_button_for_each_thing_that_can_happen(protocol: Protocol) -> None:
    labels = [milestone.label for phase in protocol.phases for milestone in phase.milestones if milestone.spine]
    assert len(set(labels)) == len(labels) or protocol.id == "transport"  # its changeover happens twice
    assert all(len(phase.requests) <= 12 for phase in protocol.phases)


@every
def test_the_next_steps_inside_need_no_typing(protocol: Protocol) -> None:
    asks_for_text = {"text", "why", "statement", "reason"}
    for _, milestone in protocol.milestones():
        if milestone.side == "inside" and milestone.spine:
            assert not asks_for_text & set(milestone.ask), milestone.name


@every
def test_every_stage_can_be_entered_and_left(protocol: Protocol) -> None:
    assert protocol.phases[0].begins[0].kind == "case.open"
    # judging.md: the phase is the protocol's stage; one set of words for all procedures
    assert [p.id for p in protocol.phases] == ["plan", "ready", "protect", "airway", "settle", "leave", "after"]
    for phase in protocol.phases:
        assert phase.begins
        assert any(milestone.spine for milestone in phase.milestones)


@every
def test_every_tray_has_its_kit_and_the_rescue_set_waits_at_the_door(protocol: Protocol) -> None:
    assert {tray.code for tray in protocol.kit} == {"clean", "soiled", "door"}
    clean, door = protocol.tray("clean"), protocol.tray("door")
    assert clean is not None
    assert door is not None
    vital = {item.code for item in clean.items if item.vital}
    assert vital == {"capnography", "suction", "oxygen"}  # job map, R10
    assert "fona" in {item.code for item in door.items}  # R40


def test_an_adult_intubation_needs_what_the_kit_rule_names() -> None:
    clean = protocol_for("intubation", "adult").tray("clean")
    assert clean is not None
    mandatory = {item.code for item in clean.items if item.mandatory}
    # job map, section 5, Kit: mandatory for R10
    assert mandatory == {
        *("capnography", "suction", "oxygen", "filter", "clamp"),
        *("syringe", "video", "tube", "bougie", "sga"),
    }


def test_extubation_keeps_the_reintubation_set_at_the_door() -> None:
    door = protocol_for("extubation", "adult").tray("door")
    assert door is not None
    assert "reintub" in {item.code for item in door.items if item.mandatory}  # R56


@every
def test_the_ladder_goes_from_a_to_d_and_every_critical_has_a_next_step(protocol: Protocol) -> None:
    steps = [step.step for step in protocol.rescue if step.step in ("A1", "A2", "B", "C", "D")]
    assert steps == ["A1", "A2", "B", "C", "D"]
    for number, rule in protocol.rules.items():
        if "C" in rule.levels.values():
            assert rule.next_step or protocol.answer_to(number), number


@every
def test_the_second_failure_offers_the_front_of_neck_set_in_one_tap(protocol: Protocol) -> None:
    found = protocol.next_after("scope.end", {"n": 2, "result": "no view"})
    assert found[0].offer == "Front-of-neck set"  # job map, R30
    assert protocol.next_after("scope.end", {"n": 2, "result": "tube"}) == ()


def test_of_two_look_aheads_the_more_specific_one_comes_first() -> None:
    general = LookAhead(parse_match("co2.yes"), (), "local default [L]")
    special = LookAhead(parse_match("co2.yes site=trachy"), (), "local default [L]")
    protocol = replace(protocol_for("tracheostomy", "adult"), look_ahead=(general, special))
    assert protocol.next_after("co2.yes", {"site": "trachy"}) == (special, general)
    assert protocol.next_after("co2.yes", {}) == (general,)


def test_a_milestone_fits_the_taps_that_carry_its_preset() -> None:
    induction = next(m for _, m in protocol_for("intubation", "adult").milestones() if m.label == "Induction given")
    assert induction.fits("drug.given", {"class": "induction", "drug": "ketamine"})
    assert not induction.fits("drug.given", {"class": "relaxant"})
    assert not induction.fits("vitals", {"class": "induction"})


def test_a_case_is_in_the_furthest_stage_begun_whatever_the_order_of_entries() -> None:
    protocol = protocol_for("intubation", "adult")
    happened: list[tuple[str, dict[str, object]]] = [("case.open", {})]
    assert protocol.phase_of([]).id == protocol.phase_of(happened).id == "plan"
    for kind, stage in (
        ("kit.staged", "ready"),
        ("don.start", "protect"),
        ("room.in", "airway"),
        ("co2.yes", "settle"),
        ("doff.done", "settle"),  # somebody relieved halfway ends nothing
        ("count.done", "leave"),
        ("debrief.start", "after"),
        ("vitals", "after"),
    ):
        happened.insert(0, (kind, {}))
        assert protocol.phase_of(happened).id == stage
    assert protocol_for("tracheostomy", "adult").phase_of([("co2.yes", {"site": "trachy"})]).id == "settle"


def test_the_ensembles_stand_from_least_to_most_protection() -> None:
    assert [item.code for item in ensembles()] == ["contact", "droplet", "airborne", "enhanced"]
    assert [item.level for item in ensembles()] == [1, 2, 3, 4]


def test_the_respirator_comes_off_outside_and_hands_are_cleaned_last() -> None:
    for code in ("airborne", "enhanced"):
        steps = ensemble(code).doffing
        respirator = next(step for step in steps if step.respirator)
        assert (respirator.place, respirator.partner) == ("outside", True)
    assert ensemble("airborne").doffing[-1].code == "hands_last"


def test_the_enhanced_ensemble_is_read_step_by_step_by_an_observer() -> None:
    enhanced = ensemble("enhanced")
    assert enhanced.observer
    assert all(step.partner for step in enhanced.donning)


def test_a_version_that_was_given_out_is_never_changed() -> None:
    """The digests of given-out versions. Whoever changes a protocol raises its version and adds a line."""
    given_out = json.loads(Path(__file__).with_name("digests.json").read_text("utf-8"))
    for protocol in protocols():
        assert given_out[protocol.id][str(protocol.version)] == digest(protocol), (
            f"{protocol.id} differs from its version {protocol.version}; give it the next version"
        )


@every
def test_a_stored_protocol_comes_back_the_same(protocol: Protocol) -> None:
    again = from_plain(json.loads(json.dumps(plain(protocol))))
    assert again == protocol
    assert digest(again) == digest(protocol)


def test_no_shared_part_lies_unused() -> None:
    folder = Path(__file__).parents[3] / "app" / "protocol" / "library"
    text = "\n".join(file.read_text("utf-8") for file in folder.rglob("*.yaml"))
    for name in shared().parts:
        assert f"use: {name}}}" in text or f"use: {name}\n" in text, name
