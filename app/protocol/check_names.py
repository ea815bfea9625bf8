"""Every name in a protocol file must be known: kinds, body fields, roles, rules, source codes."""

from __future__ import annotations

from collections.abc import Iterator

from app.base.kinds import BODY_FIELDS, KINDS, ROLES
from app.protocol.known_rules import RULES
from app.protocol.parts import near
from app.protocol.positions import Mistake, Spot
from app.protocol.words import cited, parse_match

_ROLE_FIELDS = frozenset({"by", "role"})
_KIND_LISTS = frozenset({"after", "begins", "records"})
_KIND_FIELDS = frozenset({"when", "counted_from"})
_RULE_LISTS = frozenset({"answers"})


def name_mistakes(tree: Spot) -> list[Mistake]:
    """Names that nothing knows, with the nearest known one."""
    codes = tree.value.get("sources")
    known = frozenset(codes.value) if codes is not None and isinstance(codes.value, dict) else frozenset()
    return [mistake for where, spot in _maps(tree, "") for mistake in _in_map(where, spot, known)]


def _maps(spot: Spot, where: str) -> Iterator[tuple[str, Spot]]:
    """Every map of names below a spot, with its path."""
    if isinstance(spot.value, dict):
        yield where, spot
        for key, child in spot.value.items():
            yield from _maps(child, f"{where}.{key}" if where else key)
    elif isinstance(spot.value, list):
        for n, child in enumerate(spot.value):
            yield from _maps(child, f"{where}[{n}]")


def _in_map(where: str, spot: Spot, sources: frozenset[str]) -> Iterator[Mistake]:
    if where == "sources" or where.endswith(".body"):
        return
    for key, child in spot.value.items():
        here = f"{where}.{key}" if where else key
        if key == "kind":
            yield from _kind(here, child)
        elif key in _ROLE_FIELDS and isinstance(child.value, str) and child.value not in ROLES:
            hint = near(child.value, ROLES) or near(child.value.upper(), ROLES)
            yield child.wrong(here, f"'{child.value}' is no role", hint or f"Roles: {', '.join(ROLES)}.")
        elif key in _KIND_FIELDS:
            yield from _match(here, child)
        elif key in _KIND_LISTS and isinstance(child.value, list):
            for n, item in enumerate(child.value):
                yield from _match(f"{here}[{n}]", item)
        elif key == "rule":
            yield from _rule(here, child)
        elif key in _RULE_LISTS and isinstance(child.value, list):
            for n, item in enumerate(child.value):
                yield from _rule(f"{here}[{n}]", item)
        elif key == "source" and isinstance(child.value, str):
            yield from _source(here, child, sources)
    yield from _fields(where, spot)


def _kind(where: str, spot: Spot) -> Iterator[Mistake]:
    if isinstance(spot.value, str) and spot.value not in KINDS:
        hint = near(spot.value, KINDS)
        instead = hint or "Kinds are those of the vocabulary; a milestone of your own is local.done with a name."
        yield spot.wrong(where, f"'{spot.value}' is no kind of entry", instead)


def _match(where: str, spot: Spot) -> Iterator[Mistake]:
    try:
        match = parse_match(spot.value)
    except ValueError:
        return  # said already by the shape check
    if match.kind not in KINDS:
        instead = near(match.kind, KINDS) or "Write a kind of the vocabulary, for example preox.start."
        yield spot.wrong(where, f"'{match.kind}' is no kind of entry", instead)
        return
    for field, _, _ in match.tests:
        if field not in BODY_FIELDS[match.kind]:
            yield spot.wrong(where, f"{match.kind} has no field '{field}'", _known_fields(match.kind, field))


def _rule(where: str, spot: Spot) -> Iterator[Mistake]:
    if isinstance(spot.value, str) and spot.value not in RULES:
        yield spot.wrong(where, f"there is no rule '{spot.value}'", near(spot.value, RULES) or "Rules: R01 to R60.")


def _source(where: str, spot: Spot, known: frozenset[str]) -> Iterator[Mistake]:
    try:
        pieces = cited(spot.value)
    except ValueError:
        return  # said already by the shape check
    for code in (code for piece in pieces for code in piece.codes if code not in known):
        instead = near(code, known) or "Add it under `sources:` with its full reference, or mark it [P] or [L]."
        yield spot.wrong(where, f"source '{code}' is not in the list of sources", instead)


def _fields(where: str, spot: Spot) -> Iterator[Mistake]:
    """The preset and asked fields of a milestone are fields of its kind."""
    kind = spot.text("kind")
    if kind not in KINDS:
        return
    body = spot.value.get("body")
    if body is not None and isinstance(body.value, dict):
        for field in body.value:
            if field not in BODY_FIELDS[kind]:
                line, column = body.keys[field]
                what = f"{kind} has no field '{field}'"
                yield Mistake(spot.file, line, column, f"{where}.body", what, _known_fields(kind, field))
    for n, item in enumerate(spot.items("ask")):
        if isinstance(item.value, str) and item.value not in BODY_FIELDS[kind]:
            what = f"{kind} has no field '{item.value}'"
            yield item.wrong(f"{where}.ask[{n}]", what, _known_fields(kind, item.value))


def _known_fields(kind: str, field: str) -> str:
    known = sorted(BODY_FIELDS[kind])
    return near(field, known) or f"Its fields: {', '.join(known)}."
