"""One row: a value with its unit and everything that must stand beside it, or the reason why there is none."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from math import ceil, floor

from app.base.calculation import Calculation, Result, find
from app.base.checks import Missing, Refused, plain
from app.base.inputs import Input
from app.base.messages import N_, Filled
from app.bedside import air, body, cylinders, tubes, ventilation
from app.bedside.apnoea import forecast
from app.live.worksheet.fields import WORDS

LOADED = (air, body, cylinders, forecast, tubes, ventilation)
"""A calculation is in the catalogue once its module is imported; these are the ones that rows are made of."""
_HIDDEN_UNITS = frozenset({"ratio", "text", "class", "size", "FiO2/PEEP"})
_VALUES: Mapping[str, str] = {"M": N_("male"), "F": N_("female")}


@dataclass(frozen=True, slots=True)
class Beside:
    """A further figure of the same row."""

    label: str
    value: str
    unit: str = ""


@dataclass(frozen=True, slots=True)
class Figure:
    """A row of the worksheet.

    value     as shown, rounded as `rounded` says; None when there is none
    whose     which of two values this is, when sex is unknown and both are shown
    lacks     words for the inputs that are missing; `refused`: why what was typed gives no value
    inputs    what was used, assumed values included
    warnings  raised by these inputs; `cautions` always stand
    """

    key: str
    label: str
    value: str | None = None
    unit: str = ""
    whose: str = ""
    rounded: str = ""
    beside: tuple[Beside, ...] = ()
    inputs: tuple[Beside, ...] = ()
    formula: str = ""
    source: str = ""
    warnings: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    lacks: tuple[str, ...] = ()
    refused: str = ""


def down(value: float, places: int = 0) -> str:
    """Rounded down, for what must not be exceeded.

    >>> down(447.99), down(70.566, 1), down(0.3 * 10)
    ('447', '70.5', '3')
    """
    steps: int = 10**places
    return plain(floor(value * steps + 1e-9) / steps)


def up(value: float, places: int = 0) -> str:
    """Rounded up, for what must not be undercut.

    >>> up(27.01), up(28.0), up(6.31, 1)
    ('28', '28', '6.4')
    """
    steps: int = 10**places
    return plain(ceil(value * steps - 1e-9) / steps)


def nearest(value: float, step: float) -> str:
    """The nearest multiple of a step, halves upwards.

    >>> nearest(5.25, 0.5), nearest(16.6, 0.5)
    ('5.5', '16.5')
    """
    return plain(floor(value / step + 0.5) * step)


DOWN, UP = N_("rounded down"), N_("rounded up")
Shown = Callable[[Result], tuple[str, str]]
"""Makes a value's text and says how it was rounded."""


def rounded_down(places: int = 0) -> Shown:
    return lambda result: (down(number(result), places), DOWN)


def rounded_up(places: int = 0) -> Shown:
    return lambda result: (up(number(result), places), UP)


def number(result: Result) -> float:
    """The value of a result that is a number."""
    assert isinstance(result.value, int | float)
    return float(result.value)


def worked(
    key: str,
    label: str,
    name: str,
    given: Mapping[str, object],
    shown: Shown,
    more: Callable[[Result], Figure] | None = None,
) -> Figure:
    """A row from a calculation of the catalogue. `more` may add further figures to it."""
    calculation = find(name)
    about = Figure(
        key,
        label,
        unit="" if calculation.unit in _HIDDEN_UNITS else calculation.unit,
        formula=_in_words(calculation.formula, calculation),
        source=calculation.source_marked,
        cautions=calculation.cautions,
    )
    result = attempt(calculation, given, about)
    if isinstance(result, Figure):
        return result
    value, rounded = shown(result)
    figure = replace(
        about, value=value, rounded=rounded, inputs=inputs_of(calculation, result),
        warnings=tuple(_in_words(warning, calculation) for warning in result.warnings),
    )  # fmt: skip
    if more is None:
        return figure
    added = more(result)
    return replace(figure, beside=added.beside, warnings=(*figure.warnings, *added.warnings))


def attempt(calculation: Calculation, given: Mapping[str, object], about: Figure) -> Result | Figure:
    """The result, or the row that says why there is none."""
    lacks = tuple(
        words(each.name) for each in calculation.inputs if not each.optional and given.get(each.name) in (None, "")
    )
    if lacks:
        return replace(about, lacks=lacks)
    try:
        return calculation.work_out(given)
    except Missing as missing:
        return replace(about, lacks=(_in_words(_both(missing), calculation),))
    except Refused as refused:
        return replace(about, refused=_in_words(_both(refused), calculation))


def _both(refused: Refused) -> str:
    """What is wrong, and what to do."""
    return Filled("{what} {do}", what=refused.what, do=refused.do) if refused.do else refused.what


def words(name: str) -> str:
    """What a page calls an input."""
    return WORDS.get(name, name)


def inputs_of(calculation: Calculation, result: Result) -> tuple[Beside, ...]:
    """What was used, in the page's words."""
    units = {each.name: each for each in calculation.inputs}
    return tuple(Beside(words(name), _value(value), _unit(units.get(name))) for name, value in result.inputs.items())


def _unit(each: Input | None) -> str:
    return "" if each is None else each.unit


def _value(value: object) -> str:
    if isinstance(value, list | tuple):
        return ", ".join(_value(each) for each in value)
    if isinstance(value, float | int) and not isinstance(value, bool):
        return plain(value)
    return _VALUES.get(str(value), str(value))


def _in_words(sentence: str, calculation: Calculation) -> str:
    """A sentence of a calculation with the page's words in place of names of inputs."""
    if isinstance(sentence, Filled):
        places = {
            name: words(value) if name == "name" else _in_words(value, calculation)
            for name, value in sentence.places.items()
        }
        return Filled(_in_words(sentence.message, calculation), **places)
    for each in sorted(calculation.inputs, key=lambda one: -len(one.name)):
        if each.name in WORDS:
            # A name that is also an English word is one only where the sentence speaks of the input.
            after = "" if "_" in each.name else r"(?= (?:=|is missing|was not given|cannot be read|must be))"
            sentence = re.sub(rf"(?<![\w-]){re.escape(each.name)}(?![\w-]){after}", _placed(each.name), sentence)
    return sentence


def _placed(name: str) -> Callable[[re.Match[str]], str]:
    """The words for a name: small within a sentence, unless they are an abbreviation."""
    said = WORDS[name]

    def put(match: re.Match[str]) -> str:
        begins = match.start() == 0 or match.string[: match.start()].endswith((". ", ": "))
        return said if begins or said[1:2].isupper() or said.startswith("FiO2") else said[0].lower() + said[1:]

    return put
