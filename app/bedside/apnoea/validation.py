"""Holding the model against every published point, and writing the table: `python -m app.bedside.apnoea.validation`.

`studies.jsonl` holds what each study reports and what had to be assumed about its patients; nothing of the model is
changed between studies. Prints the page; with `--write` it replaces `APNOEA.md` beside this file.
"""

from __future__ import annotations

import json
import sys
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path
from statistics import median
from typing import Any

from app.bedside.apnoea import parameters
from app.bedside.apnoea.forecast import MOST_S, apnoea_time_s
from app.bedside.apnoea.model import end_tidal_after_preox, start_of
from app.bedside.apnoea.parameters import Patient, body_of

_HERE = "app.bedside.apnoea"
_CONSTANTS = (
    "SUPINE_LOSS", "HEAD_UP_REGAINED", "INDUCTION_KEPT", "BMI_SCALE", "INFANT_FRC_ML_KG", "INFANT_FRC_PER_YEAR",
    "CHILD_FRC_ML_KG", "RESPIRATORY_QUOTIENT", "CARDIAC_INDEX_L_MIN_M2", "CARDIAC_INDEX_CHILD_L_MIN_M2", "SHUNT_LEAN",
    "SHUNT_PER_BMI", "SHUNT_PER_YEAR", "SHUNT_MOST", "DEPENDENT_VOLUME", "DEPENDENT_FLOW", "HB_MEN", "HB_WOMEN",
    "HB_CHILD", "CO2_STORE_ML_KG_MMHG", "CO2_SLOPE_ML_L_MMHG", "PACO2_START", "PH_PER_LOG_CO2", "MASK_LEAK",
    "NASAL_FIO2", "PROBE_DELAY_S",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Point:
    """One published point and what the model says.

    published_s, sd_s  mean and spread as reported; sd_s None for a bound
    model_s            model time, moved to the study's own clock
    bound              the study was censored: the model must be at least this long
    """

    what: str
    to: str
    published_s: float
    sd_s: float | None
    model_s: float
    bound: bool
    source: str
    mark: str
    assumed: str

    @property
    def error(self) -> float:
        """(model - published) / published."""
        return (self.model_s - self.published_s) / self.published_s

    @property
    def inside(self) -> bool:
        """Within two reported spreads, or at least the bound."""
        if self.sd_s is None:
            return self.model_s >= self.published_s
        return abs(self.model_s - self.published_s) <= 2 * self.sd_s


def _lung_store_s(inputs: dict[str, Any]) -> float:
    """Lung oxygen over consumption, for the textbook figure on room air [s]."""
    patient = Patient(
        inputs["weight_kg"], inputs["height_cm"], inputs["sex"], inputs["age_y"], None, inputs["preox_fio2"],
        inputs["preox_min"], 0.0, None, 1.0, 1.0, None, False,
    )  # fmt: skip
    body = body_of(patient)
    state = start_of(body, end_tidal_after_preox(patient, body))
    return 60 * (state[0] + state[3]) / body.vo2_ml_min


def points() -> tuple[Point, ...]:
    """Every published point, in the order of the file."""
    found = []
    for line in files(_HERE).joinpath("studies.jsonl").read_text("utf-8").splitlines():
        row = json.loads(line)
        if row.get("lung_store"):
            seconds = _lung_store_s(row["inputs"])
        else:
            seconds = apnoea_time_s(**row["inputs"], threshold_spo2_pct=row["to_pct"]).value + row.get("clock_s", 0)
        found.append(
            Point(
                row["what"],
                "store" if row.get("lung_store") else f"{row['to_pct']} %",
                row["published_s"],
                row["sd_s"],
                seconds,
                bool(row.get("lower_bound")),
                row["source"],
                row["mark"],
                row["assumed"],
            )
        )
    return tuple(found)


def figures(found: tuple[Point, ...]) -> dict[str, float]:
    """Median error, median size of the error, share inside two spreads and inside one."""
    means = [point for point in found if not point.bound]
    one = [abs(point.model_s - point.published_s) <= (point.sd_s or 0) for point in means]
    return {
        "points": len(found),
        "median_error": median(point.error for point in means),
        "median_size": median(abs(point.error) for point in means),
        "inside_two": sum(point.inside for point in found),
        "inside_one": sum(one) + sum(point.inside for point in found if point.bound),
    }


def page() -> str:
    """The whole of `APNOEA.md`."""
    found = points()
    sums = figures(found)
    text = files(_HERE).joinpath("about.md").read_text("utf-8")
    rows = ["| patients | to | published s | model s | difference | within 2 SD | source | assumed |", "|---" * 8 + "|"]
    for point in found:
        spread = "" if point.sd_s is None else f" ± {point.sd_s:g}"
        published = f"{'at least ' if point.bound else ''}{point.published_s:g}{spread}"
        model = f"{'over ' if point.model_s >= MOST_S else ''}{point.model_s:.0f}"
        rows.append(
            f"| {point.what} | {point.to} | {published} | {model} | {100 * point.error:+.0f} % "
            f"| {'yes' if point.inside else '**no**'} | {point.source} [{point.mark}] | {point.assumed} |"
        )
    n = int(sums["points"])
    summary = (
        f"{n} points. Median error {100 * sums['median_error']:+.1f} %, median size of the error "
        f"{100 * sums['median_size']:.1f} % (bounds left out). Within one reported spread {sums['inside_one']:.0f}, "
        f"within two {sums['inside_two']:.0f} of {n} ({100 * sums['inside_two'] / n:.0f} %)."
    )
    constants = [f"| `{name}` | {getattr(parameters, name):g} |" for name in _CONSTANTS]
    parts = {"{table}": "\n".join(rows), "{summary}": summary}
    parts["{constants}"] = "\n".join(["| constant | value |", "|---|---|", *constants])
    for mark, filled in parts.items():
        text = text.replace(mark, filled)
    return text


def main(arguments: list[str]) -> int:
    """Print the page, or write it with `--write`."""
    if "--write" not in arguments:
        print(page(), end="")
        return 0
    Path(__file__).with_name("APNOEA.md").write_text(page(), "utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
