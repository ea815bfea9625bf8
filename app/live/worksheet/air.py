"""How long this room's air takes to clear. An unknown rate of air changes stays unknown."""

from __future__ import annotations

from app.base.calculation import Result
from app.base.checks import plain
from app.base.messages import N_
from app.live.worksheet.fields import Given
from app.live.worksheet.figure import Beside, Figure, rounded_up, worked


def air(given: Given) -> tuple[Figure, ...]:
    """Minutes after the last aerosol, rounded up, with the mixing factor in sight."""
    return (
        worked(
            "clearance", N_("Wait after the last aerosol"), "clearance_minutes_with_mixing_factor",
            given.values("ach", "efficiency_percent", "mixing_factor"), rounded_up(), _beside,
        ),
    )  # fmt: skip


def _beside(result: Result) -> Figure:
    """A factor that is not in sight would claim an ideal room."""
    removed, factor = (float(str(result.inputs[name])) for name in ("efficiency_percent", "mixing_factor"))
    return Figure(
        "", "", beside=(Beside(N_("to remove"), plain(removed), "%"), Beside(N_("mixing factor"), plain(factor)))
    )
