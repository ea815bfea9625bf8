"""Marking texts that will be shown, where no language is known yet. Pure: the words are made in `live` and `cli`."""

from __future__ import annotations

from typing import Self


def N_(text: str) -> str:
    """Marks a text for the catalogue of messages and gives it back as it is."""
    return text


class Filled(str):
    """A sentence with figures in it: English as it stands, and its message and figures for whoever has other words.

    >>> Filled("Capped at {most} mg.", most=40)
    'Capped at 40 mg.'
    """

    message: str
    places: dict[str, str]

    def __new__(cls, message: str, **places: object) -> Self:
        kept = {name: value if isinstance(value, str) else f"{value}" for name, value in places.items()}
        made = super().__new__(cls, message.format(**kept))
        made.message, made.places = message, kept
        return made
