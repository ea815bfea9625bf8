"""Tube, depth, suction catheter and mask airway: by sex for adults, by age for children."""

from __future__ import annotations

from dataclasses import replace

from app.base.calculation import EVIDENCE, Result
from app.base.checks import plain
from app.base.messages import N_
from app.live.worksheet.body import for_each_sex
from app.live.worksheet.fields import Given
from app.live.worksheet.figure import Beside, Figure, nearest, number, rounded_down, words, worked

ADULT_TUBES_MM = {"F": "7.0–7.5", "M": "7.5–8.0"}
_MEMORY = f"[M: {EVIDENCE['M']}]"
_ROUNDED_SIZE = N_("to the nearest 0.5")
SUCTION_SHARE = 0.5


def tube(given: Given) -> tuple[Figure, ...]:
    """Size, depth, suction catheter, mask airway. Without adult or child no size is shown."""
    if given.child is None:
        lacks = (words("age_y"),)
        return (Figure("tube-size", N_("Tube size"), lacks=lacks), Figure("depth", N_("Depth"), lacks=lacks),
                _suction(given, None), _mask(given))  # fmt: skip
    sizes = (_child_size(given),) if given.child else for_each_sex(given, lambda sex: _adult_size(sex))
    taken = given.value("ett_id_mm") or (sizes[0].value if given.child else None)
    return (*sizes, *_depths(given), _suction(given, taken), _mask(given))


def _adult_size(sex: str) -> Figure:
    row = Figure(
        "tube-size", N_("Tube size"), unit="mm", formula=N_("women 7.0 to 7.5, men 7.5 to 8.0, inner diameter"),
        source=f"textbook {_MEMORY}", cautions=(N_("Have the sizes 0.5 below and above at hand."),),
    )  # fmt: skip
    if sex not in ADULT_TUBES_MM:
        return replace(row, lacks=(words("sex"),))
    used = (Beside(words("sex"), N_("female") if sex == "F" else N_("male")),)
    return replace(row, value=ADULT_TUBES_MM[sex], inputs=used, rounded=N_("a usual range"))


def _child_size(given: Given) -> Figure:
    def neighbours(result: Result) -> Figure:
        size = float(nearest(number(result), 0.5))
        at_hand = (Beside(N_("below"), plain(size - 0.5), "mm"), Beside(N_("above"), plain(size + 0.5), "mm"))
        return Figure("", "", beside=at_hand)

    return worked(
        "tube-size", N_("Tube size, cuffed"), "ett_cuffed_id_mm", given.values("age_y"),
        lambda result: (nearest(number(result), 0.5), _ROUNDED_SIZE), neighbours,
    )  # fmt: skip


def _depths(given: Given) -> tuple[Figure, ...]:
    if not given.child:
        return for_each_sex(
            given,
            lambda sex: worked(
                "depth", N_("Depth at the upper incisors"), "ett_adult_depth_cm",
                {"sex": sex, "site": "upper incisors"}, lambda result: (plain(number(result)), N_("a starting point")),
            ),
        )  # fmt: skip
    return (
        worked(
            "depth", N_("Depth at the lip"), "ett_oral_depth_cm", given.values("age_y"),
            lambda result: (nearest(number(result), 0.5), _ROUNDED_SIZE),
        ),
    )  # fmt: skip


def _suction(given: Given, size_mm: str | None) -> Figure:
    return worked(
        "suction", N_("Largest suction catheter"), "suction_catheter_max_fr",
        {"ett_id_mm": size_mm or given.value("ett_id_mm"), "max_diameter_fraction": SUCTION_SHARE}, rounded_down(),
    )  # fmt: skip


def _mask(given: Given) -> Figure:
    def sizes(result: Result) -> tuple[str, str]:
        found = result.value if isinstance(result.value, list) else [number(result)]
        return " / ".join(plain(float(each)) for each in found), N_("as the table says")

    return worked("mask", N_("Mask airway, size"), "lma_size", given.values("weight_kg"), sizes)
