"""Family `adapter-setting`: wrench setting with an adapter that changes the lever."""

from __future__ import annotations

import math
from dataclasses import dataclass

from quizsvc.figures import torque_wrench
from quizsvc.items.assemble import Question
from quizsvc.items.cautions import TORQUE
from quizsvc.items.choosing import Draw
from quizsvc.items.family import family
from quizsvc.items.model import Asked, Given, Kind, Level, Step
from quizsvc.items.options import Idea, wrong_answers
from quizsvc.items.phrases import answer_in, degrees, plain
from quizsvc.items.picture import pictured
from quizsvc.sheets.schema import EngineSheet
from quizsvc.timing.fasteners import adapter_setting_nm, torque_at_bolt_nm

STRAIGHT = (0.0,)
TURNED = (30.0, 45.0, 60.0, 90.0, 120.0, 135.0, 180.0)
WRENCHES_MM = (300, 350, 400, 450, 500, 600)


@dataclass(frozen=True, slots=True)
class Lever:
    torque_nm: float
    wrench_mm: float
    adapter_mm: float
    angle_deg: float

    @property
    def reach_mm(self) -> float:
        """What the adapter adds to the lever."""
        return self.adapter_mm * math.cos(math.radians(self.angle_deg))

    @property
    def setting_nm(self) -> float:
        return adapter_setting_nm(self.torque_nm, self.wrench_mm, self.adapter_mm, self.angle_deg)


def _with_reach(lever: Lever, reach_mm: float) -> float:
    return lever.torque_nm * lever.wrench_mm / (lever.wrench_mm + reach_mm)


IDEAS: tuple[Idea[Lever], ...] = (
    Idea(
        "adapter-ignored",
        lambda lv: lv.torque_nm,
        "The adapter changes the lever, so the wrench must be set to another value.",
    ),
    Idea(
        "adapter-raises-setting",
        lambda lv: torque_at_bolt_nm(lv.torque_nm, lv.wrench_mm, lv.adapter_mm, lv.angle_deg),
        "The lever's ratio is the wrong way round: a longer lever needs a lower setting.",
    ),
    Idea(
        "adapter-angle-ignored",
        lambda lv: _with_reach(lv, lv.adapter_mm) if lv.angle_deg else None,
        "At an angle only E·cos θ is added to the lever.",
    ),
    Idea(
        "adapter-sine",
        lambda lv: (
            _with_reach(lv, lv.adapter_mm * math.sin(math.radians(lv.angle_deg)))
            if lv.angle_deg
            else None
        ),
        "In line (0°) the whole adapter counts, so it is the cosine.",
    ),
    Idea(
        "adapter-share-of-length",
        lambda lv: lv.torque_nm * (1 - lv.reach_mm / lv.wrench_mm),
        "The share is of the whole lever, L / (L + E·cos θ), not of the wrench alone.",
    ),
    Idea(
        "adapter-length-only",
        lambda lv: lv.torque_nm * lv.adapter_mm / (lv.wrench_mm + lv.adapter_mm),
        "This is what the adapter alone would take; the wrench's share is asked.",
    ),
)


@family(
    "adapter-setting",
    version=1,
    topic="fasteners",
    title="Wrench setting with an adapter",
    levels=(Level.RECALL, Level.APPLY),
    kinds=(Kind.NUMBER, Kind.ONE_CHOICE),
    gives=("torque_nm", "wrench_mm", "adapter_mm", "angle_deg"),
    asks="setting_nm",
    key_follows="Torque times wrench length over the lever that the adapter makes of it.",
    misconceptions=tuple(idea.misconception for idea in IDEAS),
    caution=TORQUE,
)
def ask(sheet: EngineSheet, draw: Draw, level: Level, _kind: Kind) -> Question:
    """Recall: adapter straight ahead. Apply: turned by an angle."""
    own = [bolt.torque_nm for bolt in sheet.fasteners if bolt.torque_nm >= 20] or [80.0]
    angles = STRAIGHT if level is Level.RECALL else TURNED
    lever = Lever(
        draw.choice(own) + draw.integer(-4, 10),
        float(draw.choice(WRENCHES_MM)),
        float(5 * draw.integer(6, 30)),
        draw.choice(angles),
    )
    value = round(lever.setting_nm, 1)
    return Question(
        prompt=f"A bolt wants {plain(lever.torque_nm)} N·m. The torque wrench is "
        f"{plain(lever.wrench_mm)} mm from square to grip; an adapter of "
        f"{plain(lever.adapter_mm)} mm (square to bolt) {_angle_words(lever)}. To what is the "
        f"wrench set? {answer_in('N·m', 1)}",
        givens={
            "torque_nm": Given(lever.torque_nm, "N·m"),
            "wrench_mm": Given(lever.wrench_mm, "mm"),
            "adapter_mm": Given(lever.adapter_mm, "mm"),
            "angle_deg": Given(lever.angle_deg, "°"),
        },
        asked=Asked("setting_nm", "N·m", 1),
        steps=_steps(lever),
        value=value,
        tolerance=0.2,
        wrong=wrong_answers(IDEAS, lever),
        right_because="The torque shared out over the lever that is really there.",
        **pictured(
            torque_wrench,
            torque_wrench.TorqueWrench(
                lever.wrench_mm,
                lever.adapter_mm,
                lever.angle_deg,
                setting=f"{plain(value)} N·m",
                torque=f"{plain(lever.torque_nm)} N·m",
                asked="setting",
            ),
        ),
        reference="torque-adapter tables: T·L / (L + E·cos θ)",
    )


def _angle_words(lever: Lever) -> str:
    if lever.angle_deg == 0:
        return "points straight ahead, at 0°"
    if lever.angle_deg == 180:
        return "is turned back towards the grip, at 180°"
    return f"is turned {degrees(lever.angle_deg)} from straight ahead"


def _steps(lever: Lever) -> tuple[Step, ...]:
    reach, wrench = round(lever.reach_mm, 1) + 0.0, lever.wrench_mm
    whole, value = round(wrench + lever.reach_mm, 1), round(lever.setting_nm, 1)
    sign = "−" if reach < 0 else "+"
    effect = {True: "longer lever, lower setting", False: "shorter lever, higher setting"}
    said = "same lever, same setting" if abs(reach) < 0.05 else effect[reach > 0]
    return (
        Step(
            f"The adapter adds {plain(lever.adapter_mm)} × cos {degrees(lever.angle_deg)} = "
            f"{plain(reach)} mm to the lever.",
            reach,
            "mm",
        ),
        Step(
            f"Lever: {plain(wrench)} {sign} {plain(abs(reach))} = {plain(whole)} mm.", whole, "mm"
        ),
        Step(
            f"{plain(lever.torque_nm)} × {plain(wrench)} / {plain(whole)} = {plain(value)} N·m "
            f"({said}).",
            value,
            "N·m",
        ),
    )
