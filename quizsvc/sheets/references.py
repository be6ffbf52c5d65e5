"""Names in a sheet that must stand for something in the same sheet, and stand for one thing only.

The form of each value is the schema's matter, what the numbers mean together is the check's;
here only that every bank, shaft, wheel and pulley that is named exists, so that all other code
may look it up, and that the sheet holds for some build date at all.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator

from quizsvc.sheets.problems import Place, Problem, field_name
from quizsvc.sheets.schema import Drive, EngineSheet, ShaftKind, Wheel, WheelPart

Found = tuple[Place, Problem]
_WHEEL = "wheel of this drive"


def reference_problems(sheet: EngineSheet) -> list[Found]:
    """Return every name that leads nowhere or is used twice, with its place."""
    found = list(_layout_problems(sheet))
    found += _shaft_problems(sheet)
    found += _repeated(("drives",), (drive.id for drive in sheet.drives))
    for index, drive in enumerate(sheet.drives):
        found += _drive_problems(sheet, ("drives", index), drive)
    found += _sensor_problems(sheet)
    found += _pulley_problems(sheet)
    found += _build_date_problems(sheet)
    found += _repeated(("fasteners",), (fastener.id for fastener in sheet.fasteners))
    return found


def _layout_problems(sheet: EngineSheet) -> Iterator[Found]:
    layout = sheet.layout
    banks = {bank.id for bank in layout.banks}
    numbers = [cylinder.number for cylinder in layout.cylinders]
    place: Place = ("layout", "cylinders")
    yield from _repeated(("layout", "banks"), (bank.id for bank in layout.banks))
    yield from _repeated(place, numbers, "number")
    for index, cylinder in enumerate(layout.cylinders):
        yield from _unknown((*place, index, "bank"), cylinder.bank, banks, "bank")
    yield from _firing_order_problems(layout.firing_order, numbers)
    if 1 not in numbers:
        yield _problem(
            place, sorted(numbers), "there is no cylinder 1.", "Angles count from its TDC; add it."
        )


def _firing_order_problems(order: tuple[int, ...], numbers: list[int]) -> Iterator[Found]:
    place: Place = ("layout", "firing_order")
    twice = sorted(number for number, times in Counter(order).items() if times > 1)
    missing = sorted(set(numbers) - set(order))
    unknown = sorted(set(order) - set(numbers))
    remedy = "Name every cylinder once."
    if twice:
        yield _problem(place, order, f"cylinder {_and(twice)} is repeated.", remedy)
    if missing:
        yield _problem(place, order, f"cylinder {_and(missing)} is missing.", remedy)
    if unknown:
        yield _problem(place, order, f"there is no cylinder {_and(unknown)}.", remedy)
    if order and order[0] != 1 and not (twice or missing or unknown):
        yield _problem(
            place, order, "the firing order does not begin with cylinder 1.", "Begin it with 1."
        )


def _shaft_problems(sheet: EngineSheet) -> Iterator[Found]:
    banks = {bank.id for bank in sheet.layout.banks}
    yield from _repeated(("shafts",), (shaft.id for shaft in sheet.shafts))
    for index, shaft in enumerate(sheet.shafts):
        if shaft.bank is not None:
            yield from _unknown(("shafts", index, "bank"), shaft.bank, banks, "bank")
    cranks = [shaft.id for shaft in sheet.shafts if shaft.kind is ShaftKind.CRANK]
    if len(cranks) != 1:
        yield _problem(
            ("shafts",), cranks, f"there are {len(cranks)} crankshafts.", "State exactly one."
        )


def _drive_problems(sheet: EngineSheet, place: Place, drive: Drive) -> Iterator[Found]:
    yield from _repeated((*place, "wheels"), (wheel.id for wheel in drive.wheels))
    if len(drive.wheels) < 2:
        yield _problem(
            (*place, "wheels"), len(drive.wheels), "a drive needs two wheels.", "Add one."
        )
    yield from _driver_problems(place, drive)
    yield from _mark_pin_problems(place, drive)
    shafts = {shaft.id for shaft in sheet.shafts}
    for index, wheel in enumerate(drive.wheels):
        yield from _wheel_problems((*place, "wheels", index), wheel, shafts)


def _driver_problems(place: Place, drive: Drive) -> Iterator[Found]:
    wheels = {wheel.id for wheel in drive.wheels}
    turning = {wheel.id for wheel in drive.wheels if wheel.teeth and wheel.shaft}
    yield from _unknown((*place, "driver"), drive.driver, wheels, _WHEEL)
    if drive.driver in wheels - turning:
        yield _problem(
            (*place, "driver"),
            drive.driver,
            "the driver has no teeth or turns with no shaft.",
            "Name the sprocket that pulls.",
        )
    if drive.tensioner:
        yield from _unknown((*place, "tensioner", "wheel"), drive.tensioner.wheel, wheels, _WHEEL)


def _mark_pin_problems(place: Place, drive: Drive) -> Iterator[Found]:
    wheels = {wheel.id for wheel in drive.wheels}
    marked = {wheel.id for wheel in drive.wheels if wheel.mark}
    for index, count in enumerate(drive.mark_pins):
        for key, name in (("from_wheel", count.from_wheel), ("to_wheel", count.to_wheel)):
            at = (*place, "mark_pins", index, key)
            yield from _unknown(at, name, wheels, _WHEEL)
            if name in wheels - marked:
                yield _problem(
                    at, name, "this wheel has no mark.", "Give it one, or do not count to it."
                )


def _wheel_problems(place: Place, wheel: Wheel, shafts: set[str]) -> Iterator[Found]:
    if wheel.shaft is not None:
        yield from _unknown((*place, "shaft"), wheel.shaft, shafts, "shaft")
    if (wheel.teeth is None) == (wheel.radius_mm is None):
        yield _problem(
            (*place, "teeth"),
            wheel.teeth,
            "a wheel has either teeth or a radius.",
            "Give teeth for a toothed wheel, radius_mm for a plain roller, shoe or guide.",
        )
    if wheel.part is WheelPart.SPROCKET and wheel.shaft is None:
        yield _problem(
            (*place, "shaft"),
            None,
            "a sprocket turns a shaft.",
            "Name its shaft, or call it an idler.",
        )


def _sensor_problems(sheet: EngineSheet) -> Iterator[Found]:
    shafts = {shaft.id for shaft in sheet.shafts}
    yield from _repeated(("sensors",), (sensor.id for sensor in sheet.sensors))
    for index, sensor in enumerate(sheet.sensors):
        yield from _unknown(("sensors", index, "shaft"), sensor.shaft, shafts, "shaft")
        if sensor.missing >= sensor.places:
            yield _problem(
                ("sensors", index, "missing"),
                sensor.missing,
                f"no tooth is left of {sensor.places}.",
                "Give fewer missing teeth.",
            )


def _pulley_problems(sheet: EngineSheet) -> Iterator[Found]:
    pulleys = {pulley.id for pulley in sheet.pulleys}
    yield from _repeated(("pulleys",), (pulley.id for pulley in sheet.pulleys))
    if sheet.accessory_belt:
        for index, name in enumerate(sheet.accessory_belt.order):
            yield from _unknown(("accessory_belt", "order", index), name, pulleys, "pulley")


def _build_date_problems(sheet: EngineSheet) -> Iterator[Found]:
    if sheet.built_from and sheet.built_to and sheet.built_from > sheet.built_to:
        yield _problem(
            ("built_to",),
            sheet.built_to.isoformat(),
            f"it lies before built_from, {sheet.built_from}.",
            "Give the first build date first, or leave one of them out.",
        )


def _repeated(place: Place, names: Iterable[str | int], key: str = "id") -> Iterator[Found]:
    seen: set[str | int] = set()
    for index, name in enumerate(names):
        if name in seen:
            yield _problem(
                (*place, index, key), name, "this name is used twice.", "Give each its own."
            )
        seen.add(name)


def _unknown(place: Place, name: str, known: set[str], what: str) -> Iterator[Found]:
    if name not in known:
        there_are = ", ".join(sorted(known)) or "none"
        yield _problem(place, name, f"there is no such {what}.", f"Use one of: {there_are}.")


def _problem(place: Place, value: object, message: str, remedy: str) -> Found:
    return place, Problem(field_name(place), value, message, remedy)


def _and(numbers: list[int]) -> str:
    return ", ".join(map(str, numbers))
