"""`doorside pair`: a desk can be paired from the server's machine when there is none left."""

from __future__ import annotations

import json
from pathlib import Path

import httpx
import pytest

from app.base.database import migrate
from app.base.settings import load
from app.cli import main
from app.main import create_app


@pytest.mark.anyio
async def test_a_code_of_the_command_line_pairs_a_desk(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("DOORSIDE_DATA", str(tmp_path))
    settings = load()
    migrate(settings.db)
    assert main(["pair", "--label", "Desk 1", "--json"]) == 0
    code = json.loads(capsys.readouterr().out)["code"]
    app = create_app(settings)
    async with (
        app.router.lifespan_context(app),
        httpx.AsyncClient(transport=httpx.ASGITransport(app), base_url="http://door") as client,
    ):
        answer = await client.post("/pair", data={"code": code})
        assert (answer.status_code, answer.headers["location"]) == (303, "/desk")
        assert (await client.get("/desk/stations")).status_code == 200


def test_without_a_database_it_says_so(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("DOORSIDE_DATA", str(tmp_path))
    assert main(["pair"]) == 1 or capsys.readouterr().err
