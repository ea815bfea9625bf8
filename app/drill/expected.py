"""The `expect` lines of a scenario file."""

from __future__ import annotations

import re
from collections.abc import Collection
from typing import Any

from app.base.checks import did_you_mean
from app.drill.grammar import ScenarioMistake, columns, seconds, words
from app.drill.values import Expected, ExpectedInterval, ExpectedNotice

_RULE = re.compile(r"R\d\d")
_INTERVAL = re.compile(r"(I\d\d)(?:\s+(\S.*))?")
_CLOCK = re.compile(r"-?\d{1,5}:[0-5]\d")
_FIGURE = re.compile(r"-?\d+(?:\.\d+)?")
_WORDS: dict[str, Any] = {"yes": True, "no": False, "none": None, "open": "open", "true": True, "false": False}


class Figure(float):
    """A figure as a file writes it: it agrees with any figure that is written so, to the same decimals.

    >>> Figure("12.5").agrees(12.48), Figure("12.5").agrees(12.4)
    (True, False)
    """

    def __new__(cls, text: str) -> Figure:
        figure = super().__new__(cls, text)
        figure.decimals = len(text.partition(".")[2])
        return figure

    decimals: int

    def agrees(self, value: Any) -> bool:
        if isinstance(value, bool) or not isinstance(value, int | float):
            return False
        return abs(float(value) - self) <= 0.5 * 10.0**-self.decimals + 1e-9


def _value(text: str, line: int) -> Any:
    if text in _WORDS:
        return _WORDS[text]
    if _CLOCK.fullmatch(text):
        return seconds(text, line)
    if _FIGURE.fullmatch(text):
        return Figure(text) if "." in text else int(text)
    raise ScenarioMistake(
        f"{text[:60]!r} is no value of an interval.", line=line, do="Write mm:ss, a figure, yes, no, open or none."
    )


def interval_value(text: str, line: int) -> Any:
    """The value of an interval in the form of `judging.md`.

    >>> interval_value("q1.ack=00:18; q1.in=none", 1)
    {'q1': {'ack': 18, 'in': None}}
    """
    if "=" not in text:
        return _value(text, line)
    found: dict[str, Any] = {}
    for key, value in words(text, line).items():
        name, dot, part = key.rpartition(".")
        if dot:
            found.setdefault(name, {})[part] = _value(value, line)
        else:
            found[key] = _value(value, line)
    return found


class Expectations:
    """Gathers `expect` lines."""

    def __init__(self) -> None:
        self._notices: dict[str, list[ExpectedNotice]] = {}
        self._none: set[str] = set()
        self._as_live = False
        self._intervals: list[ExpectedInterval] = []

    def add(self, text: str, line: int, cases: Collection[str]) -> None:
        """Takes one line over, without its first column. Raises ScenarioMistake."""
        what, *rest = columns(text, 5)
        if what == "interval":
            self._interval(rest, line, cases)
        elif what in ("live", "final"):
            self._notice(what, rest, line)
        else:
            near = did_you_mean(what, ("live", "final", "interval"))
            raise ScenarioMistake(
                f"nothing called {what[:60]!r} can be expected.", line=line, do=near or "Write live, final or interval."
            )

    def _interval(self, rest: list[str], line: int, cases: Collection[str]) -> None:
        if len(rest) != 3:
            raise ScenarioMistake("an interval is written as: case | I02 name | value.", line=line)
        case, title, value = rest
        if case not in cases:
            raise ScenarioMistake(f"there is no case {case[:60]!r}.", line=line, do="Name it in a `case` line above.")
        match = _INTERVAL.fullmatch(title)
        if match is None or not 1 <= int(match[1][1:]) <= 26:
            raise ScenarioMistake(f"{title[:60]!r} is no interval.", line=line, do="They are I01 to I26.")
        self._intervals.append(ExpectedInterval(case, match[1], match[2] or "", interval_value(value, line), line))

    def _notice(self, what: str, rest: list[str], line: int) -> None:
        if rest == ["none"]:
            self._none.add(what)
        elif rest == ["as live"] and what == "final":
            self._as_live = True
        elif len(rest) not in (3, 4):
            raise ScenarioMistake("a notice is written as: mm:ss | R32 | C | text, or none.", line=line)
        else:
            at, rule, severity = rest[:3]
            if not _RULE.fullmatch(rule) or not 1 <= int(rule[1:]) <= 60:
                raise ScenarioMistake(f"{rule[:60]!r} is no rule.", line=line, do="They are R01 to R60.")
            if severity not in ("N", "W", "C"):
                raise ScenarioMistake(
                    f"{severity[:60]!r} is no severity.", line=line, do="Write N (note), W (warning) or C (critical)."
                )
            notice = ExpectedNotice(seconds(at, line), rule, severity, "".join(rest[3:]), line)
            self._notices.setdefault(what, []).append(notice)
        said = (what in self._none) + bool(self._notices.get(what)) + (what == "final" and self._as_live)
        if said > 1:
            raise ScenarioMistake(f"what is expected {what} is said in two ways.", line=line)

    def done(self) -> Expected:
        """All of it."""
        live, final = self._list("live"), self._list("final")
        return Expected(live, live if self._as_live else final, tuple(self._intervals))

    def _list(self, what: str) -> tuple[ExpectedNotice, ...] | None:
        found = tuple(self._notices.get(what, ()))
        return found if found or what in self._none else None
