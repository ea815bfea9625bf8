"""How the rules of a case are set: limits, severities, audience and switches of its protocol version."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache

from app.base.errors import Unknown
from app.case.rules.notice import Settings
from app.case.state import State
from app.protocol.library import protocol_for

SettingsOf = Callable[[State], Settings]
"""Gives the settings of the protocol version that a case is pinned to."""


def built_in(state: State) -> Settings:
    """Settings of the protocol that comes with Doorside for this procedure and age; intubation's until it is said."""
    age = state.setup.age
    return _built_in(state.setup.procedure or "", "" if age is None else str(age))


@lru_cache(maxsize=256)
def _built_in(procedure: str, age: str) -> Settings:
    try:
        return protocol_for(procedure, age).rules
    except Unknown:
        return protocol_for("intubation", age).rules


def pinned(state: State) -> Settings:
    """Settings of the protocol version that `case.open` pinned; the built-in ones of rules that it does not know."""
    built = built_in(state)
    return state.rules if len(state.rules) >= len(built) else {**built, **state.rules}


def switched_off(settings: Settings) -> tuple[str, ...]:
    """Rules that a protocol has switched off: silent, and named in the record."""
    return tuple(sorted(rule for rule, setting in settings.items() if not setting.on))
