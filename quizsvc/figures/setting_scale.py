"""A straight scale with named settings and a pointer: which setting belongs to which belt."""

from __future__ import annotations

from dataclasses import dataclass

from quizsvc.errors import InputError
from quizsvc.figures import parts
from quizsvc.figures.scene import (
    Area,
    Ink,
    Label,
    Lines,
    Polyline,
    Scene,
    Shape,
    Style,
    Weight,
)

LEFT, RIGHT, LINE = 48.0, 432.0, 132.0


@dataclass(frozen=True, slots=True)
class SettingScale:
    """A scale from ``low`` to ``high`` with named ``settings`` (value, word).

    ``pointer`` is where the pointer stands (None for none). ``right`` is the setting's word that
    the solution points out; ``names_shown`` False writes letters A, B, … instead of the words.
    """

    low: float
    high: float
    unit: str
    settings: tuple[tuple[float, str], ...]
    pointer: float | None = None
    right: str = ""
    names_shown: bool = True
    note: str = ""


def describe(state: SettingScale) -> str:
    settings = ", ".join(
        f"{_word(state, number)} at {parts.plain(value)} {state.unit}"
        for number, (value, _) in enumerate(state.settings)
    )
    pointer = (
        ""
        if state.pointer is None
        else f" The pointer stands at {parts.plain(state.pointer)} {state.unit}."
    )
    note = f" {state.note}" if state.note else ""
    return (
        f"A scale from {parts.plain(state.low)} to {parts.plain(state.high)} {state.unit} with "
        f"settings marked on it: {settings}.{pointer}{note}"
    )


def draw(state: SettingScale, *, solution: bool = False) -> Scene:
    if state.high <= state.low or any(
        not state.low <= value <= state.high for value, _ in state.settings
    ):
        raise InputError(
            "every setting lies on the scale.",
            field="settings",
            value=state.settings,
            remedy=f"Give values from {state.low} to {state.high}.",
        )
    shapes = [*_scale(state), *_settings(state, solution=solution), *_pointer(state)]
    words, height = parts.caption(state.note or f"Scale in {state.unit}.", 222)
    return Scene(parts.WIDTH, height, (*shapes, *words), describe(state))


def places(state: SettingScale) -> tuple[Area, ...]:
    """Return each setting as a place to point at."""
    return tuple(
        Area(_word(state, number), (_x(state, value), LINE - 20), 22.0)
        for number, (value, _) in enumerate(state.settings)
    )


def _x(state: SettingScale, value: float) -> float:
    return LEFT + (RIGHT - LEFT) * (value - state.low) / (state.high - state.low)


def _word(state: SettingScale, number: int) -> str:
    return state.settings[number][1] if state.names_shown else "ABCDEFGH"[number]


def _scale(state: SettingScale) -> list[Shape]:
    parts_of = [state.low + (state.high - state.low) * n / 20 for n in range(21)]
    ticks = tuple(
        ((_x(state, value), LINE), (_x(state, value), LINE + (12 if n % 5 == 0 else 6)))
        for n, value in enumerate(parts_of)
    )
    return [
        Lines((((LEFT, LINE), (RIGHT, LINE)), *ticks), parts.OPEN_EDGE, name="scale"),
        *(Label((_x(state, v), LINE + 31), parts.plain(v)) for v in parts_of[::5]),
    ]


def _settings(state: SettingScale, *, solution: bool) -> list[Shape]:
    shapes: list[Shape] = []
    for number, (value, word) in enumerate(state.settings):
        x = _x(state, value)
        chosen = solution and word == state.right
        ink = Ink.SOLUTION if chosen else Ink.MARK
        notch = ((x, LINE - 2), (x - 7, LINE - 18), (x + 7, LINE - 18))
        text = word if solution else _word(state, number)
        # Neighbours' words stand at two heights, so that near settings stay legible.
        up = 28 if number % 2 == 0 else 50
        shapes += [
            Polyline(notch, Style(ink, ink, Weight.THIN), closed=True, name=f"setting {word}"),
            Lines((((x, LINE - 18), (x, LINE - up + 4)),), Style(ink, weight=Weight.THIN)),
            Label((min(max(x, 70), parts.WIDTH - 70), LINE - up), text, ink=ink, bold=chosen,
                  halo=True, name="setting"),
        ]  # fmt: skip
    return shapes


def _pointer(state: SettingScale) -> list[Shape]:
    if state.pointer is None:
        return []
    x = _x(state, state.pointer)
    wedge = ((x, LINE + 38), (x - 8, LINE + 58), (x + 8, LINE + 58))
    return [
        Polyline(wedge, Style(Ink.LINE, Ink.LINE), closed=True, name="pointer"),
        Label((min(max(x, 52), parts.WIDTH - 52), LINE + 76), "pointer", bold=True),
    ]
