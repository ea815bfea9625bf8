"""Calculations that can be held against the book: each is one function, and one entry in a catalogue.

The `@calculation` decorator states inputs, unit, formula, source and cautions beside the function. The function stays
an ordinary one: keywords in, bare value out, refusals raised. `CATALOGUE[name].work_out({...})` gives the same value as
a `Result`, with everything that must be shown beside it. A calculation is in the catalogue once its module is imported.
"""

from __future__ import annotations

import inspect
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from functools import wraps
from typing import Any, Generic, ParamSpec, TypeVar

from app.base.checks import OutOfRange, Refused, UnknownName, did_you_mean, plain
from app.base.inputs import Input
from app.base.messages import N_, Filled

P = ParamSpec("P")
R = TypeVar("R")
V = TypeVar("V")

EVIDENCE: Mapping[str, str] = {
    "C": N_("figure seen in the named source"),
    "S": N_("figure seen second-hand"),
    "M": N_("from memory, not re-read"),
    "K": N_("worked out from the formula"),
}
"""Mark of a source, as the reference tables use it -> what it says."""


@dataclass(frozen=True, slots=True)
class Graded(Generic[V]):
    """A value that says more about itself: its grade, its warnings, or further figures."""

    value: V
    grade: str | None = None
    warnings: tuple[str, ...] = ()
    more: Mapping[str, object] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Result:
    """One worked-out value with all that must stand beside it.

    value     unrounded number, list, boolean, date text or text
    inputs    what was used, assumed ones included; `grade` is the JSON's `class`
    cautions  standing ones of the calculation; `warnings`: raised by these inputs, and they come first in the JSON
    more      further figures, for example `low` and `high`
    """

    name: str
    value: object
    unit: str
    grade: str | None
    inputs: Mapping[str, object]
    formula: str
    source: str
    cautions: tuple[str, ...]
    warnings: tuple[str, ...]
    more: Mapping[str, object]

    @property
    def status(self) -> str:
        """ "warning" when these inputs raised one, otherwise "ok"."""
        return "warning" if self.warnings else "ok"

    def as_json(self) -> dict[str, object]:
        """The public shape (`calculations.md`)."""
        return {
            "name": self.name,
            "value": self.value,
            "unit": self.unit,
            "class": self.grade,
            "inputs": dict(self.inputs),
            "formula": self.formula,
            "source": self.source,
            "cautions": [*self.warnings, *self.cautions],
            "status": self.status,
            **self.more,
        }


@dataclass(frozen=True, slots=True)
class Calculation:
    """One entry of the catalogue: a function and what it says about itself."""

    name: str
    says: str
    function: Callable[..., Any]
    inputs: tuple[Input, ...]
    unit: str
    formula: str
    source: str
    evidence: str
    cautions: tuple[str, ...]

    @property
    def source_marked(self) -> str:
        """The source with its mark in words."""
        return f"{self.source} [{self.evidence}: {EVIDENCE[self.evidence]}]"

    def read(self, given: Mapping[str, object]) -> dict[str, object]:
        """Checked values by public input name. Raises Refused for an unknown, missing or impossible input."""
        known = tuple(each.name for each in self.inputs)
        for name in given:
            if name not in known:
                hint = did_you_mean(name, known) or f"Its inputs are: {', '.join(known)}."
                raise UnknownName(f"{self.name} has no input called {name[:60]!r}.", do=hint)
        return {each.name: each.read(given.get(each.name)) for each in self.inputs}

    def work_out(self, given: Mapping[str, object]) -> Result:
        """The result for the given inputs. Raises Refused; never returns a number that is not finite."""
        values = self.read(given)
        answer = self.function(**{each.keyword: values[each.name] for each in self.inputs})
        graded = answer if isinstance(answer, Graded) else Graded(answer)
        _must_be_finite(self.name, graded.value)
        return Result(
            name=self.name,
            value=_for_json(graded.value),
            unit=self.unit,
            grade=graded.grade,
            inputs={name: _for_json(value) for name, value in values.items() if value is not None},
            formula=self.formula,
            source=self.source_marked,
            cautions=self.cautions,
            warnings=(*self._assumed(given), *graded.warnings),
            more={name: _for_json(value) for name, value in graded.more.items()},
        )

    def _assumed(self, given: Mapping[str, object]) -> Iterable[str]:
        for each in self.inputs:
            if each.assumed is not None and given.get(each.name) in (None, ""):
                unit = f" {each.unit}" if each.unit else ""
                yield Filled(
                    N_("{name} was not given: {value}{unit} was assumed."),
                    name=each.name,
                    value=_words(each.assumed),
                    unit=unit,
                )


CATALOGUE: dict[str, Calculation] = {}
"""Every calculation whose module has been imported, by its public name."""


def calculation(
    *inputs: Input,
    unit: str,
    formula: str,
    source: str,
    evidence: str,
    cautions: tuple[str, ...] = (),
) -> Callable[[Callable[P, R]], Callable[P, R]]:
    """Declare a function as a calculation.

    The wrapped function reads and checks its keywords by the declared inputs before the body runs, so a range
    stands in one place only. The first line of its docstring says what it gives.
    """

    def declare(body: Callable[P, R]) -> Callable[P, R]:
        name = body.__name__
        entry = Calculation(
            name=name, says=(body.__doc__ or "").strip().splitlines()[0], function=body, inputs=inputs, unit=unit,
            formula=formula, source=source, evidence=evidence, cautions=cautions,
        )  # fmt: skip
        expected = tuple(inspect.signature(body).parameters)
        if sorted(each.keyword for each in inputs) != sorted(expected) or name in CATALOGUE or evidence not in EVIDENCE:
            raise TypeError(f"{name}: the declaration and the function disagree")
        CATALOGUE[name] = entry
        public = {each.keyword: each.name for each in inputs}

        @wraps(body)
        def checked(*args: P.args, **kwargs: P.kwargs) -> R:
            if args:
                raise TypeError(f"{name} takes keywords only")
            values = entry.read({public.get(key, key): value for key, value in kwargs.items()})
            return body(**{each.keyword: values[each.name] for each in inputs})  # type: ignore[arg-type, call-arg]

        checked.__doc__ = _documented(entry, body.__doc__ or "")
        return checked

    return declare


def find(name: str) -> Calculation:
    """The calculation of that name. Raises UnknownName, with the nearest names."""
    if name in CATALOGUE:
        return CATALOGUE[name]
    hint = did_you_mean(name, tuple(CATALOGUE)) or "All names: doorside calc --list."
    raise UnknownName(f"There is no calculation called {name[:60]!r}.", do=hint)


def _documented(entry: Calculation, doc: str) -> str:
    lines = [
        f"    {each.name:<16} {each.meaning + '; ' if each.meaning else ''}{each.allowed}" for each in entry.inputs
    ]
    facts = [f"Gives [{entry.unit}]  {entry.formula}", f"Source  {entry.source_marked}"]
    return "\n".join([inspect.cleandoc(doc), "", *lines, "", *facts, "Raises  Refused, naming input, unit and range"])


def _must_be_finite(name: str, value: object) -> None:
    if isinstance(value, float) and not (value - value == 0):
        raise OutOfRange(f"{name} has no finite value for these inputs.")
    if isinstance(value, list | tuple):
        for item in value:
            _must_be_finite(name, item)


def _for_json(value: object) -> object:
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, tuple | list):
        return [_for_json(item) for item in value]
    return value


def _words(value: object) -> str:
    if isinstance(value, tuple):
        return ", ".join(_words(item) for item in value)
    return plain(value) if isinstance(value, int | float) else str(value)


__all__ = ["CATALOGUE", "Calculation", "Graded", "Input", "Refused", "Result", "calculation", "find"]
