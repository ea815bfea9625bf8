"""Where a figure's stepper starts for a child: an adult's figure under a finger would be wrong at a glance.

A place to start from, never a figure that is recorded. Tube, depth and mask airway go by the same sums as the worksheet
where the call says age and weight; the rest, and a child whose age nobody said, stand at about six years.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from contextlib import suppress

from app.base.checks import Refused
from app.bedside.tubes import ett_cuffed_id_mm, ett_oral_depth_cm, lma_size
from app.case.rules.ask import is_child
from app.case.state import State
from app.live.worksheet.figure import nearest

_AT_SIX: Mapping[tuple[str, str], float] = {
    ("tube.passed", "size"): 5,
    ("tube.passed", "depth"): 15,
    ("tube.secured", "depth"): 15,
    ("tr.tube_in", "size"): 5,
    ("fona.in", "size"): 4,
    ("sga.in", "size"): 2.5,
    ("vent.set", "vt"): 120,
    ("vent.set", "rate"): 20,
    ("vitals", "sbp"): 100,
    ("vitals", "hr"): 110,
}
"""(kind, field) -> in the units of the vocabulary. Common practice, no source."""


def child_start(state: State, kind: str, name: str) -> float | None:
    """Where the stepper of a figure starts; None for an adult, and for what is the same at every age."""
    if not is_child(state) or (kind, name) not in _AT_SIX:
        return None
    worked = _WORKED.get((kind, name))
    with suppress(Refused):  # an age or a weight for which there is no such sum
        if worked is not None and (found := worked(state)) is not None:
            return found
    return _AT_SIX[kind, name]


def _age_y(state: State) -> float | None:
    age = state.setup.age
    with suppress(TypeError, ValueError):
        return float(age)  # type: ignore[arg-type]
    return None


def _tube_mm(state: State) -> float | None:
    age_y = _age_y(state)
    return None if age_y is None else float(nearest(ett_cuffed_id_mm(age_y=age_y), 0.5))


def _depth_cm(state: State) -> float | None:
    age_y = _age_y(state)
    return None if age_y is None else round(ett_oral_depth_cm(age_y=age_y))


def _mask(state: State) -> float | None:
    if state.setup.weight_kg is None:
        return None
    size = lma_size(weight_kg=state.setup.weight_kg).value
    return size[0] if isinstance(size, tuple) else size


_WORKED: Mapping[tuple[str, str], Callable[[State], float | None]] = {
    ("tube.passed", "size"): _tube_mm,
    ("tr.tube_in", "size"): _tube_mm,
    ("tube.passed", "depth"): _depth_cm,
    ("tube.secured", "depth"): _depth_cm,
    ("sga.in", "size"): _mask,
}
