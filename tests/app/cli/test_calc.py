"""`doorside calc`: names, batches, help, and a sentence for whatever is wrong."""

from __future__ import annotations

import json
import subprocess
import sys
from argparse import ArgumentParser
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from app.base.calculation import CATALOGUE
from app.base.inputs import Input
from app.cli import calc

calc.load()


def doorside(*words: str) -> int:
    parser = ArgumentParser(prog="doorside")
    calc.add_parser(parser.add_subparsers())
    args = parser.parse_args(["calc", *words])
    return calc.run(args)


GOOD: dict[str, Any] = {
    "number": 1.0, "whole": 1, "flag": True, "text": "propofol", "date": "2026-01-02", "numbers": [1.0, 2.0, 3.0], "flags": [True, False, True],
    "words": ["coma"], "mapping": {"gown": 1}, "table": [[1, 1]],
}  # fmt: skip


def filled(name: str) -> dict[str, Any]:
    """Every input with a value inside its range."""
    return {each.name: possible(each) for each in CATALOGUE[name].inputs}


def possible(each: Input) -> Any:
    if each.choices:
        return each.choices[0]
    low = each.least if each.least is not None else each.above
    high = each.most if each.most is not None else each.below
    if each.kind in ("number", "whole") and low is not None and high is not None and not low <= 1 < high:
        middle = (low + high) / 2
        return int(middle) if each.kind == "whole" else middle
    if each.kind == "number" and high is not None and high <= 1:
        return high * 0.5
    return GOOD[each.kind]


def test_a_value_comes_with_unit_inputs_formula_source_and_caution(capsys: pytest.CaptureFixture[str]) -> None:
    assert doorside("clearance_minutes", "ach=10", "efficiency_percent=99", "mixing_factor=3") == 0
    out = capsys.readouterr().out
    for text in ("82.893 min", "mixing_factor=3", "Formula", "Table B.1", "Caution", "rounded up"):
        assert text in out


def test_json_has_the_public_shape_and_the_unrounded_value(capsys: pytest.CaptureFixture[str]) -> None:
    assert doorside("rox_index", "spo2_pct=90", "fio2=0.8", "rr=33", "hours_on_hfnc=6", "--json") == 0
    found = json.loads(capsys.readouterr().out)
    assert list(found) == ["name", "value", "unit", "class", "inputs", "formula", "source", "cautions", "status"]
    assert found["value"] == 90 / 0.8 / 33
    assert (found["class"], found["status"]) == ("high risk", "ok")


@pytest.mark.parametrize(
    ("words", "says"),
    [
        # reference: waits are shown rounded up, volumes and what lasts rounded down, beyond 600 min "> 10 h"
        (["clearance_minutes", "ach=10", "efficiency_percent=99", "mixing_factor=1"], "28 min, rounded up"),
        (["tidal_volume_ml", "sex=M", "height_cm=177.8", "ml_per_kg_pbw=6"], "438 mL, rounded down"),
        (
            ["cylinder_minutes_ratio", "rated_l=660", "rated_psi=1900", "psi=500", "flow_l_min=6"],
            "28 min, rounded down",
        ),
        (
            ["cylinder_minutes_full_uk", "size=E", "rated_l=680", "rated_bar=137", "flow_l_min=8"],
            "85 min, rounded down",
        ),
        (["cylinder_minutes_us", "size=H/K", "psi=2200", "residual_psi=200", "flow_l_min=10"], "> 10 h"),
        (["days_of_supply", "stock=905", "burn_rate_per_day=60"], "15 days, rounded down"),
        (["transfer_oxygen_l", "minutes=16", "flow_l_min=10.01", "safety_factor=2"], "321 L, rounded up"),
    ],
)
def test_what_somebody_acts_on_is_rounded_to_the_safe_side(
    words: list[str], says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert doorside(*words) == 0
    assert f"to act on: {says}\n" in capsys.readouterr().out


@pytest.mark.parametrize("place", range(4))
def test_the_word_for_json_may_stand_anywhere(place: int, capsys: pytest.CaptureFixture[str]) -> None:
    words = ["pbw_kg", "sex=M", "height_cm=152.4"]
    assert doorside(*words[:place], "--json", "--db", "sqlite://", *words[place:]) == 0
    assert json.loads(capsys.readouterr().out)["value"] == 50


@pytest.mark.parametrize(
    ("words", "says"), [(["--nope"], "'--nope' is not an input"), (["--batch"], "--batch names no file")]
)
def test_an_option_that_means_nothing_is_said(words: list[str], says: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert doorside("pbw_kg", "sex=M", "height_cm=152.4", *words) == 2
    assert says in capsys.readouterr().err


def test_lists_booleans_and_nulls_are_json(capsys: pytest.CaptureFixture[str]) -> None:
    words = ["tof_ratio=null", "quantitative=false", "tof_count=4", "fade_seen=false", "--json"]
    assert doorside("tof_ratio_extubation_gate", *words) == 0
    assert json.loads(capsys.readouterr().out)["class"] == "cannot confirm"
    assert doorside("c_chart_center", "counts=[1, 2, 3]", "--json") == 0
    assert json.loads(capsys.readouterr().out)["value"] == 2


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["pbw", "sex=M", "height_cm=170"], "Did you mean pbw_kg"),
        (["pbw_kg", "sex=M", "hight_cm=170"], "Did you mean height_cm"),
        (["pbw_kg", "sex=M"], "height_cm is missing. Give it as number, from 121 to 230 cm."),
        (["pbw_kg", "sex=M", "height_cm=17"], "it must be from 121 to 230 cm"),
        (["pbw_kg", "sex=X", "height_cm=170"], "it must be one of M, F"),
        (["pbw_kg", "sex=M", "height_cm=nan"], "not possible here"),
        (["pbw_kg", "sex"], "'sex' is not an input"),
        (["pbw_kg", "sex=M", "sex=F", "height_cm=170"], "given twice"),
        (["hfno_o2_consumption_l_min", "total_flow_l_min=50", "fio2=40"], "from 0.21 to 1"),
        (["clearance_minutes", "ach=null", "efficiency_percent=99"], "ach is missing"),
        (["erlang_c", "servers=2", "offered_erlang=2"], "not stable"),
    ],
)
def test_a_refusal_is_a_sentence_on_standard_error_and_exit_status_two(
    words: list[str], says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert doorside(*words) == 2
    captured = capsys.readouterr()
    assert says in captured.err
    assert captured.out == ""
    assert captured.err.count("\n") == 1


def test_no_name_shows_how_to_use_it(capsys: pytest.CaptureFixture[str]) -> None:
    assert doorside() == 2
    assert "NAME key=value" in capsys.readouterr().err
    assert doorside("--help") == 0
    assert "NAME key=value" in capsys.readouterr().out


def test_the_list_holds_every_name(capsys: pytest.CaptureFixture[str]) -> None:
    assert doorside("--list") == 0
    out = capsys.readouterr().out
    assert all(f"{name}  [" in out for name in CATALOGUE)
    assert doorside("--list", "--json") == 0
    assert [json.loads(line)["name"] for line in capsys.readouterr().out.splitlines()] == list(CATALOGUE)


def test_help_after_a_name_tells_inputs_ranges_and_source(capsys: pytest.CaptureFixture[str]) -> None:
    assert doorside("clearance_minutes", "--help") == 0
    out = capsys.readouterr().out
    for text in ("ach", "above 0 and at most 500 1/h", "from 1 to 10; 1 when left out", "Table B.1", "Caution"):
        assert text in out


@pytest.mark.parametrize("name", sorted(CATALOGUE))
def test_every_name_has_help(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert doorside(name, "--help") == 0
    out = capsys.readouterr().out
    assert all(each.name in out for each in CATALOGUE[name].inputs)


@pytest.mark.parametrize("name", sorted(CATALOGUE))
def test_for_every_name_a_wrong_a_missing_and_an_extreme_input_get_a_sentence(name: str) -> None:
    required = [each for each in CATALOGUE[name].inputs if not each.optional]
    for each in CATALOGUE[name].inputs:
        for wrong in ("?!", float("inf"), -1e300, 1e300, [], {}, [[]], "x" * 5000):
            found = calc.answer({"name": name, "inputs": filled(name) | {each.name: wrong}})
            assert found["status"] in ("ok", "warning", "refused")
            assert found["status"] != "refused" or str(found["error"]).strip()
            json.dumps(found, allow_nan=False)
    for each in required:
        inputs = filled(name)
        del inputs[each.name]
        found = calc.answer({"name": name, "inputs": inputs})
        assert found == {"name": name, "error": found["error"], "status": "refused"}
        assert each.name in found["error"]


def typed(inputs: dict[str, Any]) -> list[str]:
    """Inputs as they are typed: texts as they are, everything else as JSON."""
    return [f"{name}={value if isinstance(value, str) else json.dumps(value)}" for name, value in inputs.items()]


@pytest.mark.parametrize("name", sorted(CATALOGUE))
def test_typed_at_the_command_line_each_mistake_is_one_sentence_and_never_a_traceback(
    name: str, capsys: pytest.CaptureFixture[str]
) -> None:
    good = filled(name)
    required = [each.name for each in CATALOGUE[name].inputs if not each.optional]
    first = next((each.name for each in CATALOGUE[name].inputs if each.kind != "text" or each.choices), None)
    wrong = next(iter(good)) if first is None else first  # a drug or cylinder may have any name; a figure may not
    missing = {key: value for key, value in good.items() if key != required[0]} if required else {"nosuch": "1"}
    for inputs, allowed in (
        (good | {wrong: "?!"}, {0, 2} if first is None else {2}),
        (missing, {2}),
        (good | {wrong: "1e308"}, {0, 2}),
        (good | {wrong: "-1e308"}, {0, 2}),
    ):
        status = doorside(name, *typed(inputs))
        said = capsys.readouterr()
        assert status in allowed, inputs
        assert (said.out == "", said.err.count("\n")) == ((True, 1) if status else (False, 0)), said
        assert "Traceback" not in said.err
        assert "nan" not in said.out.split("\n")[0]


def batch(folder: Path, *lines: str) -> Path:
    path = folder / "many.jsonl"
    path.write_text("\n".join(lines), encoding="utf-8")
    return path


def test_a_batch_answers_line_for_line_and_goes_on_after_a_refusal(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = batch(
        tmp_path,
        '{"name": "pbw_kg", "inputs": {"sex": "M", "height_cm": 152.4}}',
        '{"name": "pbw_kg", "inputs": {"sex": "M"}}',
        "not json",
        "[1]",
        '{"name": "nosuch", "inputs": {}}',
        '{"name": "pbw_kg", "inputs": 3}',
        '{"name": "max_inhaled_percent", "inputs": {"apf": 20}}',
    )
    assert doorside("--batch", str(path), "--json") == 0
    found = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    assert [line["status"] for line in found] == ["ok", "refused", "refused", "refused", "refused", "refused", "ok"]
    assert [line.get("value") for line in (found[0], found[-1])] == [50, 5]
    assert set(found[1]) == {"name", "error", "status"}


def test_a_batch_saved_with_a_byte_order_mark_is_read_from_its_first_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = batch(tmp_path, '\ufeff{"name": "max_inhaled_percent", "inputs": {"apf": 20}}')
    assert doorside("--batch", str(path), "--json") == 0
    assert json.loads(capsys.readouterr().out)["value"] == 5


def test_what_is_no_text_spoils_its_own_line_only(tmp_path: Path) -> None:
    path = tmp_path / "many.jsonl"
    whole = b'{"name": "max_inhaled_percent", "inputs": {"apf": 20}}\n'
    half = b'{"name": "dose_mg", "inputs": {"drug": "\\ud800", "mg_per_kg": 1, "weight_kg": 70}}\n'
    path.write_bytes(whole + b"\xff\xfe\n" + half + b'{"name": "\\ud800"}\n' + whole)
    command = [sys.executable, "-m", "app.cli", "calc", "--batch", str(path)]
    for more in ([], ["--json"]):
        done = subprocess.run([*command, *more], capture_output=True, check=True)
        assert len(done.stdout.decode("utf-8").splitlines()) == 5
        assert done.stderr == b""
    found = [json.loads(line) for line in done.stdout.splitlines()]
    assert [line["status"] for line in found] == ["ok", "refused", "warning", "refused", "ok"]


def test_arithmetic_that_ends_in_no_number_is_a_sentence_and_not_a_traceback(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def nought(**_: float) -> float:
        return 1 / 0

    monkeypatch.setitem(CATALOGUE, "max_inhaled_percent", replace(CATALOGUE["max_inhaled_percent"], function=nought))
    assert doorside("max_inhaled_percent", "apf=20") == 2
    assert capsys.readouterr().err == "max_inhaled_percent has no finite value for these inputs.\n"
    assert calc.answer({"name": "max_inhaled_percent", "inputs": {"apf": 20}})["status"] == "refused"


def test_a_batch_that_cannot_be_read_is_said(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert doorside("--batch", str(tmp_path / "none.jsonl"), "--json") == 2
    assert "cannot be read" in capsys.readouterr().err


def test_it_starts_without_the_server_the_database_or_the_catalogues() -> None:
    heavy = {"fastapi", "sqlmodel", "sqlalchemy", "pydantic", "jinja2", "babel", "yaml", "uvicorn", "numpy", "scipy"}
    code = (
        "import sys; from app.cli import calc; calc.load(); calc.answer({'name': 'pbw_kg', 'inputs': {}}); "
        "print(' '.join(sys.modules))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert heavy & set(done.stdout.split()) == set()
