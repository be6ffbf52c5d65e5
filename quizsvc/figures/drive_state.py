"""What the front view of a drive shows: wheels, loop, marks, and the pins between marks."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import asin, degrees

from quizsvc.errors import InputError
from quizsvc.figures import parts
from quizsvc.figures.chain_line import pin_places
from quizsvc.figures.scene import Point
from quizsvc.figures.strand_rows import counting_words
from quizsvc.timing.path import DrivePath, PathWheel


@dataclass(frozen=True, slots=True)
class ViewWheel:
    """One wheel, in the order in which the running chain meets them; mm, y up.

    ``teeth`` is 0 for plain rollers, shoes and guides. ``back``: it presses on the chain's back.
    ``part`` is "sprocket", "pulley", "idler", "tensioner" or "guide". ``mark_deg`` is where its
    mark points, clockwise from straight up. ``label`` is written instead of the name in figures
    that ask for it ("A", "B").
    """

    name: str
    x_mm: float
    y_mm: float
    radius_mm: float
    teeth: int = 0
    back: bool = False
    part: str = "sprocket"
    mark_deg: float | None = None
    label: str = ""


@dataclass(frozen=True, slots=True)
class DriveView:
    """A drive seen from the chain end.

    ``pitch_mm`` is 0 for a plain belt, which has no pins. ``marked_pins`` are counted in running
    direction from the pin at the driver's mark. ``counted`` names two wheels between whose marks
    the pins, in running direction, are drawn solid. ``extension_mm`` and ``groove_at_mm``, where
    not negative, add the plunger behind the tensioner.
    """

    wheels: tuple[ViewWheel, ...]
    clockwise: bool
    pitch_mm: float
    driver: int = 0
    marked_pins: tuple[int, ...] = ()
    counted: tuple[str, str] | None = None
    extension_mm: float = -1.0
    groove_at_mm: float = -1.0
    note: str = ""


def describe(state: DriveView) -> str:
    turning = "clockwise" if state.clockwise else "anticlockwise"
    kind = "chain" if state.pitch_mm else "belt"
    wheels = " ".join(_described(wheel, number, state) for number, wheel in enumerate(state.wheels))
    first = (
        f"Front view of a {kind} drive from the chain end, the loop running {turning}, wheels in "
        f"the order in which the {kind} meets them. {wheels}"
    )
    links = f"{len(state.marked_pins)} marked links." if state.marked_pins else ""
    plunger = "The tensioner's plunger is drawn out of its body." if state.extension_mm >= 0 else ""
    counted = counting_words(counted_pins(state), *state.counted) if state.counted else ""
    return " ".join(filter(None, (first, links, counted, plunger, state.note)))


def _described(wheel: ViewWheel, number: int, state: DriveView) -> str:
    name = f"Wheel {wheel.label}" if wheel.label else wheel.name.capitalize()
    part = f", {wheel.part}" if not wheel.label and wheel.part not in wheel.name else ""
    teeth = f", {wheel.teeth} teeth" if wheel.teeth else ""
    side = ", pressing on the back" if wheel.back else ""
    drives = ", drives" if number == state.driver and not wheel.label else ""
    mark = f", mark at {parts.clock_words(wheel.mark_deg)}" if wheel.mark_deg is not None else ""
    return f"{name}{part}{teeth}{side}{drives}{mark}."


@lru_cache(maxsize=256)
def _path(wheels: tuple[ViewWheel, ...], clockwise: bool) -> DrivePath:  # noqa: FBT001 - cached
    return DrivePath(
        tuple(PathWheel(w.x_mm, w.y_mm, w.radius_mm, w.back) for w in wheels), clockwise
    )


def path_of(state: DriveView) -> DrivePath:
    """Return the drive's path as the core lays it."""
    return _path(state.wheels, state.clockwise)


def pins_drawn(state: DriveView) -> int:
    """Return how many pins the whole chain has: the path in pitches, to the nearest."""
    return round(path_of(state).pitches(state.pitch_mm))


def drawn_pitch(state: DriveView) -> float:
    """Return the pitch at which whole pins close the loop: the chain's, within 0.5/pins."""
    return state.pitch_mm * path_of(state).pitches(state.pitch_mm) / pins_drawn(state)


def first_pin(state: DriveView) -> float:
    """Return where pin 0 stands, in pitches: at the driver's mark, or where it meets the chain."""
    mark = state.wheels[state.driver].mark_deg
    if mark is None or not path_of(state).touches(state.driver, mark):
        return 0.0
    return path_of(state).pitches_to(state.driver, mark, drawn_pitch(state))


def loop(state: DriveView) -> list[Point]:
    """Return the places of all pins in mm, from pin 0 on in running direction."""
    pitch = drawn_pitch(state)
    return pin_places(path_of(state), pitch, first_pin(state), pins_drawn(state))


def seat_deg(state: DriveView, index: int) -> float:
    """Return a direction in which a pin sits on a wheel, so that teeth stand between pins."""
    path, pitch = path_of(state), drawn_pitch(state)
    arc, wheel = path.arcs[index], path.wheels[index]
    begin = path.pitches_to(index, arc.start_deg, pitch)
    ahead = (first_pin(state) - begin) % 1.0
    step = degrees(2 * asin(pitch / 2 / wheel.radius_mm))
    turn = 1 if state.clockwise != wheel.back else -1
    return arc.start_deg + turn * ahead * step


def counted_numbers(state: DriveView) -> list[int]:
    """Return the numbers of the pins from one counted mark to the other, both included."""
    if state.counted is None:
        return []
    pitch, path = drawn_pitch(state), path_of(state)
    start, end = (
        path.pitches_to(index, mark, pitch) - first_pin(state)
        for index, mark in (_marked(state, name) for name in state.counted)
    )
    total = pins_drawn(state)
    first, pins = round(start % total), round((end - start) % total)
    return [(first + pin) % total for pin in range(pins + 1)]


def counted_pins(state: DriveView) -> int:
    """Return the pins between the counted marks: not the one at the first, that at the second."""
    return len(counted_numbers(state)) - 1


def _marked(state: DriveView, name: str) -> tuple[int, float]:
    for index, wheel in enumerate(state.wheels):
        if wheel.name == name and wheel.mark_deg is not None:
            return index, wheel.mark_deg
    raise InputError(
        "pins are counted between two marked wheels of the drive.",
        field="counted",
        value=name,
        remedy="Name wheels that carry a mark.",
    )
