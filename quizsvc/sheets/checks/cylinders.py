"""Cylinders, crank and piston: the crankshaft must go round and fire in the stated order."""

from __future__ import annotations

from collections.abc import Iterator

from quizsvc.errors import InputError
from quizsvc.sheets.finding import Finding, error, warning
from quizsvc.sheets.schema import LayoutKind
from quizsvc.sheets.sound import Sound
from quizsvc.sheets.state import compression_ratio_of, layout_of, slider_of

EVEN_DEG = 0.5  # firing intervals that differ by less count as even
ROD_TO_STROKE = (1.3, 2.5)  # from memory: 1.4 to 2.2 in road engines
COMPRESSION = (6.0, 23.0)  # from memory: 8 to 14 with spark, 14 to 22 without


def check_cylinders(sound: Sound) -> Iterator[Finding]:
    yield from _banks(sound)
    yield from _first_pin(sound)
    yield from _firing(sound)
    yield from _crank(sound)
    yield from _volumes(sound)


def _banks(sound: Sound) -> Iterator[Finding]:
    layout = sound.sheet.layout
    angles = [bank.angle_deg for bank in layout.banks]
    wanted = 1 if layout.kind is LayoutKind.INLINE else 2
    if len(angles) != wanted:
        yield error(
            ("layout", "banks"),
            len(angles),
            f"a layout of kind {layout.kind} has {wanted} bank{'s' if wanted > 1 else ''}.",
            "Correct the kind or the banks.",
        )
    elif wanted == 2 and not 0 < abs(angles[0] - angles[1]) <= 180:
        yield error(
            ("layout", "banks"),
            angles,
            "the two banks stand in the same direction, or more than 180° apart.",
            "Give each bank's axis from straight up, positive in the running direction.",
        )
    elif layout.kind is LayoutKind.FLAT and abs(angles[0] - angles[1]) != 180:
        yield error(
            ("layout", "banks"), angles, "the banks of a flat engine stand 180° apart.", "Use ±90."
        )


def _first_pin(sound: Sound) -> Iterator[Finding]:
    for index, cylinder in enumerate(sound.sheet.layout.cylinders):
        if cylinder.number == 1 and cylinder.pin_deg % 360 != 0:
            yield error(
                ("layout", "cylinders", index, "pin_deg"),
                cylinder.pin_deg,
                "crankpins are counted from that of cylinder 1.",
                "Set it to 0 and turn the others by as much.",
            )


def _firing(sound: Sound) -> Iterator[Finding]:
    order = sound.sheet.layout.firing_order
    if sound.layout is None:
        yield error(
            ("layout", "firing_order"),
            order,
            _refusal(sound),
            "Check the firing order, the crankpin and the bank angles.",
        )
        return
    intervals = sound.layout.intervals_deg
    if max(intervals) - min(intervals) > EVEN_DEG:
        shown = ", ".join(f"{interval:g}°" for interval in intervals)
        yield warning(
            ("layout", "firing_order"),
            order,
            f"the engine fires unevenly, at intervals of {shown}.",
            "Right for an odd-firing engine; otherwise check the crankpin angles.",
        )


def _crank(sound: Sound) -> Iterator[Finding]:
    piston = sound.sheet.piston
    if sound.slider is None:
        yield error(
            ("piston", "rod_mm"),
            piston.rod_mm,
            _crank_refusal(sound),
            "Check rod, stroke and pin offset.",
        )
        return
    ratio = piston.rod_mm / piston.stroke_mm
    if not ROD_TO_STROKE[0] <= ratio <= ROD_TO_STROKE[1]:
        yield warning(
            ("piston", "rod_mm"),
            piston.rod_mm,
            f"rod over stroke is {ratio:.2f}; usual is {ROD_TO_STROKE[0]:g} to "
            f"{ROD_TO_STROKE[1]:g}.",
            "Check rod and stroke.",
        )


def _volumes(sound: Sound) -> Iterator[Finding]:
    piston = sound.sheet.piston
    if piston.gasket_bore_mm < piston.bore_mm:
        yield error(
            ("piston", "gasket_bore_mm"),
            piston.gasket_bore_mm,
            f"the head gasket would stand into the bore of {piston.bore_mm:g} mm.",
            "Give the diameter of the gasket's hole.",
        )
    try:
        ratio = compression_ratio_of(sound.sheet)
    except InputError:
        yield error(
            ("piston", "dish_cc"),
            piston.dish_cc,
            "no room is left above the piston at TDC.",
            "Check chamber, dome and deck.",
        )
        return
    if not COMPRESSION[0] <= ratio <= COMPRESSION[1]:
        yield warning(
            ("piston", "chamber_cc"),
            piston.chamber_cc,
            f"the compression ratio comes to {ratio:.1f}.",
            "Check chamber, gasket, deck and dish.",
        )


def _refusal(sound: Sound) -> str:
    try:
        layout_of(sound.sheet)
    except InputError as fault:
        return fault.problem
    return ""


def _crank_refusal(sound: Sound) -> str:
    try:
        slider_of(sound.sheet)
    except InputError as fault:
        return fault.problem
    return ""
