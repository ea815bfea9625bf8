"""Single lines of a scenario file: columns, `key=value` words, offsets; and mistakes that name their line."""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping
from datetime import timedelta

from app.base.checks import did_you_mean
from app.base.errors import NotValid

_OFFSET = re.compile(r"(-?)(\d{1,5}):([0-5]\d)")


class ScenarioMistake(NotValid):
    """A file that cannot be played, and why. `line` is None for the file as a whole."""

    def __init__(self, what: str, *, line: int | None = None, do: str = "") -> None:
        super().__init__(f"Line {line}: {what}" if line is not None else what, holds="Nothing was played.", do=do)
        self.line = line


def columns(text: str, most: int) -> list[str]:
    """The columns of a line, at most so many; the last may hold bars of its own.

    >>> columns("00:45 | CA | role.assign | AO=P1", 4)
    ['00:45', 'CA', 'role.assign', 'AO=P1']
    """
    return [part.strip() for part in text.split("|", most - 1)]


def seconds(text: str, line: int) -> int:
    """An offset mm:ss in seconds [s]; minutes may pass 60, and a minus sign means before t0.

    >>> seconds("76:30", 1), seconds("-01:05", 1)
    (4590, -65)
    """
    match = _OFFSET.fullmatch(text)
    if match is None:
        raise ScenarioMistake(f"{text[:60]!r} is no offset.", line=line, do="Write it as mm:ss, like 09:50 or 76:30.")
    value = int(match[2]) * 60 + int(match[3])
    return -value if match[1] else value


def offset(text: str, line: int) -> timedelta:
    """An offset mm:ss as a time span."""
    return timedelta(seconds=seconds(text, line))


def words(text: str, line: int) -> dict[str, str]:
    """`key=value; key=value` as a mapping in file order. A value may hold `=`, but no semicolon.

    >>> words("q=q1; item=arterial line set; urg=soon", 1)
    {'q': 'q1', 'item': 'arterial line set', 'urg': 'soon'}
    """
    found: dict[str, str] = {}
    for part in text.split(";"):
        if not part.strip():
            continue
        key, sign, value = (piece.strip() for piece in part.partition("="))
        if not sign or not key:
            raise ScenarioMistake(f"{part.strip()[:60]!r} is no key=value.", line=line)
        if not value:
            raise ScenarioMistake(f"{key[:60]} has no value.", line=line, do="Write na for what is unknown.")
        if key in found:
            raise ScenarioMistake(f"{key[:60]} is given twice.", line=line)
        found[key] = value
    return found


def only(given: Mapping[str, str], known: Collection[str], what: str, line: int) -> None:
    """Raises ScenarioMistake for a key that this kind of line does not know."""
    for key in given:
        if key not in known:
            near = did_you_mean(key, tuple(known))
            raise ScenarioMistake(
                f"{what} knows no {key[:60]!r}.", line=line, do=near or f"It knows {', '.join(sorted(known))}."
            )


def people(text: str, line: int) -> list[str]:
    """A list of people, `P1,P2`. Naming one twice is a mistake: it would be two entries of one tap."""
    named = [part.strip() for part in text.split(",")]
    if not all(named):
        raise ScenarioMistake(f"{text[:60]!r} names nobody between two commas.", line=line)
    if len(set(named)) < len(named):
        raise ScenarioMistake(f"{text[:60]!r} names somebody twice.", line=line)
    return named
