"""What stands where: nothing twice, nothing that refers to what is not there, nothing that waits for what is behind."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from app.base.kinds import KINDS
from app.protocol.parts import near
from app.protocol.positions import Mistake, Spot
from app.protocol.words import Match, parse_match

REQUESTS_MAX = 12
"""Choices that fit on the inside page with targets for a gloved knuckle (job map, section 7)."""


def order_mistakes(tree: Spot) -> list[Mistake]:
    """Doubles, dangling references, wrong order, too many choices, days that run backwards."""
    return [*_doubles(tree), *_references(tree), *_order(tree), *_requests(tree), *_days(tree), *_crew(tree)]


def _name(milestone: Spot) -> str:
    body = milestone.value.get("body") if isinstance(milestone.value, dict) else None
    presets = body.plain() if body is not None and isinstance(body.value, dict) else {}
    return f"{milestone.text('kind')} {'; '.join(f'{key}={value}' for key, value in presets.items())}".rstrip()


def _twice(items: list[Spot], where: str, name: Callable[[Spot], str], called: str) -> Iterator[Mistake]:
    first: dict[str, Spot] = {}
    for n, item in enumerate(items):
        key = name(item)
        if key and key in first:
            before = first[key]
            there = f"line {before.line}" + (f" of {before.file}" if before.file != item.file else "")
            yield item.wrong(f"{where}[{n}]", f"{called} '{key}' stands twice", f"Keep one; the first is on {there}.")
        first.setdefault(key, item)


def _doubles(tree: Spot) -> Iterator[Mistake]:
    phases = tree.items("phases")
    yield from _twice(phases, "phases", lambda item: item.text("id"), "phase")
    for n, phase in enumerate(phases):
        yield from _twice(phase.items("milestones"), f"phases[{n}].milestones", _name, "milestone")
        yield from _twice(phase.items("requests"), f"phases[{n}].requests", lambda i: i.text("item"), "request")
    yield from _twice(tree.items("anytime"), "anytime", _name, "milestone")
    yield from _twice(tree.items("roles"), "roles", lambda item: item.text("role"), "role")
    yield from _twice(tree.items("kit"), "kit", lambda item: item.text("code"), "tray")
    for n, tray in enumerate(tree.items("kit")):
        yield from _twice(tray.items("items"), f"kit[{n}].items", lambda item: item.text("code"), "item")
        yield from (
            item.wrong(f"kit[{n}].items[{m}]", "a vital item is not mandatory", "Add `mandatory: true`.")
            for m, item in enumerate(tray.items("items"))
            if _true(item, "vital") and not _true(item, "mandatory")
        )
    yield from _twice(tree.items("ensembles"), "ensembles", lambda item: item.text("code"), "ensemble")
    yield from _twice(tree.items("rescue"), "rescue", lambda item: item.text("step"), "rescue step")
    yield from _twice(tree.items("look_ahead"), "look_ahead", lambda item: item.text("when"), "look-ahead")


def _true(spot: Spot, key: str) -> bool:
    return isinstance(spot.value, dict) and key in spot.value and spot.value[key].value is True


def _placed(tree: Spot) -> list[tuple[str, Spot, int]]:
    """Every milestone with its path and its rank in the order of doing; -1 for those of any time."""
    placed = [
        (f"phases[{p}].milestones[{m}]", milestone)
        for p, phase in enumerate(tree.items("phases"))
        for m, milestone in enumerate(phase.items("milestones"))
    ]
    ranked = [(where, milestone, rank) for rank, (where, milestone) in enumerate(placed)]
    return ranked + [(f"anytime[{n}]", item, -1) for n, item in enumerate(tree.items("anytime"))]


def _read(spot: Spot) -> Match | None:
    """The match, or None where the checks of shape and names have said already what is wrong with it."""
    try:
        match = parse_match(spot.value)
    except ValueError:
        return None
    return match if match.kind in KINDS else None


def _could_be(match: Match, milestone: Spot) -> bool:
    """Whether taps of this milestone can fit the match: nothing in its preset body speaks against it."""
    body = milestone.value.get("body") if isinstance(milestone.value, dict) else None
    presets = body.plain() if body is not None and isinstance(body.value, dict) else {}
    free = Match(match.kind, tuple(test for test in match.tests if test[0] in presets))
    return free.fits(milestone.text("kind"), presets)


def _references(tree: Spot) -> Iterator[Mistake]:
    placed = _placed(tree)
    names = [_name(milestone) for _, milestone, _ in placed]

    def known(where: str, spot: Spot) -> Iterator[Mistake]:
        match = _read(spot)
        if match is not None and not any(_could_be(match, milestone) for _, milestone, _ in placed):
            instead = near(str(match), names) or "Add it to a phase or to `anytime:`, or take it out here."
            yield spot.wrong(where, f"no milestone of this protocol is '{match}'", instead)

    for n, phase in enumerate(tree.items("phases")):
        for m, spot in enumerate(phase.items("begins")):
            yield from known(f"phases[{n}].begins[{m}]", spot)
    for where, milestone, _ in placed:
        target = milestone.value.get("target") if isinstance(milestone.value, dict) else None
        if target is not None and isinstance(target.value, dict) and "counted_from" in target.value:
            yield from known(f"{where}.target.counted_from", target.value["counted_from"])
        if target is not None:
            yield from _target(f"{where}.target", target)
    for n, step in enumerate(tree.items("rescue")):
        for m, spot in enumerate(step.items("records")):
            yield from known(f"rescue[{n}].records[{m}]", spot)
    for n, ahead in enumerate(tree.items("look_ahead")):
        if isinstance(ahead.value, dict) and "when" in ahead.value:
            yield from known(f"look_ahead[{n}].when", ahead.value["when"])


def _target(where: str, target: Spot) -> Iterator[Mistake]:
    least, most = (target.value.get(key) if isinstance(target.value, dict) else None for key in _SPAN)
    if least is None or most is None or not isinstance(least.value, int) or not isinstance(most.value, int):
        return
    if least.value > most.value:
        yield least.wrong(where, "at_least_s is above at_most_s", "Write the smaller number of seconds first.")


_SPAN = ("at_least_s", "at_most_s")


def _order(tree: Spot) -> Iterator[Mistake]:
    """What a milestone comes after must exist and must not stand behind it."""
    placed = _placed(tree)
    names = [_name(milestone) for _, milestone, _ in placed]
    for where, milestone, rank in placed:
        for n, spot in enumerate(milestone.items("after")):
            match = _read(spot)
            fitting = [(m, r) for _, m, r in placed if match is not None and _could_be(match, m)]
            here = f"{where}.after[{n}]"
            if match is not None and not fitting:
                instead = near(str(match), names) or "Take it out, or add that milestone."
                yield spot.wrong(here, f"no milestone of this protocol is '{match}'", instead)
            elif fitting and rank >= 0 and all(r >= rank for _, r in fitting):
                line = fitting[0][0].line
                what = f"'{match}' stands behind what should come after it"
                yield spot.wrong(here, what, f"Move one of them; '{match}' is on line {line}.")


def _requests(tree: Spot) -> Iterator[Mistake]:
    codes = [item.text("code") for tray in tree.items("kit") for item in tray.items("items")]
    asked: list[str] = []
    for n, phase in enumerate(tree.items("phases")):
        requests = phase.items("requests")
        asked += [request.text("item") for request in requests]
        if len(requests) > REQUESTS_MAX:
            what = f"{len(requests)} request choices in one phase"
            yield requests[REQUESTS_MAX].wrong(f"phases[{n}].requests", what, f"Keep {REQUESTS_MAX} or fewer.")
        for m, request in enumerate(requests):
            code = request.text("kit_code")
            if code and code not in codes:
                instead = near(code, codes) or "Use the code of an item on one of the trays, or take it out."
                spot = request.value["kit_code"]
                yield spot.wrong(f"phases[{n}].requests[{m}].kit_code", f"no tray holds '{code}'", instead)
    for n, ahead in enumerate(tree.items("look_ahead")):
        offer = ahead.text("offer")
        if offer and offer not in asked:
            instead = near(offer, asked) or "Offer an item that stands under `requests:` of a phase."
            yield ahead.value["offer"].wrong(f"look_ahead[{n}].offer", f"'{offer}' cannot be asked for", instead)


def _days(tree: Spot) -> Iterator[Mistake]:
    effective, due = tree.text("effective"), tree.text("review_due")
    if effective and due and due <= effective:
        what = f"the review is due on {due}, not after the first day {effective}"
        yield tree.value["review_due"].wrong("review_due", what, "Write a later day.")


def _crew(tree: Spot) -> Iterator[Mistake]:
    roles = [item.text("role") for item in tree.items("roles")]
    for where, milestone, _ in _placed(tree):
        by = milestone.text("by")
        if by and roles and by not in roles:
            instead = f"Add {by} under `roles:`, or write one of: {', '.join(roles)}."
            yield milestone.value["by"].wrong(f"{where}.by", f"the crew of this protocol has no {by}", instead)
