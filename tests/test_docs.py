"""The guides say what is there: paths exist, settings and commands are told, nothing is promised that is gone."""

from __future__ import annotations

import re
from dataclasses import fields
from pathlib import Path

import pytest

from app.base.settings import PREFIX, Settings
from app.cli import COMMANDS
from app.web.permissions import Permission
from app.web.routes import ROUTES

TOP = Path(__file__).parent.parent
README = (TOP / "README.md").read_text("utf-8")
DEVELOPERS = (TOP / "DEVELOPERS.md").read_text("utf-8")
PATH = re.compile(r"`((?:app|static|templates|tests|deploy|migrations)/[\w./-]+?)`")


@pytest.mark.parametrize("path", sorted(set(PATH.findall(README + DEVELOPERS))))
def test_a_path_that_a_guide_names_exists(path: str) -> None:
    assert (TOP / path).exists(), f"{path} is named in README.md or DEVELOPERS.md and is not there"


@pytest.mark.parametrize("name", [field.name for field in fields(Settings)])
def test_every_setting_is_told_in_the_readme(name: str) -> None:
    assert f"{PREFIX}{name.upper()}" in README


def test_the_readme_begins_with_the_job_and_gives_two_commands() -> None:
    title, _, rest = README.partition("\n\n")
    assert title == "# Doorside"
    assert rest.split("\n\n")[0].startswith("A senior anaesthetist leads")
    assert README.index("sh deploy/run.sh") < README.index("sh deploy/test.sh") < 3000


@pytest.mark.parametrize("command", sorted(COMMANDS))
def test_every_command_has_a_file_and_says_what_it_does(command: str) -> None:
    assert (TOP / "app" / "cli" / f"{command}.py").exists()
    assert COMMANDS[command]


def test_every_picture_of_the_readme_is_there() -> None:
    for picture in re.findall(r"!\[[^\]]+\]\(([^)]+)\)", README):
        assert (TOP / picture).exists()


def test_only_one_route_writes_entries_and_no_route_is_open_by_oversight() -> None:
    writing = {(row.method, row.path) for row in ROUTES if row.method != "GET"}
    assert ("POST", "/api/entries") in writing
    open_to_all = {row.path for row in ROUTES if row.permission is Permission.ANYONE}
    assert open_to_all == {"/", "/sw.js", "/api/time", "/pair", "/trust", "/trust/authority"}
