"""Fixes and voids: from entries as they were stored to happenings as the record stands.

A void takes an entry out, a void of a void puts it back, a voided fix has no effect. Fixes apply in order of happening,
the last for a field wins. A fix or void whose target has not arrived waits: it finds it when the target is there.
Fixes and voids themselves are mended only by voiding them and saying it anew: a fix of one is left out and marked.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from app.base.errors import NotValid
from app.base.moments import parse_moment
from app.case.happening import Happening, Mark
from app.case.order import Offsets, happened_at, known_offsets
from app.case.vocabulary.body import Body
from app.case.vocabulary.course import TapFix, TapVoid
from app.case.vocabulary.registry import read_body
from app.journal.entry import Entry

CORRECTIONS = frozenset({TapFix.kind, TapVoid.kind})


@dataclass(frozen=True, slots=True)
class _First:
    """An entry as it was first tapped: read and dated, nothing corrected."""

    entry: Entry
    body: Body | None
    happening: Happening


_NO_MARKS: frozenset[Mark] = frozenset()


def _read(entry: Entry, offsets: Offsets) -> Happening:
    at, mark = happened_at(entry, offsets)
    marks = _NO_MARKS if mark is None else frozenset({mark})
    body: Body | None
    tap = entry.tap
    try:
        body = read_body(tap.kind, tap.body)
    except NotValid:
        body, marks = None, marks | {Mark.UNREADABLE}
    return Happening(tap.id, tap.kind, at, body, tap.station, tap.counter, tap.role, tap.person, entry.facts, marks)


def _needed_offsets(entries: list[Entry]) -> Offsets:
    """What is known of the stations' clocks, where an entry does not say it itself."""
    return known_offsets(entries) if any(entry.tap.offset_ms is None for entry in entries) else {}


def first_taps(entries: Iterable[Entry]) -> tuple[Happening, ...]:
    """Every entry as it was first tapped, in order of happening: what a correction is compared with."""
    kept = list(entries)
    offsets = _needed_offsets(kept)
    read = [_read(entry, offsets) for entry in kept]
    if len(read) > 1:
        read.sort(key=lambda one: one.order)
    return tuple(read)


def happenings(entries: Iterable[Entry]) -> tuple[Happening, ...]:
    """All entries with corrections applied, in order of happening; voided ones stay, marked as not standing."""
    kept = list(entries)
    offsets = _needed_offsets(kept)
    first = {}
    for entry in kept:
        happening = _read(entry, offsets)
        first[entry.tap.id] = _First(entry, happening.body, happening)
    return tuple(sorted(_Corrections(first).all(), key=lambda one: one.order))


class _Corrections:
    def __init__(self, first: dict[str, _First]) -> None:
        self._first = first
        self._voids: dict[str, list[str]] = {}
        self._fixes: dict[str, list[_First]] = {}
        for one in first.values():
            if isinstance(one.body, TapVoid):
                self._voids.setdefault(one.body.ref, []).append(one.entry.tap.id)
            elif isinstance(one.body, TapFix):
                self._fixes.setdefault(one.body.ref, []).append(one)
        for fixes in self._fixes.values():
            fixes.sort(key=lambda fix: fix.happening.order)
        self._standing = self._in_force()

    def all(self) -> Iterable[Happening]:
        for entry_id, one in self._first.items():
            yield (
                self._corrected(entry_id, one) if entry_id in self._fixes or entry_id in self._voids else one.happening
            )

    def _in_force(self) -> frozenset[str]:
        """The entries that no void in force takes out.

        Decided from the voids that nothing voids, one after the other. What is left then are rings of voids that void
        each other: none of them counts. As a void names one entry, nothing outside a ring waits for it.
        """
        waits_for = {entry_id: len(self._voids.get(entry_id, ())) for entry_id in self._first}
        stands = {entry_id: True for entry_id, count in waits_for.items() if count == 0}
        ready = list(stands)
        while ready:
            entry_id = ready.pop()
            body = self._first[entry_id].body
            if not isinstance(body, TapVoid) or body.ref not in waits_for or body.ref in stands:
                continue
            waits_for[body.ref] -= 1
            if stands[entry_id]:
                stands[body.ref] = False  # one void in force is enough, whatever comes of the others
            elif waits_for[body.ref] == 0:
                stands[body.ref] = True
            if body.ref in stands:
                ready.append(body.ref)
        return frozenset(entry_id for entry_id, in_force in stands.items() if in_force)

    def _stands(self, entry_id: str) -> bool:
        return entry_id in self._standing

    def _corrected(self, entry_id: str, one: _First) -> Happening:
        tap, at, body, marks = one.entry.tap, one.happening.at, one.body, set(one.happening.marks)
        values, people = dict(tap.body), dict(one.entry.facts.get("people") or {})
        for fix in self._fixes.get(entry_id, ()):
            assert isinstance(fix.body, TapFix)
            if not self._stands(fix.entry.tap.id):
                continue
            if tap.kind in CORRECTIONS:
                marks.add(Mark.BAD_FIX)
                continue
            if fix.body.at is not None:
                try:
                    at = parse_moment(fix.body.at)
                    marks = marks - {Mark.NO_CLOCK, Mark.AHEAD, Mark.REDATED} | {Mark.FIXED_TIME}
                except ValueError:
                    marks.add(Mark.BAD_FIX)
            if new := fix.body.new_values():
                try:
                    body = read_body(tap.kind, {**values, **new})
                    values.update(new)
                    marks = marks - {Mark.UNREADABLE} | {Mark.FIXED_VALUE}
                    people = {**(fix.entry.facts.get("people") or {}), **people}
                except NotValid:
                    marks.add(Mark.BAD_FIX)
        # whom a fix names took part then: what the registers said of them came with the fix
        facts = {**one.entry.facts, "people": people} if people else one.entry.facts
        return Happening(
            tap.id, tap.kind, at, body, tap.station, tap.counter, tap.role, tap.person, facts,
            frozenset(marks), self._stands(entry_id),
        )  # fmt: skip
