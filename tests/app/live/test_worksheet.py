"""The worksheet's rows: value with unit, source and caution; what is missing gives no number; rounded to the safe side."""

from __future__ import annotations

import pytest

from app.case.fold import Record
from app.live.cases import LiveCase
from app.live.now import CaseNow
from app.live.worksheet.curve import LEFT, WIDTH
from app.live.worksheet.drugs import Use
from app.live.worksheet.fields import GROUPS, NAMES, Given
from app.live.worksheet.figure import Figure
from app.live.worksheet.prefill import empty, from_case
from app.live.worksheet.sheet import Sheet
from tests.app.live.views.scene import entries, now

ADULT = {
    "sex": "M", "age_y": "50", "height_cm": "175", "weight_kg": "92.5", "current_fio2": "0.6", "current_peep": "10",
    "table": "lower", "ett_id_mm": "8", "threshold_spo2_pct": "93", "preox_eto2": "0.88", "apnoeic_oxygen": "none",
    "minutes": "25", "flow_l_min": "12", "safety_factor": "2", "cylinder_1_unit": "bar", "cylinder_1_gauge": "137",
    "cylinder_1_size": "2", "cylinder_2_unit": "psi", "cylinder_2_gauge": "1500", "cylinder_2_size": "E", "ach": "12",
    "efficiency_percent": "99.9", "mixing_factor": "3",
}  # fmt: skip
CHILD = {"age_y": "6", "weight_kg": "20", "height_cm": "115", "sex": "F"}


def sheet(*drugs: str, **texts: str) -> Sheet:
    """The sheet for what was typed, with some groups of drugs shown."""
    return Sheet.of(Given.of([*texts.items(), *(("drugs", group) for group in drugs)]))


def row(made: Sheet, key: str) -> Figure:
    return next(one for one in made.rows if one.key == key)


def use(made: Sheet, drug: str, said: str) -> Use:
    found = next(one for one in made.doses.drugs if one.name == drug)
    return next(one for one in found.uses if one.use == said)


def test_every_row_of_a_filled_sheet_carries_a_value_its_inputs_a_source_and_a_caution() -> None:
    made = sheet(**ADULT)
    assert made.waiting == 0
    for one in made.rows:
        assert all((one.value, one.source, one.formula, one.cautions, one.inputs, one.rounded)), one.key
        assert one.unit or one.key == "mask", one.key


def test_an_empty_sheet_holds_no_number_and_says_what_each_row_needs() -> None:
    made = Sheet.of(empty())
    assert made.worked_out == 0
    assert all(one.lacks and not one.beside for one in made.rows)
    assert made.doses.drugs == ()
    assert made.doses.lacks == ("Age",)
    assert made.curve is None


@pytest.mark.parametrize("left_out", sorted(ADULT))
def test_leaving_one_input_out_never_leaves_its_rows_a_number_of_their_own(left_out: str) -> None:
    made = sheet(**{name: text for name, text in ADULT.items() if name != left_out})
    full = {one.key: one.value for one in sheet(**ADULT).rows}
    for one in made.rows:
        if left_out == "sex" and one.whose:
            continue  # both sexes are shown, each named
        assumed = any("was not given" in warning for warning in one.warnings)
        assert one.value is None or one.value == full.get(one.key) or assumed, one.key


def test_predicted_body_weight_agrees_with_the_trial_paper_and_is_rounded_down() -> None:
    # ARDS Network, N Engl J Med 2000;342:1301: a man of 152.4 cm has 50.0 kg; 175 cm gives 70.566.
    assert row(sheet(sex="M", height_cm="152.4"), "pbw").value == "50"
    assert row(sheet(sex="M", height_cm="175"), "pbw").value == "70.5"


def test_weight_never_changes_the_tidal_volume() -> None:
    light, heavy = (row(sheet(**{**ADULT, "weight_kg": kg}), "tidal") for kg in ("50", "150"))
    assert light == heavy
    # 8, 7, 6, 5 and 4 mL/kg x 70.566 kg, rounded down
    assert [one.value for one in light.beside] == ["564", "493", "423", "352", "282"]


def test_without_a_sex_both_values_are_shown_and_none_is_chosen() -> None:
    made = sheet(height_cm="175")
    assert [(one.whose, one.value) for one in made.figures["patient"]] == [("if female", "66"), ("if male", "70.5")]


def test_a_predicted_weight_that_was_told_is_used_only_without_a_height() -> None:
    told = sheet(pbw_kg="58")
    assert (row(told, "pbw").value, row(told, "tidal").value) == ("58", "464")
    assert row(sheet(pbw_kg="58", sex="M", height_cm="175"), "pbw").value == "70.5"
    assert row(sheet(pbw_kg="580"), "pbw").value is None


def test_what_is_typed_with_a_decimal_comma_is_read_as_such_and_shown_as_it_was_read() -> None:
    weight = next(one for one in row(sheet(weight_kg="92,5"), "mask").inputs if one.label == "Weight")
    assert weight.value == "92.5"
    assert row(sheet(weight_kg="1,200"), "mask").value is None


@pytest.mark.parametrize("text", ["abc", "nan", "inf", "-5", "0", "1e9", "9" * 39, "175 cm"])
def test_what_is_no_possible_height_gives_a_sentence_and_no_number(text: str) -> None:
    one = row(sheet(sex="M", height_cm=text), "pbw")
    assert one.value is None
    assert one.refused.startswith("Height")


def test_a_percentage_typed_for_a_fraction_is_refused_not_guessed() -> None:
    made = sheet(**{**ADULT, "current_fio2": "60"})
    for key in ("peep", "step-up", "step-down"):
        assert row(made, key).value is None
        assert "FiO2" in row(made, key).refused


def test_the_peep_table_gives_its_combinations_and_the_next_step_each_way() -> None:
    # ARDS Network 2000, lower-PEEP table: 0.6/10, then 0.7/10; before it 0.5/10.
    made = sheet(**ADULT)
    assert row(made, "peep").value == "10"
    steps = [(row(made, key).value, row(made, key).beside[0].value) for key in ("step-up", "step-down")]
    assert steps == [("10", "0.7"), ("10", "0.5")]
    assert row(sheet(table="lower", current_fio2="0.7"), "peep").value == "10 / 12 / 14"
    assert row(sheet(table="higher", current_fio2="0.6"), "peep").value == "20"


def test_between_two_columns_of_the_peep_table_the_next_one_up_counts_and_is_said() -> None:
    one = row(sheet(table="lower", current_fio2="0.45"), "peep")
    assert one.value == "8 / 10"
    assert "0.5" in one.warnings[0]


def test_a_child_gets_tube_and_depth_by_age_and_no_adult_formula() -> None:
    # Motoyama (Duracher 2008): 6/4 + 3.5 = 5; age/2 + 12 = 15.
    made = sheet(**CHILD)
    assert (row(made, "tube-size").value, row(made, "depth").value) == ("5", "15")
    assert [one.value for one in row(made, "tube-size").beside] == ["4.5", "5.5"]
    assert row(made, "pbw").value is None
    assert "adults" in row(made, "tidal").refused


def test_a_suction_catheter_is_the_largest_below_half_the_lumen() -> None:
    # AARC 2010: 8.0 mm takes 12 Fr, 7.0 mm takes 10 Fr.
    assert [row(sheet(ett_id_mm=size), "suction").value for size in ("8", "7")] == ["12", "10"]


def test_clearance_is_rounded_up_and_its_mixing_factor_stands_beside_it() -> None:
    # CDC/HICPAC 2003, Table B.1: 12 ACH, 99.9 %: 35 min with perfect mixing (34.54).
    one = row(sheet(ach="12", efficiency_percent="99.9", mixing_factor="1"), "clearance")
    assert one.value == "35"
    assert ("mixing factor", "1") in [(each.label, each.value) for each in one.beside]
    assert row(sheet(ach="12", efficiency_percent="99.9", mixing_factor="3"), "clearance").value == "104"


@pytest.mark.parametrize("ach", ["", "unknown", "0"])
def test_an_unknown_rate_of_air_changes_stays_unknown(ach: str) -> None:
    assert row(sheet(ach=ach, efficiency_percent="99.9", mixing_factor="1"), "clearance").value is None


def test_oxygen_is_rounded_up_where_it_is_needed_and_down_where_it_is_had() -> None:
    made = sheet(**ADULT)
    assert row(made, "need").value == "600"  # 2 x 25 min x 12 L/min
    assert row(made, "cylinder-1").value == "274"  # 2 L x 137 bar
    assert row(made, "cylinder-2").value == "364"  # (1500 - 200) psi x 0.28 L/psi, US size E
    assert row(made, "lasts").value == "53"  # 638 / 12 = 53.17


def test_too_little_oxygen_is_said_in_litres() -> None:
    one = row(sheet(**{**ADULT, "minutes": "40"}), "need")
    assert [(each.label, each.value) for each in one.beside] == [("short by", "322")]
    assert one.warnings == ("322 L too little is on hand.",)


def test_a_cylinder_that_cannot_be_worked_out_is_not_left_out_of_the_sum() -> None:
    made = sheet(**{**ADULT, "cylinder_2_size": "Q"})
    assert row(made, "cylinder-2").refused
    assert row(made, "lasts").value is None
    assert row(made, "need").beside == ()


def test_the_apnoea_forecast_is_a_model_between_two_estimates_rounded_down_to_ten_seconds() -> None:
    made = sheet(**ADULT)
    one = row(made, "apnoea")
    assert "model" in one.rounded
    assert any("Never a countdown" in caution for caution in one.cautions)
    low, high = (each.value for each in one.beside)
    assert one.value is not None
    assert low < one.value < high
    assert all(text.endswith("0") for text in (low, one.value, high))


def test_the_curve_falls_from_left_to_right_down_to_the_threshold_and_lies_in_its_frame() -> None:
    curve = sheet(**ADULT).curve
    assert curve is not None
    points = [tuple(map(float, part.split())) for part in curve.path[1:].split(" L")]
    assert [x for x, _ in points] == sorted(x for x, _ in points)
    assert [y for _, y in points] == sorted(y for _, y in points)
    assert abs(points[-1][1] - curve.threshold_y) < 3
    assert LEFT <= curve.low_x < curve.high_x <= LEFT + WIDTH
    assert len(curve.drivers) == 3


def test_without_end_tidal_oxygen_the_forecast_asks_for_it() -> None:
    made = sheet(**{**ADULT, "preox_eto2": ""})
    assert row(made, "apnoea").value is None
    assert "End-tidal oxygen" in row(made, "apnoea").lacks[0]
    assert made.curve is None


def test_a_dose_names_the_weight_it_was_scaled_to_and_what_to_draw_up_rounded_down() -> None:
    # Janmahasatian 2005: 92.5 kg, 175 cm, a man: 64.9 kg lean; 2-2.5 mg/kg gives 129.8-162.3 mg.
    one = use(sheet("induction", **ADULT), "propofol", "induction under 55 years")
    assert (one.amount, one.unit, one.weight, one.scalar) == ("129–162", "mg", "64.9", "lean weight")
    assert one.volumes == (("10 mg/mL", "12–16"), ("20 mg/mL", "6.4–8.1"))


def test_a_dose_stops_at_its_cap_and_says_so() -> None:
    one = use(sheet("reversal", **{**ADULT, "weight_kg": "160"}), "neostigmine", "reversal")
    assert one.amount.endswith("–5")
    assert one.cap == "5 mg"


def test_small_doses_are_in_micrograms_spelled_out() -> None:
    made = sheet("induction", "pressure", **ADULT)
    units = {one.unit for drug in made.doses.drugs for one in drug.uses}
    assert units == {"mg", "micrograms"}


def test_every_dose_carries_its_source_its_grade_and_the_colour_of_its_label_in_words() -> None:
    made = sheet("induction", "relaxant", "reversal", "pressure", "other", **ADULT)
    assert len(made.doses.drugs) > 15
    for drug in made.doses.drugs:
        assert all((drug.source, drug.colour, drug.uses)), drug.name
        assert all(one.evidence and one.amount for one in drug.uses), drug.name
    assert "signed by your pharmacy" in made.doses.signed_by


def test_without_height_doses_by_actual_weight_stand_and_the_others_wait() -> None:
    made = sheet("induction", "relaxant", **{name: text for name, text in ADULT.items() if name != "height_cm"})
    assert use(made, "suxamethonium", "rapid sequence induction").amount
    waits = use(made, "propofol", "induction under 55 years")
    assert (waits.amount, waits.lacks) == ("", ("Height",))


def test_a_child_sees_only_what_the_list_gives_for_children() -> None:
    made = sheet("induction", "relaxant", "pressure", **CHILD)
    assert [(drug.name, [one.use for one in drug.uses]) for drug in made.doses.drugs] == [
        ("suxamethonium", ["infant or small child"]), ("atropine", ["bradycardia in a child"]),
    ]  # fmt: skip
    assert use(made, "suxamethonium", "infant or small child").amount == "40"


def test_age_counts_when_it_disagrees_with_adult_or_child_and_that_is_said() -> None:
    made = sheet(**{**CHILD, "who": "adult"})
    assert made.contradiction
    assert row(made, "pbw").value is None


def test_no_row_speaks_in_names_of_variables() -> None:
    for made in (sheet("induction", **ADULT), sheet(**{**ADULT, "height_cm": "3", "minutes": "", "preox_eto2": ""})):
        for one in made.rows:
            said = " ".join((one.refused, *one.lacks, *one.warnings, one.formula))
            assert not any(name in said for name in NAMES if "_" in name), said


def test_unknown_names_and_long_texts_of_a_form_do_no_harm() -> None:
    given = Given.of([("patient_name", "x"), ("height_cm", "1" * 5000)])
    assert given.texts == {"height_cm": "1" * 40}


def test_a_case_fills_in_what_its_record_says_and_leaves_the_rest_blank() -> None:
    case = now(
        ("case.open", {"ref": "C1", "procedure": "transport", "age": "adult", "weight_kg": 90, "tx_min": 25, "o2_lpm": 12}),
        ("weight.set", {"kg": 84}), ("plan.set", {"tube": 7.5}), ("vent.set", {"peep": 10, "fio2": 0.6}),
        ("o2.check", {"litres": 460, "flow": 12}),
    )  # fmt: skip
    given = from_case(case)
    assert {name: given.text(name) for name in ("who", "weight_kg", "ett_id_mm", "current_peep", "current_fio2", "minutes")} == {
        "who": "adult", "weight_kg": "84", "ett_id_mm": "7.5", "current_peep": "10", "current_fio2": "0.6", "minutes": "25",
    }  # fmt: skip
    assert (given.text("ach"), given.text("efficiency_percent"), given.text("mixing_factor")) == ("12", "99.9", "")
    assert (given.text("sex"), given.text("height_cm")) == ("", "")
    assert row(Sheet.of(given), "cylinder-1").value == "460"


def test_a_case_without_entries_gives_an_empty_sheet() -> None:
    live = LiveCase(Record.of("A", entries()))
    assert from_case(CaseNow.of("A", live)) == empty()


def test_every_field_stands_in_one_group_only() -> None:
    names = [field.name for fields in GROUPS.values() for field in fields]
    assert len(names) == len(set(names))
