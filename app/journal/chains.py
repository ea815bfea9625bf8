"""Judging one case's chain, pure: which entry is the first that is not as it was stored, and what happened to it.

Going forward, each entry must be what its hash says and name the entry before. That alone would miss an entry that was
rewritten together with its hash, and would blame the wrong neighbour for an inserted one. So once something is wrong,
the chain is also walked backwards from the signed head: what is reached that way is genuine, whatever place it now has.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from app.journal.chain import FIRST
from app.journal.rows import row_hash

Columns = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class SignedHead:
    """The head of a case as stored, and whether the key that is trusted signed it."""

    case: str
    seq: int
    hash: str
    genuine: bool


@dataclass(frozen=True, slots=True)
class Finding:
    """The first thing that is wrong.

    seq, id  of the entry; id None when it is not there
    wrong    altered, missing, newest removed, out of order, inserted, head altered, signature wrong, no head,
             unreadable; and of the whole: key altered, other key
    says     the sentence for people
    """

    case: str | None
    seq: int | None
    id: str | None
    wrong: str
    says: str


def sound(row: Columns, seq: int, prev: str) -> bool:
    """Whether a row is what its hash says, in its place, after the one before."""
    return bool(row["seq"] == seq and row["prev"] == prev and _true_hash(row) == row["hash"])


def _true_hash(row: Columns, seq: int | None = None) -> str | None:
    try:
        return row_hash(row if seq is None else {**row, "seq": seq})
    except (ValueError, TypeError, RecursionError):
        return None  # a column holds what never was stored


def first_wrong(head: SignedHead, rows: Sequence[Columns]) -> Finding | None:
    """The first thing that is wrong with a case, or None. `rows`: all of it, by seq."""
    forward = _forward(rows)
    if not head.genuine:
        return _without_head(head, rows, forward)
    genuine = _backward(head, rows)
    lowest = min(genuine, default=head.seq + 1)
    place_of = {id(row): place for place, row in genuine.items()}
    by_seq = {row["seq"]: row for row in reversed(rows)}
    standing = set()
    for place in range(1, head.seq + 1):
        here = by_seq.get(place)
        # Below what the head reaches, soundness forward must do; but where the way back broke off, something is wrong.
        if here is not None and (genuine.get(place) is here or (place < lowest - 1 and place <= forward)):
            standing.add(id(here))
        elif place in genuine:
            if here is None or id(here) in place_of:
                moved = genuine[place] if here is None else here
                return _of(head.case, moved, "out of order", place_of[id(moved)])
            return _of(head.case, here, "inserted")
        elif here is None or id(here) in place_of:
            return _missing(head, place, newest=not any(_at_least(row, place) for row in rows))
        else:
            return _of(head.case, here, "altered")
    left = [row for row in rows if id(row) not in standing]
    return _of(head.case, left[0], "inserted") if left else None


def _forward(rows: Sequence[Columns]) -> int:
    """How many rows from the first follow each other soundly."""
    prev = FIRST
    for place, row in enumerate(rows, 1):
        if not sound(row, place, prev):
            return place - 1
        prev = row["hash"]
    return len(rows)


def _backward(head: SignedHead, rows: Sequence[Columns]) -> dict[int, Columns]:
    """The rows that the signed head leads to, by the place that they had."""
    by_hash: dict[str, list[Columns]] = {}
    for row in rows:
        by_hash.setdefault(row["hash"], []).append(row)
    found: dict[int, Columns] = {}
    wanted = head.hash
    for place in range(head.seq, 0, -1):
        claiming = by_hash.get(wanted, [])
        true = next((row for row in claiming if _true_hash(row, place) == wanted), None)
        if true is None:
            break
        found[place] = true
        wanted = true["prev"]
    return found


def _without_head(head: SignedHead, rows: Sequence[Columns], forward: int) -> Finding:
    """The head proves nothing, so only the forward walk counts; where that is sound, the head is what was changed."""
    if forward < len(rows):
        return _forward_wrong(head, rows, forward)
    newest = rows[-1] if rows else None
    fits = head.seq == len(rows) and head.hash == (FIRST if newest is None else newest["hash"])
    return Finding(
        head.case,
        head.seq,
        None if newest is None else newest["id"],
        "signature wrong" if fits else "head altered",
        "This case's head, which says what its newest entry is, was not signed with the server's key."
        if fits
        else "This case's head, which says what its newest entry is, is not what was stored.",
    )


def _forward_wrong(head: SignedHead, rows: Sequence[Columns], forward: int) -> Finding:
    row, place = rows[forward], forward + 1
    if not _is_place(row) or _true_hash(row) != row["hash"]:
        was = next((seq for seq in range(1, len(rows) + 2) if _true_hash(row, seq) == row["hash"]), None)
        return _of(head.case, row, "altered" if was is None else "out of order", was)
    if row["seq"] > place:
        return _missing(head, place)
    if row["seq"] < place:
        return _of(head.case, row, "inserted")
    return _of(head.case, rows[max(forward - 1, 0)], "altered")  # rewritten with its hash: the next one tells


def _is_place(row: Columns) -> bool:
    return type(row["seq"]) is int


def _at_least(row: Columns, place: int) -> bool:
    return _is_place(row) and row["seq"] >= place


def _missing(head: SignedHead, place: int, *, newest: bool = False) -> Finding:
    if newest:
        says = f"Entry {place} of {head.seq} is not there, nor any after it: the newest were removed."
        return Finding(head.case, place, None, "newest removed", says)
    return Finding(head.case, place, None, "missing", f"Entry {place} of {head.seq} is not there.")


_SAYS = {
    "altered": "Entry {seq} is not what was stored.",
    "out of order": "Entry {seq} stood in place {place} when it was stored.",
    "inserted": "Entry {seq} was not stored by this server.",
}


def _of(case: str, row: Columns, wrong: str, place: int | None = None) -> Finding:
    says = _SAYS[wrong].format(seq=row["seq"], place=place)
    return Finding(case, row["seq"] if _is_place(row) else None, row["id"], wrong, says)
