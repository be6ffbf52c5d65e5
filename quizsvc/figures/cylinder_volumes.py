"""One cylinder cut open with what its volumes are reckoned from: bore, stroke, and the rest."""

from __future__ import annotations

from dataclasses import dataclass

from quizsvc.figures import parts
from quizsvc.figures.scene import (
    Anchor,
    Dash,
    Ink,
    Label,
    Lines,
    Polyline,
    Scene,
    Shape,
    Style,
    Weight,
)

_LEFT, _RIGHT = 66.0, 196.0
_HEAD, _DECK, _TDC, _BDC, _END = 66.0, 92.0, 106.0, 236.0, 316.0
_WALL = 12.0
_WORDS = 236.0


@dataclass(frozen=True, slots=True)
class CylinderVolumes:
    """A cylinder's measures; ``parts_named`` are (what, how much) beside the clearance space.

    ``result`` is written, line by line, with the solution only.
    """

    bore_mm: float
    stroke_mm: float
    cylinders: int = 1
    parts_named: tuple[tuple[str, str], ...] = ()
    result: tuple[str, ...] = ()


def describe(state: CylinderVolumes) -> str:
    many = f" One of {state.cylinders}." if state.cylinders > 1 else ""
    named = "".join(f" {what.capitalize()}: {size}." for what, size in state.parts_named)
    return (
        f"A cylinder cut open, piston at BDC, its place at TDC dashed.{many} Bore "
        f"{parts.plain(state.bore_mm, 2)} mm across, stroke {parts.plain(state.stroke_mm, 2)} mm "
        f"from TDC to BDC.{named}"
    )


def draw(state: CylinderVolumes, *, solution: bool = False) -> Scene:
    """Draw the cylinder; proportions are those of a sketch, the numbers rule."""
    shapes: list[Shape] = [*_block(), *_piston(), *_measures(state), *_named(state)]
    if solution:
        top = _END - 6 - parts.LINE_HEIGHT * (len(state.result) - 1)
        shapes += [
            Label(
                (_WORDS, top + parts.LINE_HEIGHT * row),
                line,
                anchor=Anchor.START,
                ink=Ink.SOLUTION,
                bold=True,
                name="result",
            )
            for row, line in enumerate(state.result)
        ]
    count = f" One of {state.cylinders} cylinders." if state.cylinders > 1 else ""
    words, height = parts.caption(f"A sketch, not to scale.{count}", _END + 26)
    return Scene(parts.WIDTH, height, (*shapes, *words), describe(state))


def _block() -> list[Shape]:
    roof = (_LEFT + _RIGHT) / 2
    return [
        parts.hatched(_LEFT - _WALL, _DECK, _LEFT, _END),
        parts.hatched(_RIGHT, _DECK, _RIGHT + _WALL, _END),
        Lines(
            (((_LEFT, _END), (_LEFT, _DECK)), ((_RIGHT, _END), (_RIGHT, _DECK))),
            Style(Ink.LINE, weight=Weight.THICK),
            name="bore",
        ),
        Polyline(
            ((_LEFT, _DECK - 6), (roof - 30, _HEAD - 14), (roof + 30, _HEAD - 14),
             (_RIGHT, _DECK - 6)),
            Style(Ink.LINE, weight=Weight.THICK),
            name="chamber",
        ),
        Lines(
            (((_LEFT - _WALL, _DECK - 3), (_LEFT, _DECK - 3)),
             ((_RIGHT, _DECK - 3), (_RIGHT + _WALL, _DECK - 3))),
            Style(Ink.MARK, weight=Weight.THICK),
            name="gasket",
        ),
    ]  # fmt: skip


def _piston() -> list[Shape]:
    dashed = Style(Ink.LINE, weight=Weight.THIN, dash=Dash.DASHED)
    return [
        parts.rectangle(
            _LEFT + 3, _BDC, _RIGHT - 3, _END - 8, Style(Ink.LINE, Ink.SHADE), "piston"
        ),
        Lines((((_LEFT + 3, _TDC), (_RIGHT - 3, _TDC)),), dashed, name="crown at tdc"),
    ]


def _measures(state: CylinderVolumes) -> list[Shape]:
    middle = (_LEFT + _RIGHT) / 2
    bore = f"bore {parts.plain(state.bore_mm, 2)}"
    stroke = f"stroke {parts.plain(state.stroke_mm, 2)}"
    return [
        *parts.dimension((_LEFT, _BDC - 40), (_RIGHT, _BDC - 40), "", name="bore"),
        Label((middle, _BDC - 48), bore, bold=True, halo=True),
        *parts.dimension((_RIGHT + 26, _TDC), (_RIGHT + 26, _BDC), "", name="stroke"),
        Label((_WORDS, (_TDC + _BDC) / 2 + 22), stroke, anchor=Anchor.START, bold=True),
        Label((_LEFT - _WALL - 6, _TDC + 12), "TDC", anchor=Anchor.END, ink=Ink.FAINT),
        Label((_LEFT - _WALL - 6, _BDC + 6), "BDC", anchor=Anchor.END, ink=Ink.FAINT),
    ]


def _named(state: CylinderVolumes) -> list[Shape]:
    return [
        Label(
            (_WORDS, 30 + parts.LINE_HEIGHT * row),
            f"{what} {size}",
            anchor=Anchor.START,
            name="named part",
        )
        for row, (what, size) in enumerate(state.parts_named)
    ]
