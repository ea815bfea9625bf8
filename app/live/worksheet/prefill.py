"""What a case knows of its patient and room, as texts for the worksheet's fields. Never a name."""

from __future__ import annotations

from collections.abc import Iterator

from app.base.checks import plain
from app.case.vocabulary.airway import VentSet
from app.case.vocabulary.course import WeightSet
from app.case.vocabulary.variants import O2Check, O2Swap
from app.live.now import CaseNow
from app.live.worksheet.drugs import GROUPS as DRUG_GROUPS
from app.live.worksheet.fields import GROUPS, Given


def empty() -> Given:
    """A worksheet before anything is typed: what stands in its fields at first is in sight there."""
    texts = {field.name: field.first for fields in GROUPS.values() for field in fields if field.first}
    return Given(texts, frozenset(DRUG_GROUPS))


def from_case(case: CaseNow) -> Given:
    """A worksheet with what the case's record says; what it does not say stays blank."""
    start = empty()
    return Given({**start.texts, **dict(_known(case))}, start.drug_groups)


def _known(case: CaseNow) -> Iterator[tuple[str, str]]:
    state = case.state
    setup, room = state.setup, state.room
    weighed = state.last("weight.set")
    weight = weighed.body.kg if weighed is not None and isinstance(weighed.body, WeightSet) else setup.weight_kg
    figures = {
        "height_cm": setup.height_cm, "pbw_kg": setup.pbw_kg, "weight_kg": weight, "ett_id_mm": state.plan.tube,
        "minutes": setup.tx_min, "flow_l_min": setup.o2_lpm, "ach": room.ach, "efficiency_percent": room.clear_percent,
        "mixing_factor": room.mixing, "age_y": setup.age,
    }  # fmt: skip
    for name, value in figures.items():
        if isinstance(value, int | float):
            yield name, plain(value)
    if setup.age in ("adult", "child"):
        yield "who", str(setup.age)
    if (sex := str(setup.sex or "").upper()[:1]) in ("M", "F"):
        yield "sex", sex
    yield from _settings(case)


def _settings(case: CaseNow) -> Iterator[tuple[str, str]]:
    """The last ventilator settings and the last known content of the cylinder."""
    vent = case.state.last("vent.set")
    if vent is not None and isinstance(vent.body, VentSet):
        for name, value in (("current_fio2", vent.body.fio2), ("current_peep", vent.body.peep)):
            if value is not None:
                yield name, plain(value)
    checks = [*case.state.all("o2.check"), *case.state.all("o2.swap")]
    for happening in sorted(checks, key=lambda one: one.order, reverse=True):
        body = happening.body
        if isinstance(body, O2Check | O2Swap) and body.litres is not None:
            yield "cylinder_1_unit", "L"
            yield "cylinder_1_gauge", plain(body.litres)
            return
