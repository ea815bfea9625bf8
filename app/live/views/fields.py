"""Words for the fields that a tap may ask for, and the form in which figures and intervals are shown."""

from __future__ import annotations

from dataclasses import dataclass
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
    "channel": N_("channel"),
    "breaths": N_("breaths seen"),
    "cuff": N_("cuff pressure"),
    "depth": N_("depth"),
    "device": N_("device"),
    "age": N_("patient"),
    "days": N_("days of follow-up"),
    "difficult": N_("difficulty expected"),
    "ens": N_("ensemble"),
    "eto2": N_("exhaled oxygen"),
    "etco2": N_("exhaled CO2"),
    "fio2": N_("inspired oxygen fraction"),
    "flow": N_("oxygen flow"),
    "hr": N_("pulse"),
    "immune_needed": N_("entry condition"),
    "kpa": N_("CO2"),
    "n": N_("number"),
    "o2_lpm": N_("oxygen use"),
    "op": N_("operator"),
    "p": N_("person"),
    "pathogen": N_("pathogen"),
    "pbw": N_("predicted body weight"),
    "peep": N_("PEEP"),
    "phase": N_("step"),
    "plat": N_("plateau pressure"),
    "ppeak": N_("peak pressure"),
    "q": N_("request"),
    "rate": N_("set rate"),
    "resp": N_("respirator"),
    "rr": N_("breathing rate"),
    "sbp": N_("systolic pressure"),
    "shift_end": N_("shift ends"),
    "spo2": N_("SpO2"),
    "steps": N_("plans stated"),
    "tx_min": N_("planned journey"),
    "urg": N_("urgency"),
    "via": N_("by"),
    "vt": N_("tidal volume"),
    "expected": N_("expected"),
    "expired": N_("out of date"),
    "fault": N_("fault"),
    "found": N_("found"),
    "has": N_("what is on it"),
    "items": N_("items read back"),
    "kg": N_("weight"),
    "last": N_("what was last"),
    "lead": N_("led by"),
    "outcome": N_("outcome"),
    "owner": N_("owner"),
    "due": N_("due"),
    "text": N_("words"),
    "statement": N_("statement"),
    "quality": N_("how it goes"),
    "reason": N_("reason"),
    "result": N_("result"),
    "samples": N_("samples"),
    "scope": N_("scope"),
    "minutes": N_("minutes"),
    "grade": N_("grade"),
    "role": N_("role"),
    "actions": N_("actions agreed"),
    "to": N_("to"),
    "from": N_("from"),
    "item": N_("item"),
    "lift": N_("lift held by"),
    "litres": N_("oxygen on hand"),
    "lost": N_("missing"),
    "lpm": N_("oxygen flow"),
    "missing": N_("missing"),
    "pressure": N_("pressure to the corridor"),
    "route": N_("route"),
    "secs": N_("how long"),
    "security": N_("doors seen to by"),
    "sga": N_("supraglottic size"),
    "size": N_("size"),
    "togo": N_("minutes to go"),
    "tube": N_("tube size"),
    "type": N_("kind"),
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
        return [(key, N_("still on") if one == "open" else minutes(one)) for key, one in value.items()]
    return [("", minutes(value))]
