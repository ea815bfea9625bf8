"""What a calculation may be given: the declared inputs, and reading them from JSON or a command line.

An `Input` states a name, a unit, a kind and a range once. The same statement checks a call from Python, reads
`key=value` on the command line, and is printed by `--help`; so the three cannot disagree.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from app.base.checks import Missing, NotUnderstood, OutOfRange, did_you_mean, plain, range_words, within
from app.base.messages import N_, Filled

_NOTHING = frozenset({"", "none", "null", "na", "n/a", "unknown"})
_YES = frozenset({"yes", "true", "y"})
_NO = frozenset({"no", "false", "n"})
_BARE_NAME = re.compile(r"([{,]\s*)([A-Za-z_]\w*)\s*:")
"""A name without quotation marks in a mapping, as the reference tables write it: {gown: 1}."""


@dataclass(frozen=True, slots=True)
class Input:
    """One declared input.

    name      public name, unit last
    kind      number, whole, flag, word (one of `choices`), text, date, numbers, flags, words, mapping or table
    param     the Python name, where the public one is a reserved word
    optional  may be left out; `assumed` is what is then used, and said beside the result
    above … most, choices  what is allowed
    """

    name: str
    unit: str = ""
    meaning: str = ""
    kind: str = "number"
    param: str = ""
    optional: bool = False
    assumed: object = None
    above: float | None = None
    below: float | None = None
    least: float | None = None
    most: float | None = None
    choices: tuple[str, ...] = ()

    @property
    def keyword(self) -> str:
        """The name by which Python passes it."""
        return self.param or self.name

    @property
    def allowed(self) -> str:
        """What is allowed, in words.

        >>> Input("ach", "1/h", above=0, most=200).allowed
        'number, above 0 and at most 200 1/h'
        """
        kinds = {
            "whole": N_("whole number"), "flag": N_("yes or no"), "number": N_("number"),
            "numbers": "list of numbers", "flags": "list of 1 or 0", "words": "list of words",
            "date": "date as YYYY-MM-DD", "table": "list of [day, items]",
        }  # fmt: skip
        if self.choices:
            message = "list of words from {words}" if self.kind == "words" else N_("one of {words}")
            return Filled(message, words=", ".join(self.choices))
        limits = range_words(above=self.above, below=self.below, least=self.least, most=self.most)
        unit = f" {self.unit}" if self.unit else ""
        words = kinds.get(self.kind, self.kind)
        if limits:
            return Filled(N_("{kind}, {limits}{unit}"), kind=words, limits=limits, unit=unit)
        return f"{words}{f' [{self.unit}]' if self.unit else ''}"

    def read(self, raw: object) -> object:
        """The value of this input, from Python, JSON or text.

        Raises  Missing, OutOfRange or NotUnderstood with a sentence naming input, unit and range
        """
        if isinstance(raw, str):
            raw = raw.strip()
        if raw is None or (isinstance(raw, str) and self._means_nothing(raw.lower())):
            if self.optional:
                return self.assumed
            raise Missing(
                Filled(N_("{name} is missing."), name=self.name),
                do=Filled(N_("Give it as {allowed}."), allowed=self.allowed),
            )
        return getattr(self, f"_read_{self.kind}")(raw)

    def _means_nothing(self, text: str) -> bool:
        if self.kind == "text":  # a name may be any word, also "none"
            return text in ("", "null")
        if self.kind == "words" and text == "none":  # looked for, and none found: not the same as not said
            return False
        return text in _NOTHING and text not in self.choices

    def _refuse(self, raw: object, hint: str = "") -> NotUnderstood:
        message = N_("{name} = {value} cannot be read: it must be {allowed}.")
        return NotUnderstood(Filled(message, name=self.name, value=_short(raw), allowed=self.allowed), do=hint)

    def _one(self, raw: object) -> float:
        if isinstance(raw, str):
            try:
                raw = float(raw.replace("_", "?"))  # Python reads 7_0 as 70; a person who types it made a slip
            except ValueError:
                raise self._refuse(raw, _how_to_write(str(raw))) from None
        if isinstance(raw, bool) or not isinstance(raw, int | float):
            raise self._refuse(raw)
        try:
            value = float(raw)
        except OverflowError:
            raise self._refuse(raw) from None
        try:
            return within(
                self.name, value, above=self.above, below=self.below, least=self.least, most=self.most, unit=self.unit
            )
        except OutOfRange as wrong:
            if self.unit or 1 not in (self.most, self.below) or not 1 < value <= 100:
                raise
            asked = N_("If {value} is per cent, give {fraction}.")  # asked, never guessed
            hint = Filled(asked, value=plain(value), fraction=plain(value / 100))
            raise OutOfRange(wrong.what, do=hint) from None

    def _read_number(self, raw: object) -> float:
        return self._one(raw)

    def _read_whole(self, raw: object) -> int:
        value = self._one(raw)
        if value != int(value):
            raise self._refuse(raw)
        return int(value)

    def _read_flag(self, raw: object) -> bool:
        if isinstance(raw, bool):
            return raw
        text = str(raw).lower()
        if text in _YES or text in _NO:
            return text in _YES
        raise self._refuse(raw)

    def _read_word(self, raw: object) -> str:
        if isinstance(raw, str):
            for choice in self.choices:
                if choice.lower() == raw.lower():
                    return choice
        raise self._refuse(raw, did_you_mean(str(raw), self.choices))

    def _read_text(self, raw: object) -> str:
        if not isinstance(raw, str) or not raw:
            raise self._refuse(raw)
        if len(raw) > 300:
            raise self._refuse(raw, "A name of at most 300 letters is enough.")
        return raw

    def _read_date(self, raw: object) -> date:
        if isinstance(raw, date):
            return raw
        try:
            return date.fromisoformat(str(raw))
        except ValueError:
            raise self._refuse(raw) from None

    def _read_numbers(self, raw: object) -> tuple[float, ...]:
        if isinstance(raw, str):
            raw = _list_from_text(raw)
        if isinstance(raw, int | float) and not isinstance(raw, bool):
            raw = [raw]
        if not isinstance(raw, list | tuple):
            raise self._refuse(raw)
        if len(raw) > 10_000:
            raise self._refuse(f"a list of {len(raw)}", "At most 10,000 numbers are taken at once.")
        return tuple(self._one(item) for item in raw)

    def _read_flags(self, raw: object) -> tuple[bool, ...]:
        if isinstance(raw, str):
            raw = _list_from_text(raw)
        if isinstance(raw, int | float):
            raw = [raw]
        if not isinstance(raw, list | tuple):
            raise self._refuse(raw)
        return tuple(self._mark(item) for item in raw)

    def _mark(self, item: object) -> bool:
        number = str(item).strip() if isinstance(item, int | float | str) and not isinstance(item, bool) else ""
        if number in ("0", "1", "0.0", "1.0"):
            return number[0] == "1"
        if isinstance(item, bool | str):
            return self._read_flag(item)
        raise self._refuse(item)

    def _read_words(self, raw: object) -> tuple[str, ...]:
        if isinstance(raw, str):
            raw = _list_from_text(raw)
        if not isinstance(raw, list | tuple) or not all(isinstance(item, str) for item in raw):
            raise self._refuse(raw)
        return tuple(item.strip() for item in raw)

    def _read_mapping(self, raw: object) -> dict[str, float]:
        if isinstance(raw, str):
            raw = _mapping_from_text(raw)
        if not isinstance(raw, Mapping) or not raw:
            raise self._refuse(raw, 'For example {"gown": 1, "glove_pair": 2}.')
        return {str(name): self._one(value) for name, value in raw.items()}

    def _read_table(self, raw: object) -> tuple[tuple[float, float], ...]:
        if isinstance(raw, str):
            raw = _mapping_from_text(raw) if raw.startswith("{") else _list_from_text(raw)
        if isinstance(raw, Mapping):
            raw = [[float(day), items] if _is_number(day) else [day, items] for day, items in raw.items()]
        if not isinstance(raw, list | tuple):
            raise self._refuse(raw)
        return tuple(self._row(row) for row in raw)

    def _row(self, row: object) -> tuple[float, float]:
        pair = row
        if isinstance(row, Mapping):
            days = [key for key in row if "day" in str(key).lower()]
            pair = [row[key] for key in (*days, *(key for key in row if key not in days))] if len(days) == 1 else ()
        if not isinstance(pair, list | tuple) or len(pair) != 2:
            raise self._refuse(row, "Each delivery is a pair: the day on which it comes, and how many items.")
        return self._one(pair[0]), self._one(pair[1])


def _short(raw: object) -> str:
    text = repr(raw) if isinstance(raw, str) else str(raw)
    return text if len(text) <= 60 else text[:57] + "..."


def _how_to_write(text: str) -> str:
    if re.fullmatch(r"[+-]?\d+,\d+", text):
        return N_("Write a decimal point, not a comma.")
    return N_("Write the number alone, without a unit or a per cent sign.") if text[:1].isdigit() else ""


def _is_number(text: object) -> bool:
    try:
        float(str(text))
    except ValueError:
        return False
    return True


def _list_from_text(text: str) -> object:
    """A list as JSON, or as words parted by " + " or commas, as the reference tables write them."""
    if text.startswith("["):
        for written in (text, _BARE_NAME.sub(r'\1"\2":', text)):
            try:
                return json.loads(written)
            except (ValueError, RecursionError):
                continue
        return text
    if text.lower() in ("none", "null", ""):
        return []
    return [part.strip() for part in re.split(r"\s\+\s|,", text)]


def _mapping_from_text(text: str) -> object:
    """A mapping as JSON, or with unquoted names: {gown: 1, glove_pair: 2}."""
    try:
        return json.loads(text)
    except (ValueError, RecursionError):
        pairs = re.findall(r"([^\s{},:\"]+)\"?\s*:\s*([^,{}]+)", text)
        return {name: value.strip() for name, value in pairs} if pairs else text
