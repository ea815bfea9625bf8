"""Moving a ventilated patient: oxygen against the way, the changeover in its order, places, cylinder, hand-over.

Figures come from what was recorded and from `ventilator.py`, which shows their inputs, source and cautions. Rounded to
the safe side: oxygen ends early, the way ends late.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from math import ceil, floor

from app.base.checks import Refused
from app.base.messages import N_
from app.bedside.cylinders import transfer_oxygen_l
from app.case.happening import Happening
from app.case.state import Life, State
from app.case.vocabulary.variants import O2Check, TxWaypoint
from app.live.now import CaseNow
from app.live.views.fields import ask
from app.live.views.taps import Offer
from app.live.views.ventilator import VentilatorView
from app.live.worksheet.figure import Figure

CHANGEOVER = ("vent.hold", "clamp.on", "circuit.off", "circuit.on", "clamp.off", "vent.resume")
WORDS = {
    "vent.hold": N_("Hold"), "clamp.on": N_("Clamp"), "circuit.off": N_("Off"), "circuit.on": N_("On"),
    "clamp.off": N_("Unclamp"), "vent.resume": N_("Go on"),
}  # fmt: skip
TO_GO_MIN = (5, 10, 15, 20, 30)
READ_BACK = (
    N_("Ventilator settings"), N_("Airway, and the next plan"), N_("Sedation and infusions"), N_("Lines"),
    N_("Position"), N_("Samples and tests sent"), N_("Precautions and exposures"),
)  # fmt: skip
"""What is read back (job map 4, "post-procedure plan"): common practice, no source."""


@dataclass(frozen=True, slots=True)
class Oxygen:
    """Oxygen against the way.

    litres           on hand, as told [L]
    until, figure    when it ends at the told flow with nothing kept back, and how that is known
    need_l, wanted_l what the planned way needs once, and twice [L]; None while a figure is missing
    short            it ends before the way does
    """

    litres: float | None
    until: datetime | None
    figure: Figure | None
    need_l: float | None
    wanted_l: float | None
    short: bool


@dataclass(frozen=True, slots=True)
class Journey:
    """One patient on the way.

    due         when the way ends, as last told or as planned; None while nothing is told
    order       the changeover: (word, whether it is done, the tap) in order; now: its next tap
    unfelt_at   since when a new cylinder is on whose flow nobody has felt
    """

    id: str
    room: str
    left_at: datetime | None
    place: str
    place_at: datetime | None
    due: datetime | None
    arrived_at: datetime | None
    accepted_at: datetime | None
    oxygen: Oxygen
    order: tuple[tuple[str, bool, Offer], ...]
    now: Offer
    under_way: bool
    unfelt_at: datetime | None
    steps: tuple[Offer, ...]
    forms: tuple[Offer, ...]
    to_go: tuple[Offer, ...]
    handover_at: datetime | None
    handover: Offer
    read_back: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class TransportView:
    """Patients who are moved; empty when none is."""

    journeys: tuple[Journey, ...]

    @classmethod
    def of(cls, cases: Sequence[CaseNow]) -> TransportView:
        moved = (case for case in cases if case.state.setup.procedure == "transport")
        return cls(tuple(_journey(case) for case in moved if case.life not in (Life.CLOSED, Life.ABORTED)))


def _journey(case: CaseNow) -> Journey:
    state = case.state
    left, arrived, taken = state.first("tx.depart"), state.last("tx.arrive"), state.last("tx.accept")
    place = state.last("tx.waypoint")
    due = due_at(state)
    done = _done(state)
    order = tuple((WORDS[kind], n < done, Offer(kind, WORDS[kind], case.id)) for n, kind in enumerate(CHANGEOVER))
    handover = state.last("handover.start")
    ended = state.last("handover.done")
    return Journey(
        id=case.id,
        room=case.room,
        left_at=left.at if left else None,
        place=getattr(place.body, "at", None) or "" if place else "",
        place_at=place.at if place else None,
        due=None if arrived else due,
        arrived_at=arrived.at if arrived else None,
        accepted_at=taken.at if taken else None,
        oxygen=_oxygen(case, due),
        order=order,
        now=order[done % len(CHANGEOVER)][2],
        under_way=0 < done < len(CHANGEOVER),
        unfelt_at=_unfelt(state),
        steps=_steps(case, left, arrived, taken),
        forms=_forms(case),
        to_go=tuple(Offer("tx.waypoint", f"{m} min", case.id, {"togo": m}) for m in TO_GO_MIN),
        handover_at=handover.at if handover and (ended is None or ended.order < handover.order) else None,
        handover=Offer("handover.done", N_("Read back"), case.id),
        read_back=READ_BACK,
    )


def _done(state: State) -> int:
    """How far the newest changeover is: so many of its six steps, in order. A step tapped alone counts from there."""
    last = [(h.order, n) for n, kind in enumerate(CHANGEOVER) if (h := state.last(kind)) is not None]
    return max(last)[1] + 1 if last else 0


def due_at(state: State) -> datetime | None:
    """When the way ends: the minutes last told to be left, otherwise those planned, from when they were told."""
    left = state.first("tx.depart")
    if left is None:
        return None
    told = [h for kind in ("o2.check", "tx.waypoint") for h in state.all(kind) if h.order > left.order]
    for h in sorted(told, key=lambda h: h.order, reverse=True):
        if isinstance(h.body, O2Check | TxWaypoint) and h.body.togo is not None:
            return h.at + timedelta(minutes=ceil(h.body.togo))
    return None if state.setup.tx_min is None else left.at + timedelta(minutes=ceil(state.setup.tx_min))


def _oxygen(case: CaseNow, due: datetime | None) -> Oxygen:
    state = case.state
    shown = VentilatorView.of([case])
    figure, at = shown.oxygen, shown.oxygen_at
    lasts = None if figure is None or figure.value is None else float(figure.value)
    until = None if lasts is None or at is None else at + timedelta(minutes=floor(lasts))
    told = [h for kind in ("o2.check", "o2.swap") for h in state.all(kind)]
    litres = [(h.order, value) for h in told if (value := getattr(h.body, "litres", None)) is not None]
    return Oxygen(
        max(litres)[1] if litres else None,
        until,
        figure,
        _need(state, 1),
        _need(state, 2),
        until is not None and due is not None and until < due,
    )


def _need(state: State, factor: float) -> float | None:
    """Oxygen for the planned way [L]; None while its minutes or the flow are unknown, or cannot be right."""
    setup = state.setup
    if setup.tx_min is None or setup.o2_lpm is None:
        return None
    try:
        return ceil(transfer_oxygen_l(minutes=setup.tx_min, flow_l_min=setup.o2_lpm, safety_factor=factor))
    except Refused:
        return None


def _unfelt(state: State) -> datetime | None:
    """Since when a cylinder is on whose flow was not felt (R53)."""
    swap = state.last("o2.swap")
    if swap is None or _felt(swap):
        return None
    felt = any(_felt(h) for h in state.all("o2.check") if h.order > swap.order)
    return None if felt else swap.at


def _felt(h: Happening) -> bool:
    return str(getattr(h.body, "flow", None) or "").casefold() == "felt"


def _steps(
    case: CaseNow, left: Happening | None, arrived: Happening | None, taken: Happening | None
) -> tuple[Offer, ...]:
    """What comes on the way, the next one first."""
    handover = Offer("handover.start", N_("Handover begins"), case.id)
    if left is None:
        return (Offer("tx.depart", N_("Leaving the room"), case.id),)
    if arrived is None:
        return (
            Offer("tx.arrive", N_("Arrived"), case.id),
            Offer("tx.waypoint", N_("Waiting"), case.id, {"at": "waiting"}),
            Offer("o2.check", N_("Flow felt"), case.id, {"flow": "felt"}),
        )
    if taken is None:
        return (Offer("tx.accept", N_("Patient accepted"), case.id), handover)
    return (handover,)


def _forms(case: CaseNow) -> tuple[Offer, ...]:
    """Taps with words or figures, for whoever has a hand free."""

    def form(kind: str, label: str, *names: str) -> Offer:
        return Offer(kind, label, case.id, {}, tuple(ask(kind, name) for name in names))

    return (
        form("o2.swap", N_("New cylinder on"), "litres", "flow"),
        form("o2.check", N_("Oxygen checked"), "litres", "flow", "togo"),
        form("tx.waypoint", N_("Passed a place"), "at", "togo"),
        form("tx.accept", N_("Patient accepted"), "by"),
    )
