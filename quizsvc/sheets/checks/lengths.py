"""Chain length against the path: whole, even, and neither too short nor too long."""

from __future__ import annotations

from collections.abc import Iterator

from quizsvc.sheets.finding import Finding, error, warning
from quizsvc.sheets.schema import Drive
from quizsvc.sheets.sound import Routed, Sound
from quizsvc.sheets.state import loop_pitches

FITS_PITCHES = 0.1  # 0.8 mm of an 8 mm chain; the tensioner or the chain's play takes that up
TENSIONER_PITCHES = 1.0  # slack beyond this is a wrong count rather than a tensioner's work


def check_lengths(sound: Sound) -> Iterator[Finding]:
    for routed in sound.routed:
        yield from _even(routed)
        yield from _fits(sound, routed)


def _even(routed: Routed) -> Iterator[Finding]:
    drive = routed.drive
    if drive.kind == "chain" and drive.pins % 2:
        yield warning(
            (*routed.place, "pins"),
            drive.pins,
            "an odd number of pins needs a cranked link to close the chain.",
            f"Usual is an even number: {drive.pins - 1} or {drive.pins + 1}.",
        )


def _fits(sound: Sound, routed: Routed) -> Iterator[Finding]:
    drive = routed.drive
    path = loop_pitches(sound.sheet, drive.id)
    over = path - drive.pins
    if abs(over) <= FITS_PITCHES:
        return
    place = (*routed.place, "pins")
    remedy = _remedy(drive, _nearest(path, even=drive.kind == "chain"))
    if over > 0:
        yield error(
            place,
            drive.pins,
            f"the {drive.kind} is too short: its path takes {path:.2f} pitches, {over:.2f} more "
            f"than it has ({over * drive.pitch_mm:.1f} mm).",
            remedy,
        )
        return
    slack = -over
    found = (
        f"the {drive.kind} is {slack:.2f} pitches ({slack * drive.pitch_mm:.1f} mm) longer than "
        f"its path of {path:.2f} pitches."
    )
    if drive.tensioner is None or slack > TENSIONER_PITCHES:
        yield error(place, drive.pins, found, remedy)
    else:
        yield warning(
            place, drive.pins, found, f"Move {drive.tensioner.wheel} until it takes that up."
        )


def _remedy(drive: Drive, nearest: int) -> str:
    if nearest == drive.pins:
        return "Correct the teeth or the places of the wheels."
    what = "teeth" if drive.kind == "belt" else "pins"
    return f"State {nearest} {what}, or correct the places of the wheels."


def _nearest(pitches: float, *, even: bool) -> int:
    return 2 * round(pitches / 2) if even else round(pitches)
