"""The sensors' signals on the bench: they pass a fixed line as the crank turns."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache

from quizsvc.figures import parts
from quizsvc.figures.bench_parts import Drawing, Part, Piece, Trace
from quizsvc.figures.scene import Anchor, Ink, Label, Lines, Shape, Style, Weight
from quizsvc.sheets.schema import EngineSheet
from quizsvc.timing.cycle import CYCLE_DEG

WIDTH, HEIGHT, SWING = 520.0, 46.0, 20.0  # of one trace: its room and from low to high
REACH_DEG = 180.0  # shown before and after the crank angle
SCALE = WIDTH / 2 / REACH_DEG


@lru_cache(32)
def drawing(sheet: EngineSheet) -> Drawing | None:
    """Return the traces; None if the sheet has no sensors."""
    if not sheet.sensors:
        return None
    high = HEIGHT * len(sheet.sensors) + 10
    now = Lines((((WIDTH / 2, 0), (WIDTH / 2, high)),), Style(Ink.ACCENT, weight=Weight.MEDIUM))
    pieces: tuple[Piece, ...] = (
        Part(tuple(_rules(sheet))),
        Trace(tuple(sensor.id for sensor in sheet.sensors), SCALE),
        Part((now,)),
        Part(tuple(_names(sheet))),
    )
    return Drawing("traces", WIDTH, high, pieces)


def signal_paths(sheet: EngineSheet, signals: Mapping[str, tuple[int, ...]]) -> dict[str, str]:
    """Return path data of each sensor's levels, over the cycle and as far beyond as is seen."""
    return {
        sensor.id: _path(signals[sensor.id], _low(place))
        for place, sensor in enumerate(sheet.sensors)
    }


def _low(place: int) -> float:
    return HEIGHT * (place + 1) - 2


def _path(levels: tuple[int, ...], low: float) -> str:
    step = CYCLE_DEG / len(levels)
    beyond = int(REACH_DEG / step)
    level = levels[-beyond % len(levels)]
    data = [f"M{_x(-beyond * step)} {_y(level, low)}"]
    for row in range(-beyond, len(levels) + beyond):
        here = levels[row % len(levels)]
        if here != level:
            data.append(f"H{_x(row * step)}V{_y(here, low)}")
            level = here
    return "".join([*data, f"H{_x((len(levels) + beyond) * step)}"])


def _x(deg: float) -> str:
    return f"{WIDTH / 2 + deg * SCALE:.1f}"


def _y(level: int, low: float) -> str:
    return f"{low - level * SWING:g}"


def _rules(sheet: EngineSheet) -> list[Shape]:
    lows = [_low(place) for place in range(len(sheet.sensors))]
    rules = tuple(((0.0, low + 5), (WIDTH, low + 5)) for low in lows[:-1])
    return [Lines(rules, parts.DIMENSION)] if rules else []


def _names(sheet: EngineSheet) -> list[Shape]:
    return [
        Label((6, _low(place) - SWING - 6), sensor.title, 14, Anchor.START, Ink.FAINT, halo=True)
        for place, sensor in enumerate(sheet.sensors)
    ]
