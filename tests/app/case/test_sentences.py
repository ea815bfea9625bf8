"""A sentence for every kind: words with named places, people by id for whoever shows it to name."""

from __future__ import annotations

import re

import pytest

from app.case.happening import Happening
from app.case.sentences import SENTENCES, UNITS, details, sentence, unit_of
from app.case.vocabulary.registry import KINDS, fields_of
from tests.app.case.telling import history_of, moment, told


def _h(line: str) -> Happening:
    (h,) = history_of(told(f"01:00 {line}")).values()
    return h


def _said(line: str) -> str:
    one = sentence(_h(line))
    return one.message % one.params


def test_every_kind_has_a_sentence_of_its_own_and_no_other_is_there() -> None:
    assert SENTENCES.keys() == KINDS.keys()
    assert len(set(SENTENCES.values())) == len(SENTENCES)


@pytest.mark.parametrize("kind", sorted(SENTENCES))
def test_a_sentence_names_only_fields_that_its_kind_has(kind: str) -> None:
    places = set(re.findall(r"%\((\w+)\)s", SENTENCES[kind]))
    assert places <= (fields_of(kind) | ({"roles"} if kind == "role.assign" else set()))
    assert "%" not in re.sub(r"%\(\w+\)s", "", SENTENCES[kind])


def test_sentences_read_as_a_colleague_would_say_them() -> None:
    assert _said("room.in p=P1") == "P1 goes in"
    assert _said("drug.given class=induction; drug=x") == "Drug given: induction"
    assert _said("role.assign AO=P1; TL=P3") == "Roles given: AO P1, TL P3"
    assert _said("local.done name=blood bank told") == "blood bank told"


def test_what_was_left_open_reads_as_a_dash_not_as_no() -> None:
    assert _said("scope.end n=1") == "Attempt 1 over: –" or _said("scope.end n=1") == "Attempt 1.0 over: –"
    assert _said("comms.test channel=voice") == "Door link tested: –"


def test_people_are_told_apart_from_words() -> None:
    assert sentence(_h("check.done phase=don; checker=P5; subject=P1; result=pass")).people == {"checker", "subject"}
    assert sentence(_h("role.handover role=TL; from=P3; to=P6")).people == {"to"}
    assert sentence(_h("item.move item=bougie; from=door; to=room")).people == frozenset()
    assert {d.field: d.person for d in details(_h("scope.start n=1; device=video; op=P1"))} == {
        "device": False,
        "op": True,
    }


def test_a_percent_sign_in_what_was_said_is_only_text() -> None:
    assert _said("note text=100%s oxygen") == "Note: 100%s oxygen"


def test_a_kind_of_a_later_version_is_named_as_it_is() -> None:
    h = Happening("x", "tea.made", moment("01:00"), None, "inside", 1, None, None, {})
    assert (sentence(h).message % sentence(h).params, details(h)) == ("tea.made", ())


@pytest.mark.parametrize(
    ("line", "field", "value", "unit"),
    [
        ("cuff.up cuff=26", "cuff", 26, "cmH2O"),
        ("cuff.up cuff=soft", "cuff", "soft", ""),
        ("tube.passed size=8.0; depth=22", "size", 8.0, "mm"),
        ("tube.passed size=8.0; depth=22", "depth", 22, "cm"),
        ("sga.in size=4", "size", 4, ""),
        ("o2.check flow=felt", "flow", "felt", ""),
        ("o2.check flow=10", "flow", 10, "L/min"),
        ("tr.trial from=98; to=93", "to", 93, "%"),
        ("drug.given class=induction; dose=70; unit=mg", "dose", 70, "mg"),
        ("vent.set fio2=0.8", "fio2", 0.8, ""),
        ("kit.staged tray=clean; missing=clamp,filter", "missing", "clamp, filter", ""),
    ],
)
def test_figures_carry_the_unit_of_the_vocabulary(line: str, field: str, value: object, unit: str) -> None:
    (found,) = [d for d in details(_h(line)) if d.field == field]
    assert (found.value, found.unit) == (value, unit)


def test_details_say_what_the_sentence_does_not_and_nothing_that_was_not_said() -> None:
    assert [d.field for d in details(_h("vitals spo2=94; hr=100"))] == ["spo2", "hr"]
    assert [d.field for d in details(_h("drug.given class=induction; dose=70; unit=mg; note=slow"))] == ["note", "dose"]
    assert details(_h("room.in p=P1")) == ()
    assert [d.field for d in details(_h("role.assign AO=P1; note=late"))] == ["note"]


def test_every_unit_belongs_to_a_field_that_some_kind_has() -> None:
    assert UNITS.keys() <= {field for kind in KINDS for field in fields_of(kind)}
    assert unit_of("vitals", "spo2") == "%"


def test_a_correction_that_names_another_person_says_that_it_is_one() -> None:
    people = {one.field: one.person for one in details(_h("tap.fix ref=x; set_p=P2; set_spo2=91; why=wrong name"))}
    assert (people["set_p"], people["set_spo2"]) == (True, False)
