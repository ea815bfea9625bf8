"""Heads signed together: each is proven alone, and none can be changed, swapped or made up."""

from __future__ import annotations

from hashlib import sha256

import pytest
from sqlalchemy import Engine, text

from app.journal.chain import FIRST, head_text
from app.journal.keys import ServerKey
from app.journal.tree import SIGNATURE_DIGITS, grown, root_of, root_text
from app.journal.verify import verify

HEADS = [(f"case {n}", n, f"{n:064x}") for n in range(1, 41)]


@pytest.mark.parametrize("count", [*range(1, 18), 40])
def test_each_of_any_number_of_heads_is_proven_alone(count: int) -> None:
    key = ServerKey.generate()
    for head, signature in zip(HEADS, key.sign_heads(HEADS[:count]), strict=False):
        assert key.public.signed(*head, signature)
        assert not ServerKey.generate().public.signed(*head, signature)


def test_one_head_is_signed_as_it_always_was() -> None:
    key = ServerKey.generate()
    assert key.sign_heads(HEADS[:1]) == [key.sign_head(*HEADS[0])]
    assert key.sign_heads([]) == []


def test_a_head_that_was_signed_with_others_holds_for_nothing_else() -> None:
    key = ServerKey.generate()
    signatures = key.sign_heads(HEADS[:5])
    for (case, seq, head_hash), signature in zip(HEADS, signatures, strict=False):
        for other in (("another", seq, head_hash), (case, seq + 1, head_hash), (case, seq, FIRST)):
            assert not key.public.signed(*other, signature)
    assert not key.public.signed(*HEADS[0], signatures[1])


def test_what_is_stored_today_is_read_the_same_way_for_ever() -> None:
    leaves = [sha256(b"\x00" + text).digest() for text in (b"a", b"b", b"c")]
    pair = sha256(b"\x01" + leaves[0] + leaves[1]).digest()
    root, ways = grown([b"a", b"b", b"c"])
    assert root == sha256(b"\x01" + pair + leaves[2]).digest()
    up = "r" + leaves[2].hex()
    assert ways == ["r" + leaves[1].hex() + up, "l" + leaves[0].hex() + up, "l" + pair.hex()]
    assert root_text(bytes(32)) == b"doorside heads " + b"00" * 32


@pytest.mark.parametrize("change", ["cut", "longer", "side", "digit", "no hex", "root alone"])
def test_a_way_that_was_changed_proves_nothing(change: str) -> None:
    key = ServerKey.generate()
    signature = key.sign_heads(HEADS[:4])[2]
    own, way = signature[:SIGNATURE_DIGITS], signature[SIGNATURE_DIGITS:]
    changed = {
        "cut": own + way[:-1],
        "longer": own + way + "l" + "0" * 64,
        "side": own + "x" + way[1:],
        "digit": own + way[:5] + ("0" if way[5] != "0" else "1") + way[6:],
        "no hex": own + way[:5] + "z" + way[6:],
        "root alone": own,
    }[change]
    assert key.public.signed(*HEADS[2], signature)
    assert not key.public.signed(*HEADS[2], changed)


def test_no_head_passes_for_a_node_above_it_nor_a_root_for_a_head() -> None:
    texts = [head_text(*head) for head in HEADS[:2]]
    root, ways = grown(texts)
    assert root_of(texts[0], ways[0]) == root
    assert grown([b"".join(root_of(one, "") for one in texts)])[0] != root
    assert not head_text("", 0, "").startswith(root_text(root)[:1])


def test_a_journal_whose_heads_were_signed_together_verifies_and_a_swapped_signature_is_found(
    engine: Engine, key: ServerKey, cases: list[str]
) -> None:
    with engine.begin() as connection:
        heads = connection.execute(text("SELECT case_id, seq, hash FROM journal_head ORDER BY case_id")).all()
        signatures = key.sign_heads([(case, seq, head_hash) for case, seq, head_hash in heads])
        for (case, _, _), signature in zip(heads, signatures, strict=True):
            connection.execute(
                text("UPDATE journal_head SET signature = :signature WHERE case_id = :case"),
                {"case": case, "signature": signature},
            )
    assert len(heads) > 1
    assert verify(engine, key.public).clean
    with engine.begin() as connection:
        connection.execute(
            text("UPDATE journal_head SET signature = :signature WHERE case_id = :case"),
            {"case": heads[0][0], "signature": signatures[1]},
        )
    report = verify(engine, key.public)
    assert report.finding is not None
    assert (report.finding.case, report.finding.wrong) == (heads[0][0], "signature wrong")
