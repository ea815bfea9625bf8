"""The registers of people: who works here, their fit tests, and what is recorded of their immunity."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from app.base.checks import plain
from app.base.kinds import ROLES
from app.base.messages import N_
from app.base.register.spec import Field, Names, Problem, Register, Row, Shown
from app.people import fit
from app.people.tables import FitTest, Immunity, Person

ACTIVE = Field("active", N_("In use"), "yes", default=True)


def _person(row: Row, names: Names) -> Iterable[Problem]:
    if row["resp"] == "hood" and not row["hood"]:
        yield Problem(N_("Usually wears a hood, but is not recorded as able to."), column="hood")


PEOPLE = Register(
    name="people",
    title=N_("People"),
    one=N_("Person"),
    about=N_("Everybody who may be given a role in a case. Pages show the working name and the role, nothing else."),
    table=Person,
    fields=(
        Field("name", N_("Working name"), required=True, hint=N_("As pages show it. Nobody else may have the same.")),
        Field("initials", N_("Initials"), required=True),
        Field("job", N_("Job"), required=True),
        Field("roles", N_("Signed off for"), "words", choices=ROLES, default=""),
        Field("resp", N_("Usual respirator"), "worn", required=True, default="none"),
        Field("hood", N_("May work in a hood"), "yes", default=False),
        Field("drill", N_("Last team drill"), "day"),
        Field(
            "no_entry",
            N_("May not enter"),
            "yes",
            default=False,
            confined=True,
            hint=N_("Elsewhere it is only “entry condition not met”. The reason stands nowhere here."),
        ),
        Field("active", N_("Works here"), "yes", default=True),
    ),
    key=("name",),
    listed=("name", "job", "roles", "resp", "drill", "active"),
    order=("-active", "name"),
    check=_person,
)


def test_reading(row: Row, names: Names) -> fit.Reading:
    """How a row of fit tests reads. The model's face comes with the names (`FACES`)."""
    face = names.text(FACES, str(row["respirator_id"]))
    result = row["result"]
    return fit.reading(str(row["method"]), str(row["factors"] or ""), None if result is None else str(result), face)


FACES = "respirator-faces"
"""In `Names`: id of a respirator -> half, full or hood."""


_READ = {True: N_("pass"), False: N_("fail"), None: N_("cannot be told")}


def _said(row: Row, names: Names) -> tuple[str, ...]:
    read = test_reading(row, names)
    return _READ[read.us], _READ[read.uk]


def _overall(row: Row, names: Names) -> tuple[str, ...]:
    factor = test_reading(row, names).factor
    return ("–",) if factor is None else (plain(round(factor)),)


def _fit(row: Row, names: Names) -> Iterable[Problem]:
    measured = row["method"] in fit.MEASURED
    if measured and not row["factors"]:
        yield Problem(N_("A measured test needs the factor of each exercise."), column="factors")
    if not measured and row["factors"]:
        yield Problem(N_("This method measures no factor. Leave it empty."), column="factors")
    if not measured and row["result"] is None:
        yield Problem(N_("Say whether this test was passed."), column="result")
    if names.text(FACES, str(row["respirator_id"])) == "hood":
        yield Problem(N_("A hood needs no fit test."), column="respirator_id")


FIT_TESTS = Register(
    name="fit-tests",
    title=N_("Fit tests"),
    one=N_("Fit test"),
    about=N_("Each test of a person in one exact model. A new model is a new test; a seal check is none."),
    table=FitTest,
    fields=(
        Field("person_id", N_("Person"), "ref", ref="people", required=True),
        Field("respirator_id", N_("Exact model"), "ref", ref="respirators", required=True),
        Field("size", N_("Size")),
        Field("tested_on", N_("Tested on"), "day", required=True),
        Field("method", N_("Method"), "choice", choices=fit.METHODS, required=True),
        Field(
            "factors", N_("Factor of each exercise"), "numbers", least=0, most=1e7, default="",
            hint=N_("With spaces between: 240 310 198. US: their harmonic mean. UK: each of seven."),
        ),
        Field(
            "result", N_("Result of a taste or smell test"), "choice",
            choices={"pass": N_("pass"), "fail": N_("fail")},
        ),
        Field("tested_by", N_("Tested by")),
    ),
    key=("person_id", "respirator_id", "size", "tested_on"),
    listed=("person_id", "respirator_id", "size", "tested_on", "method"),
    order=("-tested_on",),
    check=_fit,
    shown=(Shown(N_("Overall factor"), _overall), Shown(N_("US · UK reading"), _said)),
)  # fmt: skip

IMMUNITY = Register(
    name="immunity",
    title=N_("Immunity"),
    one=N_("Record of immunity"),
    about=N_(
        "Whether somebody is recorded immune: yes, no or unknown, never a result. No other page shows it; "
        "elsewhere it is only “entry condition not met”."
    ),
    table=Immunity,
    fields=(
        Field("person_id", N_("Person"), "ref", ref="people", required=True),
        Field("condition", N_("Condition"), required=True, hint=N_("One word, as the organisms ask for it: measles.")),
        Field(
            "state", N_("Recorded immune"), "choice", required=True, default="unknown",
            choices={"yes": N_("yes"), "no": N_("no"), "unknown": N_("unknown")},
        ),
        Field("recorded_on", N_("Recorded on"), "day"),
    ),
    key=("person_id", "condition"),
    listed=("person_id", "condition", "state", "recorded_on"),
    order=("condition",),
    confined=True,
)  # fmt: skip


def drilled_since(day: date | None, today: date, days: int) -> bool:
    """Whether a drill is in date. One that nobody recorded is not."""
    return day is not None and (today - day).days <= days
