"""Small scenarios written in tests."""

from __future__ import annotations

from app.drill.scenario import read
from app.drill.taps import Made, posts
from app.drill.values import Scenario

CASE = "case | A | date=2026-11-03; t0=14:10; precaution=airborne; procedure=intubation; ach=12; clear=99.9"
STAFF = "staff | P1 | job=anaesthetist; resp=tight:K2; fit=K2:2026-02-10; drill=2026-05-02; immune=yes"


def scenario(*lines: str, case: str = CASE) -> Scenario:
    """A scenario of one case and one known person, with these lines."""
    return read("\n".join((case, STAFF, *lines)))


def made(given: Scenario) -> list[Made]:
    """Its entries in order of happening."""
    return sorted((one for post in posts(given) for one in post.made), key=lambda one: one.at)


def told(given: Scenario) -> list[str]:
    """Its entries in order of happening as `kind p`."""
    return [f"{one.tap.kind} {one.tap.body.get('p', one.tap.body.get('subject', ''))}".strip() for one in made(given)]
