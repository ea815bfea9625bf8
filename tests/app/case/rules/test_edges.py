"""Edges of single rules that the examples do not reach."""

from __future__ import annotations

import pytest


@pytest.mark.parametrize(
    ("roles", "said"),
    [
        ("AA=P1", True),
        ("TL=P1", False),
        ("DR=P2", True),
        ("PO=P5", True),
        ("CA=P5", False),
        ("OR=P4", True),
        ("SO=P4", True),
    ],
)
def test_which_roles_clash(judge_case, roles, said):
    judged = judge_case(f"00:30 | CA | role.assign | {roles}")
    assert bool(judged.of("R04")) is said


def test_taking_a_role_inside_ends_standing_by(judge_case):
    assert judge_case("00:30 | CA | role.assign | SO=P6\n00:40 | CA | role.assign | FN=P6").live == []


def test_a_role_inside_counts_beside_one_outside(judge_case):
    judged = judge_case(
        "00:30 | CA | role.assign | FN=P8; OR=P8", staff="staff | P8 | job=doctor; resp=tight:K2; drill=2026-05-01"
    )
    assert judged.live == ["00:30 R04 W P8", "00:30 R05 W P8"]


def test_each_person_of_one_assignment_is_named(judge_case):
    judged = judge_case(
        "00:30 | CA | role.assign | AO=P8; AA=P7",
        staff=(
            "staff | P8 | resp=tight:K2; drill=2026-05-01\n"
            "staff | P7 | resp=tight:M1; fit=K2:2026-05-01; drill=2026-05-01"
        ),
    )
    assert judged.live == ["00:30 R05 W P7", "00:30 R05 W P8"]


def test_a_fit_test_dated_after_the_day_proves_nothing_yet(judge_case):
    judged = judge_case(
        "00:30 | CA | role.assign | SO=P8", staff="staff | P8 | resp=tight:K2; fit=K2:2026-11-04; drill=2026-05-01"
    )
    assert judged.live == ["00:30 R05 W P8"]


def test_days_are_counted_by_the_hospitals_calendar(judge_case):
    # 00:30 in Auckland on 4 November is still 3 November in UTC: 366 days after the test, not 365
    staff = "staff | P8 | resp=tight:K2; fit=K2:2025-11-03; drill=2026-05-01"
    lines = "00:30 | CA | role.assign | SO=P8"
    assert judge_case(lines, staff=staff, extra="t0=23:50; date=2026-11-03").live == []
    assert judge_case(lines, staff=staff, extra="t0=00:10; date=2026-11-04; tz=Pacific/Auckland").live == [
        "00:30 R05 W P8"
    ]


def test_the_shift_change_is_read_on_the_hospitals_clock(judge_case):
    lines = "06:00 | DOC | drug.given | class=induction"
    near = judge_case(lines, start="inside", extra="shift_end=10:30; tz=Asia/Tokyo")
    assert near.of("R13") == ["06:00 R13 W"]
    assert near.notices[0].params["minutes"] == 24


def test_the_shift_change_nearest_to_the_step_may_be_tomorrows(judge_case):
    judged = judge_case("06:00 | DOC | drug.given | class=induction", start="inside", extra="t0=23:40; shift_end=00:10")
    assert judged.of("R13") == ["06:00 R13 W"]


@pytest.mark.parametrize(
    "step", ["drug.given | class=induction", "ext.out | cuff=deflated", "tr.incise | p=P1", "tx.depart | filter=yes"]
)
def test_each_airway_step_is_one(judge_case, step):
    judged = judge_case(f"06:00 | DOC | {step}", start="")
    assert [line for line in judged.live if line[6:9] in ("R09", "R27", "R40")] == [
        "06:00 R09 W", "06:00 R27 C", "06:00 R40 W",
    ]  # fmt: skip


@pytest.mark.parametrize("no_step", ["drug.given | class=relaxant", "br.in | scope=single-use", "vent.hold | why=x"])
def test_what_is_no_airway_step(judge_case, no_step):
    judged = judge_case(f"06:00 | DOC | {no_step}", start="")
    assert [line for line in judged.live if line[6:9] in ("R09", "R40")] == []


def test_the_airway_step_is_the_first_of_them_only(judge_case):
    judged = judge_case("06:00 | DOC | tx.depart | filter=yes\n07:00 | DOC | drug.given | class=induction", start="")
    assert judged.of("R09") == ["06:00 R09 W"]


def test_going_in_ends_the_look_at_the_dressing(judge_case):
    judged = judge_case(
        "01:55 | DR | check.start | phase=don; checker=P5; subject=P1\n02:00 | DOC | room.in | p=P1\n"
        "02:10 | DR | check.start | phase=don; checker=P5; subject=P2",
        start="dressed",
    )
    assert judged.of("R16") == []


def test_a_partner_who_was_there_before_undressing_began_is_there(judge_case):
    judged = judge_case(
        "50:00 | DOC | room.out | p=P1\n50:05 | DR | check.start | phase=doff; checker=P5; subject=P1\n"
        "50:10 | DR | doff.start | p=P1\n54:00 | DR | doff.done | p=P1",
        start="inside",
    )
    assert judged.live == []


@pytest.mark.parametrize("exposure", ["09:59 | CA | exposure.open | p=P1", "30:00 | CA | exposure.open | p=P2"])
def test_an_exposure_of_another_person_or_from_before_does_not_follow_up(judge_case, exposure):
    judged = judge_case(f"10:00 | DOC | breach | p=P1\n{exposure}\n70:00 | CA | note | text=later", start="inside")
    assert judged.of("R23") == ["70:00 R23 W P1"]


def test_leaving_again_resolves_what_was_said_at_the_door(judge_case):
    judged = judge_case(
        "02:00 | DOC | room.in | p=P8\n02:30 | DOC | room.out | p=P8",
        start="planned",
        extra="immune_needed=measles",
        staff="staff | P8 | resp=tight:K2; drill=2026-05-01",
    )
    ends = {life.notice.rule: life for life in judged.lives if life.notice.subject == "P8"}
    assert set(ends) == {"R05", "R07", "R14", "R17", "R18"}
    assert all(
        (life.resolved - life.notice.at).total_seconds() == pytest.approx(30, abs=0.01) for life in ends.values()
    )


def test_while_they_stay_inside_it_is_not_resolved(judge_case):
    judged = judge_case("02:00 | DOC | room.in | p=P1\n02:30 | DOC | note | text=x", start="planned")
    assert {life.notice.rule for life in judged.lives if life.end is None} >= {"R14", "R17", "R18"}


def test_a_check_through_the_window_resolves_the_missing_check(judge_case):
    judged = judge_case(
        "02:00 | DOC | room.in | p=P3\n02:40 | DR | check.done | phase=don; checker=P5; subject=P3; result=pass",
        start="planned",
    )
    assert judged.life("R14").end == "resolved"
    assert judged.life("R18").end is None


def test_the_clamps_off_resolves_the_clamp_left_on(judge_case):
    judged = judge_case(
        "10:00 | DOC | clamp.on\n10:01 | DOC | circuit.off\n10:05 | DOC | circuit.on\n10:30 | DOC | clamp.off",
        start="intubated",
    )
    assert judged.life("R37").end == "resolved"
    before = judge_case(
        "10:00 | DOC | clamp.on\n10:01 | DOC | circuit.off\n10:05 | DOC | circuit.on\n10:30 | DOC | note | text=x",
        start="intubated",
    )
    assert before.life("R37").end is None


def test_a_reading_of_something_else_resolves_no_dip(judge_case):
    judged = judge_case(
        "10:00 | DOC | vitals | spo2=85\n10:10 | DOC | vitals | hr=100\n10:20 | DOC | vitals | spo2=89", start="induced"
    )
    assert judged.life("R28").end is None


def test_a_count_that_matches_but_names_something_lost_resolves_nothing(judge_case):
    judged = judge_case(
        "10:00 | DOC | count.done | expected=9; found=8\n10:30 | DOC | count.done | expected=9; found=9; lost=swab",
        start="inside",
    )
    assert [life.end for life in judged.lives] == [None, None]


@pytest.mark.parametrize(("sbp", "severity"), [(65, "W"), (64.9, "C")])
def test_sixty_five_itself_is_not_critical(judge_case, sbp, severity):
    judged = judge_case(f"10:00 | DOC | vitals | sbp={sbp}", start="induced")
    assert judged.of("R39") == [f"10:00 R39 {severity}"]


@pytest.mark.parametrize(("spo2", "severity"), [(80, "W"), (79, "C")])
def test_eighty_itself_is_not_critical(judge_case, spo2, severity):
    assert judge_case(f"10:00 | DOC | vitals | spo2={spo2}", start="induced").of("R28") == [f"10:00 R28 {severity}"]


def test_a_patient_who_began_low_is_critical_once_while_below_eighty(judge_case):
    judged = judge_case(
        "02:10 | DOC | vitals | spo2=78\n02:20 | DOC | drug.given | class=induction\n03:00 | DOC | vitals | spo2=76\n"
        "03:30 | DOC | vitals | spo2=77\n04:00 | DOC | vitals | spo2=72\n05:00 | DOC | vitals | spo2=80\n"
        "06:00 | DOC | vitals | spo2=79",
        start="inside",
    )
    assert judged.of("R28") == ["03:00 R28 C", "06:00 R28 C"]


@pytest.mark.parametrize(
    ("extra", "vt", "said"),
    [
        # 50 + 0.91 x (175 - 152.4) = 70.566 kg (ARDS Network 2000), times 8 = 564.5 mL
        ("pbw=na; sex=M; height_cm=175", 564, False),
        ("pbw=na; sex=M; height_cm=175", 565, True),
        ("pbw=60; sex=M; height_cm=175", 481, True),
        ("pbw=na; sex=M", 900, False),
        ("pbw=na; height_cm=175", 900, False),
        ("pbw=na; sex=M; height_cm=900", 900, False),
        ("pbw=na; sex=M; height_cm=130; age=9", 900, False),
    ],
)  # fmt: skip
def test_the_tidal_volume_is_held_to_the_predicted_weight_as_told_or_worked_out(judge_case, extra, vt, said):
    assert bool(judge_case(f"10:00 | DOC | vent.set | vt={vt}", start="inside", extra=extra).of("R38")) is said


def test_a_tube_size_given_in_words_is_read(judge_case):
    judged = judge_case(
        "07:00 | DOC | scope.start | n=1\n07:30 | DOC | tube.passed | size=4.0 cuffed",
        start="induced",
        extra="age=6; weight_kg=20",
    )
    (notice,) = [notice for notice in judged.notices if notice.rule == "R57"]
    assert (notice.params["size"], notice.params["expected"]) == (4.0, 5.0)


def test_proof_of_the_old_tube_does_not_prove_the_new_one(judge_case):
    judged = judge_case(
        "10:00 | DOC | co2.yes | site=oral\n10:10 | DOC | tr.tube_in | size=8\n10:20 | DOC | co2.yes | site=oral\n"
        "10:30 | DOC | tube.out | what=oral",
        start="inside",
        extra="procedure=tracheostomy",
    )
    assert judged.of("R55") == ["10:30 R55 C"]


@pytest.mark.parametrize("what", ["tracheostomy tube", "old trachy"])
def test_only_the_oral_tube_is_meant(judge_case, what):
    judged = judge_case(f"10:30 | DOC | tube.out | what={what}", start="inside", extra="procedure=tracheostomy")
    assert judged.of("R55") == []


def test_the_kit_for_putting_a_tube_back_belongs_to_extubations_only(judge_case):
    assert judge_case("12:00 | DOC | ext.out | cuff=deflated").of("R56") == []


def test_a_stay_that_was_tapped_twice_is_one_entry(judge_case):
    judged = judge_case("02:00 | DOC | room.in | p=P3\n02:40 | DOC | room.in | p=P3", start="planned")
    assert judged.of("R14") == ["02:00 R14 C P3"]


def test_a_void_that_is_voided_lets_the_notice_stand_again(judge_case):
    lines = (
        "10:00 | DOC | breach | id=x; p=P1; grade=major\n10:10 | CA | exposure.open | p=P1\n"
        "10:30 | DOC | tap.void | id=y; ref=x\n"
    )
    assert judge_case(lines, start="inside").life("R24").end == "corrected"
    again = judge_case(lines + "10:40 | DOC | tap.void | ref=y", start="inside")
    assert again.life("R24").end is None
    assert again.live == ["10:00 R24 C P1"]


def test_a_tube_that_comes_out_twice_is_one_critical(judge_case):
    judged = judge_case(
        "12:00 | DOC | ext.out | cuff=deflated\n12:05 | DOC | ext.out | cuff=deflated", extra="procedure=extubation"
    )
    assert judged.of("R56") == ["12:00 R56 C"]


def test_a_seal_that_passes_inside_resolves_the_missing_one(judge_case):
    lines = "01:55 | DR | seal.check | p=P1; result=fail\n02:00 | DOC | room.in | p=P1\n02:20 | DOC | seal.check | p=P1; result={}"
    assert judge_case(lines.format("pass"), start="dressed").life("R17").end == "resolved"
    assert judge_case(lines.format("fail"), start="dressed").life("R17").end is None


def test_a_tube_whose_size_holds_no_figure_is_not_judged_by_size(judge_case):
    judged = judge_case(
        "07:00 | DOC | scope.start | n=1\n07:30 | DOC | tube.passed | size=small",
        start="induced",
        extra="age=6; weight_kg=20",
    )
    assert judged.of("R57") == []
