"""Family `torque-units`: torques from one unit to another."""

from __future__ import annotations

import math
from dataclasses import dataclass

from quizsvc.figures import setting_scale
from quizsvc.items.assemble import Question
from quizsvc.items.cautions import TORQUE
from quizsvc.items.choosing import Draw
from quizsvc.items.family import family
from quizsvc.items.model import Asked, Given, Kind, Level, Step
from quizsvc.items.options import Idea, wrong_answers
from quizsvc.items.phrases import answer_in, plain
from quizsvc.items.picture import pictured
from quizsvc.sheets.schema import EngineSheet
from quizsvc.timing.fasteners import (
    NM_PER_KGF_M,
    NM_PER_LBF_FT,
    newton_metres,
    pound_force_feet,
)

INCHES_PER_FOOT = 12
KG_PER_LB, M_PER_FT = 0.45359237, 0.3048


@dataclass(frozen=True, slots=True)
class Torque:
    value: float


TO_NM: tuple[Idea[Torque], ...] = (
    Idea(
        "pound-feet-read-as-newton-metres",
        lambda t: t.value,
        "1 lbf·ft is 1.356 N·m; the numbers are not alike.",
    ),
    Idea(
        "torque-factor-inverted",
        lambda t: pound_force_feet(t.value),
        "The factor is the wrong way round: N·m are the smaller unit, so there are more of them.",
    ),
    Idea(
        "kilopond-for-pound",
        lambda t: t.value * NM_PER_KGF_M,
        "This is the factor of kgf·m.",
    ),
    Idea(
        "inch-for-foot",
        lambda t: newton_metres(t.value) / INCHES_PER_FOOT,
        "This takes the number for lbf·in; a foot has twelve inches.",
    ),
    Idea(
        "mass-without-gravity",
        lambda t: t.value * KG_PER_LB * M_PER_FT,
        "This is in kgf·m: a pound of force is 4.448 N, not 0.4536 N.",
    ),
)
TO_LBF_FT: tuple[Idea[Torque], ...] = (
    Idea(
        "pound-feet-read-as-newton-metres",
        lambda t: t.value,
        "1 lbf·ft is 1.356 N·m; the numbers are not alike.",
    ),
    Idea(
        "torque-factor-inverted",
        lambda t: newton_metres(t.value),
        "The factor is the wrong way round: lbf·ft are the larger unit, so there are fewer.",
    ),
    Idea(
        "kilopond-for-pound",
        lambda t: t.value / NM_PER_KGF_M,
        "This is the factor of kgf·m.",
    ),
    Idea(
        "inch-for-foot",
        lambda t: pound_force_feet(t.value) * INCHES_PER_FOOT,
        "This is in lbf·in; a foot has twelve inches.",
    ),
)
FROM_LBF_IN: tuple[Idea[Torque], ...] = (
    Idea(
        "inch-for-foot",
        lambda t: newton_metres(t.value),
        "This takes inches for feet; a foot has twelve of them.",
    ),
    Idea(
        "inch-as-tenth-of-foot",
        lambda t: newton_metres(t.value / 10),
        "A foot has twelve inches, not ten.",
    ),
    Idea(
        "pound-feet-read-as-newton-metres",
        lambda t: t.value / INCHES_PER_FOOT,
        "This is in lbf·ft; 1 lbf·ft is 1.356 N·m.",
    ),
    Idea(
        "torque-factor-inverted",
        lambda t: pound_force_feet(t.value / INCHES_PER_FOOT),
        "The factor is the wrong way round: N·m are the smaller unit, so there are more of them.",
    ),
)
ALL = (*TO_NM, *TO_LBF_FT, *FROM_LBF_IN)


@family(
    "torque-units",
    version=1,
    topic="fasteners",
    title="Torque units",
    levels=(Level.RECALL, Level.APPLY, Level.DIAGNOSE),
    kinds=(Kind.NUMBER, Kind.ONE_CHOICE),
    gives=("torque_lbf_ft", "torque_nm", "torque_lbf_in"),
    asks="torque_nm or torque_lbf_ft",
    key_follows="1 lbf·ft is 1.3558 N·m; twelve lbf·in make one lbf·ft.",
    misconceptions=tuple(dict.fromkeys(idea.misconception for idea in ALL)),
    caution=TORQUE,
)
def ask(sheet: EngineSheet, draw: Draw, level: Level, _kind: Kind) -> Question:
    """Recall: lbf·ft to N·m. Apply: N·m to lbf·ft. Diagnose: an inch wrench on a small bolt."""
    torques = [bolt.torque_nm for bolt in sheet.fasteners] or [25.0, 80.0]
    if level is Level.DIAGNOSE:
        small = draw.choice([t for t in torques if t <= 30] or [10.0])
        return _inch(Torque(float(round(pound_force_feet(small) * 12) + draw.integer(-4, 8))))
    large = draw.choice([t for t in torques if t >= 20] or [80.0]) + draw.integer(-4, 10)
    if level is Level.APPLY:
        return _feet(Torque(float(large)))
    return _metres(Torque(float(round(pound_force_feet(large)))))


_FACTOR = Step("1 lbf·ft = 1.3558 N·m.", 1.3558, "N·m")
_SOURCE = "NIST SP 811"


def _scale(value: float, unit: str) -> setting_scale.SettingScale:
    """A wrench's scale with this setting; the solution shows the other unit's."""
    high = 50.0 * math.ceil(value / 40)
    return setting_scale.SettingScale(
        0, high, unit, ((value, f"{plain(value)} {unit}"),), note=f"Scale of a wrench in {unit}."
    )


def _metres(torque: Torque) -> Question:
    value = round(newton_metres(torque.value), 1)
    return Question(
        prompt=f"A chart gives {plain(torque.value)} lbf·ft. How much is that in N·m? "
        f"{answer_in('N·m', 1)}",
        givens={"torque_lbf_ft": Given(torque.value, "lbf·ft")},
        asked=Asked("torque_nm", "N·m", 1),
        steps=(
            _FACTOR,
            Step(f"{plain(torque.value)} × 1.3558 = {plain(value)} N·m.", value, "N·m"),
        ),
        value=value,
        tolerance=_tolerance(value),
        wrong=wrong_answers(TO_NM, torque),
        right_because="N·m are the smaller unit: multiply by 1.3558.",
        **pictured(setting_scale, _scale(torque.value, "lbf·ft"), _scale(value, "N·m")),
        reference=_SOURCE,
    )


def _feet(torque: Torque) -> Question:
    value = round(pound_force_feet(torque.value), 1)
    return Question(
        prompt=f"The sheet asks for {plain(torque.value)} N·m, the wrench at hand reads lbf·ft. To "
        f"what is it set? {answer_in('lbf·ft', 1)}",
        givens={"torque_nm": Given(torque.value, "N·m")},
        asked=Asked("torque_lbf_ft", "lbf·ft", 1),
        steps=(
            _FACTOR,
            Step(f"{plain(torque.value)} / 1.3558 = {plain(value)} lbf·ft.", value, "lbf·ft"),
        ),
        value=value,
        tolerance=_tolerance(value),
        wrong=wrong_answers(TO_LBF_FT, torque),
        right_because="lbf·ft are the larger unit: divide by 1.3558.",
        **pictured(setting_scale, _scale(torque.value, "N·m"), _scale(value, "lbf·ft")),
        reference=_SOURCE,
    )


def _inch(torque: Torque) -> Question:
    feet = round(torque.value / INCHES_PER_FOOT, 3)
    value = round(newton_metres(torque.value / INCHES_PER_FOOT), 1)
    return Question(
        prompt=f"A small bolt was tightened with a wrench that reads lbf·in, set to "
        f"{plain(torque.value)}. What did the bolt get in N·m? {answer_in('N·m', 1)}",
        givens={"torque_lbf_in": Given(torque.value, "lbf·in")},
        asked=Asked("torque_nm", "N·m", 1),
        steps=(
            Step(f"Twelve inches to a foot: {plain(torque.value)} / 12 = {plain(feet)} lbf·ft.",
                 feet, "lbf·ft"),
            Step(f"{plain(feet)} × {NM_PER_LBF_FT:.4f} = {plain(value)} N·m.", value, "N·m"),
        ),
        value=value,
        tolerance=_tolerance(value),
        wrong=wrong_answers(FROM_LBF_IN, torque),
        right_because="Inches to feet first, then lbf·ft to N·m.",
        **pictured(setting_scale, _scale(torque.value, "lbf·in"), _scale(value, "N·m")),
        reference=_SOURCE,
    )  # fmt: skip


def _tolerance(value: float) -> float:
    """Allow for a factor rounded to three figures."""
    return max(0.1, round(value * 0.003, 1))
