"""From pre-oxygenation to the attempts, and the tube of a child: R26, R27, R29-R31, R57."""

from __future__ import annotations

from app.case.rules import ask
from app.case.rules.notice import Found, Sight, Table
from app.case.state import State

_TUBE = "tube"


def short_preoxygenation(sight: Sight) -> Found:
    """R26: induction soon after pre-oxygenation began, or without any."""
    before = sight.before
    if not ask.is_induction(sight.h) or ask.inductions(before):
        return
    situation = "immediate" if ask.immediate(sight.after) else "other"
    started = before.last("preox.start")
    if started is None:
        yield sight.find("R26", situation, say="none")
        return
    seconds = (sight.h.at - started.at).total_seconds()
    if seconds < sight.limit("R26", "least_s"):
        yield sight.find("R26", situation, seconds=int(seconds))


def _capnography_on(state: State) -> bool:
    """Whether the waveform was seen, by what was last said of it."""
    said = (ask.body(h).capno for h in reversed(state.all("monitor.on")))
    return next((capno for capno in said if capno is not None), None) == "waveform"


def no_capnography(sight: Sight) -> Found:
    """R27: the airway step, or a bronchoscope in, without waveform capnography."""
    here = sight.h.kind == "br.in" or ask.is_airway_step(sight.before, sight.h)
    if here and not _capnography_on(sight.before):
        yield sight.find("R27", "absent", over=_capnography_on)


def _started(sight: Sight) -> tuple[int, bool]:
    """Number of the attempt that begins, and whether it is a new one."""
    n = len(sight.before.attempts) + 1 if sight.body.n is None else int(sight.body.n)
    return n, all(attempt.n != n for attempt in sight.before.attempts)


def long_attempt(sight: Sight) -> Found:
    """R29: an attempt open for long."""
    if len(sight.after.attempts) == len(sight.before.attempts):
        return  # started twice: the first start counts
    place, n = len(sight.after.attempts) - 1, sight.after.attempts[-1].n
    limit = sight.limit("R29", "attempt_s")

    def still(state: State) -> bool:
        return state.attempts[place].ended is None

    found = sight.find("R29", "long", f"n{n}", over=lambda s: not still(s), n=n, seconds=int(limit))
    yield sight.watch(limit, found, still)


def failed_attempt(sight: Sight) -> Found:
    """R30: the second attempt ends without a tube. How it ended must have been said."""
    ended = [
        now
        for now, was in zip(sight.after.attempts, sight.before.attempts, strict=True)
        if now.ended is not None and was.ended is None
    ]
    for attempt in ended:
        failed = attempt.result is not None and attempt.result.casefold() != _TUBE
        if failed and attempt.n == sight.limit("R30", "failed_attempts"):
            situation = "child" if ask.is_child(sight.after) else "adult"
            yield sight.find("R30", situation, f"n{attempt.n}", n=attempt.n, result=attempt.result)


def last_attempt(sight: Sight) -> Found:
    """R31: the last attempt allowed begins, or one beyond."""
    n, new = _started(sight)
    limit = int(sight.limit("R31", "attempt_limit"))
    if new and n >= limit:
        yield sight.find("R31", "start", f"n{n}", n=n, limit=limit)


def no_weight(sight: Sight) -> Found:
    """R57: a child's induction without a weight."""
    first = ask.is_induction(sight.h) and not ask.inductions(sight.before)
    if first and ask.is_child(sight.after) and sight.after.setup.weight_kg is None:
        yield sight.find("R57", "weight", over=lambda s: s.setup.weight_kg is not None)


def tube_size(sight: Sight) -> Found:
    """R57: a child's tube far from age/4 + 3.5 mm (PED20 [G], cuffed). Unknown years or size give no figure."""
    size, age = ask.first_figure(sight.body.size), ask.age_years(sight.after)
    if size is None or age is None or not ask.is_child(sight.after):
        return
    expected = age / 4 + 3.5
    if abs(size - expected) > sight.limit("R57", "tube_off_mm") + 1e-9:
        yield sight.find("R57", "size", size=size, expected=round(expected, 2))


RULES: Table = (
    (short_preoxygenation, ("drug.given",)),
    (no_capnography, (*ask.STEP_KINDS, "br.in")),
    (long_attempt, ("scope.start",)),
    (failed_attempt, ("scope.end",)),
    (last_attempt, ("scope.start",)),
    (no_weight, ("drug.given",)),
    (tube_size, ("tube.passed",)),
)
