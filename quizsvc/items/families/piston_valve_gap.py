"""Family `piston-valve-gap`: gap between an open valve and its piston."""

from __future__ import annotations

import math
from dataclasses import dataclass

from quizsvc.figures import cylinder_section
from quizsvc.figures.section_valves import SectionValve
from quizsvc.items.assemble import Question
from quizsvc.items.cam_card import VALVES
from quizsvc.items.cautions import GAP_MEASURED
from quizsvc.items.choosing import Draw
from quizsvc.items.family import family
from quizsvc.items.model import Asked, Given, Kind, Level, Step
from quizsvc.items.options import Idea, Redraw, number_text, wrong_answers
from quizsvc.items.phrases import answer_in, degrees, plain
from quizsvc.items.picture import pictured
from quizsvc.sheets.drive_words import words_of_sheet
from quizsvc.sheets.schema import EngineSheet
from quizsvc.sheets.state import slider_of
from quizsvc.sheets.valve_state import customary_gap_mm, lift_curve_of, valve_room_of
from quizsvc.timing.valves import ValveKind

TOLERANCE_MM = 0.02
LEAST_LIFT_MM = 1.2  # less would hardly be measured, or show what a tilt does
LARGEST_MM = 9.0  # more gap than this nobody would ask about


@dataclass(frozen=True, slots=True)
class Gap:
    """What was measured at one crank angle: drop, lift along the valve, room at TDC, tilt."""

    valve: ValveKind
    crank_deg: int
    drop_mm: float
    lift_mm: float
    pocket_mm: float
    angle_deg: float
    least_mm: float

    @property
    def along_bore_mm(self) -> float:
        return self.lift_mm * math.cos(math.radians(self.angle_deg))

    @property
    def gap_mm(self) -> float:
        return self.drop_mm + self.pocket_mm - self.along_bore_mm

    @property
    def words(self) -> str:
        return f"{abs(self.crank_deg)}° {'after' if self.crank_deg > 0 else 'before'} exhaust TDC"


def _tilted(value: float, gap: Gap) -> float | None:
    return value if gap.angle_deg else None


IDEAS: tuple[Idea[Gap], ...] = (
    Idea(
        "lift-added-to-drop",
        lambda g: g.drop_mm + g.pocket_mm + g.along_bore_mm,
        "The open valve comes down towards the piston; its lift takes room away.",
    ),
    Idea(
        "pocket-forgotten",
        lambda g: g.drop_mm - g.along_bore_mm,
        "The room below the closed valve at TDC is there as well.",
    ),
    Idea(
        "piston-taken-at-tdc",
        lambda g: g.pocket_mm - g.along_bore_mm,
        "The piston has gone down from TDC by its drop; that is room too.",
    ),
    Idea(
        "valve-tilt-ignored",
        lambda g: _tilted(g.drop_mm + g.pocket_mm - g.lift_mm, g),
        "A tilted valve moves partly sideways; along the bore only lift × cos(tilt) counts.",
    ),
    Idea(
        "sine-for-cosine",
        lambda g: _tilted(
            g.drop_mm + g.pocket_mm - g.lift_mm * math.sin(math.radians(g.angle_deg)), g
        ),
        "With no tilt the whole lift must count, so it is the cosine.",
    ),
    Idea(
        "drop-taken-off",
        lambda g: g.pocket_mm + g.along_bore_mm - g.drop_mm,
        "The signs are swapped: drop makes room, lift takes it.",
    ),
)


@family(
    "piston-valve-gap",
    version=1,
    topic="valves",
    title="Gap between valve and piston",
    levels=(Level.RECALL, Level.APPLY, Level.DIAGNOSE),
    kinds=(Kind.NUMBER, Kind.ONE_CHOICE),
    gives=("drop_mm", "lift_mm", "pocket_mm", "angle_deg", "least_mm"),
    asks="gap_mm",
    key_follows="Drop plus room at TDC less lift times the cosine of the valve's tilt.",
    misconceptions=tuple(idea.misconception for idea in IDEAS),
    caution=GAP_MEASURED,
)
def ask(sheet: EngineSheet, draw: Draw, level: Level, kind: Kind) -> Question:
    """Recall: upright valve. Apply: tilted. Diagnose: is it enough? The cam may be off."""
    gap = _measured(sheet, draw, level)
    verdict = level is Level.DIAGNOSE and kind is Kind.ONE_CHOICE
    return Question(
        prompt=_prompt(gap, level, verdict=verdict),
        givens=_givens(gap, level),
        asked=Asked("gap_mm", "mm", 2),
        steps=_steps(gap, level),
        value=round(gap.gap_mm, 2),
        tolerance=TOLERANCE_MM,
        right=((round(gap.gap_mm, 2), _verdict(gap, gap.gap_mm)),) if verdict else (),
        wrong=wrong_answers(IDEAS, gap, (lambda v: _verdict(gap, v)) if verdict else None),
        right_because="Drop and room at TDC, less the lift along the bore.",
        **pictured(cylinder_section, _section(sheet, gap)),
        keep="valve-tilt-ignored" if level is Level.APPLY else "",
        reference="least gaps: common practice, no source" if level is Level.DIAGNOSE else "",
    )


def _measured(sheet: EngineSheet, draw: Draw, level: Level) -> Gap:
    valve = draw.choice(VALVES)
    room = valve_room_of(sheet, valve)
    crank = draw.integer(3, 28) * (1 if valve == "intake" else -1)
    off = draw.integer(0, 30) if level is Level.DIAGNOSE else draw.integer(0, 12)
    curve = lift_curve_of(sheet, valve)
    late = -off if valve == "intake" else off
    drop = round(slider_of(sheet).drop_mm(360 + crank), 2)
    lift = round(curve.lift_mm(360 + crank - late), 2)
    gap = Gap(
        valve,
        crank,
        drop,
        lift,
        round(room.room_mm + draw.step(-1, 1.5, 0.1), 1),
        0.0 if level is Level.RECALL else round(room.tilt_deg) + draw.integer(-2, 4),
        customary_gap_mm(sheet, valve),
    )
    if lift < LEAST_LIFT_MM or not 0.1 < gap.gap_mm < LARGEST_MM:
        raise Redraw
    if abs(gap.gap_mm - gap.least_mm) < 0.1:
        raise Redraw  # too near to call
    if round(_gap_drawn(sheet, gap), 2) != round(gap.gap_mm, 2):
        raise Redraw  # the picture takes the drop unrounded
    return gap


def _gap_drawn(sheet: EngineSheet, gap: Gap) -> float:
    state = _section(sheet, gap)
    asked = state.intake if gap.valve == "intake" else state.exhaust
    return cylinder_section.gap_mm(state, asked)


def _section(sheet: EngineSheet, gap: Gap) -> cylinder_section.CylinderSection:
    """The cylinder at this angle, the valve asked about as measured, the other by its curve."""
    piston = sheet.piston
    return cylinder_section.CylinderSection(
        piston.bore_mm,
        piston.stroke_mm,
        piston.rod_mm,
        gap.crank_deg % 360,
        _in_section(sheet, gap, "intake"),
        _in_section(sheet, gap, "exhaust"),
        piston.pin_offset_mm,
        piston.gasket_mm + piston.deck_mm,
        asked=f"{gap.valve} gap",
        end=words_of_sheet(sheet).end,
    )


def _in_section(sheet: EngineSheet, gap: Gap, valve: ValveKind) -> SectionValve:
    stated, own = sheet.valves, gap.valve == valve
    head = stated.intake_head_mm if valve == "intake" else stated.exhaust_head_mm
    room = valve_room_of(sheet, valve)
    lift = gap.lift_mm if own else lift_curve_of(sheet, valve).lift_mm(360 + gap.crank_deg)
    tilt = gap.angle_deg if own else room.tilt_deg
    left = (gap.pocket_mm if own else room.room_mm) - sheet.piston.gasket_mm - sheet.piston.deck_mm
    recess = min(stated.intake_recess_mm if valve == "intake" else stated.exhaust_recess_mm, left)
    return SectionValve(lift, head, tilt, recess, left - recess)


def _prompt(gap: Gap, level: Level, *, verdict: bool) -> str:
    stands = "upright" if not gap.angle_deg else f"tilted {degrees(gap.angle_deg)} from the bore"
    measured = (
        f"At {gap.words} a piston stands {plain(gap.drop_mm)} mm below TDC. The {gap.valve} valve, "
        f"{stands}, is lifted {plain(gap.lift_mm)} mm along its stem. With the piston at TDC and "
        f"the valve shut there are {plain(gap.pocket_mm)} mm, pocket included, between them along "
        "the bore."
    )
    least = f" The least gap allowed is {plain(gap.least_mm)} mm."
    if verdict:
        return f"{measured}{least} How large is the gap here, and is it enough?"
    asked = f" How large is the gap along the bore here? {answer_in('mm', 2)}"
    return f"{measured}{least if level is Level.DIAGNOSE else ''}{asked}"


def _verdict(gap: Gap, value: object) -> str:
    if not isinstance(value, int | float):
        return ""
    shown = number_text(value, 2, "mm")
    if value <= 0:
        return f"{shown}: they meet"
    return f"{shown}: {'enough' if value >= gap.least_mm else 'too little'}"


def _givens(gap: Gap, level: Level) -> dict[str, Given]:
    asked = {
        "drop_mm": Given(gap.drop_mm, "mm"),
        "lift_mm": Given(gap.lift_mm, "mm"),
        "pocket_mm": Given(gap.pocket_mm, "mm"),
        "angle_deg": Given(gap.angle_deg, "°"),
    }
    if level is Level.DIAGNOSE:
        asked["least_mm"] = Given(gap.least_mm, "mm")
    return asked


def _bore_words(gap: Gap) -> str:
    if not gap.angle_deg:
        return "all of it, "
    return f"{plain(gap.lift_mm)} × cos {degrees(gap.angle_deg)} = "


def _steps(gap: Gap, level: Level) -> tuple[Step, ...]:
    room = round(gap.drop_mm + gap.pocket_mm, 2)
    bore, value = round(gap.along_bore_mm, 3), round(gap.gap_mm, 2)
    steps = [
        Step(
            f"Room without lift: {plain(gap.drop_mm)} + {plain(gap.pocket_mm)} = {plain(room)} mm.",
            room,
            "mm",
        ),
        Step(f"Lift along the bore: {_bore_words(gap)}{plain(bore)} mm.", bore, "mm"),
        Step(f"Gap: {plain(room)} − {plain(bore)} = {plain(value)} mm.", value, "mm"),
    ]
    if level is Level.DIAGNOSE:
        enough = value >= gap.least_mm
        steps.append(
            Step(
                f"Allowed are no less than {plain(gap.least_mm)} mm: "
                f"{'enough here' if enough else 'too little'}. The least gap may be at another "
                "angle, so measure degree by degree around TDC."
            )
        )
    return tuple(steps)
