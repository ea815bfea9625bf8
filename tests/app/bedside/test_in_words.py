"""Inputs that are words: what a person writes is read as meant, or refused; never read as something else."""

from __future__ import annotations

import pytest

from app.base.calculation import find
from app.base.checks import Missing, NotUnderstood, OutOfRange, Refused
from app.cli.calc import load

load()


@pytest.mark.parametrize(
    ("respirator", "factor"),
    [
        # OSHA 29 CFR 1910.134(d)(3)(i)(A), Table 1
        ("quarter mask", 5),
        ("surgical N95 respirator", 10),
        ("N100", 10),
        ("P95 filtering facepiece", 10),
        ("half facepiece with P100 filters", 10),
        ("full facepiece with P100 filters", 50),
        ("PAPR half mask", 50),
        ("PAPR helmet/hood, without manufacturer evidence", 25),
        ("SAR, half mask, demand", 10),
        ("SAR: full facepiece, pressure-demand", 1000),
        ("air-line, full facepiece, continuous flow", 1000),
        ("SAR continuous flow, helmet/hood", 25),
        ("SCBA, full facepiece, demand (negative pressure)", 50),
        ("SCBA, full facepiece, positive pressure", 10_000),
    ],
)
def test_a_respirator_has_the_factor_of_its_row(respirator: str, factor: int) -> None:
    assert find("osha_apf").work_out({"respirator": respirator}).value == factor


@pytest.mark.parametrize("respirator", ["surgical mask", "procedure mask", "cloth mask", "PAPR", "KN95"])
def test_what_is_no_row_of_the_table_has_no_factor(respirator: str) -> None:
    with pytest.raises(NotUnderstood):
        find("osha_apf").work_out({"respirator": respirator})


@pytest.mark.parametrize(
    ("present", "points"),
    [
        # De Jong 2013: Mallampati III/IV 5, sleep apnoea 2, the others 1 each
        ("OSA+coma", 3),
        ("coma; OSA", 3),
        (["OSA and coma", "Mallampati 4"], 8),
        ("Mallampati III/IV & mouth opening <3 cm", 6),
        ("operator not an anaesthetist", 1),
        ("none", 0),
        ([], 0),
    ],
)
def test_no_item_that_was_written_is_lost(present: object, points: int) -> None:
    assert find("macocha").work_out({"present": present}).value == points


@pytest.mark.parametrize("present", ["Mallampati II", "Mallampati I/II", "anaesthetist", "no coma", "OSA + ?", [""]])
def test_what_is_no_finding_is_not_counted_as_one(present: object) -> None:
    with pytest.raises(NotUnderstood):
        find("macocha").work_out({"present": present})


@pytest.mark.parametrize("present", [None, "", "null", "unknown", "n/a"])
def test_items_never_looked_for_are_missing_and_not_a_score_of_nought(present: object) -> None:
    with pytest.raises(Missing, match="present is missing"):
        find("macocha").work_out({"present": present})


def test_only_suxamethonium_and_adrenaline_have_a_black_panel() -> None:
    # ISO 26825:2020 as the reference tells it; noradrenaline has the plain colour of its class
    panel = {
        drug: any(
            "black panel" in warning for warning in find("syringe_label_colour").work_out({"drug": drug}).warnings
        )
        for drug in ("adrenaline 1 mg/mL", "suxamethonium", "noradrenaline", "norepinephrine", "rocuronium")
    }
    assert [drug for drug, has in panel.items() if has] == ["adrenaline 1 mg/mL", "suxamethonium"]


def test_the_label_step_of_the_second_twitch_is_two_per_kg() -> None:
    assert find("sugammadex_dose_mg").work_out({"weight_kg": 80, "block": "reappearance of T2"}).value == 160


def test_a_ratio_beside_fewer_than_four_twitches_never_passes_the_gate() -> None:
    found = find("tof_ratio_extubation_gate").work_out({"tof_ratio": 0.95, "quantitative": True, "tof_count": 2})
    assert found.grade == "not adequate"
    assert "tof_count = 2" in found.warnings[0]


@pytest.mark.parametrize("size", ["H", "K", "H/K", "h/k"])
def test_the_large_us_cylinder_goes_by_its_names(size: str) -> None:
    # factor 3.14 L/psi: Virginia Office of EMS, printed as H/K
    found = find("cylinder_minutes_us").work_out({"size": size, "psi": 2200, "residual_psi": 200, "flow_l_min": 10})
    assert found.value == pytest.approx(628)


@pytest.mark.parametrize(
    ("name", "inputs", "says"),
    [
        ("dose_mg", {"drug": "propofol", "mg_per_kg": 90, "weight_kg": 70}, "mg_per_kg = 90 mg/kg of propofol"),
        ("dose_volume_ml", {"drug": "rocuronium", "mg_per_kg": 1, "weight_kg": 70, "conc_mg_ml": 900}, "conc_mg_ml: 900"),
        ("infusion_ml_per_kg_h", {"drug": "remifentanil", "mcg_kg_min": 200, "conc_mcg_ml": 50}, "mcg_kg_min: "),
        ("infusion_ml_h", {"drug": "x", "weight_kg": 70, "conc_mg_ml": 1, "mg_kg_h": 9}, "mg_kg_h, weight_kg and conc_mg_ml"),
        ("infusion_ml_h", {"drug": "x", "weight_kg": 70, "conc_mg_ml": 1}, "micrograms/kg/min, above 0 and at most 1000"),
        ("transfer_oxygen_l", {"minutes": 9, "safety_factor": 2}, "flow_l_min is missing. Give it in L/min, from 0 to 200"),
        ("transfer_oxygen_l", {"minutes": 9, "safety_factor": 2, "mv_l": 6, "drive_l_min": 0}, "fio2 is missing. Give it as a"),
        ("ewma_value_at", {"data": [], "lambda": 0.3, "start": 1, "index": 1}, "data holds 0 points"),
    ],
)  # fmt: skip
def test_a_refusal_names_the_input_that_is_wrong(name: str, inputs: dict[str, object], says: str) -> None:
    with pytest.raises(Refused) as refusal:
        find(name).work_out(inputs)
    assert says in str(refusal.value)
    assert isinstance(refusal.value, Missing | OutOfRange)
