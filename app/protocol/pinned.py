"""What a case is pinned to: its protocol's version as facts of `case.open`, and the rules read back from them.

The facts hold every rule's setting whole, sources too (about 11 kB, once a case): a case is judged, then or in ten
years, by the limits that were in force when it was opened, whatever the built-in protocols have become since.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from functools import lru_cache
from typing import Any

from pydantic import TypeAdapter, ValidationError

from app.protocol.values import Protocol, RuleSetting
from app.protocol.words import RuleNumber

_RULES: TypeAdapter[dict[str, RuleSetting]] = TypeAdapter(dict[RuleNumber, RuleSetting])


def facts_of(protocol: Protocol) -> dict[str, Any]:
    """Id, version and rules of a protocol as JSON data."""
    rules = _RULES.dump_python(dict(protocol.rules), mode="json", exclude_defaults=True)
    return {"id": protocol.id, "version": protocol.version, "rules": rules}


def rules_of(facts: Mapping[str, Any]) -> Mapping[str, RuleSetting]:
    """The rules that `facts_of` once wrote, by number; none where the facts hold none or cannot be read.

    Never raises: a case must fold. Who judges it then takes the built-in settings.
    """
    told = facts.get("rules")
    return _read(json.dumps(told, sort_keys=True)) if isinstance(told, Mapping) and told else {}


@lru_cache(maxsize=256)
def _read(text: str) -> Mapping[str, RuleSetting]:
    try:
        return _RULES.validate_json(text)
    except ValidationError:
        return {}
