"""Random entries of every kind, each valid by itself, in whatever nonsense sequence: made from the vocabulary's classes.

Names are few (six people, four requests, two doors …), so that entries meet: somebody goes in twice, a fix names what
has not arrived, a void itself. Clocks are off, unknown or ahead. A share of entries is of a later version's kinds.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from types import NoneType
from typing import Any, Literal, get_args, get_origin

from hypothesis import strategies as st

from app.base.kinds import ROLES
from app.base.moments import moment_text
from app.case.vocabulary.registry import KINDS
from app.journal.entry import Entry, Tap

START = datetime(2026, 11, 3, 14, 10, tzinfo=UTC)
CASE = "a"
MOST = 16
ENTRY_IDS = tuple(f"e{nth:02d}" for nth in range(MOST + 2))
"""Ids that corrections may name; the last two never arrive."""

_people = st.sampled_from(("P1", "P2", "P3", "P4", "P5", "X1"))
_items = st.sampled_from(("bougie", "tube", "sga", "none"))
_NAMED: dict[str, st.SearchStrategy[Any]] = {
    **dict.fromkeys(("p", "op", "checker", "subject", "lead", "owner", "by"), _people),
    "q": st.sampled_from(("q1", "q2", "q3", "q4")),
    "item": _items,
    "which": st.sampled_from(("room", "lobby")),
    "role": st.sampled_from(tuple(ROLES)),
    "plan": st.sampled_from(("B", "C", "D")),
    "steps": st.sampled_from(("A", "ABCD", "Z", "")),
    "class": st.sampled_from(("induction", "relaxant", "vasopressor")),
    "precaution": st.sampled_from(("airborne", "enhanced", "contact", "droplet", "hearsay")),
    "procedure": st.sampled_from(("intubation", "extubation", "transport", "tracheostomy", "bronchoscopy", "other")),
    "ref": st.sampled_from(ENTRY_IDS),
    "result": st.sampled_from(("tube", "no view", "ok")),
}
_PLACES = st.sampled_from(("store", "door", "clean", "room", "soiled", "quarantine", "waste", "decontamination", "P1"))
_FIGURES = st.one_of(
    st.integers(-3, 130),
    st.floats(-1e9, 1e9, allow_nan=False),
    st.sampled_from((0, 1, 1e-9, 1e9, -1e9, 0.5)),
)
_PERCENTS = st.one_of(st.integers(0, 100), st.floats(0, 100, allow_nan=False))
_PERCENT_FIELDS = frozenset({"spo2", "eto2"})
_WORDS = st.sampled_from(("staff", "visitor", "wrong", "yes", "na", "a b", "%(p)s", "100 %", "ü"))
_LATER = st.sampled_from((("hologram.on", {"brightness": 3}), ("room.in", {"p": "P1", "shoe": 43}), ("case.close", 1)))


def _values(name: str, annotation: Any) -> st.SearchStrategy[Any]:
    """Values that a field takes, unknown included where it may be."""
    if get_origin(annotation) is Literal:
        return st.sampled_from(get_args(annotation))
    if annotation is NoneType:
        return st.none()
    if annotation is str:
        return _PLACES if name in ("from", "to") else _NAMED.get(name, _WORDS)
    if annotation is float or annotation is int:
        return _PERCENTS if name in _PERCENT_FIELDS else _FIGURES
    if get_origin(annotation) is tuple:
        return st.lists(_items, max_size=3)
    parts = [part for part in get_args(annotation) if isinstance(part, type) or get_args(part)]
    return st.one_of([_values(name, part) for part in parts])


def bodies(kind: str) -> st.SearchStrategy[dict[str, Any]]:
    """Bodies that fit a kind: what must be given, and any of the rest."""
    if kind == "role.assign":
        return st.dictionaries(st.sampled_from(tuple(ROLES)), _people, min_size=1, max_size=4)
    must: dict[str, st.SearchStrategy[Any]] = {}
    may: dict[str, st.SearchStrategy[Any]] = {}
    for name, field in KINDS[kind].model_fields.items():
        said = field.alias or name
        (must if field.is_required() else may)[said] = _values(said, field.annotation)
    if kind == "tap.fix":
        may |= {"set_p": _people, "set_spo2": _PERCENTS, "set_n": st.integers(1, 3), "set_q": _NAMED["q"]}
        may["at"] = st.integers(0, 900).map(_second) | st.just("yesterday")
    return st.fixed_dictionaries(must, optional=may)


def _second(second: int) -> str:
    return moment_text(START + timedelta(seconds=second))


KINDS_AND_BODIES = st.one_of(
    st.sampled_from(tuple(KINDS)).flatmap(lambda kind: st.tuples(st.just(kind), bodies(kind))),
    st.sampled_from(("tap.fix", "tap.void", "room.in", "case.open")).flatmap(
        lambda kind: st.tuples(st.just(kind), bodies(kind))
    ),
)
_FACTS = st.sampled_from(
    (
        {},
        {"people": {"P1": {"name": "Ada", "resp": "tight:K2"}}},
        {"people": {"P1": {"name": "Ada", "resp": "hood"}}},
        {"room": {"id": "r4", "name": "Room 4", "ach": 12, "clear": 99.9, "mixing": 1, "tz": "Europe/Vienna"}},
        {"room": {"id": "r4", "ach": 1e-12, "clear": 99.9}},
        {"room": {"id": "r5", "ach": 900, "clear": 100, "mixing": 40}},
        {"protocol": {"id": "intubation", "version": 1}},
    )
)
_OFFSETS = st.sampled_from((None, 0, 0, 0, -3_600_000, 2500.5, 1e300))


@st.composite
def _entry(draw: st.DrawFn, nth: int) -> Entry:
    kind, body = draw(KINDS_AND_BODIES)
    if draw(st.integers(0, 19)) == 0:
        kind, unreadable = draw(_LATER)
        body = unreadable if isinstance(unreadable, dict) else {"because": unreadable}
    offset_ms = draw(_OFFSETS)
    second = draw(st.integers(0, 900))
    shown = timedelta(seconds=second) - timedelta(milliseconds=offset_ms if offset_ms and offset_ms < 1e9 else 0)
    tap = Tap(
        id=ENTRY_IDS[nth],
        case=CASE,
        kind=kind,
        body=body,
        station=draw(st.sampled_from(("inside", "outside", "desk"))),
        counter=nth + 1,
        device_at=moment_text(START + shown),
        offset_ms=offset_ms,
        error_ms=None if offset_ms is None else draw(st.sampled_from((0, 40, 1e300))),
    )
    received = START + timedelta(seconds=draw(st.sampled_from((second, second, 900, 4000, 0))))
    return Entry(tap, draw(_FACTS), nth + 1, moment_text(received), "", "")


@st.composite
def journals(draw: st.DrawFn) -> list[Entry]:
    """Up to 16 entries of one case."""
    count = draw(st.integers(0, MOST))
    return [draw(_entry(nth)) for nth in range(count)]
