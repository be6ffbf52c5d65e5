"""Family `degrees-to-ms`: crank degrees in milliseconds, and back."""

from __future__ import annotations

from dataclasses import dataclass

from quizsvc.figures import tone_wheel
from quizsvc.items.assemble import Question
from quizsvc.items.choosing import Draw
from quizsvc.items.family import family
from quizsvc.items.model import Asked, Given, Kind, Level, Step
from quizsvc.items.options import Idea, wrong_answers
from quizsvc.items.phrases import answer_in, degrees, plain
from quizsvc.items.picture import pictured
from quizsvc.items.tone_wheel import a_wheel
from quizsvc.sheets.schema import EngineSheet
from quizsvc.timing.sensors import degrees_to_ms, ms_to_degrees

EDGE_DEG = 180.0  # where the picture puts the stored edge


@dataclass(frozen=True, slots=True)
class Turn:
    """An angle of the crankshaft at a speed."""

    deg: float
    rpm: int

    @property
    def ms(self) -> float:
        return degrees_to_ms(self.deg, self.rpm)


TIMES: tuple[Idea[Turn], ...] = (
    Idea(
        "time-at-cam-speed",
        lambda t: 2 * t.ms,
        "The degrees are the crankshaft's and so is the speed: nothing is doubled.",
    ),
    Idea(
        "degree-as-part-of-cycle",
        lambda t: t.ms / 2,
        "One revolution is 360°, not the 720° of the cycle.",
    ),
    Idea(
        "minutes-for-seconds",
        lambda t: 1000 * t.deg / (10 * t.rpm),
        "Degrees per second are 6 × rpm: rpm × 360 / 60.",
    ),
    Idea(
        "time-grows-with-speed",
        lambda t: t.deg * t.rpm / 6000,
        "The faster it turns, the less time the same angle takes.",
    ),
)
ANGLES: tuple[Idea[Turn], ...] = (
    Idea(
        "time-at-cam-speed",
        lambda t: t.deg / 2,
        "The speed is the crankshaft's and crank degrees are asked: nothing is halved.",
    ),
    Idea(
        "degree-as-part-of-cycle",
        lambda t: 2 * t.deg,
        "One revolution is 360°, not the 720° of the cycle.",
    ),
    Idea(
        "minutes-for-seconds",
        lambda t: t.deg * 10 / 6,
        "Degrees per second are 6 × rpm: rpm × 360 / 60.",
    ),
    Idea(
        "time-grows-with-speed",
        lambda t: t.deg * (1000 / t.rpm) ** 2,
        "The faster it turns, the more degrees pass in the same time.",
    ),
)


@family(
    "degrees-to-ms",
    version=1,
    topic="signals",
    title="Degrees and milliseconds",
    levels=(Level.APPLY, Level.DIAGNOSE),
    kinds=(Kind.NUMBER, Kind.ONE_CHOICE),
    gives=("rpm", "deg", "late_ms"),
    asks="ms or deg",
    key_follows="The crankshaft turns 6 × rpm degrees per second.",
    misconceptions=tuple(dict.fromkeys(idea.misconception for idea in (*TIMES, *ANGLES))),
)
def ask(sheet: EngineSheet, draw: Draw, level: Level, _kind: Kind) -> Question:
    """Apply: degrees in ms. Diagnose: a late edge in ms as crank degrees."""
    rpm = 50 * draw.integer(13, 80)
    wheel = a_wheel(sheet, draw)
    if level is Level.DIAGNOSE:
        return _late(Turn(float(draw.integer(6, 40)), rpm), wheel)
    turn = Turn(float(draw.integer(4, 120)), rpm)
    value, speed = round(turn.ms, 2), 6 * rpm
    return Question(
        prompt=f"The crankshaft turns at {rpm} rpm. How many ms does it take for "
        f"{plain(turn.deg)} crank degrees? {answer_in('ms', 2)}",
        givens={"rpm": Given(rpm, "rpm"), "deg": Given(turn.deg, "°")},
        asked=Asked("ms", "ms", 2),
        steps=(
            Step(f"Degrees per second: {rpm} × 360 / 60 = {speed}.", speed, "°/s"),
            Step(f"{degrees(turn.deg)} / {speed} × 1000 = {plain(value)} ms.", value, "ms"),
        ),
        value=value,
        tolerance=max(0.02, round(value * 0.005, 2)),
        wrong=wrong_answers(TIMES, turn),
        right_because="Degrees divided by 6 × rpm, in seconds.",
        **pictured(
            tone_wheel,
            tone_wheel.ToneWheelView(*wheel, turn.deg),
            tone_wheel.ToneWheelView(
                *wheel, turn.deg, note=f"{degrees(turn.deg)} at {rpm} rpm: {plain(value)} ms."
            ),
        ),
    )


def _late(turn: Turn, wheel: tuple[int, int]) -> Question:
    ms, rpm = round(turn.ms, 2), turn.rpm
    late = Turn(ms_to_degrees(ms, rpm), rpm)
    value, speed = round(late.deg, 1), 6 * rpm
    return Question(
        prompt=f"On the screen a camshaft edge comes {plain(ms)} ms later than on the stored "
        f"picture, both at {rpm} rpm. How many crank degrees is that? {answer_in('degrees', 1)}",
        givens={"rpm": Given(rpm, "rpm"), "late_ms": Given(ms, "ms")},
        asked=Asked("deg", "°", 1),
        steps=(
            Step(f"Degrees per second: {rpm} × 360 / 60 = {speed}.", speed, "°/s"),
            Step(f"{plain(ms)} / 1000 × {speed} = {degrees(value)}.", value, "°"),
        ),
        value=value,
        tolerance=0.2,
        wrong=wrong_answers(ANGLES, late),
        right_because="Time times 6 × rpm degrees per second.",
        **pictured(
            tone_wheel,
            tone_wheel.ToneWheelView(*wheel),
            tone_wheel.ToneWheelView(
                *wheel,
                asked="cam",
                cam_edge_deg=EDGE_DEG + value,
                cam_should_deg=EDGE_DEG,
                answer=f"{degrees(value)} late",
            ),
        ),
    )
