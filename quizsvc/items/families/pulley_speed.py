"""Family `pulley-speed`: speed of a driven pulley, and slip of its belt."""

from __future__ import annotations

from dataclasses import dataclass

from quizsvc.figures import pulley_pair
from quizsvc.items.assemble import Question
from quizsvc.items.cautions import BELTS_TURN
from quizsvc.items.choosing import Draw
from quizsvc.items.family import family
from quizsvc.items.model import Asked, Given, Kind, Level, Step
from quizsvc.items.options import Idea, Redraw, wrong_answers
from quizsvc.items.phrases import answer_in, plain
from quizsvc.items.picture import pictured
from quizsvc.sheets.schema import EngineSheet
from quizsvc.timing.belt import pulley_speed_rpm

USUAL = ((165.0, 58.0), (165.0, 120.0), (150.0, 130.0))
LEAST_UNLIKE = 0.06  # with nearly equal pulleys most ideas would agree


@dataclass(frozen=True, slots=True)
class Pair:
    """A crankshaft pulley, a driven pulley, and the speeds of both."""

    driver_mm: float
    driven_mm: float
    driver_rpm: float
    measured_rpm: float = 0.0

    @property
    def driven_rpm(self) -> float:
        return pulley_speed_rpm(self.driver_rpm, self.driver_mm, self.driven_mm)

    @property
    def slip_percent(self) -> float:
        return 100 * (1 - self.measured_rpm / self.driven_rpm)


SPEEDS: tuple[Idea[Pair], ...] = (
    Idea(
        "pulley-ratio-inverted",
        lambda p: p.driver_rpm * p.driven_mm / p.driver_mm,
        "The smaller pulley turns faster: driver over driven.",
    ),
    Idea(
        "pulley-ratio-ignored",
        lambda p: p.driver_rpm,
        "The belt's speed is common, not the speed of the shafts.",
    ),
    Idea(
        "pulley-ratio-squared",
        lambda p: p.driver_rpm * (p.driver_mm / p.driven_mm) ** 2,
        "The circumferences count, and they go with the diameter itself.",
    ),
    Idea(
        "pulley-speed-halved",
        lambda p: p.driven_rpm / 2,
        "Half speed belongs to the camshaft; here the diameters decide.",
    ),
    Idea(
        "pulley-ratio-by-difference",
        lambda p: p.driver_rpm * (1 + (p.driver_mm - p.driven_mm) / p.driver_mm),
        "The speeds go with the ratio of the diameters, not with their difference.",
    ),
)
SLIPS: tuple[Idea[Pair], ...] = (
    Idea(
        "slip-over-measured",
        lambda p: 100 * (p.driven_rpm / p.measured_rpm - 1),
        "Slip is related to the speed without slip, not to the measured one.",
    ),
    Idea(
        "slip-against-crank",
        lambda p: 100 * (p.driven_rpm - p.measured_rpm) / p.driver_rpm,
        "This relates what is missing to the crankshaft's speed; the pulley's own counts.",
    ),
    Idea(
        "slip-rpm-as-percent",
        lambda p: (p.driven_rpm - p.measured_rpm) / 100,
        "This is the difference in rpm over a hundred; it has to be related to the speed.",
    ),
    Idea(
        "speed-for-slip",
        lambda p: 100 * p.measured_rpm / p.driven_rpm,
        "This is what is left of the speed; slip is what is missing.",
    ),
)


@family(
    "pulley-speed",
    version=1,
    topic="accessory",
    title="Speed of a driven pulley",
    levels=(Level.APPLY, Level.DIAGNOSE),
    kinds=(Kind.NUMBER, Kind.ONE_CHOICE),
    gives=("driver_mm", "driven_mm", "driver_rpm", "measured_rpm"),
    asks="driven_rpm or slip_percent",
    key_follows="Crankshaft speed times driver over driven diameter.",
    misconceptions=tuple(dict.fromkeys(idea.misconception for idea in (*SPEEDS, *SLIPS))),
    caution=BELTS_TURN,
)
def ask(sheet: EngineSheet, draw: Draw, level: Level, _kind: Kind) -> Question:
    """Apply: the speed. Diagnose: how much the belt slips."""
    driver, driven = _diameters(sheet, draw)
    pair = Pair(driver, driven, float(50 * draw.integer(14, 90)))
    if abs(driver / driven - 1) < LEAST_UNLIKE:
        raise Redraw
    if level is Level.DIAGNOSE:
        slip = draw.step(2, 14, 0.5)
        return _slip(Pair(driver, driven, pair.driver_rpm,
                          float(round(pair.driven_rpm * (1 - slip / 100)))))  # fmt: skip
    value = round(pair.driven_rpm)
    return Question(
        prompt=f"The crankshaft pulley is {plain(driver)} mm in diameter, the driven pulley "
        f"{plain(driven)} mm, both to the line on which the belt runs. The crankshaft turns at "
        f"{plain(pair.driver_rpm)} rpm. How fast does the driven pulley turn, without slip? "
        f"{answer_in('rpm', 0)}",
        givens=_givens(pair),
        asked=Asked("driven_rpm", "rpm", 0),
        steps=_steps(pair),
        value=float(value),
        tolerance=max(2.0, round(value * 0.002)),
        wrong=wrong_answers(SPEEDS, pair),
        right_because="One belt speed for both rims: driver over driven diameter.",
        **pictured(pulley_pair, _picture(pair, asked="speed", answer=f"{value} rpm")),
    )


def _slip(pair: Pair) -> Question:
    value = round(pair.slip_percent, 1)
    expected = round(pair.driven_rpm, 1)
    return Question(
        prompt=f"The crankshaft pulley is {plain(pair.driver_mm)} mm in diameter, the driven "
        f"pulley {plain(pair.driven_mm)} mm. At {plain(pair.driver_rpm)} rpm of the crankshaft the "
        f"driven pulley is measured at {plain(pair.measured_rpm)} rpm. By how many percent does "
        f"the belt slip? {answer_in('percent', 1)}",
        givens={**_givens(pair), "measured_rpm": Given(pair.measured_rpm, "rpm")},
        asked=Asked("slip_percent", "%", 1),
        steps=(
            *_steps(pair),
            Step(
                f"Slip: ({plain(expected)} − {plain(pair.measured_rpm)}) / {plain(expected)} = "
                f"{plain(value)} %.",
                value,
                "%",
            ),
        ),
        value=value,
        tolerance=0.1,
        wrong=wrong_answers(SLIPS, pair),
        right_because="What is missing, over the speed without slip.",
        **pictured(
            pulley_pair,
            _picture(pair),
            _picture(pair, note=f"{plain(expected)} rpm without slip: slip {plain(value)} %."),
        ),
    )


def _picture(
    pair: Pair, *, asked: str = "", answer: str = "", note: str = ""
) -> pulley_pair.PulleyPair:
    measured = f"{plain(pair.measured_rpm)} rpm" if pair.measured_rpm else ""
    return pulley_pair.PulleyPair(
        pulley_pair.Pulley("crankshaft", pair.driver_mm, f"{plain(pair.driver_rpm)} rpm"),
        pulley_pair.Pulley("driven pulley", pair.driven_mm, measured),
        pair.driver_mm + pair.driven_mm,
        asked=asked,
        answer=answer,
        note=note,
    )


def _diameters(sheet: EngineSheet, draw: Draw) -> tuple[float, float]:
    belt = sheet.accessory_belt
    sizes = {pulley.id: pulley.diameter_mm for pulley in sheet.pulleys}
    if belt is None or len(belt.order) < 2:
        driver, driven = draw.choice(USUAL)
    else:
        driver, driven = sizes[belt.order[0]], sizes[draw.choice(belt.order[1:])]
    return driver + 2 * draw.integer(-5, 5), driven + 2 * draw.integer(-3, 5)


def _givens(pair: Pair) -> dict[str, Given]:
    return {
        "driver_mm": Given(pair.driver_mm, "mm"),
        "driven_mm": Given(pair.driven_mm, "mm"),
        "driver_rpm": Given(pair.driver_rpm, "rpm"),
    }


def _steps(pair: Pair) -> tuple[Step, ...]:
    ratio, speed = round(pair.driver_mm / pair.driven_mm, 4), round(pair.driven_rpm, 1)
    return (
        Step(f"Ratio: {plain(pair.driver_mm)} / {plain(pair.driven_mm)} = {plain(ratio)}.", ratio),
        Step(
            f"Without slip: {plain(pair.driver_rpm)} × {plain(pair.driver_mm)} / "
            f"{plain(pair.driven_mm)} = {plain(speed)} rpm.",
            speed,
            "rpm",
        ),
    )
