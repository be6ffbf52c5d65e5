"""Family `belt-teeth-apart`: what the count of a belt's teeth between two marks says of a cam."""

from __future__ import annotations

from quizsvc.figures import drive_view
from quizsvc.items import cautions
from quizsvc.items.assemble import Question
from quizsvc.items.belt_pair import TAKEN_UP, belt_pair_view, natural_teeth
from quizsvc.items.choosing import Draw
from quizsvc.items.family import family
from quizsvc.items.mark_pair import cam_teeth_of, clockwise, turning
from quizsvc.items.model import Given, Kind, Level, Step
from quizsvc.items.options import Idea, Redraw, wrong_answers
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

IDEAS: tuple[Idea[Count], ...] = (
    Idea(
        "belt-first-tooth-counted",
        lambda c: c.with_more(1),
        "That counts the tooth at the first mark.",
    ),
    Idea(
        "belt-last-tooth-left-out",
        lambda c: c.with_more(-1),
        "That leaves out the tooth at the second mark.",
    ),
    Idea(
        "belt-tight-strand-advances",
        lambda c: -c.verdict.crank_deg if c.side == "tight" else None,
        "More teeth on the pulled strand make the cam late, fewer early.",
    ),
    Idea(
        "belt-slack-strand-like-tight",
        lambda c: -c.verdict.crank_deg if c.side == "slack" else None,
        "On the slack strand it is the other way round: too many teeth, early cam.",
    ),
    Idea("cam-for-crank", lambda c: c.verdict.cam_deg, "Those are cam degrees."),
    Idea("doubled-twice", lambda c: 2 * c.verdict.crank_deg, "That doubles once too often."),
)


@family(
    "belt-teeth-apart",
    version=1,
    topic="marks",
    title="Verdict of a count of belt teeth",
    levels=(Level.RECALL, Level.APPLY, Level.DIAGNOSE),
    kinds=(Kind.ONE_CHOICE, Kind.NUMBER),
    gives=("teeth_specified", "teeth_counted", "cam_teeth", "side"),
    asks="crank_error_deg",
    key_follows="Belt teeth too many on the tight strand, or too few on the slack one, are teeth "
    "late; 720° ÷ cam teeth each.",
    misconceptions=tuple(idea.misconception for idea in IDEAS),
    caution=f"{cautions.CHECK_TURN} {cautions.BELT_WORK}",
    drive="belt",
)
def ask(sheet: EngineSheet, draw: Draw, level: Level, kind: Kind) -> Question:
    """Recall: one tooth on the tight strand. Diagnose: up to three, from a complaint."""
    tight, count = _drawn(sheet, draw, level)
    value = count.verdict.crank_deg
    view = belt_pair_view(
        count.cam_teeth // 2,
        tight,
        runs_clockwise=clockwise(sheet),
        late_teeth=count.verdict.teeth_off,
        counted=count.side,
        note=f"Count along the {count.side} strand.",
    )
    return Question(
        prompt=f"{_prompt(count, level, turning(sheet))} {asked_for(kind)}",
        givens={
            "teeth_specified": Given(count.specified),
            "teeth_counted": Given(count.counted),
            "cam_teeth": Given(count.cam_teeth),
            "side": Given(count.side),
        },
        asked=ASKED,
        steps=_steps(count),
        value=value,
        tolerance=TOLERANCE_DEG,
        wrong=wrong_answers(IDEAS, count, verdict_text),
        right=((value, verdict_text(value)),) if kind is Kind.ONE_CHOICE else (),
        right_because="Too many teeth on the pulled strand are a late cam, tooth by tooth.",
        caution=cautions.interference_of(sheet),
        reference="pitches from mark to mark; common practice, no source",
        **pictured(drive_view, view),
    )


def _drawn(sheet: EngineSheet, draw: Draw, level: Level) -> tuple[int, Count]:
    """Draw a pair of pulleys: teeth specified on its tight strand, and the count."""
    teeth = cam_teeth_of(sheet, draw) if draw.chance(0.5) else 2 * draw.integer(16, 24)
    if teeth % 2:
        raise Redraw
    tight = natural_teeth(teeth // 2) + draw.integer(-1, 7)
    late = draw.choice((-1, 1)) if level is Level.RECALL else draw.choice((-3, -2, -1, 0, 1, 2, 3))
    side: Side = "tight" if level is Level.RECALL or draw.chance(0.5) else "slack"
    if side == "tight":
        return tight, Count(tight, tight + late, teeth, side)
    slack = tight + TAKEN_UP
    return tight, Count(slack, slack - late, teeth, side)


def _prompt(count: Count, level: Level, turn: str) -> str:
    opening = {
        Level.RECALL: "",
        Level.APPLY: "A new timing belt was laid on. ",
        Level.DIAGNOSE: "Since its belt was changed the engine lacks power and idles roughly; the "
        "cover is off. ",
    }[level]
    strand = STRANDS[count.side]
    return (
        f"{opening}Seen from the belt end the crankshaft turns {turn} and stands at its mark. From "
        f"the crank mark to the cam mark along {strand}, {count.specified} teeth of the belt are "
        f"specified and {count.counted} are there ({convention_for('belt')}). The cam pulley has "
        f"{count.cam_teeth} teeth and turns at half crank speed."
    )


def _steps(count: Count) -> tuple[Step, ...]:
    off, verdict = count.counted - count.specified, count.verdict
    if not off:
        return (
            Step(f"Counted {count.counted}, specified {count.specified}: equal.", off),
            Step("The count agrees with the specification: the cam is in time.", 0.0, "°"),
        )
    stands = "late" if verdict.crank_deg > 0 else "early"
    more, less = ("more", "fewer") if off > 0 else ("fewer", "more")
    why = {
        "tight": f"With {more} teeth to draw in",
        "slack": f"{more.capitalize()} on the slack strand are {less} on the pulled one",
    }[count.side]
    return (
        Step(
            f"Counted {count.counted}, specified {count.specified}: "
            f"{counted(abs(off), 'tooth', 'teeth')} too {'many' if off > 0 else 'few'}.",
            off,
        ),
        Step(f"{why}, the cam is {stands}."),
        *degrees_steps(count),
    )
