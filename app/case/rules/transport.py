"""Oxygen for the way and on it: R51-R53. A missing figure gives no notice."""

from __future__ import annotations

from datetime import datetime
from math import floor
from typing import Any

from app.base.checks import Refused
from app.bedside.cylinders import transfer_oxygen_l
from app.case.happening import Happening
from app.case.rules import ask
from app.case.rules.notice import Found, Sight, Table
from app.case.state import Setup, State

_SUPPLY = ("o2.check", "o2.swap")


def oxygen_at_departure(sight: Sight) -> Found:
    """R51: less oxygen than the way needs, or than a reserve asks for. Carried: the last check before leaving."""
    if sight.before.all("tx.depart"):
        return
    setup, carried_l = sight.after.setup, _last_checked_l(sight.before)
    need_l = _need_l(setup, 1.0)
    wanted_l = _need_l(setup, sight.limit("R51", "reserve_factor"))
    if carried_l is None or need_l is None or wanted_l is None or carried_l >= wanted_l or not setup.o2_lpm:
        return
    yield sight.find(
        "R51", "need" if carried_l < need_l else "reserve",
        have_min=floor(carried_l / setup.o2_lpm), need_min=setup.tx_min, carried_l=carried_l, need_l=need_l,
    )  # fmt: skip


def _last_checked_l(state: State) -> float | None:
    bodies: list[Any] = [h.body for h in reversed(state.all("o2.check"))]
    return next((body.litres for body in bodies if body.litres is not None), None)


def _need_l(setup: Setup, factor: float) -> float | None:
    """Oxygen for the planned way, times a factor [L]; None when a figure is missing or cannot be."""
    if setup.o2_lpm is None or setup.tx_min is None:
        return None
    try:
        return transfer_oxygen_l(minutes=setup.tx_min, flow_l_min=setup.o2_lpm, safety_factor=factor)
    except Refused:
        return None


def _in_transit(state: State) -> bool:
    return bool(state.all("tx.depart")) and not state.all("tx.arrive") and not state.all("tx.accept")


def _minutes(start: Happening, at: datetime) -> float:
    return (at - start.at).total_seconds() / 60


def _minutes_left(state: State, at: datetime) -> float | None:
    """Minutes for which the oxygen said last will do, less those gone since [min]."""
    said = [h for kind in _SUPPLY for h in state.all(kind) if ask.body(h).litres is not None]
    if not said:
        return None
    last: Any = max(said, key=lambda h: h.order)
    flow_l_min = _flow(state)
    return None if not flow_l_min else last.body.litres / flow_l_min - _minutes(last, at)


def _flow(state: State) -> float | None:
    """The flow that was last said as a figure, otherwise the planned one [L/min]."""
    told: list[Happening] = [h for kind in _SUPPLY for h in state.all(kind)]
    for h in sorted(told, key=lambda h: h.order, reverse=True):
        flow: Any = ask.body(h).flow
        if isinstance(flow, int | float) and flow > 0:
            return float(flow)
    return state.setup.o2_lpm


def _minutes_to_go(state: State, at: datetime) -> float | None:
    """Minutes to go as last said on the way, otherwise as planned, less those gone since; none left is 0 [min]."""
    left = state.all("tx.depart")[0]
    told = [h for kind in ("o2.check", "tx.waypoint") for h in state.all(kind) if h.order > left.order]
    for h in sorted(told, key=lambda h: h.order, reverse=True):
        togo: Any = ask.body(h).togo
        if togo is not None:
            return max(0.0, float(togo) - _minutes(h, at))
    planned = state.setup.tx_min
    return None if planned is None else max(0.0, planned - _minutes(left, at))


def _short(state: State, at: datetime, margin_min: float) -> tuple[float, float] | None:
    """Minutes left and to go when those left are too few; None otherwise, or when either is unknown."""
    if not _in_transit(state):
        return None
    left, to_go = _minutes_left(state, at), _minutes_to_go(state, at)
    if left is None or to_go is None or left >= to_go + margin_min - 1e-9:
        return None
    return left, to_go


def _says_figure(body: Any) -> bool:
    """Whether a tap says anew how far it is or how much is left: only such a one is judged."""
    return getattr(body, "togo", None) is not None or getattr(body, "litres", None) is not None


def oxygen_on_the_way(sight: Sight) -> Found:
    """R52: judged whenever the way or the oxygen is said anew; once until it is enough again."""
    body, margin_min = sight.body, sight.limit("R52", "margin_min")
    short = _short(sight.after, sight.h.at, margin_min) if _says_figure(body) else None
    if short is None or _already_short(sight, margin_min):
        return
    left, to_go = short
    yield sight.find(
        "R52", "short", over=lambda s: s.last_at is None or _short(s, s.last_at, margin_min) is None,
        have_min=floor(left), togo_min=round(to_go),
    )  # fmt: skip


def _already_short(sight: Sight, margin_min: float) -> bool:
    before = sight.before
    told = [h for kind in ("o2.check", "o2.swap", "tx.waypoint") for h in before.all(kind) if _says_figure(h.body)]
    on_the_way = sorted(
        (h for h in told if before.all("tx.depart") and h.order > before.all("tx.depart")[0].order),
        key=lambda h: h.order,
    )
    return bool(on_the_way) and sight.h.kind != "o2.swap" and _short(before, on_the_way[-1].at, margin_min) is not None


def flow_not_felt(sight: Sight) -> Found:
    """R53: a new cylinder whose flow nobody has felt at the outlet."""
    swap = sight.h
    if _felt(sight.body):
        return

    def unfelt(state: State) -> bool:
        return state.all("o2.swap")[-1].id == swap.id and not _felt_since(state, swap)

    found = sight.find("R53", "unfelt", over=lambda s: not unfelt(s))
    yield sight.watch(sight.limit("R53", "wait_s"), found, unfelt)


def _felt(body: Any) -> bool:
    return isinstance(body.flow, str) and body.flow.casefold() == "felt"


def _felt_since(state: State, swap: Happening) -> bool:
    return any(h.order > swap.order and _felt(h.body) for h in state.all("o2.check"))


RULES: Table = (
    (oxygen_at_departure, ("tx.depart",)),
    (oxygen_on_the_way, ("o2.check", "o2.swap", "tx.waypoint")),
    (flow_not_felt, ("o2.swap",)),
)
