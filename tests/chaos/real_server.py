"""The real server, `quizsvc serve`, as a process of its own that can be killed."""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
from collections.abc import Iterable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from threading import Event
from time import monotonic

HOST = "127.0.0.1"
LONGEST_START = 120  # seconds; a busy machine takes its time


def free_port() -> int:
    with socket.socket() as trial:
        trial.bind((HOST, 0))
        return trial.getsockname()[1]


class RealServer:
    """A server on one instance folder and port, started again as often as one likes."""

    def __init__(
        self, instance: Path, *, port: int = 0, workers: int = 2, **environment: str
    ) -> None:
        self.port = port or free_port()
        self.log = instance / f"server-{self.port}.log"
        self._environment = {"QUIZSVC_INSTANCE": str(instance), **environment}
        self._workers = workers
        self._process: subprocess.Popen[bytes] | None = None

    def start(self) -> float:
        """Start it and return the seconds until it said that it is ready."""
        begun = monotonic()
        command = [sys.executable, "-m", "quizsvc", "serve", "--port", str(self.port)]
        with self.log.open("ab") as log:
            self._process = subprocess.Popen(  # noqa: S603 - our own command
                [*command, "--workers", str(self._workers)],
                env=os.environ | self._environment,
                stdout=log,
                stderr=log,
                start_new_session=True,
            )
        self.wait_until_ready()
        return monotonic() - begun

    def wait_until_ready(self) -> None:
        until = monotonic() + LONGEST_START
        while monotonic() < until:
            assert self.running, f"the server ended: {self.log.read_text()[-2000:]}"
            with suppress(OSError):
                if self._says_ready():
                    return
            Event().wait(0.05)
        raise AssertionError(f"the server was never ready: {self.log.read_text()[-2000:]}")

    @property
    def running(self) -> bool:
        return self._process is not None and self._process.poll() is None

    def kill(self) -> None:
        """Kill every process of it at once, as a power cut would for the program."""
        os.killpg(self._process.pid, signal.SIGKILL)
        self._process.wait()
        self._wait_for_the_end_of(self.workers())

    @contextmanager
    def held_still(self) -> Iterator[None]:
        """Stop every process of it where it is, and let them go on afterwards."""
        os.killpg(self._process.pid, signal.SIGSTOP)
        try:
            yield
        finally:
            os.killpg(self._process.pid, signal.SIGCONT)

    def workers(self) -> list[int]:
        """Return the processes that answer requests."""
        found = []
        for stat in Path("/proc").glob("[0-9]*/stat"):
            with suppress(OSError):
                fields = stat.read_text().rpartition(")")[2].split()
                state, group = fields[0], int(fields[2])
                pid = int(stat.parent.name)
                if group == self._process.pid and pid != group and state != "Z":
                    found.append(pid)
        return sorted(found)

    def kill_a_worker(self, which: int) -> None:
        found = self._serving()
        if found:
            with suppress(ProcessLookupError):
                os.kill(found[which % len(found)], signal.SIGKILL)

    def stop(self) -> int:
        """Ask it to end, wait until it has, and return its exit status."""
        if self.running:
            self._process.send_signal(signal.SIGTERM)
        return self._process.wait(timeout=LONGEST_START)

    def _serving(self) -> list[int]:
        return [pid for pid in self.workers() if b"resource_tracker" not in _command(pid)]

    def _says_ready(self) -> bool:
        with socket.create_connection((HOST, self.port), timeout=10) as line:
            line.sendall(f"GET /ready HTTP/1.1\r\nHost: {HOST}:{self.port}\r\n\r\n".encode())
            return b" 200 " in line.recv(4096).splitlines()[0]

    @staticmethod
    def _wait_for_the_end_of(pids: Iterable[int]) -> None:
        for pid in pids:
            while Path(f"/proc/{pid}").exists() and not _is_a_zombie(pid):
                Event().wait(0.01)


def _command(pid: int) -> bytes:
    with suppress(OSError):
        return Path(f"/proc/{pid}/cmdline").read_bytes()
    return b""


def _is_a_zombie(pid: int) -> bool:
    with suppress(OSError):
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0] == "Z"
    return True
