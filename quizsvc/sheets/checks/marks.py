"""Timing marks: they must line up in the stated position, with the stated pins between them."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from quizsvc.errors import InputError
from quizsvc.sheets.drive_words import words_of
from quizsvc.sheets.finding import Finding, error, warning
from quizsvc.sheets.problems import Place
from quizsvc.sheets.schema import Drive, MarkPins
from quizsvc.sheets.sound import Routed, Sound
from quizsvc.sheets.state import count_marks, shaft_turns, wheel_index, wheel_of
from quizsvc.sheets.valve_state import drive_tooth_deg

LINES_UP_PITCHES = 0.1  # nobody sees a mark that is 1° of a 36-tooth sprocket off
WRONG_PITCHES = 0.5  # nearer to another pin than to the stated one


def check_marks(sound: Sound) -> Iterator[Finding]:
    turning = shaft_turns(sound.sheet)
    for routed in sound.routed:
        if wheel_of(routed.drive, routed.drive.driver).shaft not in turning:
            continue  # said already: nothing turns this drive
        yield from _has_marks(routed)
        stated = {(c.from_wheel, c.to_wheel) for c in routed.drive.mark_pins}
        for index, count in enumerate(routed.drive.mark_pins):
            yield from _stated_count(sound, routed, index, count)
        for count in _neighbours(routed.drive):
            if (count.from_wheel, count.to_wheel) not in stated:
                yield from _unstated_count(sound, routed, count)
        yield from _marked_links(sound, routed)


def _has_marks(routed: Routed) -> Iterator[Finding]:
    turned = [(j, w) for j, w in enumerate(routed.drive.wheels) if w.shaft and w.teeth]
    for j, wheel in turned:
        if wheel.mark is None:
            yield warning(
                (*routed.place, "wheels", j, "mark"),
                wheel.id,
                f"this {words_of(routed.drive).wheel} has no timing mark.",
                "Give its mark, or no question on marks can be asked of it.",
            )


def _stated_count(sound: Sound, routed: Routed, index: int, count: MarkPins) -> Iterator[Finding]:
    place: Place = (*routed.place, "mark_pins", index, "pins")
    try:
        found = count_marks(sound.sheet, routed.drive, count)
    except InputError as fault:
        yield _not_on_wheel(place, routed.drive, count, fault)
        return
    off = found.off_pitches
    if abs(off) <= LINES_UP_PITCHES:
        return
    between = f"from the mark on {count.from_wheel} to that on {count.to_wheel}"
    said = f"{between} there are {found.pitches:.2f} pitches, not {count.pins}"
    crank = f"{abs(off) * drive_tooth_deg(sound.sheet, routed.drive.id):.1f}° of crank"
    if abs(off) > WRONG_PITCHES:
        yield error(
            place,
            count.pins,
            f"{said}: the marks cannot line up so ({off:+.2f} pitches, {crank}).",
            f"State {round(found.pitches)} {words_of(routed.drive).pins}, or correct the mark "
            "angles.",
        )
    else:
        yield warning(
            place,
            count.pins,
            f"{said}: with a {words_of(routed.drive).pin} at one mark the other is {off:+.2f} "
            f"pitches off ({crank}).",
            "Correct the mark angles or the places of the wheels.",
        )


def _unstated_count(sound: Sound, routed: Routed, count: MarkPins) -> Iterator[Finding]:
    """Marks without a stated count must still stand a whole number of pins apart."""
    at = wheel_index(routed.drive, count.to_wheel)
    place: Place = (*routed.place, "wheels", at, "mark")
    try:
        pitches = count_marks(sound.sheet, routed.drive, count).pitches
    except InputError:
        return  # such marks are read against the engine, not against the chain
    off, words = pitches - round(pitches), words_of(routed.drive)
    if abs(off) > LINES_UP_PITCHES:
        yield warning(
            place,
            count.to_wheel,
            f"between the marks on {count.from_wheel} and {count.to_wheel} there are "
            f"{pitches:.2f} pitches, no whole number: both cannot stand at a {words.pin}.",
            f"Correct the mark angles, or state the {words.pins} that are counted.",
        )


def _neighbours(drive: Drive) -> Iterator[MarkPins]:
    marked = [wheel.id for wheel in drive.wheels if wheel.mark and wheel.teeth]
    for start, end in pairwise(marked):
        yield MarkPins(from_wheel=start, to_wheel=end, pins=1)


def _marked_links(sound: Sound, routed: Routed) -> Iterator[Finding]:
    """Each marked link must lie at some sprocket's mark when the marks line up."""
    drive = routed.drive
    if not drive.marked_links or wheel_of(drive, drive.driver).mark is None:
        return
    at_marks = {0, *_pins_at_marks(sound, drive)}
    for index, pin in enumerate(drive.marked_links):
        if pin % drive.pins not in at_marks:
            yield warning(
                (*routed.place, "marked_links", index),
                pin,
                f"no {words_of(drive).wheel}'s mark stands at this {words_of(drive).pin}; marks "
                f"stand at {', '.join(map(str, sorted(at_marks)))}.",
                "Count from the driver's mark in the running direction.",
            )


def _pins_at_marks(sound: Sound, drive: Drive) -> Iterator[int]:
    for wheel in drive.wheels:
        if wheel.mark is None or wheel.id == drive.driver or wheel.teeth is None:
            continue
        count = MarkPins(from_wheel=drive.driver, to_wheel=wheel.id, pins=1)
        try:
            yield round(count_marks(sound.sheet, drive, count).pitches) % drive.pins
        except InputError:
            continue


def _not_on_wheel(place: Place, drive: Drive, count: MarkPins, fault: InputError) -> Finding:
    pins = words_of(drive).pins
    return error(
        place,
        count.pins,
        f"the {pins} from {count.from_wheel} to {count.to_wheel} cannot be counted: a mark stands "
        f"where the {drive.kind} does not lie on its wheel ({fault.value}°).",
        f"{fault.remedy or 'Move the mark.'}",
    )
