"""PINs: which are too easy to guess, and how they are hashed.

A PIN has few digits: whoever has a copy of the database could try them all against a hash of it alone. So a secret that
lies beside the database goes in first (`PURPOSE` of the server's key). Hashes of before that still count, and are made
anew when their PIN is next used.
"""

from __future__ import annotations

import hmac
import secrets
from functools import cache

from pwdlib import PasswordHash
from pwdlib.hashers.argon2 import Argon2Hasher

from app.base.errors import NotValid

DIGITS_LEAST, DIGITS_MOST = 6, 12
DIFFERENT_LEAST = 4
FIRST_PIN_DIGITS = 8
TIME_COST, MEMORY_KIB, LANES = 2, 19 * 1024, 1
"""OWASP Password Storage Cheat Sheet: argon2id with 19 MiB, two passes, one lane."""

PURPOSE = "PINs"
"""What the server's key is asked for (`ServerKey.secret`)."""
_KEYED = "hmac-sha256 "
"""Stands before a hash into which that secret went."""
_UP, _DOWN = "01234567890123456789", "98765432109876543210"
_DRAWN = frozenset(("147258", "258369", "147369", "159357", "357159", "258456", "142536", "741852", "963852"))
"""Figures that a finger draws on a keypad."""


def check(pin: str) -> str:
    """The PIN without its spaces. Raises NotValid when it is too short or among the first that somebody would try.

    >>> check("274 931")
    '274931'
    """
    pin = pin.replace(" ", "")
    if not (pin.isascii() and pin.isdecimal()) or not DIGITS_LEAST <= len(pin) <= DIGITS_MOST:
        raise NotValid(
            f"A PIN has {DIGITS_LEAST} to {DIGITS_MOST} digits.", holds="The old one still holds.", do="Choose another."
        )
    if len(set(pin)) < DIFFERENT_LEAST or _runs(pin) or _repeats(pin) or pin in _DRAWN or pin[::-1] in _DRAWN:
        raise NotValid(
            "That PIN is one of the first that somebody would try.",
            holds="The old one still holds.",
            do=f"Use at least {DIFFERENT_LEAST} different digits, no run and no pattern.",
        )
    return pin


def _runs(pin: str) -> bool:
    """All of it, or all but one end, counts up or down."""
    return any(part in _UP or part in _DOWN for part in (pin[1:], pin[:-1]))


def _repeats(pin: str) -> bool:
    """It is one short piece again and again, or each digit twice."""
    return pin[::2] == pin[1::2] or any(
        pin == (pin[:size] * len(pin))[: len(pin)] for size in range(1, len(pin) // 2 + 1)
    )


def first_pin() -> str:
    """A random PIN to hand to somebody once."""
    while True:
        pin = "".join(secrets.choice("0123456789") for _ in range(FIRST_PIN_DIGITS))
        try:
            return check(pin)
        except NotValid:
            continue


@cache
def _hasher() -> PasswordHash:
    return PasswordHash((Argon2Hasher(time_cost=TIME_COST, memory_cost=MEMORY_KIB, parallelism=LANES),))


@cache
def _nobody() -> str:
    """A hash that no PIN fits: checked for people who have none, so that they take as long as the others."""
    return _hasher().hash(secrets.token_urlsafe(32))


def hashed(pin: str, secret: bytes = b"") -> str:
    """The hash that is kept. Slow on purpose; call it off the event loop. secret: the server's; none for a demo."""
    return _KEYED + _hasher().hash(_with(secret, pin)) if secret else _hasher().hash(pin)


def fits(pin: str, kept: str | None, secret: bytes = b"") -> bool:
    """Whether a PIN is the one that was hashed. Takes the same time when there is none. Call it off the event loop."""
    keyed = kept is not None and kept.startswith(_KEYED)
    against = _nobody() if kept is None else kept.removeprefix(_KEYED)
    # Without a hash the answer is no whatever came of it.
    return _hasher().verify(_with(secret, pin[:64]) if keyed else pin[:64], against) and kept is not None


def old(kept: str, secret: bytes) -> bool:
    """Whether a hash was made without the server's secret, although there is one."""
    return bool(secret) and not kept.startswith(_KEYED)


def _with(secret: bytes, pin: str) -> str:
    return hmac.digest(secret, pin.encode(), "sha256").hex()
