"""`quizsvc demo`: an invented shop to look around in."""

from __future__ import annotations

import sys
from datetime import UTC, datetime

import click

from quizsvc.cli.serve import HOST, PORT, THREADS, WORKERS, run
from quizsvc.config import settings_from
from quizsvc.demo.keeping import Demo, ensure_demo

LEARNERS = 40


@click.command()
@click.option("--no-serve", is_flag=True, help="Make the shop, do not start the server.")
@click.option(
    "--people",
    default=LEARNERS,
    show_default=True,
    type=click.IntRange(1, 2000),
    help="Learners to invent.",
)
@click.option("--fresh", is_flag=True, help="Make it anew, even if it is there.")
@click.option("--host", default=HOST, show_default=True, help="Address to listen on.")
@click.option(
    "--port", default=PORT, show_default=True, type=click.IntRange(1, 65535), help="Port."
)
def demo(*, no_serve: bool, people: int, fresh: bool, host: str, port: int) -> None:
    """Create an invented shop with three months of practice, and serve it.

    A demo that is there is kept as it is. Everything in it is invented.
    """
    made = ensure_demo(
        settings_from(), learners=people, fresh=fresh, now=datetime.now(UTC), progress=_progress
    )
    _say(made, f"http://{host}:{port}")
    if not no_serve:
        run(host, port, WORKERS, THREADS)


def _progress(what: str, done: int, total: int) -> None:
    """Show one line per kind of work, counting up where somebody watches."""
    watched = sys.stdout.isatty()
    if watched or done == total:
        click.echo(f"\r{what}: {done} of {total}", nl=done == total)


def _say(made: Demo, address: str) -> None:
    state = "made" if made.made_now else "kept as it was"
    click.echo(f"Demo {state}: {made.people} invented people, {made.answers} answers.")
    click.echo(f"Sign in at {address} as")
    for role, (name, sign_in_name) in made.sign_ins.items():
        click.echo(f"  {role:<14} {sign_in_name:<24} {name}")
    click.echo(f"with the password {made.password}")
