"""What the front view of a drive shows: wheels, loop, marks, and the pins between marks."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import asin, degrees

from quizsvc.errors import InputError
from quizsvc.figures import parts
from quizsvc.figures.belt_line import offset_at
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

    ``pitch_mm`` is 0 for a plain belt, which has no pins. ``belt``: the pitch is that of a toothed
    belt; what is said of a chain's pins holds for its teeth. ``marked_pins`` are counted in running
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
    belt: bool = False

    @property
    def loop(self) -> str:
        """Say what runs over the wheels."""
        return "chain" if self.pitch_mm and not self.belt else "belt"

    @property
    def end(self) -> str:
        """Name the end from which it is seen."""
        return f"{self.loop} end"


def describe(state: DriveView) -> str:
    turning = "clockwise" if state.clockwise else "anticlockwise"
    kind = state.loop
    wheels = " ".join(_described(wheel, number, state) for number, wheel in enumerate(state.wheels))
    first = (
        f"Front view of a {kind} drive from the {state.end}, the loop running {turning}, wheels in "
        f"the order in which the {kind} meets them. {wheels}"
    )
    what = "teeth with a line on the belt" if state.belt else "marked links"
    links = f"{len(state.marked_pins)} {what}." if state.marked_pins else ""
    plunger = "The tensioner's plunger is drawn out of its body." if state.extension_mm >= 0 else ""
    pin = "tooth" if state.belt else "pin"
    counted = counting_words(counted_pins(state), *state.counted, pin) if state.counted else ""
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
    return round(_pitches_round(state))


def drawn_pitch(state: DriveView) -> float:
    """Return the pitch at which whole pins close the loop: the chain's, within 0.5/pins."""
    return state.pitch_mm * _pitches_round(state) / pins_drawn(state)


def _pitches_round(state: DriveView) -> float:
    path = path_of(state)
    return path.belt_pitches(state.pitch_mm) if state.belt else path.pitches(state.pitch_mm)


def _pitches_to(state: DriveView, index: int, deg: float) -> float:
    """Return the pitches from wheel 0 to a direction on a wheel: by arcs on a belt."""
    path, pitch = path_of(state), drawn_pitch(state)
    if state.belt:
        return path.distance_of(index, deg) / pitch
    return path.pitches_to(index, deg, pitch)


def first_pin(state: DriveView) -> float:
    """Return where pin 0 stands, in pitches: at the driver's mark, or where it meets the chain."""
    mark = state.wheels[state.driver].mark_deg
    if mark is None or not path_of(state).touches(state.driver, mark):
        return 0.0
    return _pitches_to(state, state.driver, mark)


def loop(state: DriveView) -> list[Point]:
    """Return the places of all pins in mm, from pin 0 on in running direction.

    A belt's teeth are given where they stand on the pitch line.
    """
    path, pitch, first = path_of(state), drawn_pitch(state), first_pin(state)
    if state.belt:
        return [offset_at(path, (first + tooth) * pitch, 0.0) for tooth in range(pins_drawn(state))]
    return pin_places(path, pitch, first, pins_drawn(state))


def seat_deg(state: DriveView, index: int) -> float:
    """Return a direction in which a pin sits on a wheel, so that teeth stand between pins."""
    path, pitch = path_of(state), drawn_pitch(state)
    arc, wheel = path.arcs[index], path.wheels[index]
    begin = _pitches_to(state, index, arc.start_deg)
    ahead = (first_pin(state) - begin) % 1.0
    turned = pitch / wheel.radius_mm
    step = degrees(turned if state.belt else 2 * asin(turned / 2))
    turn = 1 if state.clockwise != wheel.back else -1
    return arc.start_deg + turn * ahead * step


def counted_numbers(state: DriveView) -> list[int]:
    """Return the numbers of the pins from one counted mark to the other, both included."""
    if state.counted is None:
        return []
    start, end = (
        _pitches_to(state, index, mark) - first_pin(state)
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
