"""Range checks and the refusals they end in. Plain: no input or output, no clock.

Refused                what cannot be worked out, and why; status 422
├── Missing            an input that the answer depends on was not given
├── OutOfRange         an input that was given cannot be right
├── NotUnderstood      an input of the wrong kind, or a word that is not known
└── UnknownName        no calculation or input of that name

Every sentence names the input, its unit and its allowed range, so that the reader can mend it at once.
"""

from __future__ import annotations

from difflib import get_close_matches
from math import isfinite

from app.base.errors import NotValid
from app.base.messages import N_, Filled


class Refused(NotValid):
    """No value was worked out; the sentence says why."""

    def __init__(self, what: str, *, do: str = "") -> None:
        super().__init__(what, holds="", do=do)


class Missing(Refused):
    """An input was not given."""


class OutOfRange(Refused):
    """An input lies outside what the formula, or a living person, allows."""


class NotUnderstood(Refused):
    """An input is not of the kind that is asked for."""


class UnknownName(Refused):
    """A name that is not in the catalogue."""


def plain(value: float) -> str:
    """A number as a person writes it.

    >>> plain(12.0), plain(0.21), plain(1e-09)
    ('12', '0.21', '1e-09')
    """
    return f"{value:.12g}"


def range_words(
    *, above: float | None = None, below: float | None = None, least: float | None = None, most: float | None = None
) -> str:
    """The allowed range in words; empty when there is none.

    >>> range_words(above=0, most=10)
    'above 0 and at most 10'
    >>> range_words(least=1, most=10)
    'from 1 to 10'
    """
    if least is not None and most is not None:
        return Filled(N_("from {least} to {most}"), least=plain(least), most=plain(most))
    words = [
        Filled(message, limit=plain(limit))
        for message, limit in (
            (N_("above {limit}"), above),
            (N_("at least {limit}"), least),
            (N_("below {limit}"), below),
            (N_("at most {limit}"), most),
        )
        if limit is not None
    ]
    return Filled(N_("{one} and {other}"), one=words[0], other=words[1]) if len(words) == 2 else "".join(words)


def within(
    name: str,
    value: float | None,
    *,
    above: float | None = None,
    below: float | None = None,
    least: float | None = None,
    most: float | None = None,
    unit: str = "",
) -> float:
    """The value, when it is a finite number inside its limits.

    name, unit    how the sentence calls it
    above, below  limits that the value must not touch; least, most: limits that it may
    Raises        Missing for None; OutOfRange for anything outside, NaN and infinity included
    """
    allowed = range_words(above=above, below=below, least=least, most=most)
    in_unit = f" {unit}" if unit else ""
    if value is None:
        raise Missing(
            Filled(N_("{name} is missing."), name=name),
            do=f"Give a number{f', {allowed}{in_unit}' if allowed else in_unit}.",
        )
    fits = (
        isfinite(value)
        and (above is None or value > above)
        and (below is None or value < below)
        and (least is None or value >= least)
        and (most is None or value <= most)
    )
    if not fits:
        message = N_("{name} = {value}{unit} is not possible here: it must be {limit}{unit}.")
        if not allowed:
            message = N_("{name} = {value}{unit} is not possible here: it must be a finite number.")
        raise OutOfRange(Filled(message, name=name, value=plain(value), unit=in_unit, limit=allowed))
    return value


def did_you_mean(word: str, known: tuple[str, ...]) -> str:
    """ "Did you mean …?" for a near miss, or an empty text."""
    lower = {name.lower(): name for name in known}
    near = get_close_matches(word.lower(), lower, n=3, cutoff=0.6)
    return f"Did you mean {' or '.join(lower[name] for name in near)}?" if near else ""
