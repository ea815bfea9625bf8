"""The tablet's clock: whatever the network does, the recorded error contains the true one (static/js/clock_offset.js).

The script runs in a real browser on simulated clocks: the server's is true, the tablet's is off by a skew and drifts by
what a cheap crystal may (50 ppm), and each question is delayed on its way there and on its way back, each differently.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from playwright.sync_api import Browser, Page

pytestmark = pytest.mark.browser
SCRIPT = Path(__file__).parents[2] / "static" / "js" / "clock_offset.js"
PLACE = "http://127.0.0.1:9/"
HOUR_MS = 3_600_000
DRIFT_MOST = 50e-6
SIMULATED = """async ({ skew, drift, delays, away, slept }) => {
  let now = 1.8e12, asleep = 0, asked = 0; // true time [ms]; how long the tablet has slept
  const wall = () => now + skew + drift * (now - 1.8e12);
  Date.now = wall;
  performance.now = () => (now - 1.8e12) * (1 + drift) - asleep;
  window.fetch = async () => {
    const [there, back] = delays[asked++ % delays.length];
    if (there === null) throw new TypeError('no network');
    now += there;
    const t2 = now;
    now += 0.2;
    const t3 = now;
    now += back;
    return { json: async () => ({ t2, t3 }) };
  };
  const clock = await import(`/clock_offset.js?${Math.random()}`);
  await clock.probe(delays.length);
  now += away;
  now += slept;
  asleep += slept;
  const known = clock.knowledge();
  return { ...known, wanted: now - wall() };
}"""
delay = st.floats(0, 2900)


@pytest.fixture(scope="module")
def tablet(browser: Browser) -> Iterator[Page]:
    """A page that has the script and nothing else."""
    context = browser.new_context()
    script = SCRIPT.read_text("utf-8")
    context.route(
        f"{PLACE}**",
        lambda route: route.fulfill(
            content_type="text/javascript" if "clock_offset" in route.request.url else "text/html",
            body=script if "clock_offset" in route.request.url else "<!doctype html><title>clock</title>",
        ),
    )
    page = context.new_page()
    page.goto(PLACE)
    yield page
    context.close()


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    skew=st.floats(-HOUR_MS, HOUR_MS),
    drift=st.floats(-DRIFT_MOST, DRIFT_MOST),
    delays=st.lists(st.tuples(delay, delay), min_size=1, max_size=6),
    away=st.floats(0, 12 * HOUR_MS),
    slept=st.one_of(st.just(0.0), st.floats(1, HOUR_MS)),
)
def test_the_recorded_error_contains_the_true_one(tablet: Page, **simulated: Any) -> None:
    found = tablet.evaluate(SIMULATED, simulated)
    assert abs(found["offset_ms"] - found["wanted"]) <= found["error_ms"]


def test_the_best_of_several_questions_counts(tablet: Page) -> None:
    slow, quick = [900.0, 10.0], [4.0, 5.0]
    found = tablet.evaluate(
        SIMULATED, {"skew": 3_599_000.0, "drift": 0.0, "delays": [slow, slow, quick, slow], "away": 0.0, "slept": 0.0}
    )
    assert found["error_ms"] == pytest.approx(5.5, abs=0.1)
    assert found["offset_ms"] == pytest.approx(-3_599_000, abs=5.5)


def test_a_tablet_that_never_reached_the_server_knows_nothing_of_its_clock(tablet: Page) -> None:
    found = tablet.evaluate(SIMULATED, {"skew": 5.0, "drift": 0.0, "delays": [[None, None]], "away": 0.0, "slept": 0.0})
    assert (found["offset_ms"], found["error_ms"]) == (None, None)


def test_a_tablet_that_slept_says_so_in_its_error_until_it_has_asked_again(tablet: Page) -> None:
    simulated = {"skew": 0.0, "drift": 0.0, "delays": [[2.0, 2.0]], "away": 1000.0, "slept": 60_000.0}
    assert tablet.evaluate(SIMULATED, simulated)["error_ms"] >= 60_000
