"""What is carried and what is worn: trays with their items, ensembles with their steps. Frozen plain values."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from pydantic import ConfigDict, Field

from app.protocol.words import EnsembleCode, Label, Place, Sentence, Slug, Source, TrayCode

STRICT = ConfigDict(extra="forbid", strict=True)
"""Unknown fields are refused and "3" is no 3: a slip in a protocol must be seen at the desk, not at the bedside."""


@dataclass(frozen=True, slots=True)
class KitItem:
    """One thing on a tray.

    code       the word that `kit.staged has= missing=` uses
    choices    sizes or models to choose from, as written on the packet
    mandatory  missing from the clean tray it is a warning at the first entry (R10); vital: a critical one
    kept       where it is fetched from; counted: in the closing count; sharp: loss is critical (R48)
    """

    __pydantic_config__ = STRICT
    code: Slug
    name: Sentence
    kept: Sentence
    choices: tuple[str, ...] = ()
    quantity: Annotated[int, Field(ge=1, le=99)] = 1
    mandatory: bool = False
    vital: bool = False
    counted: bool = False
    sharp: bool = False
    reusable: bool = False


@dataclass(frozen=True, slots=True)
class Tray:
    """A list of kit under one of the three tray codes, and where that tray stands."""

    __pydantic_config__ = STRICT
    code: TrayCode
    title: Label
    stands: Sentence
    items: tuple[KitItem, ...]
    source: Source


@dataclass(frozen=True, slots=True)
class DressStep:
    """One step of putting on or taking off. code: the word that `doff.step step=` uses; partner: read and looked at."""

    __pydantic_config__ = STRICT
    code: Slug
    text: Sentence
    place: Place
    partner: bool = False
    respirator: bool = False


@dataclass(frozen=True, slots=True)
class Ensemble:
    """A named set of protective equipment. level: 1 least to 4 most; a lower one does not stand in for a higher."""

    __pydantic_config__ = STRICT
    code: EnsembleCode
    title: Label
    level: Annotated[int, Field(ge=1, le=4)]
    worn_for: Sentence
    respirator: bool
    observer: bool
    donning: tuple[DressStep, ...]
    doffing: tuple[DressStep, ...]
    source: Source
