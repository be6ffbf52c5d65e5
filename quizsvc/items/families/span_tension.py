"""Family `span-tension`: tension of a belt span from the note it gives when plucked."""

from __future__ import annotations

from dataclasses import dataclass

from quizsvc.figures import pulley_pair
from quizsvc.items.assemble import Question
from quizsvc.items.cautions import BELT_SETTING
from quizsvc.items.choosing import Draw
from quizsvc.items.family import family
from quizsvc.items.model import Asked, Given, Kind, Level, Step
from quizsvc.items.options import Idea, Redraw, number_text, wrong_answers
from quizsvc.items.phrases import answer_in, plain
from quizsvc.items.picture import pictured
from quizsvc.sheets.schema import EngineSheet
from quizsvc.timing.belt import span_frequency_hz, span_tension_n

USUAL_MASS_KG_M = 0.11
LOWEST_N, HIGHEST_N = 150, 1400
PULLEY_MM = 60.0
BAND_N = 30  # either side of the setting


@dataclass(frozen=True, slots=True)
class Span:
    """A plucked span, and the tension range it is to be in."""

    mass_kg_m: float
    span_m: float
    frequency_hz: int
    low_n: float = 0.0
    high_n: float = 0.0

    @property
    def tension_n(self) -> float:
        return span_tension_n(self.frequency_hz, self.mass_kg_m, self.span_m)


IDEAS: tuple[Idea[Span], ...] = (
    Idea(
        "span-factor-four-forgotten",
        lambda s: s.tension_n / 4,
        "The span swings as half a wave, so the wave is 2·L long: the factor 4 belongs there.",
    ),
    Idea(
        "span-factor-two",
        lambda s: s.tension_n / 2,
        "The wave length 2·L is squared: the factor is 4.",
    ),
    Idea(
        "belt-mass-for-mass-per-metre",
        lambda s: s.tension_n * s.span_m,
        "The formula wants the mass of one metre, not that of the span.",
    ),
    Idea(
        "span-length-not-squared",
        lambda s: s.tension_n / s.span_m,
        "The wave's speed 2·L·f is squared as a whole, the length with it.",
    ),
    Idea(
        "span-frequency-as-octave",
        lambda s: s.tension_n * 4,
        "This doubles the frequency; the free span's lowest note is the one measured.",
    ),
)


@family(
    "span-tension",
    version=1,
    topic="wear",
    title="Belt tension from its note",
    levels=(Level.APPLY, Level.DIAGNOSE),
    kinds=(Kind.NUMBER, Kind.ONE_CHOICE),
    gives=("mass_kg_m", "span_m", "frequency_hz", "low_n", "high_n"),
    asks="tension_n",
    key_follows="Four times mass per metre times span squared times frequency squared.",
    misconceptions=tuple(idea.misconception for idea in IDEAS),
    caution=BELT_SETTING,
)
def ask(sheet: EngineSheet, draw: Draw, level: Level, kind: Kind) -> Question:
    """Apply: the tension. Diagnose: whether it is right for the setting."""
    diagnose = level is Level.DIAGNOSE
    span = _drawn(sheet, draw)
    verdict = diagnose and kind is Kind.ONE_CHOICE
    value = round(span.tension_n, 0)
    setting = (
        f" It is to be between {plain(span.low_n)} and {plain(span.high_n)} N." if diagnose else ""
    )
    asks = (
        "What is its tension, and what follows?"
        if verdict
        else f"What is its tension? {answer_in('N', 0)}"
    )
    return Question(
        prompt=f"A belt of {plain(span.mass_kg_m)} kg per metre has a free span of "
        f"{plain(span.span_m)} m. Plucked at rest it sounds at {span.frequency_hz} Hz.{setting} "
        f"{asks}",
        givens=_givens(span, diagnose=diagnose),
        asked=Asked("tension_n", "N", 0),
        steps=_steps(span, diagnose=diagnose),
        value=value,
        tolerance=max(2.0, round(value * 0.01)),
        right=((value, _verdict(span, value)),) if verdict else (),
        wrong=wrong_answers(IDEAS, span, (lambda v: _verdict(span, v)) if verdict else None),
        right_because="The speed of the wave, 2·L·f, squared, times the mass of a metre.",
        **pictured(pulley_pair, _picture(span)),
        reference="belt texts: T = 4 m L² f²",
    )


def _picture(span: Span) -> pulley_pair.PulleyPair:
    """Two equal pulleys: their centre distance is the free span."""
    return pulley_pair.PulleyPair(
        pulley_pair.Pulley("pulley", PULLEY_MM),
        pulley_pair.Pulley("pulley", PULLEY_MM),
        1000 * span.span_m,
        asked="tension",
        answer=f"{round(span.tension_n)} N",
        diameters_shown=False,
        note=f"The upper span is plucked: free length {plain(span.span_m)} m.",
    )


def _drawn(sheet: EngineSheet, draw: Draw) -> Span:
    stated = sheet.accessory_belt
    mass = stated.mass_kg_m if stated else USUAL_MASS_KG_M
    setting = stated.tension_new_n if stated and draw.chance(0.5) else 480.0
    mass = round(mass + 0.01 * draw.integer(-2, 4), 3)
    span = draw.step(0.11, 0.32, 0.01)
    wanted = setting * draw.step(0.7, 1.3, 0.02)
    frequency = round(span_frequency_hz(wanted, mass, span))
    middle = 10 * round(setting / 10)
    found = Span(mass, span, frequency, middle - BAND_N, middle + BAND_N)
    near = min(abs(found.tension_n - found.low_n), abs(found.tension_n - found.high_n))
    if not LOWEST_N < found.tension_n < HIGHEST_N or near < 0.015 * found.tension_n:
        raise Redraw
    return found


def _verdict(span: Span, value: object) -> str:
    if not isinstance(value, int | float):
        return ""
    shown = number_text(value, 0, "N")
    if value < span.low_n:
        return f"{shown}: too slack"
    return f"{shown}: {'too tight' if value > span.high_n else 'as it should be'}"


def _givens(span: Span, *, diagnose: bool) -> dict[str, Given]:
    givens = {
        "mass_kg_m": Given(span.mass_kg_m, "kg/m"),
        "span_m": Given(span.span_m, "m"),
        "frequency_hz": Given(span.frequency_hz, "Hz"),
    }
    if diagnose:
        givens |= {"low_n": Given(span.low_n, "N"), "high_n": Given(span.high_n, "N")}
    return givens


def _steps(span: Span, *, diagnose: bool) -> tuple[Step, ...]:
    speed = round(2 * span.span_m * span.frequency_hz, 2)
    tension = round(span.tension_n)
    steps = [
        Step(
            f"Speed of the wave: 2 × {plain(span.span_m)} × {span.frequency_hz} = "
            f"{plain(speed)} m/s.",
            speed,
            "m/s",
        ),
        Step(
            f"Tension: {plain(span.mass_kg_m)} × {plain(speed)}² = {tension} N.",
            tension,
            "N",
        ),
    ]
    if diagnose:
        steps.append(Step(f"So {_verdict(span, tension)}."))
    return tuple(steps)
