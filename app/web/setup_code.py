"""The one-time code by which whoever started the server becomes its first administrator."""

from __future__ import annotations

import hmac
import secrets

LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ23456789"
"""Without I, O, 0 and 1, which look alike on a console."""
GROUPS, GROUP = 4, 4


class SetUp:
    """A random code, made anew at each start and kept in memory alone: 80 bits, so there is nothing to guess."""

    def __init__(self) -> None:
        parts = ("".join(secrets.choice(LETTERS) for _ in range(GROUP)) for _ in range(GROUPS))
        self.code = "-".join(parts)

    def fits(self, typed: str) -> bool:
        """Whether a text is the code, whatever its case and its dashes."""
        return hmac.compare_digest(_bare(typed).encode(), _bare(self.code).encode())


def _bare(text: str) -> str:
    return "".join(character for character in text.upper() if character.isalnum())[:64]
