"""Family `pins-apart`: what a pin count between two marks says of a camshaft."""

from __future__ import annotations

from quizsvc.figures import sprocket_pair
from quizsvc.items import cautions
from quizsvc.items.assemble import Question
from quizsvc.items.choosing import Draw
from quizsvc.items.family import family
from quizsvc.items.mark_pair import cam_teeth_of, natural_pins, pair_with, turning
from quizsvc.items.model import Given, Kind, Level, Step
from quizsvc.items.options import Idea, wrong_answers
from quizsvc.items.phrases import convention_for, counted
from quizsvc.items.picture import pictured
from quizsvc.items.strand_count import (
    ASKED,
    STRANDS,
    TOLERANCE_DEG,
    Count,
    asked_for,
    degrees_steps,
    verdict_text,
)
from quizsvc.sheets.schema import EngineSheet
from quizsvc.timing.marks import Side

CONVENTION = convention_for("chain")


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
    wrong = wrong_answers(IDEAS, count, verdict_text)
    state = pair_with(count.cam_teeth, count.counted, counted=count.side, rotation=turning(sheet))
    return Question(
        prompt=f"{_prompts(count, level, turning(sheet))} {asked_for(kind)}",
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
        right=((value, verdict_text(value)),) if kind is Kind.ONE_CHOICE else (),
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
    strand = STRANDS[count.side]
    opening = ""
    if level is Level.DIAGNOSE:
        opening = "The engine starts badly and a cam signal is in doubt; the cover is off. "
    return (
        f"{opening}{seen} From the crank mark to the cam mark along {strand}, "
        f"{count.specified} pins are specified and {count.counted} are there ({CONVENTION}). The "
        f"cam sprocket has {count.cam_teeth} teeth and turns at half crank speed."
    )


def _steps(count: Count) -> tuple[Step, ...]:
    off = count.counted - count.specified
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
    return found, Step(way), *degrees_steps(count)
