"""One cell: from what somebody typed to a typed value, and back to text. Unknown is None, never zero and never "no"."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import UTC, date, datetime
from math import isfinite
from zoneinfo import ZoneInfo

from app.base.checks import plain, range_words
from app.base.messages import N_
from app.base.register.spec import TEXT_MOST, Field, Names, Problem, Value

_DAY = re.compile(r"\d{4}-\d\d-\d\d", re.ASCII)
_MOMENT = re.compile(r"(\d{4}-\d\d-\d\d)[T ](\d\d:\d\d)(?::\d\d(?:\.\d+)?)?(Z|[+-]\d\d:\d\d)?", re.ASCII)
_NUMBER = re.compile(r"[+-]?\d+(?:\.\d+)?", re.ASCII)
_OTHER_DAY = re.compile(r"\d{1,4}[./ -][A-Za-z0-9]{1,9}[./ -]\d{1,4}\.?", re.ASCII)
_YES = {"yes": True, "true": True, "1": True, "no": False, "false": False, "0": False}
_BETWEEN = re.compile(r"[;,\s]+")
NAMES_BETWEEN = ";"


class Unreadable(ValueError):
    """A cell that cannot be read."""

    def __init__(self, message: str, **params: object) -> None:
        super().__init__(message % params)
        self.problem = Problem(message, params)


def read(field: Field, text: str, names: Names, zone: ZoneInfo) -> Value:
    """What a text means in a field; None for nothing. Raises Unreadable."""
    text = text.strip()
    if not text:
        if field.required:
            raise Unreadable(N_("This is missing."))
        return field.default if field.kind == "yes" else "" if field.default == "" else None
    if any(ord(letter) < 32 for letter in text):
        raise Unreadable(N_("There is a control character or a line break in it."))
    match field.kind:
        case "text":
            if len(text) > TEXT_MOST:
                raise Unreadable(N_("That is longer than %(most)s characters."), most=TEXT_MOST)
            return text
        case "whole" | "number":
            return _number(field, text)
        case "yes":
            return _yes(text)
        case "day":
            return _day(text)
        case "moment":
            return _moment(text, zone)
        case "choice":
            return _choice(field, text)
        case "words":
            return " ".join(dict.fromkeys(_choice(field, word) for word in _BETWEEN.split(text) if word))
        case "numbers":
            return " ".join(plain(float(_number(field, word))) for word in _BETWEEN.split(text) if word)
        case "ref":
            return _ref(field, text, names)
        case "refs":
            parts = [part.strip() for part in text.split(NAMES_BETWEEN) if part.strip()]
            return " ".join(dict.fromkeys(_ref(field, part, names) for part in parts))
        case "worn":
            return _worn(text, names)


def _number(field: Field, text: str) -> int | float:
    if not _NUMBER.fullmatch(text):
        told = N_("“%(text)s” is no number. Write it with figures and a point, without its unit.")
        raise Unreadable(told, text=text[:40])
    value: int | float = float(text)
    if field.kind == "whole":
        if value != int(value):
            raise Unreadable(N_("“%(text)s” is no whole number."), text=text[:40])
        value = int(value)
    low, high = field.least, field.most
    if not isfinite(value) or (low is not None and value < low) or (high is not None and value > high):
        allowed = range_words(least=low, most=high)
        raise Unreadable(
            N_("%(value)s is out of range: it must be %(allowed)s %(unit)s."),
            value=plain(value), allowed=allowed, unit=field.unit,
        )  # fmt: skip
    return value


def _yes(text: str) -> bool:
    try:
        return _YES[text.casefold()]
    except KeyError:
        raise Unreadable(N_("“%(text)s” is neither yes nor no."), text=text[:40]) from None


def _day(text: str) -> date:
    if _DAY.fullmatch(text):
        try:
            found = date.fromisoformat(text)
        except ValueError:
            raise Unreadable(N_("There is no day %(text)s."), text=text) from None
        if not 1900 <= found.year <= 2100:
            raise Unreadable(N_("%(text)s is outside the years 1900 to 2100."), text=text)
        return found
    if _OTHER_DAY.fullmatch(text):
        raise Unreadable(N_("“%(text)s” can be read as more than one day. Write YYYY-MM-DD."), text=text[:40])
    raise Unreadable(N_("“%(text)s” is no day. Write YYYY-MM-DD."), text=text[:40])


def _moment(text: str, zone: ZoneInfo) -> datetime:
    match = _MOMENT.fullmatch(text)
    if match is None:
        raise Unreadable(N_("“%(text)s” is no time. Write YYYY-MM-DD hh:mm."), text=text[:40])
    _day(match[1])
    try:
        found = datetime.fromisoformat(text.replace(" ", "T"))
    except ValueError:
        raise Unreadable(N_("There is no time %(text)s."), text=text[:40]) from None
    return (found if found.tzinfo else found.replace(tzinfo=zone)).astimezone(UTC)


def _choice(field: Field, text: str) -> str:
    for value in field.choices:
        if value.casefold() == text.casefold():
            return value
    known = ", ".join(field.choices)
    raise Unreadable(N_("“%(text)s” is not known here. Write one of: %(known)s."), text=text[:40], known=known)


def _ref(field: Field, text: str, names: Names) -> str:
    found = names.ids(field.ref, text)
    if not found:
        raise Unreadable(N_("“%(text)s” stands in no row of the register that this names."), text=text[:60])
    if len(found) > 1:
        raise Unreadable(N_("“%(text)s” names several rows. Write the id of one."), text=text[:60])
    return found[0]


def _worn(text: str, names: Names) -> str:
    if text in ("none", "hood"):
        return text
    model = text.removeprefix("tight:").strip()
    found = names.ids("respirators", model)
    if not found:
        told = N_("“%(text)s” is no model of the register. Write none, hood, or tight: and the model.")
        raise Unreadable(told, text=text[:60])
    return f"tight:{names.text('respirators', found[0])}"


def write(field: Field, value: Value, names: Names, zone: ZoneInfo) -> str:
    """A value as text that `read` takes back."""
    if value is None or value == "":
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, datetime):
        return value.astimezone(zone).isoformat(" ", "minutes")
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, float):
        return plain(value)
    if field.kind == "ref":
        return _named(field.ref, str(value), names)
    if field.kind == "refs":
        return f"{NAMES_BETWEEN} ".join(_named(field.ref, one, names) for one in str(value).split())
    return str(value)


def _named(register: str, row_id: str, names: Names) -> str:
    """The name, or the id where the name would stand for several rows."""
    name = names.text(register, row_id)
    return name if names.ids(register, name) == (row_id,) and NAMES_BETWEEN not in name else row_id


def to_json(value: Value) -> str | int | float | bool | None:
    """A value as the history keeps it."""
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat()
    return value.isoformat() if isinstance(value, date) else value


def from_json(field: Field, value: object) -> Value:
    """A value as the history kept it."""
    if isinstance(value, str) and field.kind == "moment":
        return datetime.fromisoformat(value)
    if isinstance(value, str) and field.kind == "day":
        return date.fromisoformat(value)
    return value if isinstance(value, str | int | float | bool) else None


def read_row(
    fields: tuple[Field, ...], given: Mapping[str, str], names: Names, zone: ZoneInfo
) -> tuple[dict[str, Value], list[Problem]]:
    """The fields that a form or a line gives, and everything that is wrong with them."""
    row: dict[str, Value] = {}
    problems: list[Problem] = []
    for field in fields:
        if field.name in given:
            try:
                row[field.name] = read(field, given[field.name], names, zone)
            except Unreadable as error:
                problems.append(Problem(error.problem.message, error.problem.params, field.name))
    return row, problems
