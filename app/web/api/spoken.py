"""In whose name a desk speaks: its taps need somebody signed in who may document, when made or when sent.

A tap that names a person counts when that person was signed in at this desk when it was made, or is now: so taps of an
hour without a line go through, and nobody speaks in another's name. One that names nobody, made while nobody was
signed in, goes through once somebody is. Tablets inside and outside a room know no person.
"""

from __future__ import annotations

import asyncio
from datetime import timedelta

from fastapi import Request

from app.base.errors import NotSignedIn, NotValid
from app.base.moments import parse_moment
from app.journal.entry import Tap
from app.people.sign_in import store
from app.people.sign_in.values import Rights, Use
from app.stations.values import Station
from app.web.deps import live_of, person_of

SLACK = timedelta(minutes=2)
"""A desk whose clock was never compared may be off by so much and still be believed about who sat there."""


async def check(request: Request, station: Station, tap: Tap) -> None:
    """Raises NotSignedIn (the tap waits until somebody has signed in) or NotValid (it is refused)."""
    if station.kind != "desk":
        if tap.person is not None:
            raise NotValid("Nobody signs in at this screen, so an entry of it names no person.")
        return None
    signed = person_of(request)
    if signed is not None and tap.person in (None, signed.id):
        return _may_document(signed.rights)
    if tap.person is None:
        raise NotSignedIn(
            "Nobody is signed in at this desk.",
            holds="The entry stays on the desk.",
            do="Sign in: it is sent then.",
        )
    moment = parse_moment(tap.device_at) + timedelta(milliseconds=tap.offset_ms or 0)
    rights = await asyncio.to_thread(store.was_there, live_of(request).engine, tap.person, station.id, moment, SLACK)
    if rights is None:
        raise NotSignedIn(
            "The entry names somebody who was not signed in at this desk then.",
            holds="The entry stays on the desk.",
            do="Who made it signs in again: it is sent then.",
        )
    return _may_document(rights)


def _may_document(rights: Rights) -> None:
    if Use.DOCUMENT not in rights.uses:
        raise NotValid("Who is signed in may read here, not document.", do="Somebody who may document signs in first.")
