"""Words for the fields that a tap may ask for, and the form in which figures and intervals are shown."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from app.base.messages import N_
from app.case.sentences import PEOPLE, unit_of
from app.case.vocabulary.words import NUMERIC

_WORDS = {
    "A": N_("Plan A"),
    "B": N_("Plan B"),
    "C": N_("Plan C"),
    "D": N_("Plan D"),
    "accept": N_("accepted by"),
    "ach": N_("air changes"),
    "action": N_("action"),
    "actions": N_("actions agreed"),
    "age": N_("patient"),
    "at": N_("time"),
    "awake": N_("awake"),
    "breaths": N_("breaths seen"),
    "capno": N_("capnography"),
    "channel": N_("channel"),
    "checker": N_("partner"),
    "cough": N_("cough"),
    "cuff": N_("cuff pressure"),
    "cuff_leak": N_("cuff leak"),
    "days": N_("days of follow-up"),
    "dbp": N_("diastolic pressure"),
    "depth": N_("depth"),
    "device": N_("device"),
    "difficult": N_("difficulty expected"),
    "dose": N_("dose"),
    "drug": N_("drug"),
    "due": N_("due"),
    "ens": N_("ensemble"),
    "etco2": N_("exhaled CO2"),
    "eto2": N_("exhaled oxygen"),
    "expected": N_("expected"),
    "expired": N_("out of date"),
    "fault": N_("fault"),
    "filter": N_("filter on"),
    "fio2": N_("inspired oxygen fraction"),
    "flow": N_("oxygen flow"),
    "follow": N_("follow-up"),
    "found": N_("found"),
    "from": N_("from"),
    "grade": N_("grade"),
    "has": N_("what is on it"),
    "height_cm": N_("height"),
    "how": N_("how"),
    "hr": N_("pulse"),
    "immune_needed": N_("entry condition"),
    "item": N_("item"),
    "items": N_("items read back"),
    "kg": N_("weight"),
    "kind": N_("kind"),
    "kpa": N_("CO2"),
    "last": N_("what was last"),
    "lead": N_("led by"),
    "lift": N_("lift held by"),
    "litres": N_("oxygen on hand"),
    "lost": N_("missing"),
    "lpm": N_("oxygen flow"),
    "minutes": N_("minutes"),
    "missing": N_("missing"),
    "n": N_("number"),
    "note": N_("note"),
    "o2_lpm": N_("oxygen use"),
    "on": N_("on"),
    "op": N_("operator"),
    "order": N_("order"),
    "outcome": N_("outcome"),
    "owner": N_("owner"),
    "p": N_("person"),
    "pathogen": N_("pathogen"),
    "pbw": N_("predicted body weight"),
    "peep": N_("PEEP"),
    "phase": N_("step"),
    "plat": N_("plateau pressure"),
    "ppeak": N_("peak pressure"),
    "precaution": N_("precaution"),
    "pressure": N_("pressure to the corridor"),
    "procedure": N_("procedure"),
    "q": N_("request"),
    "quality": N_("how it goes"),
    "quantity": N_("how many"),
    "queued": N_("entries waiting"),
    "rate": N_("set rate"),
    "reason": N_("reason"),
    "ref": N_("reference"),
    "resp": N_("respirator"),
    "result": N_("result"),
    "role": N_("role"),
    "room": N_("room"),
    "route": N_("route"),
    "rr": N_("breathing rate"),
    "samples": N_("samples"),
    "sbp": N_("systolic pressure"),
    "scope": N_("scope"),
    "sealed": N_("sealed"),
    "secs": N_("how long"),
    "security": N_("doors seen to by"),
    "sex": N_("sex"),
    "sga": N_("supraglottic size"),
    "shift_end": N_("shift ends"),
    "site": N_("where"),
    "size": N_("size"),
    "skew_s": N_("clock error"),
    "spo2": N_("SpO2"),
    "statement": N_("statement"),
    "step": N_("step"),
    "steps": N_("plans stated"),
    "subject": N_("about"),
    "temp": N_("temperature"),
    "text": N_("words"),
    "to": N_("to"),
    "togo": N_("minutes to go"),
    "tube": N_("tube size"),
    "tx": N_("on the way"),
    "tx_min": N_("planned journey"),
    "type": N_("kind"),
    "unit": N_("unit"),
    "urg": N_("urgency"),
    "urgency": N_("urgency"),
    "value": N_("what was said"),
    "ventilation": N_("ventilation"),
    "via": N_("by"),
    "view": N_("view"),
    "vt": N_("tidal volume"),
    "weight_kg": N_("weight"),
    "what": N_("what"),
    "which": N_("which"),
    "who": N_("who"),
    "why": N_("why"),
}
_LISTS = frozenset({"has", "missing", "expired", "lost"})


@dataclass(frozen=True, slots=True)
class Ask:
    """One field of the small form before a tap; leaving it empty means it was not said."""

    name: str
    label: str
    unit: str
    figure: bool
    several: bool
    choices: tuple[tuple[str, str], ...] = ()


@lru_cache(maxsize=1024)
def ask(kind: str, name: str, people: tuple[tuple[str, str], ...] = ()) -> Ask:
    """How a field of a kind is asked for. people: (id, name) of those to pick from where a field names somebody."""
    if name in PEOPLE:
        return Ask(name, _WORDS.get(name, name), "", False, False, people)
    figure = name in NUMERIC.get(kind, frozenset()) and name not in ("tube", "sga", "items")
    return Ask(name, _WORDS.get(name, name), unit_of(kind, name), figure, name in _LISTS)


def minutes(value: float) -> str:
    """Seconds as m:ss, with a minus sign where the order was wrong.

    >>> minutes(90), minutes(-6)
    ('1:30', '−0:06')
    """
    whole = round(abs(value))
    return f"{'−' if value < 0 else ''}{whole // 60}:{whole % 60:02d}"


def interval_words(code: str, value: Any) -> list[tuple[str, str]]:
    """An interval as (label, words): one pair, or one for each person, attempt or request."""
    if value is None:
        return [("", "–")]
    if isinstance(value, bool):
        return [("", N_("yes") if value else N_("no"))]
    if code == "I11":
        return [("", f"{value:g} %")]
    if code == "I21":
        return [("", f"{value['openings']} · {minutes(value['open'])}")]
    if code == "I25":
        carried = "–" if value["carried_l"] is None else f"{value['carried_l']:g} L"
        return [
            ("", f"{value['need_l']:g} L = {value['flow_l_min']:g} L/min × {value['minutes']:g} min"),
            ("", carried),
        ]
    if code == "I14":
        return [
            (q, " · ".join("–" if part is None else minutes(part) for part in one.values())) for q, one in value.items()
        ]
    if isinstance(value, dict):
        lasting = N_("still inside") if code == "I15" else N_("still on")
        return [(key, lasting if one == "open" else minutes(one)) for key, one in value.items()]
    return [("", minutes(value))]
