"""Family `displacement`: what all pistons of an engine sweep."""

from __future__ import annotations

import math
from dataclasses import dataclass

from quizsvc.figures import cylinder_volumes
from quizsvc.figures.cylinder_volumes import CylinderVolumes
from quizsvc.items.assemble import Question
from quizsvc.items.choosing import Draw
from quizsvc.items.engine import engine_of, stock_engines
from quizsvc.items.family import family
from quizsvc.items.model import Asked, Given, Kind, Level, Step
from quizsvc.items.options import Idea, wrong_answers
from quizsvc.items.phrases import answer_in, claim, plain
from quizsvc.items.picture import pictured
from quizsvc.sheets.schema import EngineSheet
from quizsvc.timing.crank import displacement_cc

ASKED = Asked("displacement_cc", "cc", 0)
TOLERANCE_CC = 2.0  # π taken as 3.14 moves a large engine by that much
_OVERSIZES = (0.25, 0.5, 0.75, 1.0)


@dataclass(frozen=True, slots=True)
class Block:
    bore_mm: float
    stroke_mm: float
    cylinders: int
    over_mm: float = 0.0  # bored out by, already in the bore

    @property
    def cc(self) -> float:
        return displacement_cc(self.bore_mm, self.stroke_mm, self.cylinders)


IDEAS: tuple[Idea[Block], ...] = (
    Idea("one-cylinder-only", lambda b: b.cc / b.cylinders, "That is one cylinder."),
    Idea("bore-for-radius", lambda b: 4 * b.cc, "That squares the bore as if it were the radius."),
    Idea(
        "square-for-circle",
        lambda b: b.bore_mm**2 * b.stroke_mm * b.cylinders / 1000,
        "That leaves out π/4: a bore is round.",
    ),
    Idea("throw-for-stroke", lambda b: b.cc / 2, "That uses the throw as the stroke."),
    Idea(
        "half-the-cylinders-fill",
        lambda b: b.cc / b.cylinders * (b.cylinders // 2),
        "That counts only half of the cylinders.",
    ),
    Idea(
        "bore-and-stroke-swapped",
        lambda b: displacement_cc(b.stroke_mm, b.bore_mm, b.cylinders),
        "That squares the stroke instead of the bore.",
    ),
    Idea(
        "old-bore",
        lambda b: displacement_cc(b.bore_mm - b.over_mm, b.stroke_mm, b.cylinders),
        "That uses the bore from before it was bored out.",
    ),
    Idea(
        "oversize-on-each-side",
        lambda b: displacement_cc(b.bore_mm + b.over_mm, b.stroke_mm, b.cylinders),
        "That adds the oversize once more; it was measured across the bore.",
    ),
)


@family(
    "displacement",
    version=1,
    topic="piston",
    title="Displacement",
    levels=(Level.RECALL, Level.APPLY, Level.DIAGNOSE),
    kinds=(Kind.NUMBER, Kind.ONE_CHOICE),
    gives=("bore_mm", "stroke_mm", "cylinders"),
    asks="displacement_cc",
    key_follows="π/4 · bore² · stroke, times the cylinders, in cm³.",
    misconceptions=tuple(idea.misconception for idea in IDEAS),
)
def ask(sheet: EngineSheet, draw: Draw, level: Level, _kind: Kind) -> Question:
    block, story = _drawn(sheet, draw, level)
    value = block.cc
    wrong = wrong_answers(IDEAS, block)
    steps, keep = _steps(block, value), ""
    if level is Level.DIAGNOSE:
        said = claim(draw, wrong, value, ASKED, TOLERANCE_CC)
        story, keep = f"{story} {said.sentence}", said.keep
        steps += (said.step,)
    state = CylinderVolumes(
        block.bore_mm, block.stroke_mm, block.cylinders, result=(f"{value:.0f} cc in all",)
    )
    return Question(
        prompt=f"{story} What is its displacement? {answer_in('cc', 0)}",
        givens={
            "bore_mm": Given(block.bore_mm, "mm"),
            "stroke_mm": Given(block.stroke_mm, "mm"),
            "cylinders": Given(block.cylinders),
        },
        asked=ASKED,
        steps=steps,
        value=value,
        tolerance=TOLERANCE_CC,
        wrong=wrong,
        keep=keep,
        right_because="Round bore area times stroke, for every cylinder.",
        reference="engine texts: π/4 · bore² · stroke · cylinders",
        **pictured(cylinder_volumes, state),
    )


def _drawn(sheet: EngineSheet, draw: Draw, level: Level) -> tuple[Block, str]:
    bore, stroke = sheet.piston.bore_mm, sheet.piston.stroke_mm
    count = len(engine_of(sheet).order)
    if level is Level.RECALL:
        block = Block(bore, stroke, count)
        return block, f"{_with(block)} {plain(bore)} mm bore and {plain(stroke)} mm stroke."
    if draw.chance(0.5):
        count = len(draw.choice(stock_engines()).order)
        bore, stroke = draw.step(68, 102, 0.5), draw.step(64, 100, 0.5)
    over = draw.choice(_OVERSIZES)
    block = Block(round(bore + over, 3), stroke, count, over)
    return block, (
        f"{_with(block)} {plain(stroke)} mm stroke. It is bored out by {plain(over)} mm, to a bore "
        f"of {plain(block.bore_mm)} mm."
    )


def _with(block: Block) -> str:
    return f"An engine has {block.cylinders} cylinders,"


def _steps(block: Block, value: float) -> tuple[Step, ...]:
    area = math.pi / 4 * block.bore_mm**2
    one = value / block.cylinders
    return (
        Step("A piston sweeps a round bore area over its whole stroke; then count all cylinders."),
        Step(f"Area: π/4 × {plain(block.bore_mm)}² = {area:.0f} mm².", area, "mm²"),
        Step(
            f"One cylinder: {area:.0f} × {plain(block.stroke_mm)} ÷ 1000 = {one:.1f} cc.",
            one,
            "cc",
        ),
        Step(f"Times {block.cylinders}: {value:.0f} cc.", value, "cc"),
    )
