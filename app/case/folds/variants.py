"""Extubation, transport, tracheostomy, bronchoscopy, and what comes after a case."""

from __future__ import annotations

from dataclasses import replace

from app.case.folds.handler import Handler, recorded
from app.case.happening import Happening
from app.case.state import State
from app.case.vocabulary import variants as v


def exposure_open(state: State, h: Happening, body: v.ExposureOpen) -> State:
    return state if body.p in state.exposures else replace(state, exposures=(*state.exposures, body.p))


HANDLERS: dict[str, Handler] = {
    "exposure.open": exposure_open,
    **dict.fromkeys(
        (
            "ext.decide", "ext.step", "o2.mask", "o2.check", "o2.swap", "tx.depart", "tx.waypoint", "tx.arrive",
            "tx.accept", "tr.trial", "tr.incise", "tr.ett", "tr.open", "br.in", "br.out", "incident.new",
            "debrief.start", "debrief.point", "debrief.done", "action.new", "action.done",
        ),
        recorded,
    ),
}  # fmt: skip
