"""Declared inputs, refusals in words, and the catalogue."""

from __future__ import annotations

from datetime import date

import pytest

from app.base import calculation as calculations
from app.base.calculation import CATALOGUE, Graded, calculation, find
from app.base.checks import Missing, NotUnderstood, OutOfRange, Refused, UnknownName, within
from app.base.inputs import Input

NAN, INF = float("nan"), float("inf")


@pytest.fixture
def half(monkeypatch: pytest.MonkeyPatch):
    """A calculation in a catalogue of its own."""
    monkeypatch.setattr(calculations, "CATALOGUE", {})

    @calculation(
        Input("weight_kg", "kg", least=2, most=350),
        Input("lambda", param="lambda_", optional=True, assumed=2.0),
        unit="kg",
        formula="weight / lambda",
        source="a book",
        evidence="K",
        cautions=("Stand back.",),
    )
    def half_kg(*, weight_kg: float, lambda_: float = 2.0) -> Graded[float]:
        """Half a weight."""
        return Graded(weight_kg / lambda_, "light" if weight_kg < 10 else None)

    return half_kg


def test_a_value_inside_its_limits_comes_back() -> None:
    assert within("fio2", 0.4, least=0.21, most=1) == 0.4


@pytest.mark.parametrize("value", [NAN, INF, -INF, 0, 10, 11])
def test_what_is_not_inside_is_refused_with_name_unit_and_range(value: float) -> None:
    with pytest.raises(
        OutOfRange, match=r"flow = .* L/min is not possible here: it must be above 0 and below 10 L/min\."
    ):
        within("flow", value, above=0, below=10, unit="L/min")


@pytest.mark.parametrize("value", [NAN, INF, -INF])
@pytest.mark.parametrize("limits", [{}, {"least": 0.0}, {"above": 0.0}])
def test_what_is_not_a_finite_number_is_refused_even_without_limits(value: float, limits: dict[str, float]) -> None:
    with pytest.raises(OutOfRange, match="flow"):
        within("flow", value, **limits)


def test_an_absent_value_is_missing_and_says_what_to_give() -> None:
    with pytest.raises(Missing, match=r"ach is missing\. Give a number, above 0 1/h\."):
        within("ach", None, above=0, unit="1/h")


def test_the_function_stays_a_plain_one(half) -> None:
    assert half(weight_kg=8).value == 4
    assert half(weight_kg=8, lambda_=4).value == 2
    with pytest.raises(OutOfRange, match="from 2 to 350 kg"):
        half(weight_kg=1)
    with pytest.raises(TypeError, match="keywords only"):
        half(8)


def test_a_result_carries_all_that_must_stand_beside_the_number(half) -> None:
    assert calculations.CATALOGUE["half_kg"].work_out({"weight_kg": "8"}).as_json() == {
        "name": "half_kg", "value": 4.0, "unit": "kg", "class": "light", "inputs": {"weight_kg": 8.0, "lambda": 2.0},
        "formula": "weight / lambda", "source": "a book [K: worked out from the formula]",
        "cautions": ["lambda was not given: 2 was assumed.", "Stand back."], "status": "warning",
    }  # fmt: skip


def test_help_on_the_function_shows_inputs_ranges_and_source(half) -> None:
    for text in ("weight_kg", "from 2 to 350 kg", "weight / lambda", "a book"):
        assert text in half.__doc__


def test_an_unknown_input_is_answered_with_the_nearest(half) -> None:
    with pytest.raises(UnknownName, match=r"no input called 'weigth_kg'\. Did you mean weight_kg\?"):
        calculations.CATALOGUE["half_kg"].work_out({"weigth_kg": 8})


def test_a_declaration_that_differs_from_its_function_is_refused(half) -> None:
    with pytest.raises(TypeError, match="disagree"):

        @calculation(Input("x"), unit="", formula="", source="", evidence="K")
        def other(*, y: float) -> float:
            """Something else."""
            return y


def test_a_name_that_is_nearly_right_is_answered_with_the_nearest() -> None:
    import app.bedside.body

    assert app.bedside.body.pbw_kg.__name__ in CATALOGUE
    with pytest.raises(UnknownName, match="Did you mean pbw_kg"):
        find("pwb_kg")


@pytest.mark.parametrize(
    ("given_input", "raw", "value"),
    [
        (Input("x"), "1.5", 1.5),
        (Input("x", kind="whole"), 3.0, 3),
        (Input("x", kind="flag"), "yes", True),
        (Input("x", kind="flag"), "false", False),
        (Input("x", kind="word", choices=("M", "F")), "f", "F"),
        (Input("x", kind="word", choices=("none", "nasal")), "none", "none"),
        (Input("x", kind="date"), "2024-02-29", date(2024, 2, 29)),
        (Input("x", kind="numbers"), "[1, 2.5]", (1.0, 2.5)),
        (Input("x", kind="numbers"), "5 + 6 + 8", (5.0, 6.0, 8.0)),
        (Input("x", kind="numbers"), 400, (400.0,)),
        (Input("x", kind="words"), '["coma", "OSA"]', ("coma", "OSA")),
        (Input("x", kind="words"), "OSA + coma", ("OSA", "coma")),
        (Input("x", kind="mapping"), "{gown: 1,glove_pair: 2}", {"gown": 1.0, "glove_pair": 2.0}),
        (Input("x", kind="table"), "[[3, 200]]", ((3.0, 200.0),)),
        (Input("x", kind="table"), '{"3": 200}', ((3.0, 200.0),)),
        (Input("x", kind="table"), [{"day": 3, "items": 200}], ((3.0, 200.0),)),
        (Input("x", kind="table"), "[{quantity: 200, day: 3}]", ((3.0, 200.0),)),
        (Input("x", kind="words"), "none", ()),
        (Input("x", kind="flags"), "[1, 0, true, false]", (True, False, True, False)),
        (Input("x", kind="flags"), ["yes", 1.0, "0"], (True, True, False)),
        (Input("x", kind="flags"), 1, (True,)),
        (Input("x", kind="text", optional=True), "null", None),
        (Input("x", optional=True), "none", None),
        (Input("x", optional=True), None, None),
    ],
)
def test_an_input_reads_json_and_text(given_input: Input, raw: object, value: object) -> None:
    assert given_input.read(raw) == value


@pytest.mark.parametrize(
    ("given_input", "raw", "says"),
    [
        (Input("fio2", least=0.21, most=1), "40%", "without a unit or a per cent sign"),
        (Input("fio2", least=0.21, most=1), "40", "from 0.21 to 1. If 40 is per cent, give 0.4."),
        (Input("so2_fraction", above=0, below=1), 97, "If 97 is per cent, give 0.97."),
        (Input("n", kind="whole", least=1), 1.5, "whole number"),
        (Input("n", kind="whole"), "10**400", "cannot be read"),
        (Input("n"), 10**400, "cannot be read"),
        (Input("n"), True, "cannot be read"),
        (Input("n"), [1], "cannot be read"),
        (Input("f", kind="flag"), "perhaps", "yes or no"),
        (Input("sex", kind="word", choices=("M", "F")), "X", "one of M, F"),
        (Input("d", kind="date"), "2026-02-30", "YYYY-MM-DD"),
        (Input("data", kind="numbers"), "[1, x]", "list of numbers"),
        (Input("data", kind="numbers"), "[" * 100_000, "cannot be read"),
        (Input("data", kind="numbers"), [1] * 10_001, "10,000"),
        (Input("data", kind="numbers", above=0), [1, 0], "above 0"),
        (Input("items", kind="mapping"), "gown", "cannot be read"),
        (Input("items", kind="mapping"), {"gown": "two"}, "cannot be read"),
        (Input("t", kind="table"), [[1, 2, 3]], "a pair"),
        (Input("drug", kind="text"), "x" * 301, "at most 300"),
        (Input("drug", kind="text"), 7, "cannot be read"),
        (Input("w", "kg"), "", "w is missing"),
        (Input("w", "kg"), "7_0", "cannot be read"),
        (Input("w", "kg"), "70,5", "Write a decimal point, not a comma."),
        (Input("event", kind="flags"), [1, 2], "list of 1 or 0"),
        (Input("event", kind="flags"), [None], "list of 1 or 0"),
        (Input("event", kind="flags"), {"a": 1}, "list of 1 or 0"),
        (Input("drug", kind="text"), "null", "drug is missing"),
        (Input("drug", kind="text"), "", "drug is missing"),
        (Input("present", kind="words"), "null", "present is missing"),
        (Input("t", kind="table"), "[{a: 1, b: 2}]", "a pair"),
        (Input("t", kind="table"), "[{day: 1, days: 2}]", "a pair"),
    ],
)
def test_what_cannot_be_read_is_refused_in_words(given_input: Input, raw: object, says: str) -> None:
    with pytest.raises(Refused) as refusal:
        given_input.read(raw)
    assert says in str(refusal.value)
    assert given_input.name in str(refusal.value)
    assert isinstance(refusal.value, Missing | OutOfRange | NotUnderstood)
    assert len(str(refusal.value)) < 300
