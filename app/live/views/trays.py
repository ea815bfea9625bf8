"""Trays: what the procedure puts on each, what is there, what moves on, and what is counted before anyone leaves."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from app.base.messages import N_
from app.case.state import Life, State
from app.case.vocabulary.kit import CountDone
from app.live.now import CaseNow
from app.live.views.taps import Offer
from app.protocol.equipment import KitItem
from app.protocol.equipment import Tray as Listed

THERE, MISSING, EXPIRED = "there", "missing", "expired"
ONWARD = {"clean": "room", "door": "room", "room": "soiled"}
"""The one way that things go (job map 5). From the soiled side they go to waste, or to be decontaminated."""
SOILED_SIDE = ("room", "soiled")


@dataclass(frozen=True, slots=True)
class Piece:
    """One thing of a list. state: there, missing or expired, as last said; needed: its lack is a warning at entry."""

    code: str
    name: str
    kept: str
    sizes: tuple[str, ...]
    quantity: int
    state: str
    needed: bool = False
    sharp: bool = False


@dataclass(frozen=True, slots=True)
class TrayNow:
    """One tray: what should be on it and what is.

    staged_at   when it was last laid out; None: never
    lacks       names of what is missing or out of date; also what the list does not know
    stage       lays it out as marked: has, missing and expired are filled in from the pieces
    """

    code: str
    title: str
    stands: str
    pieces: tuple[Piece, ...]
    staged_at: datetime | None
    lacks: tuple[str, ...]
    stage: Offer


@dataclass(frozen=True, slots=True)
class Count:
    """What goes through the count. expected: so many things; sharps: names of those whose loss is critical (R48)."""

    pieces: tuple[Piece, ...]
    sharps: tuple[str, ...]
    counted_at: datetime | None
    expected: float | None
    found: float | None
    lost: tuple[str, ...]
    take: Offer


@dataclass(frozen=True, slots=True)
class CaseTrays:
    """The trays of one case. moves: (where a thing is and where it goes, the tap that moves it on)."""

    id: str
    room: str
    early: bool
    trays: tuple[TrayNow, ...]
    moves: tuple[tuple[str, Offer], ...]
    count: Count

    @property
    def gaps(self) -> tuple[TrayNow, ...]:
        """Trays that lack something, or were never laid out while there is still time."""
        return tuple(tray for tray in self.trays if tray.lacks or (self.early and tray.staged_at is None))


@dataclass(frozen=True, slots=True)
class TraysView:
    """Rooms with gaps first."""

    cases: tuple[CaseTrays, ...]

    @classmethod
    def of(cls, cases: Sequence[CaseNow]) -> TraysView:
        shown = [_case(case) for case in cases if case.life not in (Life.CLOSED, Life.ABORTED)]
        return cls(tuple(sorted(shown, key=lambda one: not one.gaps)))


def _case(case: CaseNow) -> CaseTrays:
    early = case.life in (Life.PLANNED, Life.READY)
    return CaseTrays(
        case.id, case.room, early, tuple(_tray(case, tray) for tray in case.protocol.kit), _moves(case), _count(case)
    )


def _tray(case: CaseNow, listed: Listed) -> TrayNow:
    staged = case.state.trays.get(listed.code)
    missing = frozenset(staged.missing) if staged else frozenset()
    expired = frozenset(staged.expired) if staged else frozenset()
    pieces = tuple(
        _piece(item, MISSING if item.code in missing else EXPIRED if item.code in expired else THERE)
        for item in listed.items
    )
    names = {piece.code: piece.name for piece in pieces}
    lacks = tuple(names.get(code, code) for code in dict.fromkeys((*(staged.missing if staged else ()), *expired)))
    return TrayNow(
        listed.code,
        listed.title,
        listed.stands,
        pieces,
        staged.staged_at if staged else None,
        tuple(name for name in lacks if name != "none"),
        Offer("kit.staged", N_("Laid out as marked"), case.id, {"tray": listed.code}),
    )


def _piece(item: KitItem, state: str) -> Piece:
    return Piece(item.code, item.name, item.kept, item.choices, item.quantity, state, item.mandatory, item.sharp)


def _items(case: CaseNow) -> dict[str, KitItem]:
    return {item.code: item for tray in case.protocol.kit for item in tray.items}


def _moves(case: CaseNow) -> tuple[tuple[str, Offer], ...]:
    """Each thing with the one place where it goes from where it is. No tap leads back; the record would take it."""
    known = _items(case)
    found = []
    for place in ("door", "clean", "room", "soiled"):
        for code in case.state.places.get(place, {}):
            item = known.get(code)
            to = ONWARD.get(place) or ("decontamination" if item is not None and item.reusable else "waste")
            name = item.name if item is not None else code
            found.append((f"{place} {to}", Offer("item.move", name, case.id, {"item": code, "from": place, "to": to})))
    return tuple(found)


def _count(case: CaseNow) -> Count:
    pieces = counted(case)
    last = case.state.last("count.done")
    said = last.body if last is not None and isinstance(last.body, CountDone) else None
    return Count(
        pieces,
        tuple(piece.name for piece in pieces if piece.sharp),
        last.at if last is not None else None,
        said.expected if said else None,
        said.found if said else None,
        said.lost if said else (),
        Offer("count.done", N_("Count as marked"), case.id),
    )


def counted(case: CaseNow) -> tuple[Piece, ...]:
    """What must be found again: counted things of the clean tray, and those of the door that went in."""
    went_in = _went_in(case.state)
    return tuple(
        _piece(item, THERE)
        for tray in case.protocol.kit
        for item in tray.items
        if item.counted and (tray.code == "clean" or item.code in went_in)
    )


def _went_in(state: State) -> frozenset[str]:
    return frozenset(item for place in SOILED_SIDE for item in state.places.get(place, {}))
