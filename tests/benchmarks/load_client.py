"""A client that costs little: ready-made requests over connections kept open, loopback only."""

from __future__ import annotations

import socket
import threading
from collections.abc import Sequence
from dataclasses import dataclass
from time import perf_counter

HOST = "127.0.0.1"


@dataclass(frozen=True)
class Phase:
    """What a run of requests took: seconds on the wall, and each request's own seconds."""

    seconds: float
    each: list[float]

    @property
    def per_second(self) -> float:
        return len(self.each) / self.seconds

    def share(self, part: float) -> float:
        """Return the time that this part of the requests stayed below."""
        return sorted(self.each)[min(len(self.each) - 1, int(part * len(self.each)))]


class Line:
    """One connection kept open."""

    def __init__(self, port: int) -> None:
        self.socket = socket.create_connection((HOST, port))
        self.socket.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)

    def close(self) -> None:
        self.socket.close()

    def send(self, request: bytes) -> tuple[int, bytes, bytes]:
        """Send a request; return status, head and body."""
        self.socket.sendall(request)
        received = b""
        while b"\r\n\r\n" not in received:
            received += self._more()
        head, body = received.split(b"\r\n\r\n", 1)
        while len(body) < _length(head):
            body += self._more()
        return int(head[9:12]), head, body

    def _more(self) -> bytes:
        if not (chunk := self.socket.recv(65536)):
            raise ConnectionError("the server closed the connection")
        return chunk


def _length(head: bytes) -> int:
    for line in head.lower().split(b"\r\n"):
        if line.startswith(b"content-length:"):
            return int(line[15:])
    return 0


def request(method: str, path: str, *, port: int, cookies: str = "", body: bytes = b"") -> bytes:
    lines = [f"{method} {path} HTTP/1.1", f"Host: {HOST}:{port}"]
    if cookies:
        lines.append(f"Cookie: {cookies}")
    if method == "POST":
        lines.append("Content-Type: application/x-www-form-urlencoded")
        lines.append(f"Content-Length: {len(body)}")
    return ("\r\n".join(lines) + "\r\n\r\n").encode() + body


def run_phase(lines: Sequence[Line], requests: Sequence[Sequence[bytes]], status: int) -> Phase:
    """Send each connection its requests, all connections at once; every status must be right."""
    each: list[float] = []
    wrong: list[object] = []
    gate = threading.Barrier(len(lines) + 1)

    def work(line: Line, own: Sequence[bytes]) -> None:
        gate.wait()
        for one in own:
            begun = perf_counter()
            got, head, _ = line.send(one)
            each.append(perf_counter() - begun)
            if got != status:
                wrong.append((got, head))

    threads = [
        threading.Thread(target=work, args=pair) for pair in zip(lines, requests, strict=True)
    ]
    for thread in threads:
        thread.start()
    gate.wait()
    begun = perf_counter()
    for thread in threads:
        thread.join()
    assert not wrong, wrong[0]
    return Phase(perf_counter() - begun, each)
