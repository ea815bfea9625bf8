"""Digest and stored text."""

from __future__ import annotations

from dataclasses import replace

import pytest

from app.base.errors import NotValid
from app.protocol.library import protocol_for
from app.protocol.read import digest, from_plain, plain


def test_any_change_gives_another_digest() -> None:
    protocol = protocol_for("intubation", "adult")
    step = replace(protocol.phases[3].milestones[0], label="Into the room now")
    phase = replace(protocol.phases[3], milestones=(step, *protocol.phases[3].milestones[1:]))
    phases = (*protocol.phases[:3], phase, *protocol.phases[4:])
    others = [replace(protocol, owner="Somebody else"), replace(protocol, version=99), replace(protocol, phases=phases)]
    assert len({digest(protocol), *map(digest, others)}) == 4


def test_a_stored_text_that_is_no_protocol_is_told_where() -> None:
    data = plain(protocol_for("intubation", "adult"))
    del data["phases"][0]["title"]
    with pytest.raises(NotValid, match=r"phases\.0\.title"):
        from_plain(data)
    with pytest.raises(NotValid):
        from_plain({"id": object()})
