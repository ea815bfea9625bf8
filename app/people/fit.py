"""Fit tests as two countries read them. The same data can pass one and fail the other.

United States (29 CFR 1910.134, Appendix A): the harmonic mean of all exercises, at least 100 for a half mask or a
filtering facepiece, 500 for a full facepiece [M]. United Kingdom (HSE INDG479): every one of seven exercises, at least
100, or 2000 for a full facepiece [C2]. A test that only passes or fails by taste or smell counts where a factor of 100
is enough, so never for a full facepiece; irritant smoke is no method in the United Kingdom [M].
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from functools import lru_cache

from app.base.messages import N_
from app.bedside.protection import osha_overall_fit_factor, uk_fit_test_pass_every_exercise

US_LEVEL: Mapping[str, float] = {"half": 100, "full": 500}
UK_LEVEL: Mapping[str, float] = {"half": 100, "full": 2000}
UK_EXERCISES = 7
MEASURED: Mapping[str, str] = {
    "ambient particle count": N_("ambient particle count"),
    "controlled negative pressure": N_("controlled negative pressure"),
    "generated aerosol": N_("generated aerosol in a chamber"),
}
TASTED: Mapping[str, str] = {
    "bitter aerosol": N_("bitter aerosol"),
    "sweet aerosol": N_("sweet aerosol"),
    "isoamyl acetate": N_("isoamyl acetate"),
    "irritant smoke": N_("irritant smoke"),
}
NOT_RECORDED = "not recorded"
METHODS: Mapping[str, str] = {**MEASURED, **TASTED, NOT_RECORDED: N_("not recorded")}


@dataclass(frozen=True, slots=True)
class Reading:
    """Whether a test passes, by country; None where its data do not say. `factor`: the overall one, US scheme [-]."""

    us: bool | None
    uk: bool | None
    factor: float | None = None

    def counts(self, by: str) -> bool:
        """Whether it counts for a department that reads by `us`, `uk` or `both`. What is not known does not count."""
        return {"us": self.us is True, "uk": self.uk is True}.get(by, self.us is True and self.uk is True)


@lru_cache(maxsize=4096)
def reading(method: str, factors: str, result: str | None, face: str) -> Reading:
    """A test read both ways. Remembered: every page that tells who is covered asks this of every test.

    factors  fit factor of each exercise with spaces between, above 0; only for measured methods
    result   what the tester said: pass, fail, or nothing
    face     half, full or hood; a hood needs no test and has no reading
    """
    if face not in US_LEVEL:
        return Reading(None, None)
    told = {"pass": True, "fail": False}.get(result or "")
    if method in MEASURED:
        given = tuple(float(one) for one in factors.split())
        if not given:
            return Reading(None, None)
        if min(given) <= 0:
            return Reading(False, False, 0.0)
        overall, us = osha_overall_fit_factor(exercise_fit_factors=given, pass_level=US_LEVEL[face])
        uk = uk_fit_test_pass_every_exercise(exercise_fit_factors=given, pass_level=UK_LEVEL[face]).value
        return Reading(us, uk if len(given) >= UK_EXERCISES or not uk else None, overall)
    if method in TASTED:
        enough = face == "half"
        return Reading(told and enough, told and enough and method in ("bitter aerosol", "sweet aerosol"))
    return Reading(told, told)


@dataclass(frozen=True, slots=True)
class FitResult:
    """One fit test with what is needed to read it."""

    person: str
    model: str
    size: str
    on: date
    reading: Reading


def last_passed(tests: Iterable[FitResult], by: str) -> dict[str, dict[str, FitResult]]:
    """Person -> model -> the newest test, where that one counts. A later failure ends an earlier pass."""
    newest: dict[tuple[str, str], FitResult] = {}
    for test in tests:
        known = newest.get((test.person, test.model))
        if known is None or test.on >= known.on:
            newest[test.person, test.model] = test
    found: dict[str, dict[str, FitResult]] = {}
    for (person, model), test in newest.items():
        if test.reading.counts(by):
            found.setdefault(person, {})[model] = test
    return found
