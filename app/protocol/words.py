"""Small texts with a grammar of their own: references to milestones, sources with evidence marks, codes.

Everything here is plain text in a protocol file and is checked when read, so that a typing slip becomes a sentence
with a line number instead of a button that never lights up.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, PlainSerializer, WithJsonSchema

EVIDENCE: Mapping[str, str] = MappingProxyType(
    {
        "V": "read in the source",
        "G": "named guideline, not read again in full; check before quoting",
        "P": "common practice, no source",
        "L": "local default; the department sets it",
    }
)
"""Evidence mark -> what it means, in words for a person (message ids for gettext)."""

Side = Literal["inside", "outside", "desk"]
Place = Literal["outside", "anteroom", "inside"]
TrayCode = Literal["clean", "soiled", "door"]
Level = Literal["N", "W", "C"]
Audience = Literal["room", "door", "charge", "record"]
Urgency = Literal["now", "soon"]
Age = Literal["adult", "child"]
Procedure = Literal["intubation", "extubation", "transport", "tracheostomy", "bronchoscopy"]
EnsembleCode = Literal["contact", "droplet", "airborne", "enhanced"]

Slug = Annotated[str, Field(pattern=r"^[a-z][a-z0-9]*([_-][a-z0-9]+)*$", max_length=48)]
Label = Annotated[str, Field(min_length=2, max_length=44, description="Words on a large button")]
Sentence = Annotated[str, Field(min_length=2, max_length=240)]
Kind = Annotated[str, Field(description="An entry kind of the vocabulary", json_schema_extra={"words": "kind"})]
RoleCode = Annotated[str, Field(description="A role code", json_schema_extra={"words": "role"})]
RuleNumber = Annotated[str, Field(pattern=r"^R\d\d$", description="A rule, R01 to R60")]

_PART = re.compile(r"(?P<codes>[^:\[\]]+?)(:(?P<remark>[^\[\]]+))?\s*\[(?P<mark>[A-Z])\]")
_TEST = re.compile(r"(?P<field>[a-z][a-z0-9_]*)\s*(?P<sign>!?=)\s*(?P<value>\S.*)")


@dataclass(frozen=True, slots=True)
class Match:
    """One kind of entry, perhaps only with certain values in its body: `scope.end result!=tube; n=1`.

    tests  (field, "=" or "!=", value) each; all must hold. A field that the entry does not carry fits neither sign:
           unknown is neither yes nor no.
    """

    kind: str
    tests: tuple[tuple[str, str, str], ...] = ()

    def fits(self, kind: str, body: Mapping[str, Any]) -> bool:
        """Whether an entry of this kind with this body is meant.

        >>> parse_match("scope.end result!=tube; n=2").fits("scope.end", {"n": 2, "result": "no view"})
        True
        >>> parse_match("scope.end result!=tube").fits("scope.end", {"n": 2})
        False
        """
        return kind == self.kind and all(
            body.get(field) is not None and _same(body[field], value) is (sign == "=")
            for field, sign, value in self.tests
        )

    def __str__(self) -> str:
        return " ".join((self.kind, "; ".join(f"{field}{sign}{value}" for field, sign, value in self.tests))).rstrip()


def _same(found: Any, wanted: str) -> bool:
    if isinstance(found, int | float) and not isinstance(found, bool):
        try:
            return float(found) == float(wanted)
        except ValueError:
            return False
    return str(found) == wanted


def parse_match(text: Any) -> Match:
    """Reads `kind` or `kind field=value; field!=value`. Raises ValueError with what to write instead."""
    if isinstance(text, Match):
        return text
    if not isinstance(text, str):
        raise ValueError("a milestone is written as its kind, for example preox.start")
    kind, _, rest = text.strip().partition(" ")
    tests = []
    for part in filter(None, (piece.strip() for piece in rest.split(";"))):
        test = _TEST.fullmatch(part)
        if test is None:
            raise ValueError(f"'{part}' is not field=value or field!=value")
        tests.append((test["field"], test["sign"], test["value"].strip()))
    return Match(kind, tuple(tests))


MatchText = Annotated[
    Match,
    BeforeValidator(parse_match),
    PlainSerializer(str, return_type=str),
    WithJsonSchema({"type": "string", "description": "kind, or: kind field=value; field!=value"}),
]


@dataclass(frozen=True, slots=True)
class Cited:
    """One piece of a source text: the codes it names, what was remarked, and the evidence mark."""

    codes: tuple[str, ...]
    remark: str
    mark: str


def cited(text: str) -> tuple[Cited, ...]:
    """The pieces of a source text. Raises ValueError with what to write instead.

    >>> cited("HEAT: mean 66 min [V]; limits: local default [L]")[0]
    Cited(codes=('HEAT',), remark='mean 66 min', mark='V')
    """
    pieces = []
    for part in text.split(";"):
        found = _PART.fullmatch(part.strip())
        if found is None:
            raise ValueError(f"'{part.strip()}' has no evidence mark; end it with [V], [G], [P] or [L]")
        if found["mark"] not in EVIDENCE:
            raise ValueError(f"[{found['mark']}] is no evidence mark; write [V], [G], [P] or [L]")
        words = tuple(word.strip() for word in found["codes"].split(","))
        local = found["mark"] in "PL"
        pieces.append(Cited(() if local else words, (found["remark"] or "").strip(), found["mark"]))
    return tuple(pieces)


def _source(text: Any) -> Any:
    if isinstance(text, str):
        cited(text)
    return text


Source = Annotated[
    str,
    BeforeValidator(_source),
    Field(
        description="Where a fact comes from: 'CODE [V]', 'CODE, CODE: remark [G]', "
        "'common practice, no source [P]' or 'local default [L]'; several joined by ;"
    ),
]
