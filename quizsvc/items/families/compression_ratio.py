"""Family `compression-ratio`: volume at the bottom over volume at the top."""

from __future__ import annotations

from dataclasses import dataclass

from quizsvc.figures import cylinder_volumes
from quizsvc.figures.cylinder_volumes import CylinderVolumes
from quizsvc.items.assemble import Question
from quizsvc.items.choosing import Draw
from quizsvc.items.family import family
from quizsvc.items.model import Asked, Given, Kind, Level, Step
from quizsvc.items.options import Idea, Redraw, wrong_answers
from quizsvc.items.phrases import claim, plain
from quizsvc.items.picture import pictured
from quizsvc.sheets.schema import EngineSheet
from quizsvc.timing.crank import compression_ratio, cylinder_cc

ASKED = Asked("compression_ratio", "", 1)
TOLERANCE = 0.1
_GASKETS_MM = (0.6, 0.7, 0.9, 1.1, 1.3)


@dataclass(frozen=True, slots=True)
class Space:
    """One cylinder's volumes, as stated."""

    bore_mm: float
    stroke_mm: float
    chamber_cc: float
    gasket_mm: float
    gasket_bore_mm: float
    deck_mm: float
    dish_cc: float

    @property
    def swept_cc(self) -> float:
        return cylinder_cc(self.bore_mm, self.stroke_mm)

    @property
    def gasket_cc(self) -> float:
        return cylinder_cc(self.gasket_bore_mm, self.gasket_mm)

    @property
    def deck_cc(self) -> float:
        return cylinder_cc(self.bore_mm, self.deck_mm)

    @property
    def clearance_cc(self) -> float:
        return self.chamber_cc + self.gasket_cc + self.deck_cc + self.dish_cc

    def ratio_with(self, clearance_cc: float) -> float:
        return (self.swept_cc + clearance_cc) / clearance_cc


IDEAS: tuple[Idea[Space], ...] = (
    Idea(
        "swept-over-clearance",
        lambda s: s.swept_cc / s.clearance_cc,
        "That leaves the clearance out at the bottom.",
    ),
    Idea(
        "gasket-forgotten",
        lambda s: s.ratio_with(s.clearance_cc - s.gasket_cc),
        "That leaves the gasket out.",
    ),
    Idea(
        "chamber-only",
        lambda s: s.ratio_with(s.chamber_cc),
        "That counts only the chamber in the head.",
    ),
    Idea(
        "dish-reversed",
        lambda s: s.ratio_with(s.clearance_cc - 2 * s.dish_cc) if s.dish_cc else None,
        "That takes the dish off instead of adding it.",
    ),
    Idea(
        "deck-forgotten",
        lambda s: s.ratio_with(s.clearance_cc - s.deck_cc) if s.deck_mm else None,
        "That lets the crown stand level with the deck.",
    ),
    Idea(
        "throw-for-stroke",
        lambda s: (s.swept_cc / 2 + s.clearance_cc) / s.clearance_cc,
        "That sweeps only half of the stroke.",
    ),
    Idea(
        "clearance-counted-twice",
        lambda s: (s.swept_cc + 2 * s.clearance_cc) / s.clearance_cc,
        "That adds the clearance once more.",
    ),
)


@family(
    "compression-ratio",
    version=1,
    topic="piston",
    title="Compression ratio",
    levels=(Level.RECALL, Level.APPLY, Level.DIAGNOSE),
    kinds=(Kind.NUMBER, Kind.ONE_CHOICE),
    gives=(
        "bore_mm",
        "stroke_mm",
        "chamber_cc",
        "gasket_mm",
        "gasket_bore_mm",
        "deck_mm",
        "dish_cc",
    ),
    asks="compression_ratio",
    key_follows="(Swept volume + clearance) ÷ clearance; clearance is chamber, gasket, deck and "
    "dish together.",
    misconceptions=tuple(idea.misconception for idea in IDEAS),
)
def ask(sheet: EngineSheet, draw: Draw, level: Level, _kind: Kind) -> Question:
    space = _drawn(sheet, draw, level)
    value = compression_ratio(
        space.swept_cc,
        space.chamber_cc,
        gasket_cc=space.gasket_cc,
        deck_cc=space.deck_cc,
        dish_cc=space.dish_cc,
    )
    if not 7 <= value <= 24:
        raise Redraw
    wrong = wrong_answers(IDEAS, space)
    steps, story, keep = _steps(space, value), "", ""
    if level is Level.DIAGNOSE:
        said = claim(draw, wrong, value, ASKED, TOLERANCE)
        story, keep = f"The head has been off and was measured. {said.sentence} ", said.keep
        steps += (said.step,)
    state = CylinderVolumes(
        space.bore_mm,
        space.stroke_mm,
        parts_named=_named(space),
        result=(f"{space.swept_cc:.1f} cc swept", f"{space.clearance_cc:.1f} cc left at TDC"),
    )
    return Question(
        prompt=(
            f"One cylinder: bore {plain(space.bore_mm)} mm, stroke {plain(space.stroke_mm)} mm, "
            f"chamber in the head {plain(space.chamber_cc)} cc, gasket {plain(space.gasket_mm)} mm "
            f"thick when clamped with a {plain(space.gasket_bore_mm)} mm hole. At TDC the crown "
            f"stands {_deck(space.deck_mm)}{_dish(space.dish_cc)}. {story}What is the compression "
            f"ratio, as the number before “: 1”? Give it to one decimal place."
        ),
        givens={
            "bore_mm": Given(space.bore_mm, "mm"),
            "stroke_mm": Given(space.stroke_mm, "mm"),
            "chamber_cc": Given(space.chamber_cc, "cc"),
            "gasket_mm": Given(space.gasket_mm, "mm"),
            "gasket_bore_mm": Given(space.gasket_bore_mm, "mm"),
            "deck_mm": Given(space.deck_mm, "mm"),
            "dish_cc": Given(space.dish_cc, "cc"),
        },
        asked=ASKED,
        steps=steps,
        value=value,
        tolerance=TOLERANCE,
        wrong=wrong,
        keep=keep,
        right_because="Everything over the piston at BDC, divided by what is left at TDC.",
        reference="engine texts: (swept + clearance) / clearance",
        **pictured(cylinder_volumes, state),
    )


def _drawn(sheet: EngineSheet, draw: Draw, level: Level) -> Space:
    piston = sheet.piston
    chamber, gasket = piston.chamber_cc, piston.gasket_mm
    if level is not Level.RECALL:  # a head that was skimmed, another gasket
        chamber = round(chamber * draw.step(0.86, 1.14, 0.02) * 2) / 2
        gasket = draw.choice(_GASKETS_MM)
    return Space(
        piston.bore_mm,
        piston.stroke_mm,
        chamber,
        gasket,
        piston.gasket_bore_mm,
        piston.deck_mm,
        piston.dish_cc,
    )


def _named(space: Space) -> tuple[tuple[str, str], ...]:
    deck, dish = space.deck_mm, space.dish_cc
    return (
        ("chamber", f"{plain(space.chamber_cc)} cc"),
        ("gasket", f"{plain(space.gasket_mm)} mm, hole {plain(space.gasket_bore_mm)} mm"),
        ("crown", f"{plain(abs(deck))} mm {'below' if deck >= 0 else 'above'} deck"),
        ("dish" if dish >= 0 else "dome", f"{plain(abs(dish))} cc"),
    )


def _deck(deck_mm: float) -> str:
    if not deck_mm:
        return "level with the block"
    return f"{plain(abs(deck_mm))} mm {'below' if deck_mm > 0 else 'above'} the block"


def _dish(dish_cc: float) -> str:
    if not dish_cc:
        return " and is flat"
    return f" and has a {'dish' if dish_cc > 0 else 'dome'} of {plain(abs(dish_cc))} cc"


def _steps(space: Space, value: float) -> tuple[Step, ...]:
    swept, rest = space.swept_cc, space.clearance_cc
    parts = [f"{plain(space.chamber_cc)} chamber", f"{space.gasket_cc:.1f} gasket"]
    parts += [f"{space.deck_cc:.1f} deck"] if space.deck_mm else []
    parts += [f"{plain(space.dish_cc)} {'dish' if space.dish_cc > 0 else 'dome'}"] * bool(
        space.dish_cc
    )
    return (
        Step("Compare what is over the piston at the bottom with what is left at the top."),
        Step(
            f"Swept: π/4 × {plain(space.bore_mm)}² × {plain(space.stroke_mm)} ÷ 1000 = "
            f"{swept:.1f} cc.",
            swept,
            "cc",
        ),
        Step(f"Left at TDC: {' + '.join(parts)} = {rest:.1f} cc.", rest, "cc"),
        Step(f"({swept:.1f} + {rest:.1f}) ÷ {rest:.1f} = {value:.1f}.", value),
    )
