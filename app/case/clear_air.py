"""When the room's air counts as clear (I17): from what happened and the room's facts."""

from __future__ import annotations

from datetime import datetime, timedelta
from math import ceil

from app.base.checks import OutOfRange
from app.bedside.air import clearance_minutes
from app.case.state import State

LONGEST_WAIT_MIN = 7 * 24 * 60
_SURROUNDS = ("airborne", "enhanced")
_BY_THE_ACT = ("contact", "droplet", "none")


def clear_start(state: State) -> datetime | None:
    """From when the air's wait counts: the later of the last aerosol and the patient leaving.

    Under airborne or enhanced precautions nothing clears while the patient is inside. Under contact or droplet
    precautions the last aerosol act counts, for what the patient breathes out is not the reason for the wait. Under
    several at once the strictest counts; under precautions unknown, or in words of the house, nothing can be said.
    """
    ended, gone = state.last("agp.end"), state.last("patient.out")
    precaution = (state.setup.precaution or "").casefold()
    if any(word in precaution for word in _SURROUNDS):
        if gone is None:
            return None
        return max(gone.at, ended.at) if ended is not None else gone.at
    known = any(word in precaution for word in _BY_THE_ACT)
    return ended.at if known and ended is not None else None


def clear_minutes(state: State) -> int | None:
    """Minutes of waiting, rounded up [min].

    None while the room's air changes or its aim are unknown or cannot be right, and beyond a week: no room is that
    slow, so a figure was mistyped.
    """
    room = state.room
    if room.ach is None or room.clear_percent is None:
        return None
    mixing = 1.0 if room.mixing is None else room.mixing
    try:
        unrounded = clearance_minutes(ach=room.ach, efficiency_percent=room.clear_percent, mixing_factor=mixing)
    except OutOfRange:  # a figure that cannot be right gives no number
        return None
    return ceil(round(unrounded, 9)) if unrounded <= LONGEST_WAIT_MIN else None


def clear_due(state: State) -> datetime | None:
    """When the air counts as clear; None when nothing says so."""
    start, minutes = clear_start(state), clear_minutes(state)
    return None if start is None or minutes is None else start + timedelta(minutes=minutes)
