"""Clients of the bench: taps on raw keep-alive sockets, and a swarm of open streams read by one epoll loop.

A tap is known by its own `device_at`: every page that shows the newest figure shows that moment too. A stream has a tap
once it has read a moment at or after the tap's, so a server that puts several taps into one push is measured fairly.
Loopback only; every wait has an end.
"""

from __future__ import annotations

import gc
import re
import select
import socket
import time
from bisect import bisect_left
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from random import Random

HOST = "127.0.0.1"
NS = time.perf_counter_ns
PATIENCE_S = 20.0
TAKEN_IN = 128 * 1024
"""What the kernel keeps for a stream that is not read yet [bytes]: more would be a queue that no server sees."""
MOMENT = re.compile(rb"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{6}Z")
SHOWN = tuple(re.compile(before + b"(" + MOMENT.pattern + b")") for before in (b"data: ", rb'since=\\?"'))
"""A moment since which a page says something is so: not one that a button offers, which may lie ahead. Each begins with
letters of its own, which are found ten times quicker than what begins with a choice: the client must keep up."""
Headers = Sequence[str]
MakeTap = Callable[[], tuple[int, bytes, bytes]]
"""Gives the next tap: place of its case, its moment, the body to post."""


def _newest(data: bytes) -> bytes:
    return max((moment for shown in SHOWN for moment in shown.findall(data)), default=b"")


class Line:
    """One keep-alive connection that asks and is answered."""

    def __init__(self, port: int, headers: Headers = ()) -> None:
        self.socket = socket.create_connection((HOST, port), PATIENCE_S)
        self.socket.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        self._head = "".join(f"{line}\r\n" for line in (f"host: {HOST}:{port}", *headers))

    def ask(self, method: str, path: str, body: bytes = b"") -> None:
        length = f"content-type: application/json\r\ncontent-length: {len(body)}\r\n" if method == "POST" else ""
        self.socket.sendall(f"{method} {path} HTTP/1.1\r\n{self._head}{length}\r\n".encode() + body)

    def answer(self) -> tuple[bytes, int]:
        """The body, and when its first byte came [ns]. Raises RuntimeError for any status but 2xx."""
        data, first, end = b"", 0, -1
        while end < 0:
            data += self._some()
            first = first or NS()
            end = data.find(b"\r\n\r\n")
        head, body = data[:end].lower(), data[end + 4 :]
        if data[9:10] != b"2":
            raise RuntimeError(f"the server answered {data[:300]!r}")
        if (said := re.search(rb"content-length: *(\d+)", head)) is not None:
            while len(body) < int(said[1]):
                body += self._some()
        return body, first

    def _some(self) -> bytes:
        got = self.socket.recv(262_144)
        if not got:
            raise RuntimeError("the server closed the connection")
        return got

    def close(self) -> None:
        self.socket.close()


@dataclass
class Swarm:
    """Open streams. `paths`: one a stream; `seen[fd]`: the newest moment that it has read."""

    port: int
    paths: Sequence[str]
    headers: Headers = ()
    lines: dict[int, socket.socket] = field(default_factory=dict)
    path_of: dict[int, str] = field(default_factory=dict)
    seen: dict[int, bytes] = field(default_factory=dict)
    bytes_read: int = 0

    def __post_init__(self) -> None:
        self.epoll = select.epoll()
        self._view = memoryview(bytearray(262_144))
        self._tail: dict[int, bytes] = {}
        head = "".join(f"{line}\r\n" for line in (f"host: {HOST}:{self.port}", *self.headers))
        for place, path in enumerate(self.paths):
            line = socket.socket()
            line.settimeout(PATIENCE_S)
            line.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, TAKEN_IN)  # before the connection: it says its window
            line.connect((HOST, self.port))
            line.sendall(f"GET {path} HTTP/1.1\r\naccept: text/event-stream\r\n{head}\r\n".encode())
            self.lines[line.fileno()], self.path_of[line.fileno()] = line, path
            if place % 50 == 49:  # stay inside the listen backlog
                time.sleep(0.01)
        for fd, line in self.lines.items():
            data = b""
            while b"\r\n\r\n" not in data:
                data += (got := line.recv(65_536))
                if not got or (len(data) > 12 and b" 200 " not in data[:15]):
                    raise RuntimeError(f"a stream answered {data[:300]!r}")
            self._tail[fd], self.seen[fd] = data[-64:], _newest(data)
            line.setblocking(False)
            self.epoll.register(fd, select.EPOLLIN)
        self.settle()

    def settle(self, quiet_s: float = 0.15) -> None:
        """Reads until nothing comes any more: what a stream is given when it joins is no push."""
        end = NS() + int(PATIENCE_S * 1e9)
        while NS() < end and (ready := self.epoll.poll(quiet_s)):
            for fd, _ in ready:
                self.read(fd)
        self.bytes_read = 0

    def read(self, fd: int) -> tuple[int, bytes] | None:
        """Reads what one stream has; gives when, and the newest moment, if that is newer than before."""
        try:
            count = self.lines[fd].recv_into(self._view)
        except BlockingIOError:
            return None
        at = NS()
        if not count:
            raise RuntimeError("the server closed a stream")
        self.bytes_read += count
        data = self._tail[fd] + bytes(self._view[:count])
        self._tail[fd] = data[-64:]
        newest = _newest(data)
        if newest <= self.seen[fd]:
            return None
        self.seen[fd] = newest
        return at, newest

    def close(self) -> None:
        for line in self.lines.values():
            line.close()
        self.epoll.close()


@dataclass(frozen=True)
class Loaded:
    """What an open-loop load gave [ns]: tap to its answer, and tap to the last stream of its case, in order of taps."""

    answers: list[int]
    lasts: list[int]
    push_bytes: float


def paced(
    port: int, post: str, streams: Sequence[str], make: MakeTap, *, rate: float, taps: int, headers: Headers = ()
) -> Loaded:
    """Sends `taps` taps at random moments, `rate` a second on the average, whether or not the server keeps up.

    streams  paths of the open streams; stream n shows the case n modulo the number of distinct paths
    Raises   RuntimeError when a tap never reached a stream of its case: no push may be missed
    """
    swarm = Swarm(port, streams, headers)
    lines = [Line(port, headers) for _ in range(16)]
    by_fd = {line.socket.fileno(): line for line in lines}
    for fd in by_fd:
        swarm.epoll.register(fd, select.EPOLLIN)
    cases = list(dict.fromkeys(streams))
    chance, due, when = Random(2026), 0.0, []
    for _ in range(taps):
        due += chance.expovariate(rate)
        when.append(int(due * 1e9))
    got: dict[int, list[tuple[int, bytes]]] = {fd: [] for fd in swarm.lines}
    sent: dict[int, int] = {}  # connection -> which tap
    begun: list[tuple[int, int, bytes]] = []  # per tap: when it was due, place of its case, its moment
    answers = [0] * taps
    missing: set[int] = set()
    free, next_tap, answered = list(lines), 0, 0
    gc.collect()
    gc.disable()
    try:
        start = NS()
        end = start + when[-1] + int(PATIENCE_S * 1e9)
        newest: dict[int, bytes] = {}
        while NS() < end:
            now = NS() - start
            while next_tap < taps and free and now >= when[next_tap]:
                line = free.pop(0)  # in turn: the server closes one that is idle for long
                case, moment, body = make()
                begun.append((start + when[next_tap], case % len(cases), moment))
                newest[case % len(cases)] = moment
                sent[line.socket.fileno()] = next_tap
                line.ask("POST", post, body)
                next_tap += 1
            if next_tap == taps and answered == taps:
                missing = {fd for fd, path in swarm.path_of.items() if _wants(swarm, fd, newest, cases.index(path))}
                if not missing:
                    break
            wait = min(0.05, max(0.0, (when[next_tap] - (NS() - start)) / 1e9)) if next_tap < taps else 0.05
            for fd, _ in swarm.epoll.poll(wait, 64):
                if fd in by_fd:
                    by_fd[fd].answer()
                    which = sent.pop(fd)
                    answers[which] = NS() - begun[which][0]
                    answered += 1
                    free.append(by_fd[fd])
                elif (read := swarm.read(fd)) is not None:
                    got[fd].append(read)
    finally:
        gc.enable()
        for line in lines:
            line.close()
        pushed = swarm.bytes_read
        swarm.close()
    if missing or answered < taps:
        late = f"within {PATIENCE_S:.0f} s of the last tap"
        raise RuntimeError(f"{late} {taps - answered} had no answer and {len(missing)} streams no newest push")
    pushes = sum(len(of) for of in got.values())
    return Loaded(answers, _lasts(swarm, cases, got, begun), pushed / pushes if pushes else 0.0)


def _wants(swarm: Swarm, fd: int, newest: dict[int, bytes], case: int) -> bool:
    return swarm.seen[fd] < newest.get(case, b"")


def _lasts(
    swarm: Swarm, cases: list[str], got: dict[int, list[tuple[int, bytes]]], begun: list[tuple[int, int, bytes]]
) -> list[int]:
    """Per tap whose case somebody watches: from when it was due until the last stream of its case had it [ns]."""
    moments = {fd: [moment for _, moment in of] for fd, of in got.items()}
    watching: dict[int, list[int]] = {}
    for fd, path in swarm.path_of.items():
        watching.setdefault(cases.index(path), []).append(fd)
    lasts = []
    for due, case, moment in begun:
        if case in watching:
            at = max(got[fd][bisect_left(moments[fd], moment)][0] for fd in watching[case])
            lasts.append(at - due)
    return lasts


def flood(
    port: int, post: str, make: MakeTap, *, seconds: float, headers: Headers = (), connections: int = 16
) -> float:
    """Posts one after the other on some connections, until the time is over and as many answers have come; gives
    answers a second."""
    lines = {}
    epoll = select.epoll()
    for _ in range(connections):
        line = Line(port, headers)
        lines[line.socket.fileno()] = line
        epoll.register(line.socket.fileno(), select.EPOLLIN)
        line.ask("POST", post, make()[2])
    done, start = 0, NS()
    while NS() - start < seconds * 1e9 or (done < connections and NS() - start < PATIENCE_S * 1e9):
        for fd, _ in epoll.poll(0.1):
            lines[fd].answer()
            done += 1
            lines[fd].ask("POST", post, make()[2])
    rate = done / ((NS() - start) / 1e9)
    for line in lines.values():
        line.answer()
        line.close()
    epoll.close()
    return rate
