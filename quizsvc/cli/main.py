"""The `quizsvc` command: finds its subcommands, and turns our errors into one clear line."""

from __future__ import annotations

from importlib import import_module

import click

from quizsvc.errors import QuizsvcError

# name -> (module, attribute, one line of help); modules are imported only when used, so that
# `quizsvc --help` stays quick.
COMMANDS: dict[str, tuple[str, str, str]] = {
    "audit": ("quizsvc.cli.audit", "audit", "Verify the audit log."),
    "backup": ("quizsvc.cli.keeping", "backup", "Write a backup while the server runs."),
    "bank": ("quizsvc.cli.bank", "bank", "Check and load hand-written question banks."),
    "calibrate": ("quizsvc.cli.calibrate", "calibrate", "Refit items and competence on the log."),
    "credential": (
        "quizsvc.cli.credential",
        "credential",
        "Verify a certificate's file without a connection.",
    ),
    "database": ("quizsvc.cli.database", "database", "Keep the database's tables up to date."),
    "demo": ("quizsvc.cli.demo", "demo", "Create an invented shop and serve it."),
    "doctor": ("quizsvc.cli.keeping", "doctor", "Look the installation over."),
    "items": ("quizsvc.cli.items", "items", "List families and draw items."),
    "outbox": ("quizsvc.cli.outbox", "outbox", "Send what waits, where sending is on."),
    "people": ("quizsvc.cli.people", "people", "Keep the rules on data about people."),
    "restore": ("quizsvc.cli.keeping", "restore", "Put a backup in place."),
    "secret": ("quizsvc.cli.secret", "secret", "Change the installation's secret."),
    "serve": ("quizsvc.cli.serve", "serve", "Run the server."),
    "shop": ("quizsvc.cli.shop", "shop", "Make shops, and the first person in each."),
    "sheet": ("quizsvc.cli.sheet", "sheet", "Check engine sheets."),
}


class Commands(click.Group):
    """A group that imports a command's module when the command is used."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002 - click's signature
        return sorted(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002
        if cmd_name not in COMMANDS:
            return None
        module, attribute, _ = COMMANDS[cmd_name]
        command: click.Command = getattr(import_module(module), attribute)
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:  # noqa: ARG002
        with formatter.section("Commands"):
            formatter.write_dl([(name, COMMANDS[name][2]) for name in sorted(COMMANDS)])

    def invoke(self, ctx: click.Context) -> object:
        try:
            return super().invoke(ctx)
        except QuizsvcError as error:
            raise click.ClickException(str(error)) from error


@click.group(cls=Commands)
@click.version_option(package_name="quizsvc")
def quizsvc() -> None:
    """Train and certify valve-train technicians with questions computed from engine sheets."""
