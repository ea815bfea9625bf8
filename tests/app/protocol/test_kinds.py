"""The list of kinds below `case` and the vocabulary in `case` say the same."""

from __future__ import annotations

from app.base.kinds import BODY_FIELDS, IN_ROOM_ROLES, KINDS, KINDS_BY_FAMILY, OUTSIDE_ROLES, ROLES
from app.case.vocabulary.registry import KINDS as MODELS


def test_every_kind_has_a_body_and_every_body_a_kind() -> None:
    assert set(MODELS) == set(KINDS) == set(BODY_FIELDS)


def test_every_body_has_the_fields_that_protocols_may_preset() -> None:
    for kind, model in MODELS.items():
        fields = {field.alias or name for name, field in model.model_fields.items()}
        assert fields | (set(ROLES) if kind == "role.assign" else set()) == BODY_FIELDS[kind], kind


def test_no_kind_stands_in_two_families() -> None:
    assert sum(len(kinds) for kinds in KINDS_BY_FAMILY.values()) == len(KINDS) == 104


def test_every_role_but_the_receiving_team_has_one_side() -> None:
    assert not IN_ROOM_ROLES & OUTSIDE_ROLES
    assert set(ROLES) - IN_ROOM_ROLES - OUTSIDE_ROLES == {"ICU"}
