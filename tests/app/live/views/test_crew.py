"""The people of a case, and the tap that brings each one stage on."""

from app.live.views import crew
from tests.app.live.views.scene import CREW, OPEN, after, now, words

DRESS = ("don.start", {"p": "P2", "ens": "airborne"})
CHECK = {"phase": "don", "checker": "P3", "subject": "P2"}
GO = [
    (("room.in", {"p": "P2"}), "room.out"), (("room.out", {"p": "P2"}), "doff.start"),
    (("doff.start", {"p": "P2"}), "doff.done"), (("doff.done", {"p": "P2"}), "don.start"),
]  # fmt: skip


def member(*said: object, name: str = "Bea"):  # type: ignore[no-untyped-def]
    case = now(*said)  # type: ignore[arg-type]
    return next(crew.member(case, person) for person in case.crew if person.name == name)


def test_working_names_and_roles_stand_there_and_no_id() -> None:
    text = words("rooms", now(OPEN, CREW))
    assert "Bea" in text
    assert "P2" not in text


def test_each_tap_leads_to_the_next_stage() -> None:
    said = [OPEN, CREW, DRESS]
    for step, then in GO:
        said.append(step)
        assert then in [offer.kind for offer in member(*said).taps]


def test_going_in_unchecked_can_be_tapped_too() -> None:
    for said in ((OPEN, CREW), (OPEN, CREW, DRESS)):
        assert "room.in" in [offer.kind for offer in member(*said).taps]


def test_a_person_is_looked_over_by_somebody_else_before_it_can_be_right_or_not() -> None:
    offers = [offer for offer in member(OPEN, CREW, DRESS).taps if offer.kind == "check.start"]
    assert [offer.body["checker"] for offer in offers] == ["P3"]
    results = [
        offer.body.get("result")
        for offer in member(OPEN, CREW, DRESS, ("check.start", CHECK)).taps
        if offer.kind == "check.done"
    ]
    assert results == ["pass", "fail"]


def test_nobody_checks_themselves() -> None:
    said = (OPEN, ("role.assign", {"DR": "P3"}), ("don.start", {"p": "P3", "ens": "airborne"}))
    assert "check.start" not in [offer.kind for offer in member(*said, name="Cy").taps]


def test_since_when_somebody_wears_equipment_is_known() -> None:
    assert member(OPEN, CREW, DRESS).worn_since == after(20)
    assert member(OPEN, CREW).worn_since is None
