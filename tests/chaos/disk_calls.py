"""Make a running server's disk slow, or let its writes fail, from outside.

strace holds the call that makes a write durable, or answers it with an error. Where no process
may be traced, the same is done where the driver commits, by a module that Python loads at its
start (`interposed/sitecustomize.py`); that is less, and the printed line says so.
"""

from __future__ import annotations

import shutil
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from threading import Event
from time import monotonic

from real_server import RealServer

CALLS = "fsync,fdatasync"
INTERPOSED = Path(__file__).parent / "interposed"
LONGEST = 30  # seconds until tracing has begun


class DiskCalls:
    """What becomes of the server's durable writes; nothing unless a block says so."""

    def __init__(self, folder: Path) -> None:
        self.traced = _may_trace()
        self._order = folder / "disk-order"
        self._order.write_text("")

    @property
    def how(self) -> str:
        return f"strace on {CALLS}" if self.traced else "where the driver commits"

    def environment(self) -> dict[str, str]:
        """Return what the server must be started with."""
        if self.traced:
            return {}
        return {"PYTHONPATH": str(INTERPOSED), "QUIZSVC_TRIAL_DISK": str(self._order)}

    @contextmanager
    def slow(self, server: RealServer, milliseconds: int) -> Iterator[None]:
        with self._while(server, f"delay_exit={milliseconds * 1000}", f"slow {milliseconds}"):
            yield

    @contextmanager
    def failing(self, server: RealServer) -> Iterator[None]:
        with self._while(server, "error=EIO", "fail"):
            yield

    @contextmanager
    def _while(self, server: RealServer, injected: str, ordered: str) -> Iterator[None]:
        if not self.traced:
            self._order.write_text(ordered)
            yield
            self._order.write_text("")
            return
        tracer = _tracer(server, injected)
        try:
            yield
        finally:
            tracer.terminate()  # lets the server go on as it was
            tracer.wait()


def _tracer(server: RealServer, injected: str) -> subprocess.Popen[bytes]:
    command = ["strace", "-f", "-qq", "-o", "/dev/null", "-e", f"trace={CALLS}"]
    command += ["-e", f"inject={CALLS}:{injected}"]
    for pid in server.workers():
        command += ["-p", str(pid)]
    tracer = subprocess.Popen(command, stderr=subprocess.DEVNULL)  # noqa: S603 - our own command
    until = monotonic() + LONGEST
    while not all(_is_traced(pid) for pid in server.workers()):
        assert monotonic() < until, "the server could not be traced"
        Event().wait(0.02)
    return tracer


def _is_traced(pid: int) -> bool:
    status = Path(f"/proc/{pid}/status").read_text()
    return "TracerPid:\t0\n" not in status


def _may_trace() -> bool:
    if shutil.which("strace") is None:
        return False
    done = subprocess.run(
        ["strace", "-qq", "-o", "/dev/null", "true"],  # noqa: S607 - wherever it is
        capture_output=True,
        check=False,
    )
    return done.returncode == 0
