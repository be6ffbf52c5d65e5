"""Sensor wheels and the accessory belt."""

from __future__ import annotations

from collections.abc import Iterator

from quizsvc.errors import InputError
from quizsvc.sheets.accessory_state import belt_path_of
from quizsvc.sheets.finding import Finding, error, warning
from quizsvc.sheets.schema import ShaftKind
from quizsvc.sheets.sound import Sound
from quizsvc.sheets.state import shaft_of


def check_accessories(sound: Sound) -> Iterator[Finding]:
    yield from _sensors(sound)
    yield from _belt(sound)


def _sensors(sound: Sound) -> Iterator[Finding]:
    kinds = [shaft_of(sound.sheet, sensor.shaft).kind for sensor in sound.sheet.sensors]
    for index, (sensor, kind) in enumerate(zip(sound.sheet.sensors, kinds, strict=True)):
        if kind not in {ShaftKind.CRANK, ShaftKind.CAM}:
            yield warning(
                ("sensors", index, "shaft"),
                sensor.shaft,
                f"a tone wheel on a shaft of kind {kind} tells neither crank nor cam position.",
                "Check the shaft.",
            )


def _belt(sound: Sound) -> Iterator[Finding]:
    belt = sound.sheet.accessory_belt
    if belt is None:
        return
    if belt.tension_used_n >= belt.tension_new_n:
        yield warning(
            ("accessory_belt", "tension_used_n"),
            belt.tension_used_n,
            f"a belt that has run in is set lower than a new one ({belt.tension_new_n:g} N).",
            "Check the two settings.",
        )
    try:
        belt_path_of(sound.sheet)
    except InputError as fault:
        yield error(
            ("accessory_belt", "order"),
            list(belt.order),
            f"no belt can lie so: {fault.problem}",
            "Name the pulleys as the running belt meets them; check places and contact.",
        )
