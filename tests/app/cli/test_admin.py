"""`doorside admin`: a way back in for who holds the machine, and what `doorside serve` says of an empty installation."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from app.base.database import open_engine
from app.base.settings import load
from app.base.time import utc_now
from app.cli import main
from app.journal.keys import open_key
from app.people import store as people
from app.people.sign_in import door, pins, store
from app.people.sign_in.door import PinMustChange
from app.people.sign_in.values import Rights
from app.people.tables import Person
from app.stations.store import pair
from tests.browser.server import Server


def make_administrators(url: str, *names: str) -> str:
    """Administrators with these names and a forgotten PIN; gives the id of a desk."""
    engine = open_engine(url)
    for name in names:
        people.add(engine, Person(id=f"U-{name}", name=name, initials="U", job="nurse"))
        store.set_rights(engine, f"U-{name}", Rights(admin=True), now=utc_now(), how="test")
        store.set_pin(engine, f"U-{name}", pins.hashed("274931"), first=False, now=utc_now(), how="test")
    desk = pair(engine, kind="desk", label="Desk", now=utc_now()).partition(".")[0]
    engine.dispose()
    return desk


def test_a_lost_pin_is_replaced_by_a_first_one_and_the_history_says_how(
    sqlite_url: str, capsys: pytest.CaptureFixture[str]
) -> None:
    desk = make_administrators(sqlite_url, "Una")
    assert main(["admin", "reset", "--db", sqlite_url, "--json"]) == 0
    said = json.loads(capsys.readouterr().out)
    assert said["name"] == "Una"
    engine = open_engine(sqlite_url)
    with pytest.raises(PinMustChange):
        door.sign_in(engine, "U-Una", said["pin"], desk, utc_now(), open_key(load().key_file).secret(pins.PURPOSE))
    assert store.history(engine)[0].by == "command line"
    engine.dispose()


def test_of_several_administrators_one_is_named(sqlite_url: str, capsys: pytest.CaptureFixture[str]) -> None:
    make_administrators(sqlite_url, "Una", "Bo")
    assert main(["admin", "reset", "--db", sqlite_url]) == 2
    assert "several administrators" in capsys.readouterr().err
    assert main(["admin", "reset", "nobody", "--db", sqlite_url]) == 2
    assert "Una" in capsys.readouterr().err
    assert main(["admin", "list", "--db", sqlite_url]) == 0
    assert {"Bo", "Una"} <= set(capsys.readouterr().out.split())
    assert main(["admin", "reset", "Bo", "--db", sqlite_url]) == 0
    assert re.search(r"First PIN of Bo: \d{8}\n", capsys.readouterr().out)


def test_an_installation_without_administrators_is_sent_to_its_set_up(
    sqlite_url: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["admin", "list", "--db", sqlite_url]) == 2
    assert "doorside serve" in capsys.readouterr().err
    assert main(["admin", "list", "--db", f"sqlite:///{tmp_path / 'none.db'}"]) != 0
    assert not (tmp_path / "none.db").exists()


def test_serve_prints_a_set_up_link_with_another_code_each_time_until_somebody_administers(
    sqlite_url: str, tmp_path: Path
) -> None:
    for starts in (1, 2):
        server = Server(sqlite_url, tmp_path)
        server.start()
        server.stop()
        codes = re.findall(r"/setup#([A-Z2-9-]{19})\n", server.log)
        assert len(set(codes)) == starts
    make_administrators(sqlite_url, "Una")
    server = Server(sqlite_url, tmp_path)
    server.start()
    server.stop()
    assert re.findall(r"/setup#([A-Z2-9-]{19})\n", server.log) == codes
