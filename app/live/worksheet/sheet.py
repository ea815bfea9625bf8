"""The whole worksheet: every section's rows for what was typed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from app.base.messages import N_
from app.live.worksheet.air import air
from app.live.worksheet.apnoea import apnoea
from app.live.worksheet.body import breath, patient
from app.live.worksheet.curve import Curve
from app.live.worksheet.drugs import Doses, doses
from app.live.worksheet.fields import Given
from app.live.worksheet.figure import Figure
from app.live.worksheet.journey import journey
from app.live.worksheet.tubes import tube

TITLES = {
    "patient": N_("The patient"),
    "breath": N_("Breaths"),
    "tube": N_("Tube"),
    "apnoea": N_("Without breathing"),
    "journey": N_("Oxygen for the way"),
    "air": N_("This room's air"),
    "doses": N_("Drugs"),
}
"""Section to its heading, in the order of the page."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """Rows by section; the doses and the curve are set out in their own way."""

    figures: dict[str, tuple[Figure, ...]]
    curve: Curve | None
    doses: Doses
    contradiction: bool

    @classmethod
    def of(cls, given: Given) -> Sheet:
        """All of it. Takes up to a second when the apnoea forecast has what it needs."""
        forecast, curve = apnoea(given)
        figures = {
            "patient": patient(given),
            "breath": breath(given),
            "tube": tube(given),
            "apnoea": (forecast,),
            "journey": journey(given),
            "air": air(given),
        }
        said = {"adult": False, "child": True}.get(given.text("who"))
        return cls(figures, curve, doses(given), said is not None and said is not given.child)

    @property
    def rows(self) -> Iterator[Figure]:
        """Every row of every section."""
        for rows in self.figures.values():
            yield from rows

    @property
    def worked_out(self) -> int:
        """How many rows have a value."""
        return sum(row.value is not None for row in self.rows)

    @property
    def waiting(self) -> int:
        """How many rows have none."""
        return sum(row.value is None for row in self.rows)
