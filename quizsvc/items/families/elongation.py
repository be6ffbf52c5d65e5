"""Family `elongation`: how much a stretch of chain has grown."""

from __future__ import annotations

from dataclasses import dataclass

from quizsvc.figures import elongation
from quizsvc.items.assemble import Question
from quizsvc.items.choosing import Draw
from quizsvc.items.family import family
from quizsvc.items.model import Asked, Given, Kind, Level, Step
from quizsvc.items.options import Idea, Redraw, Wrong, number_text, wrong_answers
from quizsvc.items.phrases import answer_in, plain
from quizsvc.items.picture import pictured
from quizsvc.sheets.schema import EngineSheet
from quizsvc.timing.wear import elongation_percent

TOLERANCE = 0.02
NEAR_LIMIT = 0.08  # percent: nearer than that a reading of 0.1 mm could tip it


@dataclass(frozen=True, slots=True)
class Measured:
    """A stretch of chain pulled straight and measured from pin to pin."""

    pitches: int
    pitch_mm: float
    length_mm: float
    limit_percent: float

    @property
    def new_mm(self) -> float:
        return self.pitches * self.pitch_mm

    @property
    def growth_mm(self) -> float:
        return self.length_mm - self.new_mm

    @property
    def percent(self) -> float:
        return elongation_percent(self.length_mm, self.pitches, self.pitch_mm)


IDEAS: tuple[Idea[Measured], ...] = (
    Idea(
        "pins-between-for-pitches",
        lambda m: elongation_percent(m.length_mm, m.pitches - 1, m.pitch_mm),
        "This compares with one pitch too few: between two pins there is one pitch more than there "
        "are pins in between.",
    ),
    Idea(
        "pins-counted-for-pitches",
        lambda m: elongation_percent(m.length_mm, m.pitches + 1, m.pitch_mm),
        "This compares with one pitch too many: pins are one more than the pitches between them.",
    ),
    Idea(
        "growth-mm-for-percent",
        lambda m: m.growth_mm,
        "This is the growth in mm; in percent it is related to the length when new.",
    ),
    Idea(
        "growth-per-pitch",
        lambda m: 100 * m.growth_mm / m.pitches / 10,
        "This spreads the growth over the pitches and takes a centimetre for each.",
    ),
    Idea(
        "growth-of-a-metre",
        lambda m: m.growth_mm / 10,
        "This takes the stretch for a metre; it is related to its own length when new.",
    ),
    Idea(
        "growth-at-both-pins",
        lambda m: 2 * m.percent,
        "The pins wear at both ends of a link, but what is measured holds all of it already.",
    ),
    Idea(
        "growth-over-worn-length",
        lambda m: 100 * m.growth_mm / m.length_mm,
        "Elongation is related to the length when new, not to the worn one.",
    ),
)


@family(
    "elongation",
    version=1,
    topic="wear",
    title="Chain elongation",
    levels=(Level.APPLY, Level.DIAGNOSE),
    kinds=(Kind.NUMBER, Kind.ONE_CHOICE),
    gives=("pitches_measured", "pitch_mm", "length_mm", "limit_percent"),
    asks="percent",
    key_follows="Measured length over pitches times pitch, less one, in percent.",
    misconceptions=tuple(idea.misconception for idea in IDEAS),
    drive="chain",
)
def ask(sheet: EngineSheet, draw: Draw, level: Level, kind: Kind) -> Question:
    """Apply: the percentage. Diagnose: whether the chain is to be renewed."""
    chains = [drive for drive in sheet.drives if drive.kind == "chain"]
    drive = draw.choice(chains or list(sheet.drives))
    pitches = draw.integer(12, 40)
    new = pitches * drive.pitch_mm
    grown = draw.step(0.2, max(0.8, 1.8 * drive.elongation_limit_percent), 0.05)
    measured = Measured(
        pitches, drive.pitch_mm, round(new * (1 + grown / 100), 1), drive.elongation_limit_percent
    )
    diagnose = level is Level.DIAGNOSE
    if diagnose and abs(measured.percent - measured.limit_percent) < NEAR_LIMIT:
        raise Redraw
    verdict = diagnose and kind is Kind.ONE_CHOICE
    value = round(measured.percent, 2)
    return Question(
        prompt=_prompt(measured, level, verdict=verdict),
        givens=_givens(measured, level),
        asked=Asked("percent", "%", 2),
        steps=_steps(measured, level),
        value=value,
        tolerance=TOLERANCE,
        right=((value, _verdict(measured, value)),) if verdict else (),
        wrong=_wrong(measured, kind, verdict=verdict),
        right_because="Growth over the length when new.",
        **pictured(
            elongation,
            elongation.ElongationGauge(
                measured.pitches, measured.pitch_mm, measured.length_mm, asked="percent"
            ),
        ),
        caution=_NEW_PARTS if diagnose else "",
        reference="common practice, no source; the maker's limit comes first",
    )


def _wrong(measured: Measured, kind: Kind, *, verdict: bool) -> tuple[Wrong, ...]:
    """Leave out of a choice what would make the chain shorter than new: nobody falls for it."""
    found = wrong_answers(IDEAS, measured, (lambda v: _verdict(measured, v)) if verdict else None)
    if kind is Kind.NUMBER:
        return found
    return tuple(w for w in found if isinstance(w.value, int | float) and w.value > 0)


_NEW_PARTS = (
    "A worn chain is renewed together with its sprockets and guides as the maker's service "
    "information says."
)


def _prompt(measured: Measured, level: Level, *, verdict: bool) -> str:
    said = (
        f"A timing chain of {plain(measured.pitch_mm)} mm pitch is pulled straight. Over "
        f"{measured.pitches} pitches, from pin centre to pin centre, it measures "
        f"{plain(measured.length_mm)} mm."
    )
    if level is Level.DIAGNOSE:
        said += f" The limit is {plain(measured.limit_percent)} % elongation."
    if verdict:
        return f"{said} How much has it grown, and may it be used again?"
    return f"{said} How much has it grown? {answer_in('percent', 2)}"


def _verdict(measured: Measured, value: object) -> str:
    if not isinstance(value, int | float):
        return ""
    shown = number_text(value, 2, "%")
    return f"{shown}: {'renew it' if value > measured.limit_percent else 'within the limit'}"


def _givens(measured: Measured, level: Level) -> dict[str, Given]:
    givens = {
        "pitches_measured": Given(measured.pitches, "pitches"),
        "pitch_mm": Given(measured.pitch_mm, "mm"),
        "length_mm": Given(measured.length_mm, "mm"),
    }
    if level is Level.DIAGNOSE:
        givens["limit_percent"] = Given(measured.limit_percent, "%")
    return givens


def _steps(measured: Measured, level: Level) -> tuple[Step, ...]:
    new, growth = round(measured.new_mm, 3), round(measured.growth_mm, 3)
    percent = round(measured.percent, 2)
    steps = [
        Step(f"New: {measured.pitches} × {plain(measured.pitch_mm)} = {plain(new)} mm.", new, "mm"),
        Step(
            f"Growth: {plain(measured.length_mm)} − {plain(new)} = {plain(growth)} mm.",
            growth,
            "mm",
        ),
        Step(f"{plain(growth)} / {plain(new)} × 100 = {plain(percent)} %.", percent, "%"),
    ]
    if level is Level.DIAGNOSE:
        over = percent > measured.limit_percent
        steps.append(
            Step(
                f"The limit is {plain(measured.limit_percent)} %: "
                f"{'beyond it, renew the chain' if over else 'within it'}."
            )
        )
    return tuple(steps)
