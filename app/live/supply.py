"""Respirators left by model and size: what was counted, less what cases used since, and how many days that lasts."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from app.bedside.protection import burn_rate_per_day, days_of_supply
from app.kit.tables import Respirator, RespiratorStock
from app.live.used import Worn

WINDOWS_D = (28, 7)
"""The windows over which use is counted [days]; none under 7, as isolation-values 3.6 asks."""


@dataclass(frozen=True, slots=True)
class Supply:
    """One model and size.

    left        counted, less used since; never below zero
    rate        used a day over the longer window [1/d]; rate_recent over the last 7 days
    days        (fewest, most) days that it lasts by the two rates, rounded down; None while nothing was used
    short       at or under the count at which more is ordered, or none left
    """

    model: str
    size: str
    places: tuple[str, ...]
    counted: int
    counted_at: datetime
    used_since: int
    left: int
    rate: float
    rate_recent: float
    days: tuple[int, int] | None
    reorder_at: int | None

    @property
    def short(self) -> bool:
        return self.left == 0 or (self.reorder_at is not None and self.left <= self.reorder_at)


def supply(
    stock: Sequence[tuple[Respirator, RespiratorStock]],
    worn: Iterable[Worn],
    sizes: Mapping[tuple[str, str], str],
    now: datetime,
) -> list[Supply]:
    """Every model and size that was ever counted; what is short first.

    worn   everything put on since the longer window began, or since the oldest count
    sizes  (person, model) -> the size in which they were tested; unknown sizes count for a model of one size
    """
    uses = [(one.model, sizes.get((one.p, one.model), ""), one.at) for one in worn]
    groups: dict[tuple[str, str], list[RespiratorStock]] = {}
    for model, count in stock:
        groups.setdefault((model.model, count.size), []).append(count)
    found = [_one(model, size, counts, uses, now) for (model, size), counts in groups.items()]
    return sorted(found, key=lambda one: (not one.short, one.model, one.size))


def _one(
    model: str, size: str, counts: Sequence[RespiratorStock], uses: Sequence[tuple[str, str, datetime]], now: datetime
) -> Supply:
    mine = [at for used_model, used_size, at in uses if (used_model, used_size) == (model, size)]
    oldest = min(one.counted_at for one in counts)
    counted, since = sum(one.counted for one in counts), sum(at > oldest for at in mine)
    left = max(0, counted - since)
    rates = [_rate(sum(at > now - timedelta(days=days) for at in mine), days) for days in WINDOWS_D]
    days = sorted(
        int(days_of_supply(stock=left, burn_rate_per_day=rate, deliveries=None).value) for rate in rates if rate
    )
    reorder = [one.reorder_at for one in counts if one.reorder_at is not None]
    return Supply(
        model, size, tuple(sorted(one.place for one in counts if one.place)), counted, oldest, since, left, rates[0],
        rates[1], (days[0], days[-1]) if days else None, sum(reorder) if reorder else None,
    )  # fmt: skip


def _rate(used: int, days: int) -> float:
    return burn_rate_per_day(open=used, received=0, close=0, days=days).value


def unsized(worn: Iterable[Worn], sizes: Mapping[tuple[str, str], str], since: datetime) -> Counter[str]:
    """Model -> how many were put on since a moment by people whose size nobody recorded."""
    return Counter(one.model for one in worn if one.at > since and not sizes.get((one.p, one.model)))
