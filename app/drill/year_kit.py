"""The kit of the invented year: stock, kit lists, kits with contents and checks, cylinders."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, date, datetime, time, timedelta
from random import Random

from app.base.register.spec import Row

DAYS = 365
LISTS: tuple[tuple[str, str, tuple[tuple[str, str, int, bool], ...]], ...] = (
    (
        "Clean tray, adult", "clean",
        (
            ("capnography", "Sampling line for the CO2 trace", 1, True), ("suction", "Rigid sucker", 1, True),
            ("oxygen", "Oxygen tubing", 1, True), ("filter", "Viral filter", 2, True), ("clamp", "Tube clamp", 1, True),
            ("syringe", "Cuff syringe", 1, True), ("video", "Video laryngoscope", 1, True),
            ("tube", "Cuffed tubes", 2, True), ("bougie", "Bougie", 1, True),
            ("sga", "Supraglottic airway", 1, True), ("tie", "Tube tie", 1, False), ("mask", "Face mask", 1, False),
        ),
    ),
    (
        "Held at the door", "door",
        (
            ("fona", "Front-of-neck set", 1, True), ("hyperangulated", "Hyperangulated blade", 1, False),
            ("reintub", "Re-intubation set", 1, False),
        ),
    ),
    ("Soiled tray", "soiled", (("bin", "Bin with a lid", 1, True), ("sharps_box", "Sharps box", 1, True))),
)  # fmt: skip
KITS = (("Airway trolley A", 0), ("Airway trolley B", 0), ("Grab bag", 0), ("Door box north", 1), ("Door box south", 1),
        ("Soiled trolley", 2))  # fmt: skip


def kit_rows(
    chance: Random, today: date, models: Sequence[tuple[str, str, str]], worn_in_week: Sequence[str]
) -> dict[str, list[Row]]:
    """Rows of every register of kit but respirators. worn_in_week: models that cases put on in the last 7 days."""
    found: dict[str, list[Row]] = {
        "stock": _stock(chance, today, models, worn_in_week),
        "kit-templates": [
            {"id": f"y-l{n}", "name": name, "tray": tray, "active": True} for n, (name, tray, _) in enumerate(LISTS)
        ],
        "kit-items": [
            {
                "id": f"y-li{n}-{code}", "template_id": f"y-l{n}", "code": code, "name": name, "quantity": quantity,
                "mandatory": mandatory,
            }
            for n, (_, _, items) in enumerate(LISTS)
            for code, name, quantity, mandatory in items
        ],
        "kits": [
            {
                "id": f"y-k{n}", "name": name, "template_id": f"y-l{which}", "place": f"Store {n % 3 + 1}",
                "seal": str(4000 + 17 * n), "active": True,
            }
            for n, (name, which) in enumerate(KITS)
        ],
        "kit-contents": _contents(chance, today),
        "kit-checks": _checks(chance, today),
        "cylinders": [
            {
                "id": f"y-g{n}", "label": f"O2-{n + 1:02d}", "scheme": "UK", "size": chance.choice(("CD", "ZD", "E")),
                "gauge_bar": float(chance.randrange(20, 137)), "place": "Transport bay",
                "read_at": datetime.combine(today, time(0, 5), UTC), "active": True,
                "full_bar": 137.0, "expires_on": today + timedelta(days=120 * n - 30), "kit_id": None,
            }
            for n in range(12)
        ],
    }  # fmt: skip
    return found


def _stock(chance: Random, today: date, models: Sequence[tuple[str, str, str]], worn: Sequence[str]) -> list[Row]:
    found: list[Row] = []
    for n, (model, face, sizes) in enumerate(models):
        if face == "hood":
            continue
        for size in sizes.split() or [""]:
            week = 1 + worn.count(model) // len(sizes.split() or [""])
            found.append({
                "id": f"y-st{len(found)}", "respirator_id": f"y-m{n}", "size": size, "place": "Central store",
                "counted": week * chance.randrange(1, 9), "reorder_at": week * 2,
                "counted_at": datetime.combine(today - timedelta(days=chance.randrange(1, 9)), time(9), UTC),
            })  # fmt: skip
    return found


def _contents(chance: Random, today: date) -> list[Row]:
    found: list[Row] = []
    for n, (_, which) in enumerate(KITS):
        for code, _, quantity, _ in LISTS[which][2]:
            short = chance.random() < 0.04
            days = chance.choices(
                (-chance.randrange(1, 40), chance.randrange(5, 95), chance.randrange(100, 900)), (1, 3, 12)
            )
            found.append({
                "id": f"y-x{len(found)}", "kit_id": f"y-k{n}", "code": code, "quantity": quantity - short,
                "expires_on": None if code in ("clamp", "video", "bin") else today + timedelta(days=days[0]),
                "lot": f"L{chance.randrange(1000, 9999)}",
            })  # fmt: skip
    return found


def _checks(chance: Random, today: date) -> list[Row]:
    found: list[Row] = []
    for n, (_, _) in enumerate(KITS):
        for back in range(DAYS, -1, -1):
            if chance.random() < 0.08 or (n == 2 and back < 3):
                continue
            at = datetime.combine(today - timedelta(days=back), time(0, chance.randrange(1, 9)), UTC)
            found.append({
                "id": f"y-kc{len(found)}", "kit_id": f"y-k{n}", "checked_at": at,
                "why": "after use" if chance.random() < 0.2 else "daily", "seal": str(4000 + 17 * n), "whole": True,
                "checked_by": "Kit desk", "note": None,
            })  # fmt: skip
    return found
