"""What every connection takes over from the socket that the server listens on."""

from __future__ import annotations

import socket

from app.cli.serve import UNHEARD_S, tune
from app.live.contact import GONE_S
from app.live.hub import HEARTBEAT_S


def test_a_connection_whose_other_end_is_out_of_reach_ends_soon() -> None:
    with socket.create_server(("127.0.0.1", 0)) as listener:
        tune(listener)
        with socket.create_connection(listener.getsockname()), listener.accept()[0] as accepted:
            assert accepted.getsockopt(socket.IPPROTO_TCP, socket.TCP_USER_TIMEOUT) == UNHEARD_S * 1000
    assert HEARTBEAT_S < UNHEARD_S


def test_a_loss_that_is_noticed_last_is_still_said_before_its_notice_is_due() -> None:
    assert UNHEARD_S + GONE_S < 30, "R59 fires 30 s after the loss; the record's moment is when it was noticed"
