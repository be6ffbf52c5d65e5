"""Family `mark-angle`: where a cam mark stands after the crankshaft has turned."""

from __future__ import annotations

from dataclasses import dataclass

from quizsvc.figures import single_sprocket
from quizsvc.figures.single_sprocket import SingleSprocket
from quizsvc.items import cautions
from quizsvc.items.assemble import Question
from quizsvc.items.choosing import Draw
from quizsvc.items.family import family
from quizsvc.items.mark_pair import cam_teeth_of, clockwise, turning
from quizsvc.items.model import Asked, Given, Kind, Level, Step
from quizsvc.items.options import Idea, Redraw, wrong_answers
from quizsvc.items.phrases import answer_in, claim, degrees
from quizsvc.items.picture import pictured
from quizsvc.sheets.drive_words import words_of_sheet
from quizsvc.sheets.schema import EngineSheet
from quizsvc.timing.marks import mark_angle_deg

ASKED = Asked("cam_mark_deg", "°", 0)


@dataclass(frozen=True, slots=True)
class Turned:
    """A mark's angle in the running direction from straight up, and what the crank turns."""

    cam_mark_deg: float
    crank_turn_deg: float


IDEAS: tuple[Idea[Turned], ...] = (
    Idea(
        "cam-turns-with-crank",
        lambda t: (t.cam_mark_deg + t.crank_turn_deg) % 360,
        "That turns the cam as far as the crank.",
    ),
    Idea(
        "cam-turns-double",
        lambda t: (t.cam_mark_deg + 2 * t.crank_turn_deg) % 360,
        "That turns the cam twice as far as the crank.",
    ),
    Idea(
        "mark-turns-back",
        lambda t: (t.cam_mark_deg - t.crank_turn_deg / 2) % 360,
        "That turns the cam against the crank.",
    ),
    Idea(
        "start-forgotten",
        lambda t: t.crank_turn_deg / 2 % 360,
        "That forgets where the mark stood before.",
    ),
    Idea(
        "quarter-turn-for-half",
        lambda t: (t.cam_mark_deg + t.crank_turn_deg / 4) % 360,
        "That halves the turn twice.",
    ),
)


@family(
    "mark-angle",
    version=1,
    topic="marks",
    title="Cam mark after a turn of the crank",
    levels=(Level.RECALL, Level.APPLY, Level.DIAGNOSE),
    kinds=(Kind.NUMBER, Kind.ONE_CHOICE),
    gives=("cam_mark_deg", "crank_turn_deg"),
    asks="cam_mark_deg",
    key_follows="Half of the crank's turn is added to the mark's angle, less whole turns.",
    misconceptions=tuple(idea.misconception for idea in IDEAS),
    caution=cautions.TURNING,
)
def ask(sheet: EngineSheet, draw: Draw, level: Level, _kind: Kind) -> Question:
    turned = _drawn(draw, level)
    value = mark_angle_deg(turned.cam_mark_deg, turned.crank_turn_deg)
    wrong = wrong_answers(IDEAS, turned)
    words = words_of_sheet(sheet)
    steps, story, keep = _steps(turned, value), "", ""
    if level is Level.DIAGNOSE:
        said = claim(draw, wrong, value, ASKED)
        story, keep = f"Somebody doubts the mark that is seen there. {said.sentence} ", said.keep
        steps += (said.step,)
    state = _sprocket(sheet, turned, cam_teeth_of(sheet, draw))
    return Question(
        prompt=(
            f"Seen from the {words.end} the engine turns {turning(sheet)}, and angles of marks are "
            f"counted in that direction from straight up. The cam {words.wheel} turns at half "
            f"crank speed, the same way as the crankshaft. Its mark stands at "
            f"{degrees(turned.cam_mark_deg)}. The crankshaft is turned on by "
            f"{degrees(turned.crank_turn_deg)}. {story}Where does the mark stand now (0 to 360)? "
            f"{answer_in('degrees', 0)}"
        ),
        givens={
            "cam_mark_deg": Given(turned.cam_mark_deg, "°"),
            "crank_turn_deg": Given(turned.crank_turn_deg, "°"),
        },
        asked=ASKED,
        steps=steps,
        value=value,
        wrong=wrong,
        keep=keep,
        right_because="Half of the crank's turn, added to where it stood.",
        reference="2 : 1 between crank and cam",
        **pictured(single_sprocket, state),
    )


def _drawn(draw: Draw, level: Level) -> Turned:
    """Recall turns by half turns, apply by up to two, diagnose by more."""
    mark = float(5 * draw.integer(0, 71))
    if level is Level.RECALL:
        turn = 180.0 * draw.integer(1, 3)
    else:
        low, high = (3, 71) if level is Level.APPLY else (73, 180)
        turn = float(10 * draw.integer(low, high))
    if turn % 720 == 0:
        raise Redraw
    return Turned(mark, turn)


def _sprocket(sheet: EngineSheet, turned: Turned, teeth: int) -> SingleSprocket:
    """Return the cam sprocket before the turn; the picture counts angles clockwise."""
    way, words = 1 if clockwise(sheet) else -1, words_of_sheet(sheet)
    return SingleSprocket(
        "camshaft",
        teeth,
        way * turned.cam_mark_deg % 360,
        asked="mark",
        turn_deg=way * turned.crank_turn_deg / 2 % 360,
        note=f"Seen from the {words.end}, turning {turning(sheet)}.",
        wheel=words.wheel,
    )


def _steps(turned: Turned, value: float) -> tuple[Step, ...]:
    half = turned.crank_turn_deg / 2
    reached = turned.cam_mark_deg + half
    steps = [
        Step(
            f"The cam turns half as far: {degrees(turned.crank_turn_deg)} ÷ 2 = {degrees(half)}.",
            half,
            "°",
        ),
        Step(
            f"Added to where the mark stood: {degrees(turned.cam_mark_deg)} + {degrees(half)} = "
            f"{degrees(reached)}.",
            reached,
            "°",
        ),
    ]
    if reached >= 360:
        turns = int(reached // 360)
        steps.append(
            Step(
                f"Less {'a whole turn' if turns == 1 else f'{turns} whole turns'}: "
                f"{degrees(value)}.",
                value,
                "°",
            )
        )
    return tuple(steps)
