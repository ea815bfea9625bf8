"""Moments that several readings share (`judging.md`): the airway step, the tube, the start of aerosol clearance."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from app.case.happening import Happening
from app.case.state import State
from app.case.vocabulary.airway import DrugGiven


def induction(state: State) -> Happening | None:
    """The first induction drug."""
    return next(
        (h for h in state.all("drug.given") if isinstance(h.body, DrugGiven) and h.body.class_ == "induction"), None
    )


def airway_step(state: State) -> Happening | None:
    """The first of induction, `ext.out`, `tr.incise` and `tx.depart`."""
    found = [h for h in (induction(state), *(state.first(k) for k in ("ext.out", "tr.incise", "tx.depart"))) if h]
    return min(found, key=lambda h: h.order, default=None)


def tube(state: State) -> Happening | None:
    """The first of `tube.passed`, `fona.in` and `tr.tube_in`."""
    found = [h for kind in ("tube.passed", "fona.in", "tr.tube_in") if (h := state.first(kind))]
    return min(found, key=lambda h: h.order, default=None)


def first_at_or_else_last(found: Sequence[Happening], moment: datetime) -> Happening | None:
    """The first at or after a moment; where all lie before it, the last of them (the order was wrong)."""
    return next((h for h in found if h.at >= moment), found[-1] if found else None)
