"""Every still by the name of its file: the pictures that hand-written items show."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path

from quizsvc.figures.raster import render_png
from quizsvc.figures.scene import Scene
from quizsvc.figures.stills import (
    belt_setting,
    bolt_pattern,
    gasket_corner,
    guide_sections,
    lobe_and_valve,
    plunger_groove,
    pump_section,
    shaft_seal,
    signal_traces,
    slack_in_the_drive,
    tensioner_cutaway,
    thermostat_seat,
    worn_belts,
    worn_teeth,
)

SCALE = 2.0  # pixels to a picture unit: sharp on a phone's dense screen and in print

STILLS: Mapping[str, Callable[[], Scene]] = {
    "belt-setting.png": belt_setting.draw,
    "bolt-pattern.png": bolt_pattern.draw,
    "gasket-corner.png": gasket_corner.draw,
    "guide-sections.png": guide_sections.draw,
    "lobe-and-valve.png": lobe_and_valve.draw,
    "plunger-groove.png": plunger_groove.draw,
    "pump-section.png": pump_section.section,
    "pump-traces.png": pump_section.traces,
    "shaft-seal.png": shaft_seal.draw,
    "signal-traces.png": signal_traces.draw,
    "slack-after-fitting.png": slack_in_the_drive.fitting,
    "slack-before-reading.png": slack_in_the_drive.reading,
    "tensioner-lettered.png": tensioner_cutaway.lettered,
    "tensioner-section.png": tensioner_cutaway.plain,
    "thermostat-seat.png": thermostat_seat.draw,
    "worn-belts.png": worn_belts.draw,
    "worn-teeth.png": worn_teeth.draw,
}


def write_stills(folder: Path) -> list[Path]:
    """Draw every still into the folder and return the files whose content changed."""
    folder.mkdir(parents=True, exist_ok=True)
    changed = []
    for name, draw in STILLS.items():
        picture, path = render_png(draw(), SCALE), folder / name
        if not path.is_file() or path.read_bytes() != picture:
            path.write_bytes(picture)
            changed.append(path)
    return changed
