"""Family `pins-apart`: what a pin count between two marks says of a camshaft."""

from __future__ import annotations

from dataclasses import dataclass

from quizsvc.figures import sprocket_pair
from quizsvc.items import cautions
from quizsvc.items.assemble import Question
from quizsvc.items.choosing import Draw
from quizsvc.items.family import family
from quizsvc.items.mark_pair import cam_teeth_of, natural_pins, pair_with, turning
from quizsvc.items.model import Asked, Given, Kind, Level, Step, Value
from quizsvc.items.options import Idea, number_text, wrong_answers
from quizsvc.items.phrases import convention_for, counted
from quizsvc.items.picture import pictured
from quizsvc.sheets.schema import EngineSheet
from quizsvc.timing.marks import MarkVerdict, Side, check_pin_count, verdict_of_teeth

ASKED = Asked("crank_error_deg", "°", 1)
TOLERANCE_DEG = 0.1
CONVENTION = convention_for("chain")


@dataclass(frozen=True, slots=True)
class Count:
    specified: int
    counted: int
    cam_teeth: int
    side: Side

    @property
    def verdict(self) -> MarkVerdict:
        return check_pin_count(self.specified, self.counted, self.cam_teeth, self.side)

    def with_more(self, pins: int) -> float:
        """Crank error that follows if so many more pins had been counted."""
        more = self.counted + pins
        return check_pin_count(self.specified, more, self.cam_teeth, self.side).crank_deg


IDEAS: tuple[Idea[Count], ...] = (
    Idea("first-pin-counted", lambda c: c.with_more(1), "That counts the pin at the first mark."),
    Idea(
        "last-pin-left-out",
        lambda c: c.with_more(-1),
        "That leaves out the pin at the second mark.",
    ),
    Idea(
        "mixed-counts",
        lambda c: c.with_more(2),
        "That compares a count with both marked pins in it with one without either.",
    ),
    Idea(
        "longer-tight-strand-advances",
        lambda c: -c.verdict.crank_deg if c.side == "tight" else None,
        "A longer tight strand makes the cam late, a shorter one early.",
    ),
    Idea(
        "slack-strand-like-tight",
        lambda c: -c.verdict.crank_deg if c.side == "slack" else None,
        "On the slack strand it is the other way round: too many pins, early cam.",
    ),
    Idea("cam-for-crank", lambda c: c.verdict.cam_deg, "Those are cam degrees."),
    Idea("doubled-twice", lambda c: 2 * c.verdict.crank_deg, "That doubles once too often."),
)


@family(
    "pins-apart",
    version=1,
    topic="marks",
    title="Verdict of a pin count",
    levels=(Level.RECALL, Level.APPLY, Level.DIAGNOSE),
    kinds=(Kind.ONE_CHOICE, Kind.NUMBER),
    gives=("pins_specified", "pins_counted", "cam_teeth", "side"),
    asks="crank_error_deg",
    key_follows="Pins too many on the tight strand, or too few on the slack one, are teeth late; "
    "720° ÷ cam teeth each.",
    misconceptions=tuple(idea.misconception for idea in IDEAS),
    caution=cautions.CHAIN_WORK,
    drive="chain",
)
def ask(sheet: EngineSheet, draw: Draw, level: Level, kind: Kind) -> Question:
    count = _drawn(sheet, draw, level)
    value = count.verdict.crank_deg
    wrong = wrong_answers(IDEAS, count, _verdict_text)
    state = pair_with(count.cam_teeth, count.counted, counted=count.side, rotation=turning(sheet))
    return Question(
        prompt=f"{_prompts(count, level, turning(sheet))} {_asked(kind)}",
        givens={
            "pins_specified": Given(count.specified),
            "pins_counted": Given(count.counted),
            "cam_teeth": Given(count.cam_teeth),
            "side": Given(count.side),
        },
        asked=ASKED,
        steps=_steps(count),
        value=value,
        tolerance=TOLERANCE_DEG,
        wrong=wrong,
        right=((value, _verdict_text(value)),) if kind is Kind.ONE_CHOICE else (),
        right_because="Too long a tight strand is a late cam, tooth by tooth.",
        caution=cautions.interference_of(sheet),
        reference="pitches from mark to mark; common practice, no source",
        **pictured(sprocket_pair, state),
    )


def _drawn(sheet: EngineSheet, draw: Draw, level: Level) -> Count:
    teeth = cam_teeth_of(sheet, draw) if draw.chance(0.6) else 2 * draw.integer(16, 24)
    specified = natural_pins(teeth) + draw.integer(-1, 6)
    off = draw.choice((-1, 1)) if level is Level.RECALL else draw.choice((-3, -2, -1, 0, 1, 2, 3))
    side: Side = "tight" if level is Level.RECALL or draw.chance(0.5) else "slack"
    return Count(specified, specified + off, teeth, side)


def _prompts(count: Count, level: Level, turn: str) -> str:
    seen = f"Seen from the chain end the crankshaft turns {turn} and stands at its mark."
    strand = {
        "tight": "the tight strand, which the crankshaft pulls",
        "slack": "the slack strand, where the tensioner is",
    }[count.side]
    opening = ""
    if level is Level.DIAGNOSE:
        opening = "The engine starts badly and a cam signal is in doubt; the cover is off. "
    return (
        f"{opening}{seen} From the crank mark to the cam mark along {strand}, "
        f"{count.specified} pins are specified and {count.counted} are there ({CONVENTION}). The "
        f"cam sprocket has {count.cam_teeth} teeth and turns at half crank speed."
    )


def _asked(kind: Kind) -> str:
    if kind is Kind.NUMBER:
        return (
            "By how many crank degrees is the camshaft out of time? Late is positive, early "
            "negative, in time 0. Answer in crank degrees, to one decimal place."
        )
    return (
        "Is the camshaft in time, early (advanced) or late (retarded), and by how many crank "
        "degrees, to one decimal place?"
    )


def _verdict_text(value: Value) -> str:
    deg = round(float(value), 1)  # type: ignore[arg-type]
    if deg == 0:
        return "in time"
    size = number_text(abs(deg), 1, "°")
    return f"{size} late (retarded)" if deg > 0 else f"{size} early (advanced)"


def _steps(count: Count) -> tuple[Step, ...]:
    verdict = count.verdict
    off = count.counted - count.specified
    per_tooth = verdict_of_teeth(1, count.cam_teeth).crank_deg
    found = Step(
        f"Counted {count.counted}, specified {count.specified}: "
        + (f"{counted(abs(off), 'pin')} too {'many' if off > 0 else 'few'}." if off else "equal."),
        off,
    )
    if not off:
        return found, Step("The count agrees with the specification: the cam is in time.", 0.0, "°")
    way = {
        ("tight", True): "The crankshaft must turn through the extra pins before the cam reaches "
        "its mark: late.",
        ("tight", False): "With fewer pins to pull, the cam reaches its mark too soon: early.",
        ("slack", True): "The whole chain is fixed: too many on the slack strand are too few on "
        "the tight one: early.",
        ("slack", False): "The whole chain is fixed: too few on the slack strand are too many on "
        "the tight one: late.",
    }[count.side, off > 0]
    return (
        found,
        Step(way),
        Step(
            f"One tooth is 720° ÷ {count.cam_teeth} = {number_text(per_tooth, 1, '°')} of crank.",
            per_tooth,
            "°",
        ),
        Step(
            f"{counted(abs(off), 'tooth', 'teeth')}: {_verdict_text(verdict.crank_deg)}.",
            verdict.crank_deg,
            "°",
        ),
    )
