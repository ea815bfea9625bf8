"""What a handler is, and how a file registers its own."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from app.case.happening import Happening
from app.case.state import State

Handler = Callable[[State, Happening, Any], State]


def recorded(state: State, happening: Happening, body: Any) -> State:
    """The happening is kept under its kind (`fold` does that) and changes nothing else."""
    return state
