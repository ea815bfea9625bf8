"""The reader: a scenario file's text to a `Scenario`. Every mistake names its line and what was probably meant."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from hashlib import sha256
from pathlib import Path
from typing import Any

from app.base.checks import did_you_mean
from app.base.errors import NotValid
from app.base.kinds import ROLES
from app.case.vocabulary.registry import KINDS, read_body
from app.case.vocabulary.words import body_of
from app.drill.expected import Expectations
from app.drill.grammar import ScenarioMistake, columns, offset, words
from app.drill.setup import case_setup, handle, member
from app.drill.shorthand import parts
from app.drill.values import Act, CaseSetup, Correction, Member, Scenario

SYSTEM = "SYS"
LARGEST_BYTES = 4_000_000
_REPORTERS = (*ROLES, SYSTEM)
_CORRECTING = ("tap.fix", "tap.void")
_BY_REF = ("case.open", "case.close", "case.abort", "case.sign")


def read_file(path: Path) -> Scenario:
    """A scenario file. Raises ScenarioMistake, also for what cannot be opened or is no text."""
    try:
        with path.open("rb") as file:
            raw = file.read(LARGEST_BYTES + 1)
    except OSError as error:
        raise ScenarioMistake(f"{path} cannot be read: {error.strerror or error}.") from None
    if len(raw) > LARGEST_BYTES:
        raise ScenarioMistake(f"{path.name} is larger than {LARGEST_BYTES // 1_000_000} MB, so it is no scenario.")
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        raise ScenarioMistake("is not UTF-8 text.", line=line) from None
    return read(text, path.stem)


def read(text: str, name: str = "scenario") -> Scenario:
    """A scenario from its text; `name` serves when it has no title. Raises ScenarioMistake."""
    reader = _Reader()
    # splitlines() would also break at form feeds and the like; files end their lines as everyone does.
    for number, line in enumerate(text.replace("\r\n", "\n").split("\n"), start=1):
        reader.add(line.strip(), number)
    return reader.done(name, sha256(text.encode()).hexdigest())


class _Reader:
    def __init__(self) -> None:
        self._title: str | None = None
        self._cases: dict[str, CaseSetup] = {}
        self._staff: dict[str, Member] = {}
        self._steps: list[tuple[str, int]] = []
        self._expects: list[tuple[str, int]] = []

    def add(self, line: str, number: int) -> None:
        if line.startswith("#"):
            title = line.lstrip("#").partition(":")[0].strip()
            self._title = self._title or title
            return
        if not line:
            return
        first, bar, rest = line.partition("|")
        first = first.strip()
        if not bar:
            raise ScenarioMistake(f"{line[:60]!r} has no columns.", line=number, do="Part them by |.")
        if first == "case":
            setup = case_setup(rest, number)
            _once(self._cases, setup.handle, "case", number)
            self._cases[setup.handle] = setup
        elif first == "staff":
            person = member(rest, number)
            _once(self._staff, person.handle, "person", number)
            self._staff[person.handle] = person
        elif first == "expect":
            self._expects.append((rest, number))
        elif first[:1].isdigit() or first[:1] == "-":
            self._steps.append((line, number))
        else:
            near = did_you_mean(first, ("case", "staff", "expect"))
            raise ScenarioMistake(
                f"a line cannot begin with {first[:60]!r}.",
                line=number,
                do=near or "It begins with case, staff, expect, an offset mm:ss, or # for a comment.",
            )

    def done(self, name: str, digest: str) -> Scenario:
        if not self._cases:
            raise ScenarioMistake("The file has no `case` line.", do="Begin with: case | A | date=…; t0=hh:mm; …")
        if not self._steps:
            raise ScenarioMistake("The file has no line in which anything happens.")
        acts = self._acts()
        corrections, acts = _Corrections(self._cases, acts).resolve()
        for act in acts:
            if act.index not in corrections:
                _checked(act)
        expectations = Expectations()
        for rest, number in self._expects:
            expectations.add(rest, number, self._cases)
        return Scenario(
            self._title or name, digest, self._cases, self._staff, tuple(acts), corrections, expectations.done()
        )

    def _acts(self) -> list[Act]:
        acts: list[Act] = []
        names: dict[str, int] = {}
        held: dict[str, str] = {}
        for text, number in self._steps:
            at, who, kind, *rest = _step(text, number)
            said = words(rest[0] if rest else "", number)
            name = said.pop("id", None)
            if name is not None:
                if handle(name, "an entry", number) in names:
                    raise ScenarioMistake(f"id={name} was given to line {names[name]} already.", line=number)
                names[name] = number
            case = self._case(kind, said, held, number)
            if name is not None:
                held[name] = case
            t0 = self._cases[case].t0
            received = said.pop("recv", None)
            arrived = None if received is None else t0 + offset(received, number)
            happened = offset(at, number)
            for part in parts(kind, said, happened, number):
                body = dict(part.words) if kind in _CORRECTING else body_of(part.kind, part.words)
                if part.kind == "case.open":
                    body = {**self._cases[case].opening, **body}
                moment = t0 + part.at
                acts.append(
                    Act(len(acts), number, case, who, part.kind, body, moment, arrived, name if part.main else None)
                )
        return acts

    def _case(self, kind: str, said: dict[str, str], held: Mapping[str, str], line: int) -> str:
        """The case of a line: `case=`, else what its `ref` names, else the file's first."""
        if (case := said.pop("case", None)) is not None:
            if case not in self._cases:
                near = did_you_mean(case, tuple(self._cases))
                raise ScenarioMistake(f"there is no case {case[:60]!r}.", line=line, do=near or "Name it above.")
            return case
        ref = said.get("ref", "")
        if kind in _BY_REF and ref in self._cases:
            return ref
        if kind in _CORRECTING and ref in held:
            return held[ref]
        return next(iter(self._cases))


def _once(known: Mapping[str, Any], name: str, what: str, line: int) -> None:
    if name in known:
        raise ScenarioMistake(f"{what} {name} is set up a second time.", line=line)


def _step(text: str, line: int) -> list[str]:
    found = columns(text, 4)
    if len(found) < 3:
        raise ScenarioMistake("an entry is written as: mm:ss | who | kind | key=value; …", line=line)
    _, who, kind, *_ = found
    if who not in _REPORTERS:
        near = did_you_mean(who, _REPORTERS)
        raise ScenarioMistake(f"{who[:60]!r} is no role.", line=line, do=near or f"Roles are {', '.join(_REPORTERS)}.")
    if kind not in KINDS:
        near = did_you_mean(kind, tuple(KINDS))
        raise ScenarioMistake(f"there is no kind of entry called {kind[:60]!r}.", line=line, do=near)
    return found


def _checked(act: Act) -> None:
    try:
        read_body(act.kind, act.body)
    except NotValid as error:
        raise ScenarioMistake(error.what, line=act.line, do=error.do) from None


class _Corrections:
    """Finds what each fix and void means, and reads new values as the corrected kind has them."""

    def __init__(self, cases: Mapping[str, CaseSetup], acts: list[Act]) -> None:
        self._cases = cases
        self._acts = acts
        self._named: dict[str, list[Act]] = {}
        for act in acts:
            if act.name is not None:
                self._named.setdefault(act.name, []).append(act)

    def resolve(self) -> tuple[dict[int, Correction], list[Act]]:
        found: dict[int, Correction] = {}
        acts = []
        for act in self._acts:
            if act.kind in _CORRECTING:
                correction, act = self._one(act)
                found[act.index] = correction
            acts.append(act)
        return found, acts

    def _one(self, act: Act) -> tuple[Correction, Act]:
        ref = str(act.body.get("ref", ""))
        targets = self._named.get(ref, [])
        if not targets:
            near = did_you_mean(ref, tuple(self._named))
            raise ScenarioMistake(
                f"ref={ref[:60]} names no entry.", line=act.line, do=near or "Give the entry that is meant an id=."
            )
        if any(target.case != act.case for target in targets):
            raise ScenarioMistake(f"ref={ref} belongs to another case.", line=act.line)
        at: datetime | None = None
        body = dict(act.body)
        if act.kind == "tap.fix" and "at" in body:
            at = self._cases[act.case].t0 + offset(body["at"], act.line)
        values = self._values(act, targets[0])
        body = {key: value for key, value in body.items() if not key.startswith("set_")} | values
        _checked(Act(act.index, act.line, act.case, act.who, act.kind, body, act.at))
        return Correction(tuple(target.index for target in targets), at), Act(
            act.index, act.line, act.case, act.who, act.kind, body, act.at, act.received, act.name
        )

    def _values(self, act: Act, target: Act) -> dict[str, Any]:
        new = {key.removeprefix("set_"): text for key, text in act.body.items() if key.startswith("set_")}
        known = {key: text for key, text in new.items() if text != "na"}
        read: dict[str, Any] = {**dict.fromkeys(new), **body_of(target.kind, known)}
        if read and target.kind not in _CORRECTING:
            try:
                read_body(target.kind, {**target.body, **read})
            except NotValid as error:
                raise ScenarioMistake(error.what, line=act.line, do=error.do) from None
        return {f"set_{key}": value for key, value in read.items()}
