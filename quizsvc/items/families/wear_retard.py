"""Family `wear-retard`: by how much a camshaft lags once its chain has grown."""

from __future__ import annotations

import math
from dataclasses import dataclass

from quizsvc.errors import InputError
from quizsvc.figures import pulley_pair
from quizsvc.items.assemble import Question
from quizsvc.items.choosing import Draw
from quizsvc.items.family import NotForThisSheet, family
from quizsvc.items.model import Asked, Given, Kind, Level, Step
from quizsvc.items.options import Idea, number_text, wrong_answers
from quizsvc.items.phrases import answer_in, degrees, plain
from quizsvc.items.picture import pictured
from quizsvc.sheets.schema import Drive, EngineSheet, ShaftKind
from quizsvc.sheets.wear_state import tight_strand_mm
from quizsvc.timing.chain import pitch_diameter_mm
from quizsvc.timing.wear import wear_retard_deg

TOLERANCE_DEG = 0.05


@dataclass(frozen=True, slots=True)
class Grown:
    """A tight strand that has grown, and the cam sprocket that it pulls."""

    strand_mm: float
    elongation_percent: float
    cam_teeth: int
    pitch_mm: float

    @property
    def growth_mm(self) -> float:
        return self.strand_mm * self.elongation_percent / 100

    @property
    def cam_mm(self) -> float:
        return pitch_diameter_mm(self.pitch_mm, self.cam_teeth)

    @property
    def late_deg(self) -> float:
        return wear_retard_deg(
            self.strand_mm, self.elongation_percent, self.pitch_mm, self.cam_teeth
        )


IDEAS: tuple[Idea[Grown], ...] = (
    Idea(
        "retard-in-cam-degrees",
        lambda g: g.late_deg / 2,
        "This is how far the cam sprocket lags; the crankshaft turns twice as far.",
    ),
    Idea(
        "both-strands-retard",
        lambda g: 2 * g.late_deg,
        "Only the tight strand holds the cam; the slack strand is the tensioner's.",
    ),
    Idea(
        "stretch-over-diameter",
        lambda g: math.pi * g.late_deg,
        "One turn of the sprocket is its circumference, π times the diameter.",
    ),
    Idea(
        "elongation-as-part-of-turn",
        lambda g: 3.6 * g.elongation_percent,
        "The percentage is of the strand's length, not of a turn of the crankshaft.",
    ),
)
SIGNED: tuple[Idea[Grown], ...] = (
    *IDEAS,
    Idea(
        "long-strand-advances",
        lambda g: -g.late_deg,
        "The cam sprocket has to wait until the longer strand is pulled straight: it lags.",
    ),
)


@family(
    "wear-retard",
    version=1,
    topic="wear",
    title="Cam retard from chain wear",
    levels=(Level.APPLY, Level.DIAGNOSE),
    kinds=(Kind.NUMBER, Kind.ONE_CHOICE),
    gives=("strand_mm", "elongation_percent", "cam_teeth", "pitch_mm"),
    asks="crank_deg",
    key_follows="Growth of the tight strand over the cam sprocket's circumference, times 720°.",
    misconceptions=tuple(idea.misconception for idea in SIGNED),
    drive="chain",
)
def ask(sheet: EngineSheet, draw: Draw, level: Level, kind: Kind) -> Question:
    """Apply: how much it lags. Diagnose: which way, and how much."""
    grown = _drawn(sheet, draw)
    diagnose = level is Level.DIAGNOSE
    verdict = diagnose and kind is Kind.ONE_CHOICE
    value = round(grown.late_deg, 2)
    ideas = SIGNED if diagnose else IDEAS
    return Question(
        prompt=f"The tight strand between crankshaft and camshaft sprocket is "
        f"{plain(grown.strand_mm)} mm long when new. The chain has grown by "
        f"{plain(grown.elongation_percent)} %; the cam sprocket has {grown.cam_teeth} teeth at "
        f"{plain(grown.pitch_mm)} mm pitch. {_asks(diagnose=diagnose, verdict=verdict)}",
        givens={
            "strand_mm": Given(grown.strand_mm, "mm"),
            "elongation_percent": Given(grown.elongation_percent, "%"),
            "cam_teeth": Given(grown.cam_teeth, "teeth"),
            "pitch_mm": Given(grown.pitch_mm, "mm"),
        },
        asked=Asked("crank_deg", "°", 2),
        steps=_steps(grown),
        value=value,
        tolerance=TOLERANCE_DEG,
        right=((value, _verdict(value)),) if verdict else (),
        wrong=wrong_answers(ideas, grown, _verdict if verdict else None),
        keep="long-strand-advances" if diagnose else "",
        right_because="The growth as an arc of the cam sprocket, in crank degrees, late.",
        **pictured(pulley_pair, _picture(grown), _picture(grown, solved=True)),
    )


def _picture(grown: Grown, *, solved: bool = False) -> pulley_pair.PulleyPair:
    """Crank sprocket of half the teeth at the left, placed so that its strand has this length."""
    crank_mm = pitch_diameter_mm(grown.pitch_mm, grown.cam_teeth // 2)
    step = (grown.cam_mm - crank_mm) / 2
    late = f" It makes the camshaft {number_text(grown.late_deg, 2, '°')} late." if solved else ""
    return pulley_pair.PulleyPair(
        pulley_pair.Pulley("crankshaft", crank_mm),
        pulley_pair.Pulley("camshaft", grown.cam_mm, f"{grown.cam_teeth} teeth"),
        math.hypot(grown.strand_mm, step),
        diameters_shown=False,
        note="The crankshaft drives, clockwise: the lower strand is the tight one, "
        f"{plain(grown.strand_mm)} mm long.{late}",
    )


def _drawn(sheet: EngineSheet, draw: Draw) -> Grown:
    cams = {shaft.id for shaft in sheet.shafts if shaft.kind is ShaftKind.CAM}
    chains = [drive for drive in sheet.drives if drive.kind == "chain"]
    places = [(d, w.id, w.teeth) for d in chains for w in d.wheels
              if w.teeth and w.shaft in cams and w.id != d.driver]  # fmt: skip
    if not places:
        raise NotForThisSheet("no chain turns a camshaft.", field="sheet", value=sheet.id)
    drive, wheel, teeth = draw.choice(places)
    strand = _strand(sheet, drive, wheel) + 5 * draw.integer(-4, 8)
    return Grown(max(60.0, strand), draw.step(0.2, 1.5, 0.1), teeth, drive.pitch_mm)


def _strand(sheet: EngineSheet, drive: Drive, wheel: str) -> float:
    try:
        return float(5 * round(tight_strand_mm(sheet, drive.id, wheel) / 5))
    except InputError as error:
        raise NotForThisSheet(error.problem, field="drives", value=drive.id) from error


def _asks(*, diagnose: bool, verdict: bool) -> str:
    if verdict:
        return "What does this do to the camshaft, in crank degrees?"
    if diagnose:
        return (
            "By how many crank degrees is the camshaft off? Retarded counts plus, advanced minus. "
            f"{answer_in('degrees', 2)}"
        )
    return f"By how many crank degrees does the camshaft lag? {answer_in('degrees', 2)}"


def _verdict(value: object) -> str:
    if not isinstance(value, int | float):
        return ""
    return f"{number_text(abs(value), 2, '°')} {'retarded' if value > 0 else 'advanced'}"


def _steps(grown: Grown) -> tuple[Step, ...]:
    growth, diameter = round(grown.growth_mm, 3), round(grown.cam_mm, 2)
    late = round(grown.late_deg, 2)
    return (
        Step(
            f"Growth of the strand: {plain(grown.strand_mm)} × "
            f"{plain(grown.elongation_percent)} % = {plain(growth)} mm.",
            growth,
            "mm",
        ),
        Step(
            f"Pitch diameter of the cam sprocket: {plain(grown.pitch_mm)} / sin(180° / "
            f"{grown.cam_teeth}) = {plain(diameter)} mm.",
            diameter,
            "mm",
        ),
        Step(
            f"{plain(growth)} / (π × {plain(diameter)}) of a cam turn, two crank turns to each: "
            f"× 720° = {degrees(late)}.",
            late,
            "°",
        ),
        Step("The longer strand lets the cam come later: it is retarded."),
    )
