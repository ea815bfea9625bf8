"""The breathing circuit and its clamp: R35-R37."""

from __future__ import annotations

from app.case.rules.notice import Found, Sight, Table
from app.case.state import State


def opened_unclamped(sight: Sight) -> Found:
    """R35: the circuit is opened while the tube is not clamped."""
    circuit = sight.before.circuit
    if circuit.open_since is None and circuit.clamped_since is None:
        yield sight.find(
            "R35", "unclamped",
            over=lambda s: s.circuit.open_since is None or s.circuit.clamped_since is not None,
        )  # fmt: skip


def open_long(sight: Sight) -> Found:
    """R36: the circuit open for more than a few seconds."""
    if sight.before.circuit.open_since is not None:
        return
    since, limit = sight.after.circuit.open_since, sight.limit("R36", "open_s")

    def still(state: State) -> bool:
        return state.circuit.open_since == since

    yield sight.watch(limit, sight.find("R36", "long", over=lambda s: not still(s), seconds=int(limit)), still)


def still_clamped(sight: Sight) -> Found:
    """R37: the clamp stays on after the circuit was closed."""
    since = sight.before.circuit.clamped_since
    if since is None:
        return

    def still(state: State) -> bool:
        return state.circuit.clamped_since == since and state.circuit.open_since is None

    found = sight.find("R37", "on", over=lambda s: s.circuit.clamped_since != since)
    yield sight.watch(sight.limit("R37", "wait_s"), found, still)


RULES: Table = (
    (opened_unclamped, ("circuit.off",)),
    (open_long, ("circuit.off",)),
    (still_clamped, ("circuit.on",)),
)
