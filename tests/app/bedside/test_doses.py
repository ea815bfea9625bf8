"""Formulary, slips by a thousand, and doses drawn up for one patient."""

from __future__ import annotations

import pytest

from app.base.calculation import find
from app.base.checks import Missing, NotUnderstood, OutOfRange
from app.base.errors import NotValid
from app.bedside.draw_up import Weighed, amounts, rounded_down
from app.bedside.formulary import Drug, read_formulary, shipped
from app.bedside.labels import COLOURS, label_class

ONE = """
format: 1
version: ours-3
signed_by: A. Pharmacist
drugs:
  - name: examplium
    label: opioid
    strengths: [50]
    strength_unit: micrograms/mL
    source: our own
    evidence: M
    doses:
      - {use: induction, low: 1, high: 3, unit: micrograms/kg, scalar: LBW, max: 250}
"""


def drug(name: str) -> Drug:
    found = shipped().find(name)
    assert found is not None
    return found


def test_the_shipped_list_says_that_nobody_has_signed_it() -> None:
    assert shipped().signed_by == "to be signed by your pharmacy"


def test_a_department_reads_its_own_list() -> None:
    own = read_formulary(ONE)
    assert (own.version, own.signed_by, own.drugs[0].colour) == ("ours-3", "A. Pharmacist", "blue")


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("low: 1", "low: 4", "low, usual and high"),
        ("low: 1", "low: -1", "low, usual and high"),
        ("micrograms/kg", "mcg/kg", "unit is 'mcg/kg'"),
        ("micrograms/mL", "m/mL", "strength_unit is 'm/mL'"),
        ("label: opioid", "label: blue", "label is 'blue'"),
        ("scalar: LBW", "scalar: XBW", "scalar is 'XBW'"),
        ("evidence: M", "evidence: Z", "evidence is 'Z'"),
        ("strengths: [50]", "strengths: []", "strengths must be"),
        ("source: our own", "colour: blue", "unknown field colour"),
        ("name: examplium", "name: ''", "needs a name"),
        ("format: 1", "format: 2", "format: 1"),
        ("drugs:", "drugs: [", "not readable as YAML"),
    ],
)
def test_a_list_that_could_hurt_is_refused_with_the_place(old: str, new: str, says: str) -> None:
    with pytest.raises(NotValid, match=says.replace("[", r"\[")):
        read_formulary(ONE.replace(old, new))


def test_a_drug_named_twice_is_refused() -> None:
    with pytest.raises(NotValid, match="more than once"):
        read_formulary(ONE + ONE.split("drugs:")[1])


def test_every_shipped_drug_has_source_mark_and_the_label_class_of_the_standard() -> None:
    for each in shipped().drugs:
        assert each.source, each.name
        assert each.label in COLOURS
        assert label_class(each.name) == each.label, each.name
        assert all(label_class(name) == each.label for name in each.also)


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("lidocaine 2%", "lidocaine"),
        ("phenylephrine", "phenylephrine ready-to-use"),
        ("phenylephrine 100 mcg/mL ready-to-use", "phenylephrine ready-to-use"),
        ("phenylephrine concentrate 10 mg/mL", "phenylephrine concentrate"),
        ("norepinephrine", "noradrenaline"),
        ("Succinylcholine", "suxamethonium"),
    ],
)
def test_a_drug_is_found_by_the_names_in_use(text: str, name: str) -> None:
    assert drug(text).name == name


def test_doses_are_scaled_capped_and_rounded_down() -> None:
    propofol = amounts(drug("propofol"), Weighed(140, 175, "M"))[0]
    # LBW 78.48 kg (Janmahasatian 2005): 2 mg/kg is 156.96 mg, 15.696 mL of 10 mg/mL
    assert (propofol.low, propofol.unit, propofol.scalar) == (156, "mg", "LBW")
    assert propofol.volumes[0].low_ml == 15
    neostigmine = amounts(drug("neostigmine"), Weighed(120, 190, "M"))[0]
    assert (neostigmine.high, neostigmine.capped) == (5, True)


def test_volumes_of_micrograms_are_right() -> None:
    fentanyl = amounts(drug("fentanyl"), Weighed(70, 175, "M"))[0]
    lean = fentanyl.weight_kg
    assert lean is not None
    assert fentanyl.unit == "micrograms"
    assert fentanyl.volumes[0].high_ml == rounded_down(3 * lean / 50)


def test_a_rounded_dose_is_never_above_the_exact_one() -> None:
    for value in (0.0449, 0.3, 1.29, 9.99, 10.9, 157.9, 1280.0):
        assert rounded_down(value) <= value + 1e-9


def test_a_scalar_without_height_is_missing_and_actual_weight_still_works() -> None:
    with pytest.raises(Missing, match="height_cm"):
        amounts(drug("propofol"), Weighed(80))
    with pytest.raises(Missing, match="sex"):
        amounts(drug("propofol"), Weighed(80, 175))
    assert amounts(drug("sugammadex"), Weighed(80))[2].high == 1280


@pytest.mark.parametrize(
    ("name", "inputs"),
    [
        ("dose_mg", {"drug": "fentanyl", "mg_per_kg": 2, "weight_kg": 70}),
        ("dose_mg", {"drug": "rocuronium", "mg_per_kg": 0.0012, "weight_kg": 70}),
        ("dose_volume_ml", {"drug": "fentanyl", "mg_per_kg": 0.002, "weight_kg": 70, "conc_mg_ml": 50}),
        ("induction_dose_mg", {"drug": "etomidate", "dose_mg_per_kg": 30, "scalar": "TBW", "sex": "F", "weight_kg": 60,
                               "height_cm": 165}),
        ("infusion_ml_h", {"drug": "noradrenaline", "mcg_kg_min": 100, "weight_kg": 70, "conc_mcg_ml": 16000}),
        ("infusion_ml_h", {"drug": "noradrenaline", "mcg_kg_min": 0.1, "weight_kg": 70, "conc_mcg_ml": 16000}),
        ("infusion_ml_h", {"drug": "dopamine", "mcg_kg_min": 5000, "weight_kg": 70, "conc_mcg_ml": 1600}),
        ("infusion_ml_per_kg_h", {"drug": "remifentanil", "mcg_kg_min": 200, "conc_mcg_ml": 50}),
    ],
)  # fmt: skip
def test_milligrams_for_micrograms_give_no_number(name: str, inputs: dict[str, object]) -> None:
    with pytest.raises(OutOfRange):
        find(name).work_out(inputs)


def test_a_bolus_a_thousand_times_too_large_is_rejected_with_the_likely_slip() -> None:
    result = find("dose_limit_check").work_out({"drug": "phenylephrine", "bolus_mcg": 100_000})
    assert result.grade == "reject"
    assert result.warnings == ("Milligrams typed for micrograms?",)


@pytest.mark.parametrize(
    ("mcg", "grade"), [(20, "within"), (100, "within"), (150, "within"), (200, "within"), (201, "reject")]
)
def test_a_bolus_is_within_up_to_its_single_maximum(mcg: float, grade: str) -> None:
    assert find("dose_limit_check").work_out({"drug": "phenylephrine", "bolus_mcg": mcg}).grade == grade


def test_a_drug_that_is_not_listed_is_computed_and_said_to_be_unchecked() -> None:
    result = find("dose_mg").work_out({"drug": "examplium", "mg_per_kg": 1, "weight_kg": 50})
    assert (result.value, result.status) == (50, "warning")
    assert "not in the formulary" in result.warnings[0]


@pytest.mark.parametrize(
    ("block", "per_kg"), [("TOF count 1", 4), ("moderate", 2), ("deep", 4), ("TOF count 3", 2), ("immediate", 16)]
)
def test_sugammadex_follows_the_depth_of_block(block: str, per_kg: float) -> None:
    assert find("sugammadex_dose_mg").work_out({"weight_kg": 50, "block": block}).value == 50 * per_kg


@pytest.mark.parametrize("block", ["PTC 0", "a little"])
def test_no_dose_is_made_up_for_an_unclear_block(block: str) -> None:
    with pytest.raises(NotUnderstood):
        find("sugammadex_dose_mg").work_out({"weight_kg": 50, "block": block})


def test_subjective_fade_never_confirms_recovery() -> None:
    gate = find("tof_ratio_extubation_gate")
    assert gate.work_out({"quantitative": False, "tof_count": 4, "fade_seen": False}).grade == "cannot confirm"
    assert gate.work_out({"quantitative": False, "tof_count": 4, "fade_seen": True}).grade == "not adequate"
    assert gate.work_out({"quantitative": True}).grade == "cannot confirm"


@pytest.mark.parametrize(
    ("name", "mg_per_kg", "weight_kg", "mg", "says"),
    [
        # reference, section 5: atropine 15 micrograms/kg with neostigmine, in an adult; 0.02 mg/kg in a child
        ("atropine", 0.015, 70, 1.05, ""),
        ("atropine", 0.02, 20, 0.4, ""),
        ("atropine", 0.02, 40, 0.8, "bradycardia in a child: at most 0.6 mg."),
        # suxamethonium: 3-4 mg/kg into muscle, at most 150 mg; nothing holds a dose into a vein
        ("suxamethonium", 4, 45, 180, "into muscle: at most 150 mg."),
        ("suxamethonium", 1.5, 140, 210, ""),
        ("neostigmine", 0.05, 120, 5, "Capped at 5 mg."),
    ],
)
def test_the_maximum_of_one_use_is_said_and_does_not_hold_back_another(
    name: str, mg_per_kg: float, weight_kg: float, mg: float, says: str
) -> None:
    found = find("dose_mg").work_out({"drug": name, "mg_per_kg": mg_per_kg, "weight_kg": weight_kg})
    assert (found.value, list(found.warnings)) == (pytest.approx(mg), [says] if says else [])
