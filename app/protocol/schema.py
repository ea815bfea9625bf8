"""The grammar of a protocol file as JSON Schema (draft 2020-12), so that an editor can complete and check while typing.

It follows from `values.py`. What it cannot say (order, references, sources, numbers that belong together) is said by
`doorside protocol check`.
"""

from __future__ import annotations

from typing import Any

from app.base.kinds import KINDS, ROLES
from app.protocol.known_rules import RULES, RuleShape
from app.protocol.read import ADAPTER

_WORDS = {"kind": sorted(KINDS), "role": list(ROLES)}
_USE: dict[str, Any] = {
    "type": "object",
    "description": "Stands for the items of a shared part",
    "properties": {"use": {"type": "string"}},
    "required": ["use"],
    "additionalProperties": False,
}


def json_schema() -> dict[str, Any]:
    """The schema of a protocol file as a department writes it: lists may hold `use:`, rules only what differs."""
    schema: dict[str, Any] = _written(ADAPTER.json_schema())
    schema["$schema"] = "https://json-schema.org/draft/2020-12/schema"
    schema["title"] = "Doorside protocol"
    schema["$defs"]["use"] = _USE
    properties: dict[str, Any] = schema["properties"]
    properties["parts"] = {
        "type": "object",
        "description": "Lists of this file's own, put in place by `use:`",
        "additionalProperties": {"type": "array"},
    }
    level = {"enum": ["N", "W", "C"]}
    setting = schema["$defs"].pop("RuleSetting")["properties"]
    properties["rules"] = {
        "type": "object",
        "description": "Only what differs from the shared settings",
        "properties": {number: _rule(shape, setting, level) for number, shape in RULES.items()},
        "additionalProperties": False,
    }
    schema["required"] = [name for name in schema["required"] if name not in ("rules", "sources")]
    return schema


def _rule(shape: RuleShape, setting: dict[str, Any], level: dict[str, Any]) -> dict[str, Any]:
    """One rule: the fields of any setting, with this rule's own names for levels and thresholds."""
    thresholds = {
        name: {"type": "number", "minimum": low, "maximum": high} for name, (low, high) in shape.thresholds.items()
    }
    levels = dict.fromkeys(shape.levels, level)
    return {
        "type": "object",
        "description": shape.says,
        "properties": {
            **setting,
            "levels": {"type": "object", "properties": levels, "additionalProperties": False},
            "thresholds": {"type": "object", "properties": thresholds, "additionalProperties": False},
        },
        "additionalProperties": False,
    }


def _written(schema: Any) -> Any:
    """pydantic's schema with our word lists put in, and `use:` allowed wherever a list holds things with fields."""
    if isinstance(schema, list):
        return [_written(item) for item in schema]
    if not isinstance(schema, dict):
        return schema
    found = {key: _written(value) for key, value in schema.items()}
    if isinstance(found.get("words"), str):
        found["enum"] = _WORDS[found.pop("words")]
    items = found.get("items")
    if isinstance(items, dict) and "$ref" in items:
        found["items"] = {"anyOf": [items, {"$ref": "#/$defs/use"}]}
    return found
