"""Every clock that can run in a room, with what starts and ends it, for a page that has lost its line.

Sent hidden. While own taps wait, `static/js/fold.js` starts and ends these by the same table and shows the first that
runs. The table says in data what `case/life.running_clock` says in code; tests hold one against the other.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property
from typing import Any

from app.base.messages import N_
from app.case.state import State
from app.live.now import CaseNow
from app.live.views.taps import stored_body

Match = tuple[str, Mapping[str, Any]]
Told = tuple[str, Mapping[str, Any], datetime]
_PLACED: tuple[Match, ...] = tuple((kind, {}) for kind in ("tube.passed", "sga.in", "fona.in", "tr.tube_in"))
_REMOVED: tuple[Match, ...] = (("tube.out", {}), ("sga.out", {}), ("ext.out", {}))
_INDUCTION: Match = ("drug.given", {"class": "induction"})


@dataclass(frozen=True)
class Ticking:
    """One clock: its name, the taps that start it and those that end it, as (kind, values its body must have).

    first   a second start does not set it back
    """

    label: str
    starts: tuple[Match, ...]
    ends: tuple[Match, ...]
    first: bool = True

    @cached_property
    def turns_json(self) -> str:
        """Kind, or kind and class of drug -> whether such a tap starts it; one that does neither is left out."""
        ends = {_named(one): False for one in self.ends}
        return json.dumps(ends | {_named(one): True for one in self.starts})

    def since(self, told: Sequence[Told]) -> datetime | None:
        """Since when it runs after these happenings (kind, body, moment), in order; None when it does not."""
        running = None
        for kind, body, at in told:
            if any(_fits(one, kind, body) for one in self.ends):
                running = None
            if any(_fits(one, kind, body) for one in self.starts) and not (self.first and running):
                running = at
        return running


def _named(match: Match) -> str:
    return " ".join((match[0], *match[1].values()))


def _fits(match: Match, kind: str, body: Mapping[str, Any]) -> bool:
    return match[0] == kind and all(body.get(name) == value for name, value in match[1].items())


CLOCKS = (
    Ticking(N_("Circuit open"), (("circuit.off", {}),), (("circuit.on", {}),)),
    Ticking(N_("Ventilation held"), (("vent.hold", {}),), (("vent.resume", {}), ("vent.first", {}))),
    Ticking(N_("This attempt"), (("scope.start", {}),), (("scope.end", {}), *_PLACED, *_REMOVED)),
    Ticking(N_("First breath, no CO2 yet"), (("vent.first", {}),), (("co2.yes", {}), *_PLACED, *_REMOVED)),
    Ticking(N_("Since induction"), (_INDUCTION,), (("co2.yes", {}), ("ext.out", {}))),
    Ticking(N_("Since the tube came out"), (("ext.out", {}),), _PLACED, first=False),
    Ticking(N_("On the way"), (("tx.depart", {}),), (("tx.arrive", {}),)),
    Ticking(N_("Pre-oxygenation"), (("preox.start", {}),), (_INDUCTION, *_PLACED)),
)
"""In the order of `running_clock`: the one whose running on would hurt soonest comes first."""
_TRACHEOSTOMY = tuple(
    Ticking(one.label, one.starts, tuple(end for end in one.ends if end[0] != "tube.out"), one.first) for one in CLOCKS
)


@dataclass(frozen=True, slots=True)
class Run:
    """A clock as it is sent: when it began to run, if it does, and its table as JSON."""

    label: str
    since: datetime | None
    turns_json: str
    first: bool


@dataclass(frozen=True, slots=True)
class RunningView:
    """All clocks, the most pressing first."""

    clocks: tuple[Run, ...]

    @classmethod
    def of(cls, cases: Sequence[CaseNow]) -> RunningView:
        state = cases[0].state
        told, clocks = _told(state), clocks_of(state)
        return cls(tuple(Run(one.label, one.since(told), one.turns_json, one.first) for one in clocks))


def clocks_of(state: State) -> tuple[Ticking, ...]:
    """The clocks of a case. In a tracheostomy it is the oral tube that comes out: the new one stays to be proven."""
    return _TRACHEOSTOMY if state.setup.procedure == "tracheostomy" else CLOCKS


_KINDS = sorted({kind for clock in CLOCKS for kind, _ in (*clock.starts, *clock.ends)})


def _told(state: State) -> list[Told]:
    if state.closed_at is not None:
        return []
    found = sorted((h for kind in _KINDS for h in state.all(kind)), key=lambda h: h.order)
    return [(h.kind, stored_body(h), h.at) for h in found]
