"""The airway itself: monitoring, drugs, attempts, proof, rescue, the breathing circuit, the ventilator."""

from __future__ import annotations

from typing import ClassVar

from pydantic import Field

from app.case.vocabulary.body import Body, Code, Number, Percent, Text


class MonitorOn(Body):
    """Monitoring is on; capno=waveform when the carbon dioxide trace is seen."""

    kind: ClassVar[str] = "monitor.on"
    capno: Code | None = None


class PreoxStart(Body):
    """Pre-oxygenation began."""

    kind: ClassVar[str] = "preox.start"
    device: Text | None = None


class PreoxStop(Body):
    """Pre-oxygenation was interrupted."""

    kind: ClassVar[str] = "preox.stop"
    device: Text | None = None


class Vitals(Body):
    """Figures read off the monitor: spo2, eto2 [%], etco2 [kPa], hr, rr [/min], sbp, dbp [mmHg], temp [degC]."""

    kind: ClassVar[str] = "vitals"
    spo2: Percent | None = None
    etco2: Number | None = None
    eto2: Percent | None = None
    hr: Number | None = None
    sbp: Number | None = None
    dbp: Number | None = None
    rr: Number | None = None
    temp: Number | None = None


class DrugGiven(Body):
    """A drug was given: class (induction, relaxant, vasopressor, reversal …); name, dose, unit and route if said."""

    kind: ClassVar[str] = "drug.given"
    class_: Code | None = Field(default=None, alias="class")
    drug: Text | None = None
    dose: Number | None = None
    unit: Code | None = None
    route: Code | None = None


class ScopeStart(Body):
    """Attempt n at the airway began, with a device, by an operator."""

    kind: ClassVar[str] = "scope.start"
    n: Number | None = None
    device: Text | None = None
    op: Code | None = None


class ScopeEnd(Body):
    """Attempt n ended: result tube, no view, tube not passed or stopped; view graded 1 to 4."""

    kind: ClassVar[str] = "scope.end"
    n: Number | None = None
    result: Text | None = None
    view: Number | Text | None = None


class TubePassed(Body):
    """The tube went through the cords: size [mm], depth at the teeth [cm]."""

    kind: ClassVar[str] = "tube.passed"
    size: Number | Text | None = None
    depth: Number | None = None


class TubeOut(Body):
    """A tube came out: which."""

    kind: ClassVar[str] = "tube.out"
    what: Text | None = None


class CuffUp(Body):
    """The cuff was inflated, to a pressure [cmH2O]."""

    kind: ClassVar[str] = "cuff.up"
    cuff: Number | Text | None = None
    site: Code | None = None


class CuffCheck(Body):
    """The cuff's pressure was read [cmH2O]."""

    kind: ClassVar[str] = "cuff.check"
    cuff: Number | None = None
    site: Code | None = None


class CuffDown(Body):
    """The cuff was let down."""

    kind: ClassVar[str] = "cuff.down"


class VentFirst(Body):
    """The first breath through the new airway."""

    kind: ClassVar[str] = "vent.first"
    via: Text | None = None
    site: Code | None = None


class Co2Yes(Body):
    """Carbon dioxide keeps coming back: breaths seen, level [kPa]."""

    kind: ClassVar[str] = "co2.yes"
    breaths: Number | None = None
    kpa: Number | None = None
    site: Code | None = None


class Co2No(Body):
    """No sustained carbon dioxide through the device in place."""

    kind: ClassVar[str] = "co2.no"
    device: Text | None = None


class TubeSecured(Body):
    """The tube is tied, its depth read [cm]."""

    kind: ClassVar[str] = "tube.secured"
    depth: Number | None = None
    site: Code | None = None


class VentSet(Body):
    """Ventilator settings: vt [mL], rate [/min], peep, plat, ppeak (peak, of version 2) [cmH2O], fio2 [fraction]."""

    kind: ClassVar[str] = "vent.set"
    version: ClassVar[int] = 2
    vt: Number | None = None
    rate: Number | None = None
    peep: Number | None = None
    fio2: Number | None = None
    plat: Number | None = None
    ppeak: Number | None = None


class MaskVent(Body):
    """Oxygen by face mask, and how well it goes."""

    kind: ClassVar[str] = "mask.vent"
    quality: Text | None = None


class SgaIn(Body):
    """A supraglottic airway went in, the n-th insertion."""

    kind: ClassVar[str] = "sga.in"
    n: Number | None = None
    size: Number | Text | None = None


class SgaOut(Body):
    """The supraglottic airway came out."""

    kind: ClassVar[str] = "sga.out"
    n: Number | None = None
    size: Number | Text | None = None


class RescueDeclare(Body):
    """The team said aloud that it moves to plan B, C or D."""

    kind: ClassVar[str] = "rescue.declare"
    plan: Code


class FonaStart(Body):
    """The front-of-neck airway was begun."""

    kind: ClassVar[str] = "fona.start"
    op: Code | None = None


class FonaIn(Body):
    """The front-of-neck tube is in: size [mm]."""

    kind: ClassVar[str] = "fona.in"
    size: Number | Text | None = None


class ClampOn(Body):
    """The tube is clamped."""

    kind: ClassVar[str] = "clamp.on"
    clamp: Text | None = Field(default=None, alias="kind")


class ClampOff(Body):
    """The clamp is off."""

    kind: ClassVar[str] = "clamp.off"
    clamp: Text | None = Field(default=None, alias="kind")


class CircuitOff(Body):
    """The breathing circuit was opened."""

    kind: ClassVar[str] = "circuit.off"
    to: Text | None = None


class CircuitOn(Body):
    """The breathing circuit is closed again."""

    kind: ClassVar[str] = "circuit.on"
    to: Text | None = None


class VentHold(Body):
    """Ventilation is held."""

    kind: ClassVar[str] = "vent.hold"
    why: Text | None = None


class VentResume(Body):
    """Ventilation goes on."""

    kind: ClassVar[str] = "vent.resume"
    on: Text | None = None


class AgpEnd(Body):
    """The last act that makes aerosol is over."""

    kind: ClassVar[str] = "agp.end"
    last: Text | None = None


KINDS = (
    MonitorOn, PreoxStart, PreoxStop, Vitals, DrugGiven, ScopeStart, ScopeEnd, TubePassed, TubeOut, CuffUp, CuffCheck,
    CuffDown, VentFirst, Co2Yes, Co2No, TubeSecured, VentSet, MaskVent, SgaIn, SgaOut, RescueDeclare, FonaStart, FonaIn,
    ClampOn, ClampOff, CircuitOff, CircuitOn, VentHold, VentResume, AgpEnd,
)  # fmt: skip
