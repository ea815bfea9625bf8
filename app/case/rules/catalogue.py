"""Every rule's name of ours and what it says: a fact, never an order; six words or fewer for a critical.

Sentences are message ids; the places in braces are filled from the notice's params. Names of situations are those of
`app/protocol/known_rules.py`; a sentence that is one of several for a situation has a name of its own.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from app.base.messages import N_


@dataclass(frozen=True, slots=True)
class RuleWords:
    """A rule's name, and its sentences by situation."""

    name: str
    says: Mapping[str, str]


_WORDS: dict[str, RuleWords] = {
    "R01": RuleWords(N_("Role unfilled"), {"unfilled": N_("Role unfilled: {roles}")}),
    "R02": RuleWords(N_("Observer for the highest level"), {"absent": N_("No trained observer")}),
    "R03": RuleWords(N_("Second operator"), {"absent": N_("Difficult airway predicted, no second operator")}),
    "R04": RuleWords(N_("Roles that clash"), {"clash": N_("{p} holds roles that clash: {roles}")}),
    "R05": RuleWords(
        N_("Fit test"),
        {"assigned": N_("{p}: no fit test in date for {model}"), "entry": N_("{p}: not fit-tested for {model}")},
    ),
    "R06": RuleWords(N_("Drill out of date"), {"assigned": N_("{p}: last drill {days} days ago")}),
    "R07": RuleWords(
        N_("Entry condition"),
        {"assigned": N_("{p}: entry condition not met"), "entry": N_("{p}: entry condition not met")},
    ),
    "R08": RuleWords(
        N_("Brief before entry"), {"other": N_("No brief before entry"), "immediate": N_("No brief before entry")}
    ),
    "R09": RuleWords(N_("Rescue plan incomplete"), {"incomplete": N_("Plan not stated: {steps}")}),
    "R10": RuleWords(
        N_("Clean tray complete"),
        {
            "item": N_("Missing from the clean tray: {items}"),
            "vital": N_("Missing: {items}"),
            "not_staged": N_("Clean tray not staged"),
        },
    ),
    "R11": RuleWords(N_("Room proven"), {"unproven": N_("Room not proven negative")}),
    "R12": RuleWords(N_("Door link tested"), {"untested": N_("Door link not tested")}),
    "R13": RuleWords(
        N_("Shift change near"),
        {"near": N_("Shift change in {minutes} min"), "after": N_("Shift changed {minutes} min ago")},
    ),
    "R14": RuleWords(N_("Partner check before entry"), {"unchecked": N_("{p} inside without partner check")}),
    "R15": RuleWords(N_("Somebody else checks"), {"same": N_("{p}: self-check does not count")}),
    "R16": RuleWords(N_("One check at a time"), {"overlap": N_("{checker}: two checks at once, {people}")}),
    "R17": RuleWords(N_("Seal check before entry"), {"missing": N_("{p}: no passed seal check")}),
    "R18": RuleWords(N_("Protection to the level"), {"below": N_("{p}: {worn}, case is {level}")}),
    "R19": RuleWords(
        N_("Time in equipment"),
        {"limit": N_("{p} in equipment {minutes} min"), "over": N_("{p} in equipment {minutes} min")},
    ),
    "R20": RuleWords(N_("One undresses at a time"), {"two": N_("Undressing together: {people}")}),
    "R21": RuleWords(
        N_("Undressing in order"),
        {"order": N_("{p}: {step} out of order"), "respirator": N_("{p}: respirator off inside")},
    ),
    "R22": RuleWords(
        N_("Undressing partner"), {"other": N_("{p}: no doffing partner"), "enhanced": N_("{p}: no doffing partner")}
    ),
    "R23": RuleWords(N_("Exposure recorded"), {"open": N_("{p}: breach without exposure record")}),
    "R24": RuleWords(N_("Major breach"), {"major": N_("{p}: major breach")}),
    "R25": RuleWords(N_("Out and not undressing"), {"late": N_("{p} is out, undressing not begun")}),
    "R26": RuleWords(
        N_("Pre-oxygenation short"),
        {
            "other": N_("Pre-oxygenation {seconds} s"),
            "immediate": N_("Pre-oxygenation {seconds} s"),
            "none": N_("No pre-oxygenation recorded"),
        },
    ),
    "R27": RuleWords(N_("Capnography on"), {"absent": N_("No waveform capnography")}),
    "R28": RuleWords(N_("Oxygen saturation low"), {"low": N_("SpO2 {spo2} %"), "very_low": N_("SpO2 {spo2} %")}),
    "R29": RuleWords(N_("Attempt long"), {"long": N_("Attempt {n} has lasted {seconds} s")}),
    "R30": RuleWords(
        N_("Failed attempts"),
        {"adult": N_("Attempt {n} ended without a tube"), "child": N_("Attempt {n}: no tube")},
    ),
    "R31": RuleWords(N_("Limit of attempts"), {"start": N_("Attempt {n} of limit {limit}")}),
    "R32": RuleWords(N_("Cuff before breath"), {"before": N_("Breath before cuff")}),
    "R33": RuleWords(N_("Cuff pressure"), {"outside": N_("Cuff {cuff} cmH2O")}),
    "R34": RuleWords(N_("Proof of the airway"), {"absent": N_("No sustained CO2")}),
    "R35": RuleWords(N_("Clamp before opening"), {"unclamped": N_("Circuit open, tube unclamped")}),
    "R36": RuleWords(N_("Circuit open long"), {"long": N_("Circuit open {seconds} s")}),
    "R37": RuleWords(N_("Clamp off again"), {"on": N_("Clamp still on")}),
    "R38": RuleWords(
        N_("Ventilator settings high"),
        {
            "high": N_("Tidal volume {vt_ml_per_kg} mL/kg, plateau {plateau} cmH2O"),
            "volume": N_("Tidal volume {vt_ml_per_kg} mL/kg"),
            "plateau": N_("Plateau {plateau} cmH2O"),
        },
    ),
    "R39": RuleWords(
        N_("Blood pressure low"),
        {
            "low": N_("Systolic pressure {sbp} mmHg"),
            "very_low": N_("Systolic pressure {sbp} mmHg"),
            "child": N_("Systolic pressure {sbp} mmHg"),
        },
    ),
    "R40": RuleWords(N_("Rescue set at hand"), {"absent": N_("No front-of-neck set at the door")}),
    "R41": RuleWords(N_("Plan D begun"), {"late": N_("Front-of-neck not begun")}),
    "R42": RuleWords(N_("Help here"), {"late": N_("Help called, not here")}),
    "R43": RuleWords(
        N_("Request acknowledged"),
        {
            "now": N_("Not acknowledged: {item}"),
            "now_critical": N_("Urgent request not acknowledged"),
            "soon": N_("Not acknowledged: {item}"),
        },
    ),
    "R44": RuleWords(
        N_("Request brought in"),
        {"handing_in": N_("Not handed in yet: {item}"), "receiving": N_("Not received yet: {item}")},
    ),
    "R45": RuleWords(N_("Runner in two rooms"), {"two_rooms": N_("Runner {runner}: urgent in two rooms")}),
    "R46": RuleWords(
        N_("Door open"),
        {"long": N_("Door open {seconds} s"), "both": N_("Both doors of the anteroom open")},
    ),
    "R47": RuleWords(N_("One way for things"), {"backwards": N_("Item came from the room")}),
    "R48": RuleWords(
        N_("Count matches"),
        {
            "count": N_("Count: {found} of {expected}"),
            "lost": N_("Missing from the count: {lost}"),
            "sharp": N_("Missing: {lost}"),
        },
    ),
    "R49": RuleWords(N_("Entry before the air is clear"), {"entry": N_("{p}: no respirator, air not clear")}),
    "R50": RuleWords(N_("Debrief before closing"), {"absent": N_("Closed without a debrief")}),
    "R51": RuleWords(
        N_("Oxygen for the way"),
        {
            "reserve": N_("Oxygen {have_min} min, journey {need_min} min"),
            "need": N_("Oxygen {have_min} min, journey {need_min} min"),
        },
    ),
    "R52": RuleWords(N_("Oxygen on the way"), {"short": N_("Oxygen {have_min} min, {togo_min} to go")}),
    "R53": RuleWords(N_("Flow felt"), {"unfelt": N_("Flow not felt since the new cylinder")}),
    "R54": RuleWords(N_("Ventilation held before opening"), {"ventilated": N_("Opened with ventilation on")}),
    "R55": RuleWords(N_("New tube proven first"), {"unproven": N_("New tube not yet proven")}),
    "R56": RuleWords(
        N_("Re-intubation kit"),
        {"entry": N_("Re-intubation kit not staged"), "out": N_("Re-intubation kit not staged")},
    ),
    "R57": RuleWords(
        N_("Child's weight and tube"),
        {"weight": N_("No weight recorded"), "size": N_("Tube {size} mm, by age {expected} mm")},
    ),
    "R58": RuleWords(
        N_("Order of taps"),
        {
            "order": N_("Recorded out of order"),
            "attempt_before_induction": N_("Attempt recorded before induction"),
            "attempt_twice": N_("Attempt {n} started twice"),
            "tube_before_attempt": N_("Tube recorded before any attempt"),
            "no_airway": N_("Recorded with no airway in place"),
            "co2_before_breath": N_("CO2 recorded before the first breath"),
            "both_sides": N_("Recorded on both sides of the door"),
        },
    ),
    "R59": RuleWords(N_("Link to the room lost"), {"lost": N_("Link lost: what is shown is old")}),
    "R60": RuleWords(N_("Clock off"), {"small": N_("Clock off by {skew} s"), "large": N_("Clock off by {skew} s")}),
}

WORDS: Mapping[str, RuleWords] = MappingProxyType(_WORDS)
"""Rule number to its words, R01 to R60."""
