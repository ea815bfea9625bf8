"""The partner's page: who is between two stages, the step that is read now, and the taps that answer it."""

from app.live.views.coach import Coaching, CoachView
from app.live.views.partners import OWN_TIMES, PLANNED, wear
from tests.app.live.views.scene import CREW, OPEN, Said, after, now, offered, words

DRESS = ("don.start", {"p": "P2", "ens": "airborne"})
LOOK = ("check.start", {"phase": "don", "checker": "P3", "subject": "P2"})
OUT = (("room.in", {"p": "P2"}), ("room.out", {"p": "P2"}))
OFF = ("doff.start", {"p": "P2", "checker": "P3"})
ENHANCED = ("case.open", {"ref": "C1", "procedure": "intubation", "precaution": "enhanced", "age": "adult"})
OBSERVED = ("role.assign", {"TL": "P1", "AO": "P2", "DR": "P3", "PO": "P4"})


def right(step: str) -> Said:
    return ("local.done", {"name": f"dressing right: {step}", "value": "P2"})


def coached(*said: Said, name: str = "Bea") -> Coaching:
    return next(one for one in CoachView.of([now(*said)]).people if one.name == name)


def test_those_who_have_still_to_dress_stand_apart_from_those_who_are_at_it() -> None:
    view = CoachView.of([now(OPEN, CREW, DRESS)])
    assert [one.name for one in view.people] == ["Bea"]
    assert [[offer.label for offer in taps] for _, taps in view.waiting] == [["Ada"]]


def test_dressing_is_read_in_the_order_of_the_ensemble_one_step_at_a_time() -> None:
    said: list[Said] = [OPEN, CREW, DRESS, LOOK]
    for step in ("hands", "gown"):
        one = coached(*said)
        assert one.now is not None
        assert one.now.code == step
        assert one.taps.right is not None
        assert one.taps.right.body == {"name": f"dressing right: {step}", "value": "P2"}
        said.append(right(step))
    assert coached(*said).place == 3


def test_at_the_respirator_the_answer_is_whether_the_seal_holds() -> None:
    one = coached(OPEN, CREW, DRESS, LOOK, right("hands"), right("gown"))
    assert one.taps.right is not None
    assert (one.taps.right.kind, one.taps.right.body["result"]) == ("seal.check", "pass")
    after_it = coached(
        OPEN, CREW, DRESS, LOOK, right("hands"), right("gown"), ("seal.check", {"p": "P2", "result": "pass"})
    )
    assert after_it.now is not None
    assert after_it.now.code == "cap"


def test_a_fault_is_one_tap_that_names_the_step_and_needs_no_reason() -> None:
    said = (OPEN, CREW, DRESS, LOOK, right("hands"))
    (fault,) = [offer for offer in coached(*said).taps.wrong if offer.kind == "check.done"]
    assert (fault.body["result"], fault.body["fault"]) == ("fail", "gown")
    assert coached(*said, ("check.done", fault.body)).fault == "gown"
    again = coached(*said, ("check.done", fault.body), LOOK)
    assert again.fault == ""
    assert again.now is not None
    assert again.now.code == "gown", "what was right before stays right"


def test_a_new_dressing_begins_at_the_first_step() -> None:
    one = coached(OPEN, CREW, DRESS, LOOK, right("hands"), DRESS)
    assert one.now is not None
    assert one.now.code == "hands"


def test_the_whole_check_can_be_passed_without_its_steps() -> None:
    kinds = [(offer.kind, offer.body.get("result")) for offer in coached(OPEN, CREW, DRESS, LOOK).taps.next]
    assert ("check.done", "pass") in kinds
    assert ("seal.check", "pass") in kinds


def test_one_check_at_a_time_says_with_whom_the_partner_is() -> None:
    other = ("don.start", {"p": "P1", "ens": "airborne"})
    assert coached(OPEN, CREW, DRESS, LOOK, other, name="Ada").waits_for == ("Bea",)
    assert coached(OPEN, CREW, DRESS, LOOK, other).waits_for == ()
    assert "Cy is with Bea" in words("coach", now(OPEN, CREW, DRESS, LOOK, other))


def test_a_partner_who_is_busy_at_another_door_is_known_to_be() -> None:
    elsewhere = now(OPEN, CREW, ("don.start", {"p": "P4", "ens": "airborne"}),
                    ("check.start", {"phase": "don", "checker": "P3", "subject": "P4"}), case="B", room="Room 5")  # fmt: skip
    people = CoachView.of([now(OPEN, CREW, DRESS), elsewhere]).people
    assert next(one for one in people if one.name == "Bea").waits_for == ("Dot",)


def test_nobody_is_their_own_partner() -> None:
    one = coached(OPEN, ("role.assign", {"DR": "P2"}), DRESS)
    assert one.reads is None
    assert {offer.kind for offer in one.taps.next} == {"room.in"}


def test_whoever_came_out_and_wears_equipment_needs_somebody_first() -> None:
    other = ("don.start", {"p": "P1", "ens": "airborne"})
    view = CoachView.of([now(OPEN, CREW, DRESS, *OUT, other)])
    assert [(one.name, one.stage) for one in view.people] == [("Bea", "out"), ("Ada", "donning")]
    assert [offer.kind for offer in view.people[0].taps.next] == ["doff.start"]


def test_undressing_is_read_step_by_step_with_its_place() -> None:
    said: list[Said] = [OPEN, CREW, DRESS, *OUT, OFF]
    seen = []
    while (one := coached(*said)).now is not None:
        assert one.taps.right is not None
        seen.append((one.now.code, one.now.place))
        said.append(("doff.step", one.taps.right.body))
    assert seen[0] == ("outer_gloves", "in the anteroom")
    assert seen[-2] == ("respirator", "outside, door shut")
    assert [offer.kind for offer in one.taps.next] == ["doff.done"]


def test_a_step_that_came_too_early_is_one_tap() -> None:
    one = coached(OPEN, CREW, DRESS, *OUT, OFF)
    gown = next(offer for offer in one.taps.early if offer.body["step"] == "gown")
    assert gown.body == {"p": "P2", "step": "gown", "order": "wrong"}
    later = coached(OPEN, CREW, DRESS, *OUT, OFF, ("doff.step", gown.body))
    assert [step.code for step in later.steps if step.done] == ["gown"]
    assert later.now is not None
    assert later.now.code == "outer_gloves"


def test_undressing_that_begins_inside_leads_out_of_the_room_before_it_ends() -> None:
    contact = ("don.start", {"p": "P2", "ens": "contact"})
    one = coached(OPEN, CREW, contact, ("room.in", {"p": "P2"}), OFF)
    assert one.now is not None
    assert one.now.place == "inside the room"
    assert [offer.kind for offer in one.taps.next] == ["room.out"]


def test_somebody_who_undresses_alone_is_said_to_and_anybody_can_be_named() -> None:
    one = coached(OPEN, CREW, DRESS, *OUT, ("doff.start", {"p": "P2"}))
    assert one.taps.next[0].kind == "check.start"
    assert one.taps.other is not None
    assert "checker" not in one.taps.other.body
    nobody = now(OPEN, ("role.assign", {"AO": "P2"}), DRESS, *OUT, ("doff.start", {"p": "P2"}))
    assert "Nobody is there to help" in words("coach", nobody)


def test_a_partner_who_is_with_somebody_is_not_offered_to_help_a_second_one() -> None:
    other = (("don.start", {"p": "P1", "ens": "airborne"}), ("room.in", {"p": "P1"}), ("room.out", {"p": "P1"}))
    one = coached(OPEN, CREW, DRESS, *OUT, OFF, *other, ("doff.start", {"p": "P1"}), name="Ada")
    assert "check.start" not in [offer.kind for offer in one.taps.next]
    assert one.taps.other is not None


def test_the_observer_reads_and_keeps_hands_off_while_somebody_else_helps() -> None:
    dress = ("don.start", {"p": "P2", "ens": "enhanced"})
    one = coached(ENHANCED, OBSERVED, dress, *OUT)
    assert one.reads is not None
    assert one.helps is not None
    assert (one.reads.name, one.helps.name) == ("Dot", "Cy")
    assert one.taps.next[0].body["checker"] == "P3"
    assert "Cy helps · Dot reads, hands off" in words("coach", now(ENHANCED, OBSERVED, dress, *OUT))


def test_two_who_would_undress_in_one_place_are_said_to() -> None:
    other = (("don.start", {"p": "P1", "ens": "airborne"}), ("room.in", {"p": "P1"}), ("room.out", {"p": "P1"}))
    assert "Bea undresses there: one at a time" in words("coach", now(OPEN, CREW, DRESS, *OUT, OFF, *other))


def test_a_crew_on_the_way_with_a_patient_is_not_asked_to_undress() -> None:
    walks = (OPEN, CREW, DRESS, ("room.in", {"p": "P2"}), ("room.out", {"p": "P2", "tx": "yes"}))
    assert CoachView.of([now(*walks)]).people == ()
    assert [one.stage for one in CoachView.of([now(*walks, ("tx.accept", {"by": "ICU"}))]).people] == ["out"]


def test_a_breach_is_one_tap_and_may_be_told_in_words() -> None:
    assert offered("coach", now(OPEN, CREW, DRESS, *OUT, OFF)).count("breach") == 2


def test_nobody_on_the_way_is_said() -> None:
    assert "Nobody is on the way in or out." in words("coach", now(OPEN))
    assert "Nobody is on the way in or out." in words("coach")


def test_the_relief_starts_to_dress_before_the_limit_by_the_longest_time_of_this_case() -> None:
    check = ("check.done", {"phase": "don", "checker": "P3", "subject": "P2", "result": "pass"})
    case = now(OPEN, CREW, DRESS, LOOK, check, ("room.in", {"p": "P2"}))
    plan = wear(case, case.person("P2"))
    assert plan is not None
    assert (plan.limit_min, plan.out_by, plan.dress_s, plan.known_from) == (120, after(20 + 7200), 20, OWN_TIMES)
    assert plan.relief_from == after(7200)


def test_without_a_time_of_its_own_the_procedures_figure_stands_and_says_so() -> None:
    case = now(OPEN, CREW, DRESS, ("room.in", {"p": "P2"}))
    plan = wear(case, case.person("P2"))
    assert plan is not None
    assert plan.known_from == PLANNED
    assert plan.dress_s == 300


def test_what_has_no_limit_has_no_plan() -> None:
    case = now(OPEN, CREW, ("don.start", {"p": "P2", "ens": "contact"}), ("room.in", {"p": "P2"}))
    assert wear(case, case.person("P2")) is None
    assert wear(case, case.person("P1")) is None
