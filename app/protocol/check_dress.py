"""Ensembles: the few orders on which every published scheme agrees; all else is the department's.

The respirator has a step of its own both ways, a partner reads it, it comes off outside the shut door, and undressing
goes from the room outwards (CDC/HICPAC 2007 and CDC VHF guidance in outline [G]).
"""

from __future__ import annotations

from collections.abc import Iterator

from app.protocol.positions import Mistake, Spot


def dress_mistakes(tree: Spot) -> list[Mistake]:
    """Steps twice, a respirator where none is worn or the other way round, and one that comes off inside."""
    return [m for n, item in enumerate(tree.items("ensembles")) for m in _one(f"ensembles[{n}]", item)]


def _true(spot: Spot, key: str) -> bool:
    return isinstance(spot.value, dict) and key in spot.value and spot.value[key].value is True


def _one(where: str, ensemble: Spot) -> Iterator[Mistake]:
    worn = _true(ensemble, "respirator")
    for part in ("donning", "doffing"):
        steps = ensemble.items(part)
        seen: set[str] = set()
        for n, step in enumerate(steps):
            code = step.text("code")
            if code and code in seen:
                yield step.wrong(f"{where}.{part}[{n}]", f"step '{code}' stands twice", "Give each step its own code.")
            seen.add(code)
        marked = [(n, step) for n, step in enumerate(steps) if _true(step, "respirator")]
        if worn and steps and not marked:
            instead = "Mark that step with `respirator: true`, or write `respirator: false` for the ensemble."
            yield ensemble.wrong(f"{where}.{part}", f"no step of {part} is the respirator's", instead)
        for n, step in marked:
            here = f"{where}.{part}[{n}]"
            if not worn:
                yield step.wrong(here, "this ensemble has no respirator", "Write `respirator: true` for the ensemble.")
            if not _true(step, "partner"):
                yield step.wrong(here, "the respirator's step is not read by a partner", "Add `partner: true`.")
            if part == "doffing" and step.text("place") != "outside":
                yield step.wrong(here, "the respirator comes off before the door is shut", "Write `place: outside`.")
    yield from _places(where, ensemble)


def _places(where: str, ensemble: Spot) -> Iterator[Mistake]:
    """Undressing goes one way: inside, anteroom, outside."""
    order = {"inside": 0, "anteroom": 1, "outside": 2}
    furthest = 0
    for n, step in enumerate(ensemble.items("doffing")):
        rank = order.get(step.text("place"), furthest)
        if rank < furthest:
            instead = "Move the step up, or write a place further out."
            yield step.wrong(f"{where}.doffing[{n}]", "this step goes back towards the room", instead)
        furthest = max(furthest, rank)
