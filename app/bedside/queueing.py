"""Capacity: how long work waits for the scarcest room, team, runner or hood.

A server is whatever is scarcest; its service time includes donning, clearance and doffing. Arrivals are random, service
times exponential, nobody gives up, and the system is steady: a lower bound on trouble.
"""

from __future__ import annotations

from math import exp

from app.base.calculation import Graded, calculation
from app.base.checks import NotUnderstood, OutOfRange, plain
from app.base.inputs import Input

_SERVERS = Input("servers", "", "rooms, teams or sets", kind="whole", least=1, most=2000)
_OFFERED = Input("offered_erlang", "erlang", "arrivals per hour x hours of service", least=0, most=5000)
_LAMBDA = Input("lambda", "1/h", "arrivals", param="lambda_", above=0, most=1e6)
_MU = Input("mu", "1/h", "services per server", above=0, most=1e6)
_ROUGH = "Steady state with exponential times: a lower bound on trouble."
_SOURCE = "Erlang formulas; Gross & Harris; Hillier & Lieberman"


def _blocking(servers: int, offered: float) -> float:
    blocked = 1.0
    for count in range(1, servers + 1):
        blocked = offered * blocked / (count + offered * blocked)
    return blocked


def _waiting(servers: int, offered: float) -> float:
    blocked = _blocking(servers, offered)
    return blocked / (1 - offered / servers * (1 - blocked))


def _full(most: float, load: float) -> bool:
    """Whether a load fills what is there. A load of one in tenths must not pass for 0.999 999 999 999 9."""
    return round(load / most, 12) >= 1


@calculation(
    _SERVERS,
    _OFFERED,
    unit="probability of waiting",
    formula="B / (1 - rho (1 - B))",
    source=_SOURCE,
    evidence="K",
    cautions=(_ROUGH,),
)
def erlang_c(*, servers: int, offered_erlang: float) -> Graded[float]:
    """Probability that work must wait."""
    if _full(servers, offered_erlang):
        raise OutOfRange(
            f"offered_erlang = {plain(offered_erlang)} erlang on {servers} servers is not stable: it must be below "
            f"{servers} erlang."
        )
    tight = ("Above 90 % use: a 5 % rise in arrivals can double the wait.",) if offered_erlang > 0.9 * servers else ()
    return Graded(_waiting(servers, offered_erlang), warnings=tight)


@calculation(
    _SERVERS,
    _OFFERED,
    unit="blocking",
    formula="B(0) = 1; B(i) = a B(i-1) / (i + a B(i-1))",
    source=_SOURCE,
    evidence="K",
    cautions=("Work that finds no server is lost, it does not wait.",),
)
def erlang_b(*, servers: int, offered_erlang: float) -> float:
    """Probability that work is turned away."""
    return _blocking(servers, offered_erlang)


def _must_wait(lambda_: float, mu: float, servers: int) -> float:
    if _full(servers * mu, lambda_):
        raise OutOfRange(
            f"lambda = {plain(lambda_)} 1/h on servers = {servers} with mu = {plain(mu)} 1/h each is not stable: "
            f"lambda must be below {plain(servers * mu)} 1/h."
        )
    return _waiting(servers, lambda_ / mu)


def _wait_h(lambda_: float, mu: float, servers: int) -> float:
    return _must_wait(lambda_, mu, servers) / (servers * mu - lambda_)


@calculation(
    _LAMBDA, _MU, _SERVERS, unit="h", formula="C / (c mu - lambda)", source=_SOURCE, evidence="M", cautions=(_ROUGH,)
)
def mmc_Wq_h(*, lambda_: float, mu: float, servers: int) -> float:
    """Mean wait."""
    return _wait_h(lambda_, mu, servers)


@calculation(_LAMBDA, _MU, _SERVERS, unit="", formula="lambda Wq", source=_SOURCE, evidence="M", cautions=(_ROUGH,))
def mmc_Lq(*, lambda_: float, mu: float, servers: int) -> float:
    """Mean number waiting."""
    return lambda_ * _wait_h(lambda_, mu, servers)


@calculation(_LAMBDA, _MU, _SERVERS, unit="", formula="Erlang C", source=_SOURCE, evidence="M", cautions=(_ROUGH,))
def mmc_P_wait(*, lambda_: float, mu: float, servers: int) -> float:
    """Probability that work must wait, from rates."""
    return _must_wait(lambda_, mu, servers)


@calculation(
    _LAMBDA, _MU, _SERVERS, unit="", formula="lambda (Wq + 1/mu)", source=_SOURCE, evidence="C", cautions=(_ROUGH,)
)
def mmc_L(*, lambda_: float, mu: float, servers: int) -> float:
    """Mean number waiting or in service."""
    return lambda_ * _wait_h(lambda_, mu, servers) + lambda_ / mu


@calculation(
    _LAMBDA,
    _MU,
    _SERVERS,
    Input("t_h", "h", least=0, most=10_000),
    unit="probability",
    formula="C exp(-(c mu - lambda) t)",
    source=_SOURCE,
    evidence="K",
    cautions=(_ROUGH,),
)
def mmc_P_wait_longer_than(*, lambda_: float, mu: float, servers: int, t_h: float) -> float:
    """Probability of waiting longer than a time."""
    return _must_wait(lambda_, mu, servers) * exp(-(servers * mu - lambda_) * t_h)


@calculation(
    Input("throughput_per_h", "1/h", optional=True, above=0, most=1e6),
    Input("mean_time_in_system_h", "h", optional=True, above=0, most=1e6),
    Input("mean_in_system", "", "mean number in the system", optional=True, above=0, most=1e9),
    unit="L or W",
    formula="L = lambda W, whichever of the three is missing",
    source="Little's law",
    evidence="K",
    cautions=("Any stable system, over a long time.",),
)
def littles_law(
    *, throughput_per_h: float | None, mean_time_in_system_h: float | None, mean_in_system: float | None
) -> Graded[float]:
    """The third of number, throughput and time from the other two; `solved_for` names it."""
    if throughput_per_h and mean_time_in_system_h and mean_in_system is None:
        return Graded(throughput_per_h * mean_time_in_system_h, more={"solved_for": "mean_in_system"})
    if throughput_per_h and mean_in_system and mean_time_in_system_h is None:
        return Graded(mean_in_system / throughput_per_h, more={"solved_for": "mean_time_in_system_h"})
    if mean_in_system and mean_time_in_system_h and throughput_per_h is None:
        return Graded(mean_in_system / mean_time_in_system_h, more={"solved_for": "throughput_per_h"})
    raise NotUnderstood(
        "Exactly two inputs are needed.",
        do="Give two of throughput_per_h [1/h], mean_time_in_system_h [h], mean_in_system.",
    )
