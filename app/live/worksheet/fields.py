"""What may be typed into the worksheet, in groups, and reading it. A field has the name of the input that it feeds."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from app.base.messages import N_

TEXT_MOST = 40
ADULT_FROM_YEARS = 16
_DECIMAL_COMMA = re.compile(r"-?\d{1,4},\d{1,2}")


@dataclass(frozen=True, slots=True)
class Field:
    """One thing to type or choose. `choices` are (value, words); none = a number to type. `first`: what stands in it
    on an empty worksheet, in sight and to be changed."""

    name: str
    label: str
    unit: str = ""
    hint: str = ""
    choices: tuple[tuple[str, str], ...] = ()
    first: str = ""


_NOT_SAID = ("", N_("not said"))
GROUPS: Mapping[str, tuple[Field, ...]] = {
    "patient": (
        Field("sex", N_("Sex"), hint=N_("as the formulas mean it"),
              choices=(_NOT_SAID, ("F", N_("female")), ("M", N_("male")))),
        Field("who", N_("Adult or child"), choices=(_NOT_SAID, ("adult", N_("adult")), ("child", N_("child")))),
        Field("age_y", N_("Age"), N_("years")),
        Field("height_cm", N_("Height"), "cm", N_("measured")),
        Field("weight_kg", N_("Weight"), "kg", N_("actual")),
        Field("hb_g_dl", N_("Haemoglobin"), "g/dL", N_("may be left out")),
        Field("pbw_kg", N_("Predicted weight, if told"), "kg", N_("used without sex and height")),
    ),
    "breath": (
        Field("current_fio2", N_("FiO2"), "", N_("fraction: 40 % is 0.4")),
        Field("current_peep", N_("PEEP"), "cmH2O"),
        Field("table", N_("PEEP table"),
              choices=(_NOT_SAID, ("lower", N_("lower PEEP")), ("higher", N_("higher PEEP")))),
    ),
    "tube": (Field("ett_id_mm", N_("Tube chosen"), "mm", N_("inner diameter")),),
    "apnoea": (
        Field("threshold_spo2_pct", N_("Stop at SpO2"), "%", N_("re-oxygenate at 92 to 93"), first="93"),
        Field("preox_eto2", N_("End-tidal oxygen"), "", N_("fraction, measured")),
        Field("preox_fio2", N_("or oxygen breathed"), "", N_("fraction")),
        Field("preox_min", N_("and for how long"), "min"),
        Field("head_up_deg", N_("Head up"), "deg"),
        Field("shunt_fraction", N_("Shunt"), "", N_("fraction, if known")),
        Field("apnoeic_oxygen", N_("Oxygen during apnoea"),
              choices=(("none", N_("none")), ("nasal", N_("nasal")))),
    ),
    "journey": (
        Field("minutes", N_("Journey"), "min"),
        Field("flow_l_min", N_("Oxygen flow"), "L/min"),
        Field("mv_l", N_("or minute volume"), "L/min"),
        Field("fio2", N_("with FiO2"), "", N_("fraction")),
        Field("drive_l_min", N_("and driving gas"), "L/min"),
        Field("safety_factor", N_("Reserve factor"), "", N_("2 carries twice the need"), first="2"),
    ),
    "air": (
        Field("ach", N_("Air changes, measured"), "1/h"),
        Field("efficiency_percent", N_("To remove"), "%"),
        Field("mixing_factor", N_("Mixing factor"), "", N_("1 ideal, 3 poor, up to 10")),
    ),
}  # fmt: skip
"""Section to its fields, in their order on the page."""

CYLINDERS = (1, 2)
GAUGES = (
    ("bar", N_("bar, and water capacity in L")),
    ("psi", N_("psi, and US size letter")),
    ("L", N_("litres, as recorded")),
)
SHOWN_DRUGS = "drugs"
"""Name of the boxes that say which groups of drugs are shown."""

WORDS: Mapping[str, str] = {
    **{field.name: field.label for fields in GROUPS.values() for field in fields},
    "preox_fio2": N_("Oxygen breathed"),
    "preox_min": N_("Minutes breathed"),
    "mv_l": N_("Minute volume"),
    "fio2": N_("FiO2"),
    "drive_l_min": N_("Driving gas"),
    "ml_per_kg_pbw": N_("mL per kg"),
    "site": N_("Measured at"),
    "direction": N_("Direction"),
    "max_diameter_fraction": N_("Share of the inner diameter"),
    "sizes_fr": N_("Sizes on hand"),
    "id_mm": N_("Inner diameter"),
    "vo2_factor": N_("Oxygen use, times normal"),
    "frc_factor": N_("Lung volume, times normal"),
    "water_l": N_("Water capacity"),
    "gauge_bar": N_("Gauge"),
    "size": N_("Size letter"),
    "psi": N_("Gauge"),
    "residual_psi": N_("Left in the cylinder"),
    "plateau": N_("Plateau pressure"),
    "total_peep": N_("Total PEEP"),
    "vt_ml": N_("Tidal volume"),
    "vt_l": N_("Tidal volume"),
    "rr": N_("Rate"),
    "ppeak": N_("Peak pressure"),
    "driving_pressure": N_("Driving pressure"),
}
"""Name of an input to the words that a page uses for it."""


@dataclass(frozen=True, slots=True)
class Given:
    """What was typed, as texts by field name. Blank is unknown."""

    texts: Mapping[str, str]
    drug_groups: frozenset[str] = frozenset()

    @classmethod
    def of(cls, pairs: Iterable[tuple[str, str]]) -> Given:
        """From the pairs of a form; unknown names are left out, long texts cut."""
        texts, groups = {}, set()
        for name, text in pairs:
            if name == SHOWN_DRUGS:
                groups.add(text[:TEXT_MOST])
            elif name in NAMES:
                texts[name] = text.strip()[:TEXT_MOST]
        return cls(texts, frozenset(groups))

    def text(self, name: str) -> str:
        """What stands in a field, for showing it again."""
        return self.texts.get(name, "")

    def value(self, name: str) -> str:
        """What a calculation is given: a comma before one or two last digits is a decimal one."""
        text = self.text(name)
        return text.replace(",", ".") if _DECIMAL_COMMA.fullmatch(text) else text

    def values(self, *names: str) -> dict[str, object]:
        """Inputs by name, ready for a calculation."""
        return {name: self.value(name) for name in names}

    def number(self, name: str) -> float | None:
        """A field as a number, None when it is blank or no number."""
        try:
            found = float(self.value(name))
        except ValueError:
            return None
        return found if found - found == 0 else None

    @property
    def child(self) -> bool | None:
        """Whether the figures are a child's: by age when it is given, otherwise as chosen; None when neither is."""
        if (age := self.number("age_y")) is not None:
            return age < ADULT_FROM_YEARS
        return {"adult": False, "child": True}.get(self.text("who"))


NAMES = frozenset(
    [field.name for fields in GROUPS.values() for field in fields]
    + [f"cylinder_{n}_{part}" for n in CYLINDERS for part in ("gauge", "unit", "size")]
)
