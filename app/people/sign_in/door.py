"""Signing in as the pages call it: counts the try, looks at the PIN, begins the session. Slow: off the event loop."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import Engine

from app.base.errors import NotPermitted, NotSignedIn, NotValid, TooOften
from app.people.sign_in import pins, store
from app.people.sign_in.locks import PERSON, STATION
from app.people.sign_in.values import Member


class PinMustChange(NotPermitted):
    """The PIN is right and came from somebody else: it opens nothing but the choice of an own one."""


def proven(engine: Engine, person: str, pin: str, station: str, now: datetime, secret: bytes = b"") -> Member:
    """The person whose PIN this is. secret: the server's own, which is in its hashes (`pins`).

    Raises NotSignedIn when it is not, TooOften when the person or the station must wait. The words for a wrong PIN, for
    somebody without one and for nobody at all are the same, and take the same time.
    """
    known = store.pin_of(engine, person)
    desk = (f"station:{station}", STATION)
    one = (f"person:{person}", PERSON)
    if (held := store.count_try(engine, (one, desk) if known is not None else (desk,), now)) is not None:
        subject, wait_s = held
        who = "for this person" if subject.startswith("person:") else "at this desk"
        raise TooOften(
            f"Too many wrong PINs {who}. The next try counts in {wait_s} s.",
            do="Wait, or ask an administrator for a new PIN.",
        )
    member, kept = known if known is not None else (None, None)
    if not pins.fits(pin.replace(" ", ""), kept, secret) or member is None or kept is None:
        raise NotSignedIn("That PIN is not right.", do="Try again, or ask an administrator for a new PIN.")
    store.take_back(engine, one[0], desk)
    if pins.old(kept, secret):
        store.renew_hash(engine, person, kept, pins.hashed(pin.replace(" ", ""), secret))
    if not member.rights.uses:
        raise NotPermitted(f"{member.name} may not sign in.", do="Ask an administrator.")
    return member


def sign_in(engine: Engine, person: str, pin: str, station: str, now: datetime, secret: bytes = b"") -> str:
    """Signs somebody in; gives the secret for the cookie. Raises as `proven`, and PinMustChange."""
    if proven(engine, person, pin, station, now, secret).must_change:
        raise PinMustChange("This PIN came from somebody else.", do="Choose your own now.")
    return store.begin(engine, person, station, now)


def change_pin(
    engine: Engine, person: str, pin: str, new: str, again: str, station: str, now: datetime, secret: bytes = b""
) -> str:
    """Changes an own PIN and signs in. Raises as `proven`, and NotValid when the new one will not do."""
    proven(engine, person, pin, station, now, secret)
    if new != again:
        raise NotValid("The two new PINs differ.", holds="The old one still holds.", do="Type the new one twice.")
    fresh = pins.check(new)
    if fresh == pin.replace(" ", ""):
        raise NotValid("That is the PIN of before.", holds="It still holds.", do="Choose another.")
    store.set_pin(engine, person, pins.hashed(fresh, secret), first=False, now=now, by=person)
    return store.begin(engine, person, station, now)
