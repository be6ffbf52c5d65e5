"""Family `angle-tightening`: what a tightening angle does to bolt head and bolt."""

from __future__ import annotations

from dataclasses import dataclass

from quizsvc.figures import angle_gauge
from quizsvc.items.assemble import Question
from quizsvc.items.cautions import STRETCH_BOLT
from quizsvc.items.choosing import Draw
from quizsvc.items.family import family
from quizsvc.items.model import Asked, Given, Kind, Level, Step
from quizsvc.items.options import Idea, wrong_answers
from quizsvc.items.phrases import answer_in, degrees, listed, plain
from quizsvc.items.picture import pictured
from quizsvc.sheets.schema import EngineSheet
from quizsvc.timing.fasteners import final_mark_deg, flats_turned, thread_advance_mm

ANGLES = (45.0, 60.0, 75.0, 90.0, 105.0, 120.0, 135.0, 150.0, 180.0)
THREAD_PITCHES_MM = (1.0, 1.25, 1.5, 1.75, 2.0)  # metric threads M6 to M16: ISO 261


@dataclass(frozen=True, slots=True)
class Turned:
    """A bolt tightened to a torque, then by one or more angles."""

    torque_nm: float
    stages_deg: tuple[float, ...]
    start_deg: float = 0.0
    thread_pitch_mm: float = 1.5

    @property
    def angle_deg(self) -> float:
        return sum(self.stages_deg)


FLATS: tuple[Idea[Turned], ...] = (
    Idea(
        "turn-in-quarter-flats",
        lambda t: t.angle_deg / 90,
        "A hexagon has six flats of 60°, not four of 90°.",
    ),
    Idea(
        "turn-in-half-corners",
        lambda t: t.angle_deg / 30,
        "A hexagon has six flats of 60°; twelve points has the socket.",
    ),
    Idea(
        "bolt-angle-as-crank-angle",
        lambda t: t.angle_deg / 120,
        "The angle is that of the bolt; nothing is halved here.",
    ),
    Idea(
        "turn-in-eighths",
        lambda t: t.angle_deg / 45,
        "A hexagon has six flats, not eight.",
    ),
)
MARKS: tuple[Idea[Turned], ...] = (
    Idea(
        "last-stage-only",
        lambda t: final_mark_deg(t.start_deg, t.stages_deg[-1]),
        "Each stage is turned on top of the one before.",
    ),
    Idea(
        "start-of-mark-forgotten",
        lambda t: final_mark_deg(0, *t.stages_deg),
        "The mark did not start at the top.",
    ),
    Idea(
        "bolt-turned-backwards",
        lambda t: (t.start_deg - t.angle_deg) % 360,
        "A right-hand thread is tightened clockwise.",
    ),
    Idea(
        "bolt-angle-as-crank-angle",
        lambda t: final_mark_deg(t.start_deg, t.angle_deg / 2),
        "The angle is that of the bolt; nothing is halved here.",
    ),
    Idea(
        "first-stage-twice",
        lambda t: final_mark_deg(t.start_deg, t.stages_deg[0], *t.stages_deg),
        "The angle begins only after the torque has been reached; no stage counts twice.",
    ),
)
ADVANCE: tuple[Idea[Turned], ...] = (
    Idea(
        "bolt-lead-by-half-turn",
        lambda t: t.angle_deg / 180 * t.thread_pitch_mm,
        "The bolt moves by its pitch for a whole turn of 360°.",
    ),
    Idea(
        "bolt-lead-by-radian",
        lambda t: t.angle_deg / 57.29578 * t.thread_pitch_mm,
        "The bolt moves by its pitch for a whole turn, not for a radian.",
    ),
    Idea(
        "bolt-lead-by-flat",
        lambda t: t.angle_deg / 60 * t.thread_pitch_mm,
        "The pitch belongs to a whole turn, not to a flat.",
    ),
    Idea(
        "bolt-angle-as-crank-angle",
        lambda t: t.angle_deg / 720 * t.thread_pitch_mm,
        "A turn of the bolt is 360°; the 720° are the engine's cycle.",
    ),
)
ALL = (*FLATS, *MARKS, *ADVANCE)


@family(
    "angle-tightening",
    version=1,
    topic="fasteners",
    title="Tightening by angle",
    levels=(Level.RECALL, Level.APPLY, Level.DIAGNOSE),
    kinds=(Kind.NUMBER, Kind.ONE_CHOICE),
    gives=("torque_nm", "angle_deg", "stages_deg", "start_deg", "thread_pitch_mm"),
    asks="flats, mark_deg or advance_mm",
    key_follows="A flat of a hexagon is 60°; stages add up; a whole turn advances by the pitch.",
    misconceptions=tuple(dict.fromkeys(idea.misconception for idea in ALL)),
    caution=STRETCH_BOLT,
)
def ask(sheet: EngineSheet, draw: Draw, level: Level, _kind: Kind) -> Question:
    """Recall: flats of the head. Apply: where a paint mark ends. Diagnose: how far it stretches."""
    stated = [(bolt.torque_nm, bolt.angle_deg) for bolt in sheet.fasteners if bolt.angle_deg]
    torque, angle = draw.choice(stated) if stated else (60.0, 90.0)
    if level is Level.RECALL:
        return _flats(Turned(torque, (draw.choice(ANGLES),)))
    if level is Level.APPLY:
        stages = (angle, draw.choice(ANGLES[:6]))
        return _mark(Turned(torque, stages, float(30 * draw.integer(1, 11))))
    return _advance(Turned(torque, (draw.choice(ANGLES),), 0, draw.choice(THREAD_PITCHES_MM)))


def _gauge(turned: Turned, *, asked: str = "") -> angle_gauge.AngleGauge:
    torque = f"{plain(turned.torque_nm)} N·m"
    return angle_gauge.AngleGauge(turned.start_deg, turned.stages_deg, torque, asked)


def _flats(turned: Turned) -> Question:
    value = round(flats_turned(turned.angle_deg), 2)
    return Question(
        prompt=f"A hexagon bolt is tightened to {plain(turned.torque_nm)} N·m and then turned by "
        f"{degrees(turned.angle_deg)}. Past how many flats of its head does that go? "
        f"{answer_in('flats', 2)}",
        givens={
            "torque_nm": Given(turned.torque_nm, "N·m"),
            "angle_deg": Given(turned.angle_deg, "°"),
        },
        asked=Asked("flats", "flats", 2),
        steps=(
            Step("Six flats round the head: 360° / 6 = 60° each.", 60, "°"),
            Step(f"{degrees(turned.angle_deg)} / 60° = {plain(value)}.", value, "flats"),
        ),
        value=value,
        tolerance=0.02,
        wrong=wrong_answers(FLATS, turned),
        right_because="A flat of a hexagon is 60°.",
        **pictured(angle_gauge, _gauge(turned)),
    )


def _mark(turned: Turned) -> Question:
    value = final_mark_deg(turned.start_deg, *turned.stages_deg)
    total = turned.start_deg + turned.angle_deg
    off = f", less a whole turn {degrees(value)}" if total >= 360 else ""
    stages = listed([degrees(stage) for stage in turned.stages_deg])
    return Question(
        prompt=f"At {plain(turned.torque_nm)} N·m the paint mark on a bolt head points to "
        f"{degrees(turned.start_deg)}, clockwise from straight up. The bolt (right-hand thread) is "
        f"then tightened in two stages, by {stages}. Where does the mark point then? "
        f"{answer_in('degrees clockwise from straight up (0 to 360)', 0)}",
        givens={
            "torque_nm": Given(turned.torque_nm, "N·m"),
            "start_deg": Given(turned.start_deg, "°"),
            "stages_deg": Given(turned.stages_deg, "°"),
        },
        asked=Asked("mark_deg", "°", 0),
        steps=(
            Step(f"Both stages: {' + '.join(map(degrees, turned.stages_deg))} = "
                 f"{degrees(turned.angle_deg)}.", turned.angle_deg, "°"),
            Step(f"{degrees(turned.start_deg)} + {degrees(turned.angle_deg)} = "
                 f"{degrees(total)}{off}.", value, "°"),
        ),
        value=value,
        tolerance=2,
        wrong=wrong_answers(MARKS, turned),
        right_because="Both stages, on top of where the mark was.",
        **pictured(angle_gauge, _gauge(turned, asked="mark")),
    )  # fmt: skip


def _advance(turned: Turned) -> Question:
    value = round(thread_advance_mm(turned.angle_deg, turned.thread_pitch_mm), 2)
    return Question(
        prompt=f"A bolt with {plain(turned.thread_pitch_mm)} mm thread pitch is turned by "
        f"{degrees(turned.angle_deg)} after its torque of {plain(turned.torque_nm)} N·m. By how "
        "many mm does it screw in, to be shared between bolt stretch and joint? "
        f"{answer_in('mm', 2)}",
        givens={
            "torque_nm": Given(turned.torque_nm, "N·m"),
            "angle_deg": Given(turned.angle_deg, "°"),
            "thread_pitch_mm": Given(turned.thread_pitch_mm, "mm"),
        },
        asked=Asked("advance_mm", "mm", 2),
        steps=(
            Step("A whole turn of 360° advances the bolt by its pitch.", turned.thread_pitch_mm,
                 "mm"),
            Step(
                f"{degrees(turned.angle_deg)} / 360° × {plain(turned.thread_pitch_mm)} = "
                f"{plain(value)} mm. A second use would start from a longer bolt.",
                value,
                "mm",
            ),
        ),
        value=value,
        tolerance=0.02,
        wrong=wrong_answers(ADVANCE, turned),
        right_because="The angle as a part of a turn, times the pitch.",
        **pictured(angle_gauge, _gauge(turned)),
    )  # fmt: skip
