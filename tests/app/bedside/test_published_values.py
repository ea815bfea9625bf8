"""Every number against the book: one test for each published check pair."""

from __future__ import annotations

from typing import Any

import pytest

from app.base.calculation import CATALOGUE, find

NO_PAIR = {"apnoea_time_s": "held against the published studies in test_apnoea_validation.py"}


def agrees(found: Any, expected: Any, tol: float) -> bool:
    if isinstance(expected, list):
        return len(found) == len(expected) and all(agrees(a, b, tol) for a, b in zip(found, expected, strict=True))
    if isinstance(expected, bool | str | dict):
        return found == expected
    return abs(found - expected) <= tol + 1e-9


def test_a_published_value_is_met(pair: dict[str, Any]) -> None:
    result = find(pair["name"]).work_out(pair["inputs"]).as_json()
    assert "value" not in pair or agrees(result["value"], pair["value"], pair["tol"]), (result["value"], pair["source"])
    assert "class" not in pair or result["class"] == pair["class"], pair["source"]
    assert "percent" not in pair or agrees(result["percent"], pair["percent"], pair["tol"])
    assert all(text in str(result["value"]) for text in pair.get("contains", ())), result["value"]


def test_each_pair_names_its_source(pair: dict[str, Any]) -> None:
    assert pair["source"]
    assert pair["mark"] in "CSMK"


def test_every_calculation_has_a_published_pair(all_pairs: list[dict[str, Any]]) -> None:
    assert set(CATALOGUE) - {pair["name"] for pair in all_pairs} == set(NO_PAIR)


def test_the_public_names_and_their_inputs_are_exactly_those_promised(public_names: dict[str, list[str]]) -> None:
    found = {name: sorted(each.name for each in entry.inputs) for name, entry in CATALOGUE.items()}
    assert found == {name: sorted(inputs) for name, inputs in public_names.items()}


def test_every_calculation_says_unit_formula_and_source(calculation_name: str) -> None:
    entry = CATALOGUE[calculation_name]
    assert entry.says
    assert entry.formula
    assert entry.source
    assert entry.says.endswith(".")


@pytest.mark.parametrize("ach", [1, 2, 6, 12, 20, 50])
def test_clearance_without_a_mixing_factor_says_which_one_was_taken(ach: float) -> None:
    result = find("clearance_minutes").work_out({"ach": ach, "efficiency_percent": 99})
    assert result.status == "warning"
    assert result.inputs["mixing_factor"] == 1
    assert any("mixing_factor was not given: 1 was assumed" in warning for warning in result.warnings)
