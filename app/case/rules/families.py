"""Kind of happening to the rules that are asked about it, over all families."""

from __future__ import annotations

from app.case.rules import (
    airway,
    circuit,
    crew,
    door,
    proof,
    protection,
    readiness,
    record,
    requests,
    rescue,
    transport,
    undressing,
    vitals,
)
from app.case.rules.notice import Rule

FAMILIES = (
    crew, readiness, protection, undressing, airway, vitals, proof, circuit, rescue, requests, door, transport, record,
)  # fmt: skip


def _by_kind() -> dict[str, tuple[Rule, ...]]:
    found: dict[str, tuple[Rule, ...]] = {}
    for family in FAMILIES:
        for rule, kinds in family.RULES:
            for kind in kinds:
                found[kind] = (*found.get(kind, ()), rule)
    return found


RULES_BY_KIND = _by_kind()
