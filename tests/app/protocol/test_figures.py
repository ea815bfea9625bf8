"""Every figure stands where its source has it, and every source is spelt out."""

from __future__ import annotations

import pytest

from app.protocol.library import protocols
from app.protocol.values import Protocol
from app.protocol.words import cited

every = pytest.mark.parametrize("protocol", protocols(), ids=lambda protocol: protocol.id)

FIGURES = [
    # rule, threshold, value, where it is published or that it is a default (job map, section 6)
    ("R05", "fit_valid_days", 365, "29 CFR 1910.134: fit test every year"),
    ("R19", "airborne_min", 120, "local default"),
    ("R19", "enhanced_min", 60, "local default"),
    ("R26", "least_s", 180, "Chahar 2020, table: 3 to 5 min"),
    ("R28", "low_percent", 90, "Russotto 2021"),
    ("R28", "very_low_percent", 80, "Russotto 2021: severe below 80%"),
    ("R29", "attempt_s", 60, "local default"),
    ("R30", "failed_attempts", 2, "Goto 2015"),
    ("R31", "attempt_limit", 3, "DAS 2015; Law 2013"),
    ("R33", "adult_low_cmh2o", 20, "Cook 2020"),
    ("R33", "adult_high_cmh2o", 30, "Cook 2020"),
    ("R33", "child_low_cmh2o", 10, "Cook 2020, as the job map has it"),
    ("R33", "child_high_cmh2o", 25, "Cook 2020, as the job map has it"),
    ("R36", "open_s", 15, "local default"),
    ("R38", "vt_ml_per_kg", 8, "Surviving Sepsis 2020: 4 to 8 mL/kg"),
    ("R38", "plateau_cmh2o", 30, "Chahar 2020: below 30"),
    ("R39", "adult_low_mmhg", 90, "Russotto 2021"),
    ("R39", "adult_very_low_mmhg", 65, "Russotto 2021"),
    ("R41", "wait_s", 60, "local default"),
    ("R43", "now_s", 20, "local default"),
    ("R43", "now_critical_s", 60, "local default"),
    ("R44", "now_s", 120, "local default"),
    ("R46", "open_s", 10, "local default"),
    ("R51", "reserve_factor", 2, "common practice, no source"),
    ("R53", "wait_s", 120, "local default"),
    ("R57", "tube_off_mm", 0.5, "Matava 2020"),
]


@pytest.mark.parametrize(("rule", "threshold", "value", "source"), FIGURES)
def test_limits_stand_where_their_source_has_them(rule: str, threshold: str, value: float, source: str) -> None:
    for protocol in protocols():
        assert protocol.rules[rule].thresholds[threshold] == value, source


@every
def test_every_source_code_is_spelt_out(protocol: Protocol) -> None:
    texts = [rule.source for rule in protocol.rules.values()] + [step.source for step in protocol.rescue]
    texts += [milestone.target.source for _, milestone in protocol.milestones() if milestone.target]
    texts += [tray.source for tray in protocol.kit] + [ahead.source for ahead in protocol.look_ahead]
    for text in texts:
        for piece in cited(text):
            assert all(code in protocol.sources for code in piece.codes)
