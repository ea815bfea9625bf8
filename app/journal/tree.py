"""One signature for the heads of a whole batch, pure: a hash tree over them, whose root is what is signed.

Each head keeps the signature of the root together with its way up to it, so that it can be proven alone: whoever has
the head, its text and the public key needs no other. A signature costs a hundred times what a hash does, and a busy
second moves many cases on at once.

    signed by itself   128 digits: the signature of `chain.head_text`
    in a tree          128 digits: the signature of `root_text`; then for each step up the side on which the other half
                       stands (l or r) and the 64 digits of its hash
"""

from __future__ import annotations

from collections.abc import Sequence
from hashlib import sha256

SIGNATURE_DIGITS = 128
_STEP_DIGITS = 65
_LEAF, _NODE = b"\x00", b"\x01"
"""What is hashed begins with one of these, so that no head can pass for a node above it."""


def root_text(root: bytes) -> bytes:
    """What the server signs for a tree. No head's text begins like this."""
    return b"doorside heads " + root.hex().encode()


def grown(texts: Sequence[bytes]) -> tuple[bytes, list[str]]:
    """The root over some heads' texts, in their order, and the way up from each as it is kept behind the signature."""
    level = [_leaf(text) for text in texts]
    places, ways = list(range(len(texts))), [""] * len(texts)
    while len(level) > 1:
        for head, place in enumerate(places):
            beside = place ^ 1
            if beside < len(level):  # the last of an odd level goes up as it is
                ways[head] += ("l" if beside < place else "r") + level[beside].hex()
            places[head] = place // 2
        level = [_node(*level[at : at + 2]) for at in range(0, len(level), 2)]
    return level[0], ways


def root_of(text: bytes, way: str) -> bytes:
    """The root that a head's text and its way lead to. Raises ValueError for what is no way."""
    found = _leaf(text)
    for at in range(0, len(way), _STEP_DIGITS):
        side, beside = way[at], bytes.fromhex(way[at + 1 : at + _STEP_DIGITS])
        if side not in "lr" or len(beside) != len(found):
            raise ValueError("no way up a tree")
        found = _node(beside, found) if side == "l" else _node(found, beside)
    return found


def _leaf(text: bytes) -> bytes:
    return sha256(_LEAF + text).digest()


def _node(left: bytes, right: bytes | None = None) -> bytes:
    return left if right is None else sha256(_NODE + left + right).digest()
