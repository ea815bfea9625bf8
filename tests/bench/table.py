"""The figures of a run as a table that people read."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from tests.bench.targets import targets


def lines(found: dict[str, Any]) -> Iterator[str]:
    """The table, line by line. Times in milliseconds; × is how many times the floor of the same run."""
    machine, flood, memory, many = found["machine"], found["throughput"], found["memory"], found["many"]
    yield f"{machine['cpus']} CPUs, Python {machine['python']}, SQLite {machine['sqlite']}, {machine['seconds']} s"
    yield f"share of all CPU time taken by others meanwhile: {machine['cpu_elsewhere']:.0%}"
    yield ""
    yield "tap to the last stream of its case [ms]           Doorside             floor                ×"
    yield "cases taps/s streams    bytes     best   median      p99   median      p99   median     p99"
    for one in found["tap_to_last"]:
        ours, floor, ratio = (one["last"][name] for name in ("doorside", "floor", "ratio"))
        yield (
            f"{one['cases']:5} {one['taps_per_s']:6} {one['subscribers']:7} {one['push_bytes']:8} {ours['best']:8.2f} "
            f"{ours['median']:8.2f} {ours['p99']:8.2f} {floor['median']:8.2f} {floor['p99']:8.2f} {ratio['median']:8} "
            f"{ratio['p99']:7}"
        )
    yield ""
    for one in found["long"]:
        yield (
            f"200 taps/s for {one['seconds']} s over {one['cases']} cases: median {one['last']['median']} ms, "
            f"p99 {one['last']['p99']} ms, last quarter by first {one['growth']}"
        )
    yield (
        f"durable taps/s {flood['durable_taps_per_s']}, no-op FastAPI {flood['noop_fastapi_per_s']} "
        f"(ratio {flood['ratio_to_noop_fastapi']}), with the body unread {flood['unread_fastapi_per_s']} "
        f"(ratio {flood['ratio_to_unread_fastapi']}), bare POST {flood['bare_posts_per_s']}, "
        f"one append {flood['one_append']['best']} ms"
    )
    each = memory["kib_per_subscriber"]
    yield f"memory of one of {memory['subscribers']} streams: {each['doorside']} KiB, floor {each['floor']} KiB"
    start = many["start"]
    told = ", ".join(f"{name} {start[name]['best']:.0f} ms (× {ratio})" for name, ratio in start["ratio"].items())
    yield f"start to first page: {told}; empty FastAPI {start['floor']['best']:.0f} ms"
    yield ""
    yield "pages, each after a tap [ms]                 first byte     page  with all it links"
    for stored, pages in found["pages"].items():
        yield from _pages(f"{stored} stored cases", pages)
    yield from _pages(f"{many['entries']:,} entries in other cases", many["with"])
    slower = ", ".join(f"{page} {ratio:.2f}" for page, ratio in many["ratio"].items())
    yield f"first byte beside that many entries, by the same without: {slower}"
    board = many["board"]
    yield (
        f"board of {board['live_cases']} live cases: first byte {board['first_byte']['best']} ms, "
        f"{board['ratio_to_one']} times that of one, {board['ratio_to_a_case_page']} times a case's own page"
    )
    yield ""
    yield "targets (no push was missed on any number of streams: a run that misses one stops)"
    yield from map(str, targets(found))


def _pages(title: str, pages: dict[str, Any]) -> Iterator[str]:
    for name, page in pages.items():
        first, whole, everything = (page[part]["best"] for part in ("first_byte", "page", "with_all_it_links"))
        yield f"{title:32} {name:18} {first:8.2f} {whole:8.2f} {everything:8.2f}"
