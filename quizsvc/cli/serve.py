"""`quizsvc serve`: run the server."""

from __future__ import annotations

import gc
import os
import shutil
import socket
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import click
from flask import Flask

from quizsvc.config import Settings, settings_from
from quizsvc.errors import UnavailableError
from quizsvc.services.house import House
from quizsvc.services.occupancy import occupied
from quizsvc.services.passwords import MOST_WAITING

HOST, PORT, WORKERS, THREADS = "127.0.0.1", 8484, 2, 3
# Threads that wait for their turn at the password check while the others work (web.lanes).
WAITING = MOST_WAITING + 4


@click.command()
@click.option("--host", default=HOST, show_default=True, help="Address to listen on.")
@click.option(
    "--port", default=PORT, show_default=True, type=click.IntRange(1, 65535), help="Port."
)
@click.option(
    "--workers", default=WORKERS, show_default=True, type=click.IntRange(1, 64), help="Processes."
)
@click.option(
    "--threads",
    default=THREADS,
    show_default=True,
    type=click.IntRange(1, 128),
    help="Pages worked on at the same moment in each process.",
)
def serve(host: str, port: int, workers: int, threads: int) -> None:
    """Run the server; stop it with Ctrl-C, answers being stored are finished first."""
    run(host, port, workers, threads)


def run(host: str, port: int, workers: int, threads: int) -> None:
    """Check the database, then serve until told to stop."""
    # The workers are processes of their own and read the environment anew.
    os.environ.setdefault("QUIZSVC_PUBLIC_URL", f"http://{_in_address(host)}:{port}")
    os.environ["QUIZSVC_THREADS"] = str(threads)
    settings = settings_from()
    House.open(settings).close()  # says what is wrong before any worker starts
    _refuse_taken(host, port)
    _share_metrics(settings)
    with occupied(settings.instance):
        _server(host, port, workers, threads).serve()


def _share_metrics(settings: Settings) -> None:
    """Give the workers one folder for their numbers, empty at the start."""
    if settings.metrics_token:
        folder = settings.instance / "metrics"
        shutil.rmtree(folder, ignore_errors=True)
        folder.mkdir()
        os.environ["PROMETHEUS_MULTIPROC_DIR"] = str(folder)


def _refuse_taken(host: str, port: int) -> None:
    """Say clearly that the address cannot be listened on; the server itself would fail late."""
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    with socket.socket(family, socket.SOCK_STREAM) as trial:
        trial.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            trial.bind((host, port))
        except OSError as error:
            raise UnavailableError(
                f"it cannot be listened on ({error.strerror or error}).",
                field="address",
                value=f"{host}:{port}",
                remedy="Choose another with --host and --port, or stop what runs there.",
            ) from error


def application() -> Flask:
    """Return the application of one worker."""
    with _built_to_stay():
        from quizsvc.jobs import Worker  # noqa: PLC0415
        from quizsvc.web.app import create_app  # noqa: PLC0415 - the command line stays quick
        from quizsvc.web.operating.observing import write_lines_as_json  # noqa: PLC0415

        write_lines_as_json()
        house = House.open(settings_from())
        app = create_app(house)
    Worker(house).start()
    return app


@contextmanager
def _built_to_stay() -> Iterator[None]:
    """Keep the collector of unreachable objects away from what lives as long as the process.

    A fifth of the start was spent looking for garbage among modules, and every full collection
    later would walk through them again in the middle of somebody's request.
    """
    gc.disable()
    try:
        yield
    finally:
        gc.freeze()
        gc.enable()


def _server(host: str, port: int, workers: int, threads: int) -> Any:
    from granian.constants import Interfaces  # noqa: PLC0415 - the command line stays quick
    from granian.log import logger  # noqa: PLC0415
    from granian.server import Server  # noqa: PLC0415

    # It warns of many threads; ours wait for password checks and never work at once (web.lanes).
    logger.addFilter(lambda line: "Python threads" not in line.getMessage())
    return Server(
        "quizsvc.cli.serve:application",
        address=host,
        port=port,
        interface=Interfaces.WSGI,
        workers=workers,
        blocking_threads=threads + WAITING,
        factory=True,
        websockets=False,
        workers_kill_timeout=10,
        # One process that dies, for want of memory say, must not end the others.
        respawn_failed_workers=True,
    )


def _in_address(host: str) -> str:
    """Return the host as it stands in an address people can open."""
    if host in {"0.0.0.0", "::"}:  # noqa: S104 - all interfaces, asked for by name
        return HOST
    return f"[{host}]" if ":" in host else host
