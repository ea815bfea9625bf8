"""Cuff, breath and carbon dioxide: R32-R34, R54, R55."""

from __future__ import annotations

from typing import Any

from app.case.happening import Happening
from app.case.rules import ask
from app.case.rules.notice import Found, Sight, Table
from app.case.state import State

_CUFFED = frozenset({"tube", "neck", "tracheostomy"})
_PLACING = ("tube.passed", "sga.in", "fona.in", "tr.tube_in")
_UNCUFFED = ("uncuffed", "no cuff")


def _uncuffed(state: State) -> bool:
    """Whether the airway in place was marked as one without a cuff: by size, note, plan or the cuff's tap."""
    placed = [h for kind in _PLACING for h in state.all(kind)]
    last: Any = max(placed, key=lambda h: h.order).body if placed else None
    told = (state.plan.tube, state.airway.cuff_cmh2o, *((last.size, last.note) if last is not None else ()))
    return any(isinstance(text, str) and ask.names(text, *_UNCUFFED) for text in told)


def breath_before_cuff(sight: Sight) -> Found:
    """R32: the first breath through an airway with a cuff that is not up."""
    airway = sight.before.airway
    first = airway.breath_at is None and airway.device in _CUFFED
    if first and airway.cuff_up_at is None and not _uncuffed(sight.before):
        yield sight.find("R32", "before", over=lambda s: s.airway.cuff_up_at is not None)


def cuff_pressure(sight: Sight) -> Found:
    """R33: a cuff's pressure outside its range; the ends of the range are inside."""
    cuff = sight.body.cuff
    if cuff is None or isinstance(cuff, str):
        return
    group = "child" if ask.is_child(sight.after) else "adult"
    low, high = sight.limit("R33", f"{group}_low_cmh2o"), sight.limit("R33", f"{group}_high_cmh2o")
    if not low <= cuff <= high:
        yield sight.find("R33", "outside", over=_read_inside(sight.h, low, high), cuff=cuff, low=low, high=high)


def _read_inside(h: Happening, low: float, high: float) -> Any:
    def inside(body: Any) -> bool:
        return isinstance(body.cuff, int | float) and low <= body.cuff <= high

    return lambda state: any(ask.happened_since(state, kind, h, inside) for kind in ("cuff.up", "cuff.check"))


def _settled_since(state: State, h: Happening) -> bool:
    """Whether carbon dioxide was seen, the airway taken out or another one put in since."""
    return any(ask.happened_since(state, kind, h) for kind in ("co2.yes", "tube.out", "sga.out", *_PLACING))


def _answered_since(state: State, breath: Happening) -> bool:
    """As `_settled_since`, but an oral tube that comes out says nothing of a tube in the neck."""
    if state.airway.device != "tracheostomy":
        return _settled_since(state, breath)
    if any(ask.happened_since(state, kind, breath) for kind in ("co2.yes", *_PLACING)):
        return True
    return ask.happened_since(state, "tube.out", breath, lambda b: ask.names(b.what or "", "trach"))


def no_co2(sight: Sight) -> Found:
    """R34: no sustained carbon dioxide is said; and again after a while if the airway is still there, unproven."""
    h = sight.h

    def over(state: State) -> bool:
        return _settled_since(state, h)

    yield sight.find("R34", "absent", over=over)
    again = sight.find("R34", "absent", over=over, cause=f"{h.id}/again")
    yield sight.watch(sight.limit("R34", "wait_s"), again, lambda s: not over(s))


def no_co2_after_breath(sight: Sight) -> Found:
    """R34: no word of carbon dioxide for a while after the first breath. Once said to be absent, `no_co2` waits."""
    h = sight.h
    if sight.before.airway.breath_at is not None:
        return  # not the first breath through this airway
    found = sight.find("R34", "absent", over=lambda s: _answered_since(s, h))
    yield sight.watch(
        sight.limit("R34", "wait_s"),
        found,
        lambda s: not _answered_since(s, h) and not ask.happened_since(s, "co2.no", h),
    )


def opened_while_ventilated(sight: Sight) -> Found:
    """R54: the trachea is opened while ventilation is not held."""
    if sight.before.circuit.held_since is None:
        yield sight.find("R54", "ventilated", over=lambda s: s.circuit.held_since is not None)


def _new_tube_proven(state: State) -> bool:
    placed = state.last("tr.tube_in")
    return placed is not None and ask.happened_since(state, "co2.yes", placed, _by_the_neck)


def _by_the_neck(body: Any) -> bool:
    return body.site is None or body.site.casefold().startswith("trach")


def oral_tube_out_early(sight: Sight) -> Found:
    """R55: in a tracheostomy the oral tube comes out before the new one is proven."""
    state, what = sight.before, sight.body.what or ""
    under_way = state.setup.procedure == "tracheostomy" or state.all("tr.incise") or state.all("tr.tube_in")
    if under_way and not ask.names(what, "trach") and not _new_tube_proven(state):
        yield sight.find("R55", "unproven", over=_new_tube_proven)


RULES: Table = (
    (breath_before_cuff, ("vent.first",)),
    (cuff_pressure, ("cuff.up", "cuff.check")),
    (no_co2, ("co2.no",)),
    (no_co2_after_breath, ("vent.first",)),
    (opened_while_ventilated, ("tr.open",)),
    (oral_tube_out_early, ("tube.out",)),
)
