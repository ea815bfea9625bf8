"""What came out beside what the file expects. Pure."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from app.drill.expected import Figure
from app.drill.values import ExpectedInterval, ExpectedNotice

_ABSENT = object()
_TIMES = frozenset(f"I{number:02d}" for number in (1, 3, 5, 6, 7, 8, 9, 10, 12, 17, 18, 19, 20, 22, 23, 24, 26))
_TIMES_BY_NAME = frozenset({"I02", "I04", "I14", "I15", "I16"})


@dataclass(frozen=True, slots=True)
class Difference:
    """One thing that is not as expected. What is None was not there."""

    what: str
    expected: str | None
    got: str | None

    def shape(self) -> dict[str, str | None]:
        return {"what": self.what, "expected": self.expected, "got": self.got}


def clock(seconds: float) -> str:
    """Seconds as mm:ss, as the files write them.

    >>> clock(1270), clock(-65), clock(0.25)
    ('21:10', '-01:05', '00:00.25')
    """
    minutes, rest = divmod(abs(seconds), 60)
    whole, part = int(rest), round(rest - int(rest), 3)
    return f"{'-' if seconds < 0 else ''}{int(minutes):02d}:{whole:02d}{f'{part:g}'[1:] if part else ''}"


def notices(what: str, expected: Sequence[ExpectedNotice] | None, got: Sequence[Mapping[str, Any]]) -> list[Difference]:
    """Expected notices against what was raised, by second, rule and severity; the list is complete both ways.

    expected  None: the file says nothing of them
    got       in the JSON form of `vocabulary.md`: at_s, rule, severity, subject, text
    """
    if expected is None:
        return []
    missing = _left([(n.at_s, n.rule, n.severity, n.text) for n in expected], _key(got))
    extra = _left(
        [(n["at_s"], n["rule"], n["severity"], f"{n['subject']} {n['text']}".strip()) for n in got],
        [(n.at_s, n.rule, n.severity) for n in expected],
    )
    found = []
    for row in missing:  # what came at another second or with another severity stands beside what was wanted
        like = next((other for other in extra if other[1] == row[1]), None)
        if like is not None:
            extra.remove(like)
        found.append((row, like))
    found += [(None, row) for row in extra]
    found.sort(key=lambda pair: (pair[0] or pair[1] or (0,))[0])
    return [Difference(what, _row(one), _row(other)) for one, other in found]


def _key(got: Iterable[Mapping[str, Any]]) -> list[tuple[int, str, str]]:
    return [(n["at_s"], n["rule"], n["severity"]) for n in got]


def _left(rows: Iterable[tuple[int, str, str, str]], taken: Iterable[tuple[int, str, str]]) -> list[Any]:
    """Rows whose key is not taken, each key as often as it stands in both."""
    pool = Counter(taken)
    left = []
    for row in rows:
        if pool[row[:3]] > 0:
            pool[row[:3]] -= 1
        else:
            left.append(row)
    return left


def _row(row: tuple[int, str, str, str] | None) -> str | None:
    return None if row is None else " ".join((clock(row[0]), *row[1:])).strip()


def intervals(expected: Iterable[ExpectedInterval], got: Mapping[str, Mapping[str, Any]]) -> list[Difference]:
    """Expected intervals against the computed ones, `{case: {"I01": value}}`; what a file leaves out is free."""
    found = []
    for one in expected:
        value = got.get(one.case, {}).get(one.code, _ABSENT)
        if not agree(one.value, value):
            got_text = None if value is _ABSENT else interval_text(one.code, value)
            title = f"interval {one.case} {one.code} {one.name}".strip()
            found.append(Difference(title, interval_text(one.code, one.value), got_text))
    return found


def agree(expected: Any, got: Any) -> bool:
    """Whether a value is as the file writes it. `none` agrees with null and with nothing there."""
    if expected is None or got is _ABSENT:
        return expected is None and (got is None or got is _ABSENT or got == {})
    if isinstance(expected, Figure):
        return expected.agrees(got)
    if isinstance(expected, dict):
        if not isinstance(got, Mapping):
            return False
        return all(agree(expected.get(key), got.get(key, _ABSENT)) for key in expected.keys() | got.keys())
    return (type(expected) is type(got) and bool(expected == got)) or _same_figure(expected, got)


def _same_figure(expected: Any, got: Any) -> bool:
    figures = not isinstance(expected, bool) and not isinstance(got, bool)
    return figures and isinstance(expected, int) and isinstance(got, int | float) and expected == got


def interval_text(code: str, value: Any) -> str:
    """An interval for people: times as mm:ss.

    >>> interval_text("I01", 785), interval_text("I14", {"q1": {"ack": 18, "in": None}}), interval_text("I11", 95)
    ('13:05', 'q1 ack 00:18 in none', '95')
    """
    if code in _TIMES and isinstance(value, int | float) and not isinstance(value, bool):
        return clock(value)
    if isinstance(value, Mapping):
        as_time = code in _TIMES_BY_NAME
        return ", ".join(f"{name} {_part(name, part, as_time)}" for name, part in value.items()) or "none"
    return shown(value)


def _part(name: str, value: Any, as_time: bool) -> str:
    if isinstance(value, Mapping):
        return " ".join(f"{inner} {_part(inner, part, as_time)}" for inner, part in value.items())
    figure = isinstance(value, int | float) and not isinstance(value, bool)
    # of I21's two figures only how long the door stood open is a time
    return clock(value) if figure and (as_time or name == "open") else shown(value)


def shown(value: Any) -> str:
    """A value for people, figures as they are."""
    if value is None:
        return "none"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Mapping):
        return ", ".join(f"{key} {shown(part)}" for key, part in value.items()) or "none"
    return f"{value:g}" if isinstance(value, float) else str(value)
