"""Is an oxygen cylinder ready: its gauge against a full one, its date, and how long ago it was read. A fact, no alarm.

Only what is known counts against it: one whose gauge nobody has read is to be looked at, not empty. How full is enough
is the department's own limit; half of a full one is a local default [L].
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Literal

from app.base.messages import N_
from app.kit.tables import Cylinder

CODE = "oxygen"
"""What kit lists call oxygen: a good cylinder in a kit is one of it."""
Verdict = Literal["ready", "under-filled", "past its date", "never read", "too old", "cannot be told"]
VERDICTS: dict[Verdict, str] = {
    "ready": N_("ready"),
    "under-filled": N_("under-filled"),
    "past its date": N_("past its date"),
    "never read": N_("gauge never read"),
    "too old": N_("gauge read too long ago"),
    "cannot be told": N_("cannot be told: what a full one reads is not known"),
}


@dataclass(frozen=True, slots=True)
class Judged:
    """One cylinder today. percent: of a full one, by its gauge; None where that is not known [%]."""

    cylinder: Cylinder
    verdict: Verdict
    percent: float | None

    @property
    def lacking(self) -> bool:
        """Whether it is known not to do."""
        return self.verdict in ("under-filled", "past its date")

    @property
    def needs_look(self) -> bool:
        return self.verdict != "ready"


def judged(one: Cylinder, now: datetime, today: date, *, check_h: int, least_percent: int) -> Judged:
    """A cylinder at a moment. It may be used up to and on its date; just so full as the limit is still enough."""
    known = one.gauge_bar is not None and one.full_bar is not None
    percent = 100 * one.gauge_bar / one.full_bar if known else None  # type: ignore[operator]
    return Judged(one, _verdict(one, percent, now, today, check_h, least_percent), percent)


def _verdict(
    one: Cylinder, percent: float | None, now: datetime, today: date, check_h: int, least_percent: int
) -> Verdict:
    if one.expires_on is not None and one.expires_on < today:
        return "past its date"
    if percent is not None and percent < least_percent:
        return "under-filled"
    if one.gauge_bar is None or one.read_at is None:
        return "never read"
    if now - one.read_at > timedelta(hours=check_h):
        return "too old"
    return "ready" if percent is not None else "cannot be told"
