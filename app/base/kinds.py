"""The closed list of entry kinds and of roles, as plain words.

The grammar of each kind (its fields, units and checks) is `app/case/vocabulary`; this list stands here because
protocols (`app/protocol`) name kinds too and live below `case`. A test compares the two, so neither can drift.
Kinds and role codes are public: they stand in stored journals and exports. Add at the end of a family, never
rename, never remove.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from app.base.messages import N_

_FAMILIES: Mapping[str, str] = {
    "case": "case.open case.abort case.close case.sign",
    "plan": "plan.set brief.done weight.set comms.test comms.fallback route.clear",
    "role": "role.assign role.release role.handover handover.start handover.done",
    "kit": "kit.staged item.move count.done",
    "request": "req.new req.ack req.in req.got req.cancel",
    "message": "message note help.call help.arrive hold",
    "protection": "don.start seal.check check.start check.done doff.start doff.step doff.done breach",
    "door": "room.ready room.in room.out door.open door.shut patient.out clean.start room.turned",
    "airway": (
        "monitor.on preox.start preox.stop vitals drug.given scope.start scope.end tube.passed tube.out "
        "cuff.up cuff.check cuff.down vent.first co2.yes co2.no tube.secured vent.set"
    ),
    "rescue": "mask.vent sga.in sga.out rescue.declare fona.start fona.in",
    "circuit": "clamp.on clamp.off circuit.off circuit.on vent.hold vent.resume agp.end",
    "extubation": "ext.decide ext.step ext.out o2.mask",
    "transport": "o2.check o2.swap tx.depart tx.waypoint tx.arrive tx.accept",
    "tracheostomy, bronchoscopy": "tr.trial tr.incise tr.ett tr.open tr.tube_in br.in br.out",
    "after": "exposure.open incident.new debrief.start debrief.point debrief.done action.new action.done",
    "record": "tap.fix tap.void notice.ack net.down net.up local.done",
}

KINDS_BY_FAMILY: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {family: tuple(kinds.split()) for family, kinds in _FAMILIES.items()}
)
"""Family of `vocabulary.md` -> its kinds, in the order in which they are written there."""

KINDS: frozenset[str] = frozenset(kind for kinds in KINDS_BY_FAMILY.values() for kind in kinds)
"""Every kind that a journal can hold."""

ROLES: Mapping[str, str] = MappingProxyType(
    {
        "TL": N_("Team leader"),
        "AO": N_("Airway operator"),
        "AA": N_("Airway assistant"),
        "DM": N_("Drugs and monitor"),
        "DOC": N_("Documenter"),
        "FN": N_("Neck operator"),
        "BR": N_("Bronchoscopist"),
        "DR": N_("Door runner"),
        "OR": N_("Outside runner"),
        "SO": N_("Second operator"),
        "PO": N_("PPE observer"),
        "CA": N_("Charge anaesthetist"),
        "ICU": N_("Receiving team"),
        "IPC": N_("Infection prevention"),
        "OH": N_("Occupational health"),
    }
)
"""Role code -> English label (a message id for gettext). Order: in the room, outside, around the case."""

IN_ROOM_ROLES: frozenset[str] = frozenset({"TL", "AO", "AA", "DM", "DOC", "FN", "BR"})
"""Roles held inside the closed room. ICU may stand on either side and is in neither set."""

OUTSIDE_ROLES: frozenset[str] = frozenset({"DR", "OR", "SO", "PO", "CA", "IPC", "OH"})
"""Roles held on the clean side. Taking an in-room role ends SO and OR (job map, R04)."""

_BODY = """
case.open: ref procedure pathogen precaution urgency age pbw weight_kg height_cm sex difficult immune_needed
 shift_end tx_min o2_lpm
case.abort: why / case.close: ref outcome / case.sign: statement
plan.set: steps A B C D tube sga ventilation difficult / brief.done: secs route accept / weight.set: kg how
comms.test: channel result / comms.fallback: channel q / route.clear: lift security
role.release: role p why / role.handover: role from to / handover.start: from to / handover.done: items
kit.staged: tray has missing expired / item.move: item from to quantity / count.done: expected found lost
req.new: q item from urg / req.ack: q p via / req.in: q item p via / req.got: q / req.cancel: q why
message: text to / note: text / help.call: who / help.arrive: p / hold: why
don.start: p ens resp why / seal.check: p result / check.start: phase checker subject
check.done: phase checker subject result fault / doff.start: p checker / doff.step: p step order
doff.done: p checker / breach: p type grade
room.ready: pressure ach / room.in: p kind resp who / room.out: p tx / door.open: which why / door.shut: which why
patient.out: from to / clean.start: room / room.turned: room
monitor.on: capno / preox.start: device / preox.stop: device
vitals: spo2 etco2 eto2 hr sbp dbp rr temp / drug.given: class drug dose unit route
scope.start: n device op / scope.end: n result view / tube.passed: size depth / tube.out: what
cuff.up: cuff site / cuff.check: cuff site / vent.first: via site / co2.yes: breaths kpa site / co2.no: device
tube.secured: depth site / vent.set: vt rate peep fio2 plat ppeak
mask.vent: quality / sga.in: n size / sga.out: n size / rescue.declare: plan / fona.start: op / fona.in: size
clamp.on: kind / clamp.off: kind / circuit.off: to / circuit.on: to / vent.hold: why / vent.resume: on / agp.end: last
ext.decide: awake cough cuff_leak fio2 / ext.step: step / ext.out: cuff / o2.mask: device lpm
o2.check: litres flow togo / o2.swap: litres flow / tx.depart: sealed filter / tx.waypoint: at togo
tx.arrive: at / tx.accept: by
tr.trial: from to secs result / tr.incise: p / tr.ett: step / tr.open: how / tr.tube_in: size
br.in: scope / br.out: samples
exposure.open: p minutes reason pathogen days follow / incident.new: type from
debrief.start: lead / debrief.point: about text / debrief.done: actions / action.new: text owner due / action.done: text
tap.fix: ref at why / tap.void: ref why / notice.ack: rule subject action
net.down: device queued skew_s / net.up: device queued skew_s / local.done: name value
"""

BODY_FIELDS: Mapping[str, frozenset[str]] = MappingProxyType(
    {kind: frozenset({"note"}) for kind in KINDS}
    | {
        kind.strip(): frozenset({"note", *fields.split()})
        for row in _BODY.replace("\n ", " ").replace("\n", "/").split("/")
        if ":" in row
        for kind, fields in [row.split(":")]
    }
    | {"role.assign": frozenset({"note", *ROLES})}
)
"""Kind -> the fields that its body may carry (`tap.fix` may carry `set_<field>` besides)."""
