"""The list of panels, and which page is made of which.

One panel = one view in `views/`, one template of the same name in `templates/panels/`, one element id, drawn here
alone: for the first load and for every push.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from app.live.now import CaseNow
from app.live.views.ahead import AheadView
from app.live.views.asks import AsksView
from app.live.views.board import BoardView
from app.live.views.choose import ChooseView
from app.live.views.clock import ClockView
from app.live.views.closing import ClosingView
from app.live.views.coach import CoachView
from app.live.views.heading import HeadingView
from app.live.views.likely import LikelyView
from app.live.views.maybe import MaybeView
from app.live.views.mend import MendView
from app.live.views.next import NextView
from app.live.views.notices import NoticesView
from app.live.views.people import PeopleView
from app.live.views.plans import PlansView
from app.live.views.ready import ReadyView
from app.live.views.record import RecordView
from app.live.views.requests import RequestsView
from app.live.views.rescue import RescueView
from app.live.views.rooms import RoomsView
from app.live.views.running import RunningView
from app.live.views.steps import StepsView
from app.live.views.transport import TransportView
from app.live.views.trays import TraysView
from app.live.views.unlisted import UnlistedView
from app.live.views.ventilator import VentilatorView
from app.live.views.vitals import VitalsView
from app.live.views.wall import WallView


@dataclass(frozen=True, slots=True)
class Panel:
    """A panel's name (template and element id) and the view that feeds it."""

    name: str
    view: Callable[[Sequence[CaseNow]], Any]


_ALL = (
    Panel("heading", HeadingView.of),
    Panel("clock", ClockView.of),
    Panel("next", NextView.of),
    Panel("steps", StepsView.of),
    Panel("vitals", VitalsView.of),
    Panel("asks", AsksView.of),
    Panel("ahead", AheadView.of),
    Panel("running", RunningView.of),
    Panel("maybe", MaybeView.of),
    Panel("unlisted", UnlistedView.of),
    Panel("requests", RequestsView.of),
    Panel("ready", ReadyView.of),
    Panel("rooms", RoomsView.of),
    Panel("board", BoardView.of),
    Panel("record", RecordView.of),
    Panel("room_notices", NoticesView.in_room),
    Panel("door_notices", NoticesView.at_door),
    Panel("likely", LikelyView.of),
    Panel("wall", WallView.of),
    Panel("closing", ClosingView.of),
    Panel("choose", ChooseView.of),
    Panel("coach", CoachView.of),
    Panel("trays", TraysView.of),
    Panel("transport", TransportView.of),
    Panel("ventilator", VentilatorView.of),
    Panel("rescue", RescueView.of),
    Panel("plans", PlansView.of),
    Panel("people", PeopleView.of),
    Panel("mend", MendView.of),
)
PANELS: dict[str, Panel] = {panel.name: panel for panel in _ALL}

PAGES: dict[str, tuple[str, ...]] = {
    "choose": ("choose",),
    "inside": (
        "heading",
        "room_notices",
        "rescue",
        "clock",
        "next",
        "plans",
        "vitals",
        "asks",
        "steps",
        "people",
        "mend",
        "maybe",
        "ahead",
        "running",
    ),
    "outside": (
        "door_notices",
        "rescue",
        "requests",
        "maybe",
        "unlisted",
        "coach",
        "likely",
        "rooms",
        "transport",
        "trays",
        "ready",
    ),
    "board": ("board",),
    "wall": ("wall",),
    "case": ("closing", "ventilator", "record"),
}
"""Page to its panels, in the order in which they are drawn."""
