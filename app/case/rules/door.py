"""The door, what passes it the wrong way, what is counted, and the link: R46-R48, R59, R60."""

from __future__ import annotations

from app.case.folds.protection import ROOM_DOOR
from app.case.rules import ask
from app.case.rules.notice import Found, Holds, Sight, Table
from app.case.state import State

_SOILED_SIDE = frozenset({"soiled", "room"})
_CLEAN_SIDE = frozenset({"clean", "door"})
_SHARPS = ("wire", "scalpel", "blade", "needle")


def door_open_long(sight: Sight) -> Found:
    """R46: a door open for long. Both doors of a shared anteroom: `across`."""
    door = sight.body.which or ROOM_DOOR
    if door in sight.before.doors:
        return
    since, limit = sight.after.doors[door], sight.limit("R46", "open_s")

    def still(state: State) -> bool:
        return state.doors.get(door) == since

    found = sight.find("R46", "long", over=lambda s: not still(s), seconds=int(limit), door=door)
    yield sight.watch(limit, found, still)


def backwards(sight: Sight) -> Found:
    """R47: an item moved from the room or the soiled side to the clean one."""
    body = sight.body
    if body.from_ in _SOILED_SIDE and body.to in _CLEAN_SIDE:
        yield sight.find("R47", "backwards", body.item, item=body.item, source=body.from_, to=body.to)


def count_differs(sight: Sight) -> Found:
    """R48: found is not expected, or something is named as lost; critical when a sharp or a wire is."""
    body = sight.body
    known = body.expected is not None and body.found is not None
    sharps = tuple(item for item in body.lost if ask.names(item, *_SHARPS))
    if sharps:
        yield sight.find(
            "R48", "sharp", sharps[0], over=_later_count_matches(sight), lost=sharps[0], all_lost=body.lost
        )
    elif body.lost or (known and body.expected != body.found):
        say = "count" if known else "lost"
        yield sight.find(
            "R48", "count", say=say, over=_later_count_matches(sight),
            expected=body.expected, found=body.found, lost=body.lost,
        )  # fmt: skip


def _later_count_matches(sight: Sight) -> Holds:
    counted = sight.h
    return lambda state: ask.happened_since(
        state, "count.done", counted, lambda b: b.expected is not None and b.expected == b.found and not b.lost
    )


def link_lost(sight: Sight) -> Found:
    """R59: no contact with a station of the room for a while."""
    device = sight.body.device or ""
    if device in sight.before.link_lost:
        return
    since = sight.after.link_lost[device]

    def lost(state: State) -> bool:
        return state.link_lost.get(device) == since

    found = sight.find("R59", "lost", device, over=lambda s: not lost(s), since=sight.second, device=device)
    yield sight.watch(sight.limit("R59", "wait_s"), found, lost)


def clock_off(sight: Sight) -> Found:
    """R60: a station's clock is off, either way."""
    skew, device = sight.body.skew_s, sight.body.device or ""
    if skew is None or abs(skew) <= sight.limit("R60", "small_s"):
        return
    situation = "large" if abs(skew) > sight.limit("R60", "large_s") else "small"
    yield sight.find("R60", situation, device, skew=skew, device=device)


RULES: Table = (
    (door_open_long, ("door.open",)),
    (backwards, ("item.move",)),
    (count_differs, ("count.done",)),
    (link_lost, ("net.down",)),
    (clock_off, ("net.down", "net.up")),
)
