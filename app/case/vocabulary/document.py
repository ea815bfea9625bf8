"""VOCABULARY.md: the kinds as a table for people, made from the classes so that it cannot say anything else.

`python -m app.case.vocabulary.document > app/case/vocabulary/VOCABULARY.md` renews it; a test holds it current.
"""

from __future__ import annotations

from collections.abc import Iterator
from types import NoneType
from typing import Any, Literal, get_args, get_origin

from pydantic.fields import FieldInfo

from app.base.kinds import KINDS_BY_FAMILY, ROLES
from app.case.sentences import SENTENCES, unit_of
from app.case.vocabulary.body import Body
from app.case.vocabulary.registry import KINDS

_HEAD = """# Kinds of entry

Made by `python -m app.case.vocabulary.document` from the classes beside this file; do not edit it by hand.

Fields in **bold** must be given; every other may be left out, and then is unknown. `a / b` means one of these words.
Every kind also takes `note`, a text of up to 2000 characters. A version rises when a kind gains a field; stored
entries of every version stay readable (`tests/golden/entries/`).
"""
_EXTRA = {
    "role.assign": [f"a person each for any of: {' '.join(ROLES)}"],
    "tap.fix": ["`set_<field>`: the new value of that field of the entry meant"],
}


def document() -> str:
    """The whole page."""
    return "\n".join((_HEAD, *(line for family in KINDS_BY_FAMILY for line in _family(family))))


def _family(family: str) -> Iterator[str]:
    yield f"## {family[:1].upper()}{family[1:]}\n"
    yield "| kind | version | fields | what it means | as the record says it |"
    yield "| --- | --- | --- | --- | --- |"
    for kind in KINDS_BY_FAMILY[family]:
        model = KINDS[kind]
        cells = (f"`{kind}`", str(model.version), "; ".join(_fields(kind, model)) or "none", meaning(model))
        yield "| " + " | ".join((*cells, SENTENCES[kind])) + " |"
    yield ""


def meaning(model: type[Body]) -> str:
    """A kind's docstring on one line."""
    return " ".join((model.__doc__ or "").split())


def _fields(kind: str, model: type[Body]) -> list[str]:
    said = [_field(kind, field.alias or name, field) for name, field in model.model_fields.items() if name != "note"]
    return said + _EXTRA.get(kind, [])


def _field(kind: str, name: str, field: FieldInfo) -> str:
    shown = f"**`{name}`**" if field.is_required() else f"`{name}`"
    form, unit = " or ".join(dict.fromkeys(_forms(field.annotation))), unit_of(kind, name)
    return f"{shown} {form} [{unit}]" if unit and "figure" in form else f"{shown} {form}"


def _forms(annotation: Any) -> Iterator[str]:
    """The forms a value may have, in plain words: `X | None` is said by the field not being bold."""
    if get_origin(annotation) is Literal:
        yield " / ".join(str(word) for word in get_args(annotation))
    elif annotation is float or annotation is int:
        yield "figure"
    elif annotation is str:
        yield "text"
    elif get_origin(annotation) is tuple:
        yield "list of texts"
    elif annotation is not NoneType:
        for part in get_args(annotation):
            if isinstance(part, type) or get_args(part):  # what Annotated carries besides the type is left out
                yield from _forms(part)


if __name__ == "__main__":
    print(document(), end="")
