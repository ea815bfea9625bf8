"""The worker and the shell it keeps: every style and script of the pages, one version for one set of contents."""

from __future__ import annotations

import json
import re
import shutil
from pathlib import Path

import pytest

from app.base.paths import data
from app.web import shell as module
from app.web.security import HEADERS
from app.web.shell import shell
from tests.app.web.house import House

pytestmark = pytest.mark.anyio


def told(script: str) -> dict[str, object]:
    found = re.match(r"const SHELL = (\{.*\});\n", script)
    assert found, "what the worker must know stands before its text"
    return dict(json.loads(found[1]))


async def test_the_worker_is_served_from_the_root_and_asked_for_anew_each_time(house: House) -> None:
    answer = await house.client.get("/sw.js")
    assert answer.status_code == 200
    assert answer.headers["content-type"].startswith("text/javascript")
    assert answer.headers["cache-control"] == "no-cache"
    assert told(answer.text)["version"] == shell().version


async def test_every_page_says_of_which_version_it_is(house: House) -> None:
    assert (await house.client.get("/")).headers["x-shell"] == shell().version


async def test_everything_that_a_live_page_loads_is_in_the_shell(house: House, case: str) -> None:
    kept = set(shell().files)
    for page in (f"/inside?case={case}", "/outside", "/board", f"/wall/{case}"):
        text = (await house.client.get(page, headers=house.as_("inside", "outside", "board"))).text
        assert set(re.findall(r'(?:src|href)="(/static/[^"?]+)"', text)) <= kept, page
    for file in kept:
        assert (await house.client.get(file)).status_code == 200


async def test_a_kept_page_keeps_the_policy_of_the_server(house: House) -> None:
    headers = told((await house.client.get("/sw.js")).text)["headers"]
    assert isinstance(headers, dict)
    assert {name.decode(): value.decode() for name, value in HEADERS}.items() <= headers.items()


def test_another_content_is_another_version_and_the_same_content_is_the_same(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def version_of(folder: Path) -> str:
        monkeypatch.setattr(module, "data", lambda name: folder)
        module._now.cache_clear()
        return shell().version

    top = tmp_path / "static"
    shutil.copytree(data("static") / "js", top / "js")
    before = version_of(top)
    shutil.copytree(top, tmp_path / "copy")
    assert version_of(tmp_path / "copy") == before
    (top / "js" / "clocks.js").write_text("// changed\n", "utf-8")
    assert version_of(top) != before
    monkeypatch.undo()
    module._now.cache_clear()
