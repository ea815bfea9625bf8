"""Whatever JSON, or whatever else, is sent to /api/entries: never a failure of the server, never a chain that breaks."""

from __future__ import annotations

import asyncio
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import httpx
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from app.base.ids import new_id
from app.base.settings import load
from app.case.vocabulary.registry import KINDS, fields_of
from app.journal.verify import verify
from app.main import create_app
from tests.app.web.house import House

ANY_TEXT = st.text(st.characters(), max_size=30)  # half characters and NUL among them
ANY_FIGURE = st.one_of(
    st.integers(),
    st.integers(-(10**400), 10**400),
    st.floats(allow_nan=False, allow_infinity=False),
    st.booleans(),
    st.none(),
)
ANYTHING = st.recursive(
    st.one_of(ANY_TEXT, ANY_FIGURE),
    lambda inner: st.one_of(st.lists(inner, max_size=4), st.dictionaries(ANY_TEXT, inner, max_size=4)),
    max_leaves=12,
)
ENVELOPE = ("id", "case", "kind", "body", "station", "counter", "device_at", "role", "person", "offset_ms", "error_ms")


class Loop:
    """A server on a loop of its own, so that examples are plain calls."""

    def __init__(self, url: str, folder: Path) -> None:
        self.runner = asyncio.Runner()
        app = create_app(load(db=url, data=str(folder)))
        self.context = app.router.lifespan_context(app)
        self.runner.run(self.context.__aenter__())
        transport = httpx.ASGITransport(app, raise_app_exceptions=False)
        self.house = House(app, httpx.AsyncClient(transport=transport, base_url="http://door"))
        for kind in ("inside", "outside", "board", "desk"):
            self.house.pair(kind)
        self.case = self.runner.run(self.house.case())

    def post(self, body: bytes) -> httpx.Response:
        return self.runner.run(self.house.client.post("/api/entries", content=body, headers=self.house.as_("inside")))

    def pages(self) -> list[int]:
        """The status of every page that shows the case."""
        asked = (("/outside", "outside"), ("/board", "board"), (f"/inside?case={self.case}", "inside"))
        return [
            self.runner.run(self.house.client.get(page, headers=self.house.as_(kind))).status_code
            for page, kind in (*asked, (f"/case/{self.case}", "desk"))
        ]

    def close(self) -> None:
        self.runner.run(self.house.client.aclose())
        self.runner.run(self.context.__aexit__(None, None, None))
        self.runner.close()


@pytest.fixture
def server(sqlite_url: str, tmp_path: Path) -> Iterator[Loop]:
    loop = Loop(sqlite_url, tmp_path)
    yield loop
    loop.close()


def looked_at(answer: httpx.Response) -> list[dict[str, Any]]:
    """The results in an answer, each refusal with its words."""
    assert answer.status_code < 500, answer.text
    told = answer.json()
    if "results" not in told:
        assert {"error", "holds", "do"} == told.keys()
        return []
    for result in told["results"]:
        assert result["status"] in ("stored", "already", "refused")
        assert result["status"] != "refused" or (result["error"] and 400 <= result["code"] < 500), result
    return list(told["results"])


QUICK = settings(
    max_examples=60, deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow, HealthCheck.data_too_large],
)  # fmt: skip


@QUICK
@given(st.one_of(st.binary(max_size=60), ANYTHING.map(lambda one: json.dumps(one).encode())))
def test_no_body_makes_the_server_fail(server: Loop, body: bytes) -> None:
    looked_at(server.post(body))


@QUICK
@given(st.lists(st.dictionaries(st.sampled_from(ENVELOPE), ANYTHING, max_size=3), max_size=4))
def test_no_envelope_makes_the_server_fail(server: Loop, changes: list[dict[str, Any]]) -> None:
    taps = [server.house.tap(server.case) | change for change in changes]
    good = server.house.tap(server.case)
    results = looked_at(server.post(json.dumps([*taps, good]).encode()))
    assert len(results) == len(taps) + 1
    assert results[-1]["status"] == "stored"


BODIES = st.sampled_from(sorted(KINDS)).flatmap(
    lambda kind: st.tuples(
        st.just(kind),
        st.dictionaries(st.one_of(st.sampled_from(sorted(fields_of(kind))), st.just("set_spo2"), ANY_TEXT), ANYTHING, max_size=4),
    )
)  # fmt: skip


@QUICK
@given(st.lists(BODIES, max_size=4))
def test_no_body_of_a_known_kind_makes_the_server_or_a_page_fail(
    server: Loop, bodies: list[tuple[str, dict[str, Any]]]
) -> None:
    taps = [server.house.tap(server.case, kind, body, id=new_id()) for kind, body in bodies]
    good = server.house.tap(server.case)
    results = looked_at(server.post(json.dumps([*taps, good]).encode()))
    assert results[-1]["status"] == "stored"
    assert server.pages() == [200] * 4


WELL_FORMED: dict[str, Any] = {
    "str": st.text(st.characters(exclude_categories=("Cs",), exclude_characters="\0"), min_size=1, max_size=20),
    "float": st.floats(-1e9, 1e9) | st.integers(0, 100),
}


def fitting(schema: dict[str, Any]) -> st.SearchStrategy[Any]:
    """Values that a field of a kind accepts, from its JSON schema."""
    if "anyOf" in schema:
        return st.one_of([fitting(one) for one in schema["anyOf"]])
    if "enum" in schema:
        return st.sampled_from(schema["enum"])
    if "const" in schema:
        return st.just(schema["const"])
    match schema.get("type"):
        case "array":
            return st.lists(fitting(schema["items"]), max_size=3)
        case "number" | "integer":
            return st.integers(int(schema.get("minimum", 0)), int(schema.get("maximum", 100)))
        case "null":
            return st.none()
        case _:
            return WELL_FORMED["str"] | st.sampled_from(
                ["P1", "pass", "fail", "airborne", "tube", "q1", "D", "intubation", "tx"]
            )


def bodies_of(kind: str) -> st.SearchStrategy[tuple[str, dict[str, Any]]]:
    if kind == "role.assign":
        return st.tuples(
            st.just(kind),
            st.dictionaries(st.sampled_from(["TL", "AO", "DR", "SO"]), st.sampled_from(["P1", "P2", "P3"])),
        )
    schema = KINDS[kind].model_json_schema(by_alias=True)
    needed = {name: fitting(one) for name, one in schema["properties"].items() if name in schema.get("required", ())}
    spare = {name: fitting(one) for name, one in schema["properties"].items() if name not in needed}
    return st.tuples(st.just(kind), st.fixed_dictionaries(needed, optional=spare))


GOOD = st.sampled_from(sorted(set(KINDS) - {"net.down", "net.up"})).flatmap(bodies_of)


@QUICK
@given(st.lists(GOOD, min_size=1, max_size=8))
def test_whatever_the_vocabulary_allows_is_stored_and_every_page_still_draws(
    server: Loop, bodies: list[tuple[str, dict[str, Any]]]
) -> None:
    taps = [server.house.tap(server.case, kind, body) for kind, body in bodies]
    results = looked_at(server.post(json.dumps(taps).encode()))
    assert [result["status"] for result in results] == ["stored"] * len(taps), results
    assert server.pages() == [200] * 4
    assert server.house.live.cases.peek(server.case) is not None


@QUICK
@given(st.lists(GOOD, min_size=1, max_size=3))
def test_what_was_stored_verifies(server: Loop, bodies: list[tuple[str, dict[str, Any]]]) -> None:
    looked_at(server.post(json.dumps([server.house.tap(server.case, kind, body) for kind, body in bodies]).encode()))
    report = verify(server.house.live.engine, server.house.live.writer.steps._key.public)
    assert report.clean, report.finding
