"""What one line of a scenario file stands for: lists of people and the shorthand of partner checks."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import timedelta

from app.drill.grammar import ScenarioMistake, offset, people

PARTNER_AFTER = timedelta(seconds=5)
"""How long after `doff.start` the partner of a `doff.done … checker=` line is there (`vocabulary.md`)."""


@dataclass(frozen=True, slots=True)
class Part:
    """One entry of a line: its kind, words, and offset from t0. `main` marks what the line itself is about."""

    kind: str
    words: Mapping[str, str]
    at: timedelta
    main: bool = True


def parts(kind: str, said: Mapping[str, str], at: timedelta, line: int) -> Iterator[Part]:
    """The entries that a line makes, in order.

    said    its words without `id`, `recv` and `case`
    Raises  ScenarioMistake for shorthand on a kind that has none
    """
    words = dict(said)
    start, seal = words.pop("start", None), words.pop("seal", None)
    if start is not None and kind not in ("check.done", "doff.done"):
        raise ScenarioMistake(f"{kind} has no start=.", line=line, do="It is shorthand of check.done and doff.done.")
    if seal is not None and kind != "check.done":
        raise ScenarioMistake(f"{kind} has no seal=.", line=line, do="It is shorthand of check.done.")
    began = None if start is None else offset(start, line)
    if began is not None and began > at:
        raise ScenarioMistake(f"start={start} lies after the line's own time.", line=line)
    for p in people(words["p"], line) if "p" in words else (None,):
        each = words if p is None else {**words, "p": p}
        if kind == "check.done":
            yield from _check(each, began, seal, at)
        elif kind == "doff.done" and began is not None:
            yield from _doffing(each, began)
        yield Part(kind, each, at)


def _check(words: Mapping[str, str], began: timedelta | None, seal: str | None, at: timedelta) -> Iterator[Part]:
    if began is not None:
        same = {key: words[key] for key in ("phase", "checker", "subject") if key in words}
        yield Part("check.start", same, began, main=False)
    if seal is not None and seal != "na":
        yield Part("seal.check", {"p": words.get("subject", ""), "result": seal}, at, main=False)


def _doffing(words: Mapping[str, str], began: timedelta) -> Iterator[Part]:
    if "p" not in words:
        return
    yield Part("doff.start", {"p": words["p"]}, began, main=False)
    if "checker" in words:
        same = {"phase": "doff", "checker": words["checker"], "subject": words["p"]}
        yield Part("check.start", same, began + PARTNER_AFTER, main=False)
