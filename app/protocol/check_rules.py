"""Rule settings: every rule has all its levels and thresholds, within sense, and a critical says what comes next."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from app.protocol.known_rules import RULES, RuleShape
from app.protocol.parts import near
from app.protocol.positions import Mistake, Spot


def rule_mistakes(tree: Spot) -> list[Mistake]:
    """Unknown rules and names, numbers out of range or in the wrong order, criticals without a next step."""
    rules = tree.value.get("rules")
    if rules is None or not isinstance(rules.value, dict):
        return []
    found = [*_unknown(rules, "rules", RULES, "rule")]
    found += _missing(rules, "rules", RULES)
    answered = {item.value for step in tree.items("rescue") for item in step.items("answers")}
    for number, rule in rules.value.items():
        if number in RULES and isinstance(rule.value, dict):
            found += _one(f"rules.{number}", rule, RULES[number], number in answered)
    return found


def _unknown(spot: Spot, where: str, known: Mapping[str, object], called: str) -> Iterator[Mistake]:
    for name, child in spot.value.items():
        if name not in known:
            line, column = spot.keys.get(name, (child.line, child.column))
            instead = near(name, known) or f"Known here: {', '.join(known) or 'none'}."
            yield Mistake(spot.file, line, column, where, f"there is no {called} '{name}'", instead)


def _one(where: str, rule: Spot, shape: RuleShape, answered: bool) -> Iterator[Mistake]:
    levels, thresholds = rule.value.get("levels"), rule.value.get("thresholds")
    if levels is not None and isinstance(levels.value, dict):
        names = dict.fromkeys(shape.levels)
        yield from _unknown(levels, f"{where}.levels", names, "situation")
        yield from _missing(levels, f"{where}.levels", names)
        critical = any(level.value == "C" for level in levels.value.values())
        if critical and "next_step" not in rule.value and not answered:
            instead = "Add `next_step:`, or name the rule under `answers:` of a rescue step."
            yield rule.wrong(where, "a critical has no next step of the department", instead)
    if thresholds is not None and isinstance(thresholds.value, dict):
        yield from _unknown(thresholds, f"{where}.thresholds", shape.thresholds, "threshold")
        yield from _missing(thresholds, f"{where}.thresholds", shape.thresholds)
        yield from _numbers(thresholds, f"{where}.thresholds", shape)
    elif shape.thresholds:
        instead = f"Add `thresholds:` with {', '.join(shape.thresholds)}."
        yield rule.wrong(where, "the thresholds are missing", instead)
    audience = rule.value.get("audience")
    if audience is not None and audience.value == []:
        yield audience.wrong(f"{where}.audience", "nobody is told", "Name one of room, door, charge, record.")
    if "on" in rule.value and rule.value["on"].value is False and "why_off" not in rule.value:
        instead = "Add `why_off:`; it stands in the record."
        yield rule.value["on"].wrong(where, "the rule is off without a reason", instead)


def _missing(spot: Spot, where: str, known: Mapping[str, object]) -> Iterator[Mistake]:
    for name in known:
        if name not in spot.value:
            yield spot.wrong(where, f"'{name}' is missing", f"Add `{name}:`.")


def _numbers(spot: Spot, where: str, shape: RuleShape) -> Iterator[Mistake]:
    numbers = {
        name: child.value
        for name, child in spot.value.items()
        if isinstance(child.value, int | float) and not isinstance(child.value, bool)
    }
    for name, value in numbers.items():
        low, high = shape.thresholds.get(name, (value, value))
        if not low <= value <= high:
            what = f"{value:g} is outside what makes sense"
            yield spot.value[name].wrong(f"{where}.{name}", what, f"Write a number from {low:g} to {high:g}.")
    for lower, upper in shape.rising:
        if lower in numbers and upper in numbers and not numbers[lower] < numbers[upper]:
            what = f"{lower} ({numbers[lower]:g}) is not below {upper} ({numbers[upper]:g})"
            yield spot.value[lower].wrong(f"{where}.{lower}", what, f"Write a number below {numbers[upper]:g}.")
