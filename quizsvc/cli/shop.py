"""`quizsvc shop …`: the first shop of an installation, and who may add the others in it."""

from __future__ import annotations

from datetime import UTC, datetime

import click

from quizsvc.config import settings_from
from quizsvc.rules.actors import Role
from quizsvc.services.banks import bank_files, keep_bank
from quizsvc.services.house import House
from quizsvc.services.people import NewPerson, enrol, make_shop, shops
from quizsvc.services.sheets import keep_shipped_sheets


@click.group()
def shop() -> None:
    """Make shops, and the first person in each."""


@shop.command()
@click.argument("name")
@click.option("--manager", required=True, help="Full name of the first person.")
@click.option("--sign-in", "sign_in_name", required=True, help="What they sign in with.")
@click.option("--stock", is_flag=True, help="Also load the shipped engine sheets and banks.")
@click.password_option(help="Asked for when not given, so that no shell history keeps it.")
def add(name: str, manager: str, sign_in_name: str, password: str, *, stock: bool) -> None:
    """Make a shop with one person who is its manager and administrator.

    They sign in and invite everybody else.
    """
    now = datetime.now(UTC)
    house = House.open(settings_from())
    try:
        hashed = house.passwords.hashed(password, about=(name, manager, sign_in_name))
        first = NewPerson(manager, sign_in_name, hashed, {Role.MANAGER, Role.ADMINISTRATOR})
        with house.write() as connection:
            shop_id = make_shop(connection, name, now=now)
            enrol(connection, None, shop_id, first, now=now)
        if stock:
            _stock(house, now)
    finally:
        house.close()
    click.echo(f"{name} is made; {manager} signs in as {sign_in_name}.")


@shop.command("list")
def list_shops() -> None:
    """List the shops of this installation."""
    house = House.open(settings_from())
    try:
        for one in shops(house):
            click.echo(f"{one.name}{' (invented)' if one.invented else ''}")
    finally:
        house.close()


def _stock(house: House, now: datetime) -> None:
    """Load what comes with the program, for all shops; what is there already is left alone."""
    folder, media = house.settings.question_banks, house.settings.media
    with house.write() as connection:
        kept = keep_shipped_sheets(connection, folder / "engines", now=now)
        for path in bank_files(folder):
            keep_bank(connection, None, path, media=media, shop_id=None, now=now)
    for one in kept:
        if one.held_back:
            click.echo(
                f"{one.sheet_id}: revision {one.revision} that comes with the program was not "
                "stored, since an instructor here stored revisions of their own. Load its file "
                "as the next revision to take it over."
            )
