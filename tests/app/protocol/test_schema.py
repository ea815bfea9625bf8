"""The JSON Schema accepts every built-in file as it is written and refuses what an editor should mark."""

from __future__ import annotations

import re
from collections.abc import Mapping
from importlib import resources
from typing import Any

import pytest

from app.protocol.positions import read_tree
from app.protocol.schema import json_schema

SCHEMA = json_schema()
FILES = sorted(
    file.name
    for file in (resources.files("app.protocol") / "library").iterdir()
    if file.name.endswith(".yaml") and file.name not in ("rules.yaml", "sources.yaml")
)
TYPES: Mapping[str, tuple[type, ...]] = {
    "object": (dict,),
    "array": (list,),
    "string": (str,),
    "integer": (int,),
    "number": (int, float),
    "boolean": (bool,),
    "null": (type(None),),
}


def _fits(value: Any, schema: Any) -> bool:
    """As much of JSON Schema as `json_schema()` uses; an unknown word fails the test instead of passing."""
    if schema is True or schema == {}:
        return True
    if "$ref" in schema:
        return _fits(value, SCHEMA["$defs"][schema["$ref"].removeprefix("#/$defs/")])
    ignored = {"$defs", "$schema", "title", "description", "default", "format"}
    checks = {
        "type": lambda s: isinstance(value, TYPES[s]) and (s == "boolean" or not isinstance(value, bool)),
        "anyOf": lambda s: any(_fits(value, option) for option in s),
        "enum": lambda s: value in s,
        "const": lambda s: value == s,
        "pattern": lambda s: not isinstance(value, str) or re.search(s, value) is not None,
        "minLength": lambda s: not isinstance(value, str) or len(value) >= s,
        "maxLength": lambda s: not isinstance(value, str) or len(value) <= s,
        "minimum": lambda s: not isinstance(value, int | float) or value >= s,
        "maximum": lambda s: not isinstance(value, int | float) or value <= s,
        "minItems": lambda s: not isinstance(value, list) or len(value) >= s,
        "required": lambda s: not isinstance(value, dict) or all(name in value for name in s),
        "items": lambda s: not isinstance(value, list) or all(_fits(item, s) for item in value),
        "properties": lambda s: (
            not isinstance(value, dict) or all(_fits(value[name], s[name]) for name in s if name in value)
        ),
        "additionalProperties": lambda s: (
            not isinstance(value, dict)
            or all(
                s is not False and _fits(value[name], s) for name in value if name not in schema.get("properties", {})
            )
        ),
        "propertyNames": lambda s: not isinstance(value, dict) or all(_fits(name, s) for name in value),
        "patternProperties": lambda s: (
            not isinstance(value, dict)
            or all(_fits(value[name], sub) for pattern, sub in s.items() for name in value if re.search(pattern, name))
        ),
    }
    return all(checks[word](rule) for word, rule in schema.items() if word not in ignored)


def _data(name: str) -> dict[str, Any]:
    text = (resources.files("app.protocol") / "library" / name).read_text("utf-8")
    tree, mistakes = read_tree(text, name)
    assert tree is not None
    assert not mistakes
    plain: dict[str, Any] = tree.plain()
    return plain


@pytest.mark.parametrize("name", FILES)
def test_every_built_in_file_fits_the_schema_as_it_is_written(name: str) -> None:
    assert _fits(_data(name), SCHEMA)


@pytest.mark.parametrize(
    "change",
    [
        {"procedure": "dialysis"},
        {"version": "1"},
        {"ages": []},
        {"owned_by": "me"},
        {"anytime": [{"kind": "drug.givn", "label": "Drug", "by": "DM", "side": "inside"}]},
        {"anytime": [{"kind": "hold", "label": "Hold", "by": "XX", "side": "inside"}]},
        {"anytime": [{"use": "team_taps", "label": "Hold"}]},
        {"rules": {"R29": {"thresholds": {"attempt_s": 9999}}}},
        {"rules": {"R29": {"thresholds": {"attempt": 60}}}},
        {"rules": {"R99": {}}},
    ],
)
def test_a_slip_does_not_fit_the_schema(change: dict[str, Any]) -> None:
    assert not _fits({**_data("intubation-adult.yaml"), **change}, SCHEMA)


def test_a_partial_rule_and_a_shared_part_fit_the_schema() -> None:
    change = {"rules": {"R29": {"thresholds": {"attempt_s": 45}}}, "anytime": [{"use": "team_taps"}]}
    assert _fits({**_data("intubation-adult.yaml"), **change}, SCHEMA)
