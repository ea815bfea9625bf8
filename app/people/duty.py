"""Who is on duty, and what the department fixes for its own registers."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from app.base.messages import N_
from app.base.register.spec import Field, Names, Problem, Register, Row
from app.people.organisms import COUNTRIES
from app.people.tables import Practice, Shift


def _shift(row: Row, names: Names) -> Iterable[Problem]:
    start, end = row["starts_at"], row["ends_at"]
    if isinstance(start, datetime) and isinstance(end, datetime) and not 0 < (end - start).total_seconds() <= 172_800:
        yield Problem(N_("A shift ends after it starts, within two days."), column="ends_at")


SHIFTS = Register(
    name="shifts",
    title=N_("Shifts"),
    one=N_("Shift"),
    about=N_(
        "Who is on duty from when to when: for crews, for the change of shift, and when a new respirator arrives."
    ),
    table=Shift,
    fields=(
        Field("name", N_("Shift"), required=True),
        Field("starts_at", N_("Starts"), "moment", required=True),
        Field("ends_at", N_("Ends"), "moment", required=True),
        Field("people", N_("People"), "refs", ref="people", default=""),
    ),
    key=("name", "starts_at"),
    listed=("name", "starts_at", "ends_at", "people"),
    order=("-starts_at",),
    check=_shift,
)

PRACTICE = Register(
    name="practice",
    title=N_("The department's limits"),
    one=N_("Limits"),
    about=N_("How this department reads fit tests, and when a check is too old. Rules have theirs in the protocols."),
    table=Practice,
    fields=(
        Field("name", N_("Department"), required=True),
        Field("country", N_("Country of its rules"), "choice", choices=COUNTRIES, default=""),
        Field(
            "fit_reading", N_("A fit test counts when it passes by"), "choice", required=True, default="both",
            choices={"both": N_("both readings"), "us": N_("the US reading"), "uk": N_("the UK reading")},
        ),
        Field("ach_days", N_("Air changes are measured every"), "whole", "d", 1, 3660, required=True, default=365),
        Field("room_check_h", N_("A room in use is checked every"), "whole", "h", 1, 8760, required=True, default=24),
        Field("kit_check_h", N_("Kit is checked every"), "whole", "h", 1, 8760, required=True, default=24),
        Field(
            "cylinder_percent", N_("A cylinder is full enough from"), "whole", "%", 1, 100, required=True, default=50,
            hint=N_("Of what a full one reads. Local default [L]."),
        ),
    ),
    key=("name",),
    listed=("name", "country", "fit_reading"),
    only="department",
)  # fmt: skip
