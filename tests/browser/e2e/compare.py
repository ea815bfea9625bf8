"""Compares what came of a scenario through pages with what `doorside replay` makes of the same file."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from typing import Any

from tests.browser.e2e.conftest import Played
from tests.browser.e2e.player import told

AT_THE_DOOR = frozenset({"case.open", "kit.staged", "plan.set", "doff.start", "check.start", "incident.new"})
"""Kinds that the door and the desk say in more or fewer words than the file: whole lists of a tray, the partner with the
start of undressing, no figure that only the file's author knew. What follows from them is compared all the same."""
FREE = frozenset({"note", "from"})


def same_record(done: Played, fewer: frozenset[str] = frozenset()) -> None:
    """State, intervals, notices on the day and in the end, and every entry of the room with what it says.

    fewer  kinds that the pages say in fewer words than the file: how many there are of each is compared
    """
    by_pages, by_replay = done.by_pages, done.by_replay
    assert by_pages.chain == by_replay.chain == "ok"
    pages, file = _said(done, fewer)
    _same(pages - file, Counter())
    _same(file - pages, Counter())
    for case in by_replay.state:
        _same(_state(by_pages.state[case]), _state(by_replay.state[case]))
        _same(_intervals(by_pages.intervals[case]), _intervals(by_replay.intervals[case]))
    _same(_notices(by_pages.live), _notices(by_replay.live))
    _same(_notices(by_pages.final), _notices(by_replay.final))


def _same(pages: Any, replay: Any) -> None:
    assert pages == replay, f"by pages: {pages}\nby replay: {replay}"


def _said(done: Played, fewer: frozenset[str]) -> tuple[Counter[Any], Counter[Any]]:
    made = [(entry.tap.kind, {} if entry.tap.kind in fewer else entry.tap.body) for entry in done.player.entries()]
    written = [
        (act.kind, {} if act.kind in fewer else {n: done.player.words.get(str(v), v) for n, v in act.body.items()})
        for act in done.player.scenario.acts
    ]
    return tuple(_count(told_list) for told_list in (made, written))  # type: ignore[return-value]


def _count(entries: list[tuple[str, Mapping[str, Any]]]) -> Counter[Any]:
    requests: dict[str, str] = {}
    kept = [(kind, {name: value for name, value in body.items() if name not in FREE or kind == "handover.start"})
            for kind, body in entries]  # fmt: skip
    return Counter(told(kind, body, requests) for kind, body in kept if kind not in AT_THE_DOOR)


def _state(state: Mapping[str, Any]) -> dict[str, Any]:
    """Without `places`: the door's page names every thing of a tray, the file says only that nothing is missing."""
    kept = {name: value for name, value in state.items() if name not in ("id", "requests", "places")}
    return {**kept, "requests": len(state["requests"])}


def _intervals(values: Mapping[str, Any]) -> dict[str, Any]:
    """To the second; requests in the order in which they were asked."""
    return {code: _whole(list(value.values()) if code == "I14" and value else value) for code, value in values.items()}


def _whole(value: Any) -> Any:
    if isinstance(value, Mapping):
        return {name: _whole(part) for name, part in value.items()}
    if isinstance(value, list):
        return [_whole(part) for part in value]
    return round(value) if isinstance(value, float) else value


def _notices(found: list[dict[str, Any]]) -> list[tuple[Any, ...]]:
    return [(one["at_s"], one["rule"], one["severity"]) for one in found]
