"""Marking texts that will be shown, where no language is known yet. Pure: the words are made in `live` and `cli`."""

from __future__ import annotations


def N_(text: str) -> str:
    """Marks a text for the catalogue of messages and gives it back as it is."""
    return text
