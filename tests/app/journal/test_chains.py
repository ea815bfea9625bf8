"""Judging one case, pure: any change whatever to its rows is found, and nothing else is."""

from __future__ import annotations

from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from app.base.ids import new_id
from app.journal.chain import FIRST
from app.journal.chains import SignedHead, first_wrong
from app.journal.entry import Tap
from app.journal.rows import Prepared, placed, row_hash, to_columns

MOST = 8


def chain(length: int) -> tuple[SignedHead, list[dict[str, Any]]]:
    rows: list[dict[str, Any]] = []
    for seq in range(1, length + 1):
        tap = Tap(new_id(), "a", "vitals", {"spo2": 90 + seq}, "tablet", seq, "2026-11-03T14:10:00Z")
        columns = to_columns(Prepared(tap, {}, "2026-11-03T14:10:01.000000Z"))
        rows.append(placed(columns, seq=seq, prev=rows[-1]["hash"] if rows else FIRST))
    return SignedHead("a", length, rows[-1]["hash"] if rows else FIRST, genuine=True), rows


@given(st.integers(0, MOST))
def test_a_chain_that_leads_to_its_signed_head_is_whole(length: int) -> None:
    head, rows = chain(length)
    assert first_wrong(head, rows) is None


@given(st.data(), st.integers(1, MOST))
def test_any_hand_laid_on_a_chain_is_found(data: st.DataObject, length: int) -> None:
    head, rows = chain(length)
    before = [dict(row) for row in rows]
    for _ in range(data.draw(st.integers(1, 4))):
        what = data.draw(st.sampled_from(["alter", "rehash", "remove", "swap", "copy", "move", "cut"]))
        if not rows:
            break
        one = data.draw(st.integers(0, len(rows) - 1))
        other = data.draw(st.integers(0, len(rows) - 1))
        if what == "alter":
            rows[one]["body"] = data.draw(st.sampled_from(['{"spo2":91}', "{}"]))
        elif what == "rehash":
            rows[one]["prev"] = rows[one - 1]["hash"] if one else FIRST
            rows[one]["hash"] = row_hash(rows[one])
        elif what == "remove":
            del rows[one]
        elif what == "swap":
            rows[one]["seq"], rows[other]["seq"] = rows[other]["seq"], rows[one]["seq"]
        elif what == "copy":
            rows.append({**rows[one], "id": new_id(), "seq": rows[-1]["seq"] + 1})
        elif what == "move":
            rows[one]["seq"] = data.draw(st.integers(-2, MOST + 4))
        else:
            del rows[one:]
        rows.sort(key=lambda row: row["seq"])
    finding = first_wrong(head, rows)
    assert (finding is None) == (rows == before)


@given(st.data(), st.integers(1, MOST))
def test_the_first_of_one_altered_entry_is_named_wherever_it_is(data: st.DataObject, length: int) -> None:
    head, rows = chain(length)
    seq = data.draw(st.integers(1, length))
    rows[seq - 1]["body"] = "{}"
    if data.draw(st.booleans()):
        rows[seq - 1]["hash"] = row_hash(rows[seq - 1])
    finding = first_wrong(head, rows)
    assert finding is not None
    assert (finding.seq, finding.id, finding.wrong) == (seq, rows[seq - 1]["id"], "altered")


@given(st.integers(0, MOST))
def test_a_head_that_nobody_signed_is_found_even_when_it_fits(length: int) -> None:
    head, rows = chain(length)
    finding = first_wrong(SignedHead(head.case, head.seq, head.hash, genuine=False), rows)
    assert finding is not None
    assert finding.wrong == "signature wrong"
