"""A respirator model comes into use: who on duty is not covered by it, before it is handed out."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Literal

from app.base.messages import N_
from app.people.fit import FitResult
from app.people.tables import Person

Why = Literal["covered", "no test", "too old", "did not pass"]
WORDS: dict[Why, str] = {
    "covered": N_("covered"),
    "no test": N_("no test"),
    "too old": N_("test too old"),
    "did not pass": N_("did not pass"),
}


@dataclass(frozen=True, slots=True)
class Cover:
    """One person and one model. tested_on: the last test in it, passed or not."""

    person: Person
    why: Why
    tested_on: date | None
    size: str

    @property
    def covered(self) -> bool:
        return self.why == "covered"


def cover(
    people: Iterable[Person], model: str, tests: Iterable[FitResult], by: str, today: date, days: int
) -> tuple[Cover, ...]:
    """Everybody of these people, those who are not covered first; a hood beside them is no test in the model.

    by    the reading that counts: us, uk or both
    days  how long a test is valid; day `days` is still valid (R05)
    """
    newest: dict[str, FitResult] = {}
    for test in tests:
        if test.model == model and (test.person not in newest or test.on >= newest[test.person].on):
            newest[test.person] = test
    found = [_one(person, newest, by, today, days) for person in people]
    return tuple(sorted(found, key=lambda one: (one.covered, one.person.name)))


def _one(person: Person, newest: Mapping[str, FitResult], by: str, today: date, days: int) -> Cover:
    test = newest.get(person.id)
    if test is None:
        return Cover(person, "no test", None, "")
    if not test.reading.counts(by):
        return Cover(person, "did not pass", test.on, test.size)
    why: Why = "covered" if 0 <= (today - test.on).days <= days else "too old"
    return Cover(person, why, test.on, test.size)
