"""One-time codes that pair a screen: made at the desk, typed or scanned on the tablet, good for five minutes, once.

Eight characters of thirty are 39 bits: enough against guessing over five minutes with few attempts (`web/throttle.py`),
too few to lie about as a plain hash. So the hash is keyed with a secret that is not in the database.
"""

from __future__ import annotations

import hmac
import json
import secrets
from datetime import datetime, timedelta
from hashlib import sha256

from sqlalchemy import Engine, delete, update
from sqlmodel import Session, col

from app.base.database import writing
from app.base.errors import NotValid, Unknown
from app.stations.tables import PairingCode
from app.stations.values import KINDS, LANGUAGES, Plan

LETTERS = "23456789ABCDEFGHJKMNPQRSTVWXYZ"
"""Thirty characters, none of which is read as another: no 0 or O, no 1, I or L, no U beside V."""
LENGTH = 8
LIFE = timedelta(minutes=5)
PURPOSE = "pairing codes"
"""Names the key of these hashes among those made from the server's key."""


def new_code() -> str:
    """A code, as the desk shows it in two groups."""
    return "".join(secrets.choice(LETTERS) for _ in range(LENGTH))


def read(text: str) -> str:
    """A code as typed, without spaces and dashes, in capitals. Raises NotValid for what can be no code."""
    code = "".join(text.split()).replace("-", "").upper()
    if len(code) != LENGTH or set(code) - set(LETTERS):
        raise NotValid(
            f"A code has {LENGTH} characters, none of them 0, 1, I, L, O or U.",
            holds="Nothing was paired.",
            do="Look at the desk's screen and type it again.",
        )
    return code


def _hash(code: str, key: bytes) -> str:
    return hmac.new(key, code.encode(), sha256).hexdigest()


def make(engine: Engine, plan: Plan, key: bytes, now: datetime, by: str | None = None) -> str:
    """A code that will carry out a plan; shown this once. Codes that ran out are forgotten on the way."""
    if plan.kind not in KINDS:
        raise NotValid("That is no kind of screen.", do=f"Kinds are {', '.join(KINDS)}.")
    if plan.language not in LANGUAGES:
        raise NotValid("There are no words in that language.", do=f"Languages are {', '.join(LANGUAGES)}.")
    code = new_code()
    with writing(engine) as connection, Session(bind=connection) as session:
        session.execute(delete(PairingCode).where(col(PairingCode.made_at) < now - LIFE))
        session.add(
            PairingCode(
                code_hash=_hash(code, key),
                kind=plan.kind,
                label=plan.label,
                language=plan.language,
                cases=json.dumps(plan.cases),
                room_id=plan.room,
                made_at=now,
                made_by=by,
            )
        )
        session.flush()
    return code


def use(engine: Engine, code: str, key: bytes, now: datetime) -> Plan:
    """What a code pairs; it is used up by this. Raises Unknown for one that was never made, is too old, or was used."""
    with writing(engine) as connection, Session(bind=connection) as session:
        row = session.get(PairingCode, _hash(read(code), key))
        if row is None or not row.made_at <= now <= row.made_at + LIFE:
            raise Unknown(
                "That code is not known, or its five minutes are over.",
                holds="Nothing was paired.",
                do="Compare it with the desk's screen, or make a new one there.",
            )
        # The condition, not the look before it, decides: two tablets may send the same code at once.
        taken = session.execute(
            update(PairingCode)
            .where(col(PairingCode.code_hash) == row.code_hash, col(PairingCode.used_at).is_(None))
            .values(used_at=now)
        )
        if taken.rowcount != 1:  # type: ignore[attr-defined]
            raise Unknown(
                "That code has been used already.", holds="Nothing was paired.", do="Make a new one at the desk."
            )
        session.flush()
        return Plan(row.kind, row.label, row.language, tuple(json.loads(row.cases)), row.room_id)
