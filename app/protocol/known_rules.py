"""The names by which a protocol sets the rules R01-R60: situations that have a severity, and thresholds.

The rules themselves are `app/case/rules`; what they are set to is `library/rules.yaml` and the department's own file.
Add a name at the end of a row with a value in `rules.yaml`; never rename or remove one: stored protocols use it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType


@dataclass(frozen=True, slots=True)
class RuleShape:
    """What can be set on one rule. thresholds: name, unit last -> least and greatest sensible value.

    rising  pairs of thresholds of which the first must be below the second
    """

    says: str
    levels: tuple[str, ...]
    thresholds: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    rising: tuple[tuple[str, str], ...] = ()


_DAY_S = 86_400.0
_WAIT = {"wait_s": (1.0, 3600.0)}

_SHAPES: dict[str, RuleShape] = {
    "R01": RuleShape("A needed role is unfilled at the first entry", ("unfilled",)),
    "R02": RuleShape("Enhanced ensemble without a trained observer", ("absent",)),
    "R03": RuleShape("Difficulty predicted and no second operator", ("absent",)),
    "R04": RuleShape("One person holds roles that exclude each other", ("clash",)),
    "R05": RuleShape("No fit test for the model worn", ("assigned", "entry"), {"fit_valid_days": (1, 1100)}),
    "R06": RuleShape("Drill out of date", ("assigned",), {"drill_valid_days": (1, 1100)}),
    "R07": RuleShape("Not recorded immune where immunity is needed", ("assigned", "entry")),
    "R08": RuleShape("Entry without a brief", ("other", "immediate")),
    "R09": RuleShape("Rescue plan incomplete", ("incomplete",)),
    "R10": RuleShape("Clean tray not complete at entry", ("item", "vital")),
    "R11": RuleShape("Room not proven negative", ("unproven",), {"pressure_below_pa": (-100, 0)}),
    "R12": RuleShape("Door link not tested", ("untested",)),
    "R13": RuleShape("Shift change near the airway step", ("near",), {"within_min": (0, 240)}),
    "R14": RuleShape("Entry without a passed partner check", ("unchecked",)),
    "R15": RuleShape("Checker and wearer are one person", ("same",)),
    "R16": RuleShape("Two checks at once", ("overlap",)),
    "R17": RuleShape("Entry without a seal check", ("missing",)),
    "R18": RuleShape("Ensemble below the level of the case", ("below",)),
    "R19": RuleShape(
        "Worn for long",
        ("limit", "over"),
        {"airborne_min": (5, 480), "enhanced_min": (5, 480), "over_min": (1, 240)},
    ),
    "R20": RuleShape("Two people undress in one area", ("two",)),
    "R21": RuleShape("Undressing out of order", ("order", "respirator")),
    "R22": RuleShape("No doffing partner", ("other", "enhanced"), _WAIT),
    "R23": RuleShape("Breach without an exposure record", ("open",), {"wait_min": (1, 1440)}),
    "R24": RuleShape("Major breach", ("major",)),
    "R25": RuleShape("Out and not undressing", ("late",), _WAIT),
    "R26": RuleShape("Pre-oxygenation short", ("other", "immediate"), {"least_s": (0, 1800)}),
    "R27": RuleShape("Airway step without capnography", ("absent",)),
    "R28": RuleShape(
        "Oxygen saturation low",
        ("low", "very_low"),
        {
            "low_percent": (50, 100),
            "drop_percent": (0, 50),
            "very_low_percent": (40, 100),
            "watch_min": (1, 1440),
        },
        (("very_low_percent", "low_percent"),),
    ),
    "R29": RuleShape("Attempt long", ("long",), {"attempt_s": (5, 600)}),
    "R30": RuleShape("Failed attempts", ("adult", "child"), {"failed_attempts": (1, 5)}),
    "R31": RuleShape("Last attempt or beyond", ("start",), {"attempt_limit": (1, 6)}),
    "R32": RuleShape("Breath before cuff", ("before",)),
    "R33": RuleShape(
        "Cuff pressure outside its range",
        ("outside",),
        {
            "adult_low_cmh2o": (0, 60),
            "adult_high_cmh2o": (0, 60),
            "child_low_cmh2o": (0, 60),
            "child_high_cmh2o": (0, 60),
        },
        (("adult_low_cmh2o", "adult_high_cmh2o"), ("child_low_cmh2o", "child_high_cmh2o")),
    ),
    "R34": RuleShape("No sustained CO2", ("absent",), _WAIT),
    "R35": RuleShape("Circuit open with the tube unclamped", ("unclamped",)),
    "R36": RuleShape("Circuit open for long", ("long",), {"open_s": (1, 600)}),
    "R37": RuleShape("Clamp still on", ("on",), _WAIT),
    "R38": RuleShape(
        "Ventilator settings high",
        ("high",),
        {"vt_ml_per_kg": (3, 15), "plateau_cmh2o": (10, 60)},
    ),
    "R39": RuleShape(
        "Blood pressure low",
        ("low", "very_low", "child"),
        {
            "adult_low_mmhg": (40, 160),
            "adult_very_low_mmhg": (30, 160),
            "child_base_mmhg": (30, 120),
            "child_per_year_mmhg": (0, 10),
            "watch_min": (1, 1440),
        },
        (("adult_very_low_mmhg", "adult_low_mmhg"),),
    ),
    "R40": RuleShape("Front-of-neck set not at the door", ("absent",)),
    "R41": RuleShape("Plan D declared and not begun", ("late",), _WAIT),
    "R42": RuleShape("Help called and not here", ("late",), _WAIT),
    "R43": RuleShape(
        "Request not acknowledged",
        ("now", "now_critical", "soon"),
        {"now_s": (1, 3600), "now_critical_s": (1, 3600), "soon_s": (1, 3600)},
        (("now_s", "now_critical_s"),),
    ),
    "R44": RuleShape(
        "Request not in yet",
        ("handing_in", "receiving"),
        {"now_s": (1, _DAY_S), "soon_s": (1, _DAY_S), "receiving_s": (1, 3600)},
    ),
    "R45": RuleShape("One runner, urgent requests in two rooms", ("two_rooms",)),
    "R46": RuleShape("Door open for long, or both doors", ("long", "both"), {"open_s": (1, 600)}),
    "R47": RuleShape("Item moved backwards", ("backwards",)),
    "R48": RuleShape("Count does not match", ("count", "sharp")),
    "R49": RuleShape("Entry before the air has cleared", ("entry",)),
    "R50": RuleShape("Closed without a debrief", ("absent",)),
    "R51": RuleShape("Oxygen for the way short", ("reserve", "need"), {"reserve_factor": (1, 5)}),
    "R52": RuleShape("Oxygen runs short on the way", ("short",), {"margin_min": (0, 120)}),
    "R53": RuleShape("Flow not felt after a new cylinder", ("unfelt",), _WAIT),
    "R54": RuleShape("Trachea opened with ventilation on", ("ventilated",)),
    "R55": RuleShape("Oral tube out before proof", ("unproven",)),
    "R56": RuleShape("Re-intubation kit not staged", ("entry", "out")),
    "R57": RuleShape("Child without a weight, or tube size off", ("weight", "size"), {"tube_off_mm": (0, 3)}),
    "R58": RuleShape("Out of order or twice", ("order",), {"both_sides_s": (0, 600)}),
    "R59": RuleShape("Link to a room lost", ("lost",), _WAIT),
    "R60": RuleShape(
        "Clock off", ("small", "large"), {"small_s": (0, 3600), "large_s": (0, 3600)}, (("small_s", "large_s"),)
    ),
}

RULES: Mapping[str, RuleShape] = MappingProxyType(_SHAPES)
"""Rule number -> what can be set on it."""
