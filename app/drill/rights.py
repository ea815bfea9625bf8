"""Who may sign in at the desk of the invented hospital. The PIN is one for all and shown on the page: it is a demo."""

from __future__ import annotations

import secrets
from datetime import datetime

from sqlalchemy import Engine

from app.base.errors import NotValid
from app.people.sign_in import pins, store
from app.people.sign_in.values import ALL_RIGHTS, Rights, Use

CHARGE = "N23"
"""The charge anaesthetist of the night, on call and in no room."""
OTHERS = {"N26": Rights(Use.DOCUMENT), "N27": Rights(Use.VIEW, editor=True), "N28": Rights(Use.VIEW)}
HOW = "demo"


def new_pin() -> str:
    """A PIN for this start of the demo: even an invented hospital has no fixed one."""
    while True:
        pin = "".join(secrets.choice("0123456789") for _ in range(pins.DIGITS_LEAST))
        try:
            return pins.check(pin)
        except NotValid:
            continue


def grant(engine: Engine, pin: str, now: datetime) -> None:
    """Gives the charge anaesthetist all rights and some others fewer, all with the same PIN."""
    pin_hash = pins.hashed(pin)
    for person, rights in ({CHARGE: ALL_RIGHTS} | OTHERS).items():
        store.set_rights(engine, person, rights, now=now, how=HOW)
        store.set_pin(engine, person, pin_hash, first=False, now=now, how=HOW)
