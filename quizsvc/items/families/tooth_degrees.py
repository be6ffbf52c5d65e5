"""Family `tooth-degrees`: crank degrees that one tooth of a cam sprocket stands for."""

from __future__ import annotations

from quizsvc.figures import single_sprocket
from quizsvc.figures.single_sprocket import SingleSprocket
from quizsvc.items.assemble import Question
from quizsvc.items.choosing import Draw
from quizsvc.items.family import family
from quizsvc.items.mark_pair import cam_teeth_of
from quizsvc.items.model import Asked, Given, Kind, Level, Step
from quizsvc.items.options import Idea, number_text, wrong_answers
from quizsvc.items.phrases import answer_in, claim
from quizsvc.items.picture import pictured
from quizsvc.sheets.drive_words import DriveWords, words_of_sheet
from quizsvc.sheets.schema import EngineSheet
from quizsvc.timing.marks import crank_degrees_per_tooth

ASKED = Asked("crank_deg", "°", 1)
TOLERANCE_DEG = 0.1
_NOTE = "Angles of the {} itself; the crankshaft turns twice as far."

IDEAS: tuple[Idea[int], ...] = (
    Idea("cam-for-crank", lambda n: 360 / n, "Those are cam degrees; the crank turns twice that."),
    Idea("halved-for-doubled", lambda n: 180 / n, "That halves the cam angle; double it."),
    Idea("doubled-twice", lambda n: 1440 / n, "That doubles once too often."),
    Idea("teeth-one-fewer", lambda n: 720 / (n - 1), "A wheel has as many spaces as teeth."),
    Idea("teeth-one-more", lambda n: 720 / (n + 1), "That counts the first tooth twice."),
)


@family(
    "tooth-degrees",
    version=1,
    topic="marks",
    title="Crank degrees per tooth",
    levels=(Level.RECALL, Level.APPLY, Level.DIAGNOSE),
    kinds=(Kind.NUMBER, Kind.ONE_CHOICE),
    gives=("cam_teeth",),
    asks="crank_deg",
    key_follows="One tooth is 360° ÷ teeth of the cam; the crank turns twice as far.",
    misconceptions=tuple(idea.misconception for idea in IDEAS),
)
def ask(sheet: EngineSheet, draw: Draw, level: Level, _kind: Kind) -> Question:
    teeth = cam_teeth_of(sheet, draw) if level is Level.RECALL else 2 * draw.integer(13, 28)
    value = crank_degrees_per_tooth(teeth)
    wrong = wrong_answers(IDEAS, teeth)
    shown = number_text(value, 1, "°")
    steps = [
        Step(f"One tooth of {teeth} is 360° ÷ {teeth} of the camshaft.", 360 / teeth, "°"),
        Step("The crankshaft turns twice while the camshaft turns once.", 2.0),
        Step(f"So 720° ÷ {teeth} = {shown} of the crankshaft.", value, "°"),
    ]
    words = words_of_sheet(sheet)
    prompt, keep = _prompts(level, teeth, words), ""
    if level is Level.DIAGNOSE:
        said = claim(draw, wrong, value, ASKED, TOLERANCE_DEG)
        prompt, keep = f"{prompt} {said.sentence} How many crank degrees is it really?", said.keep
        steps.append(said.step)
    state = SingleSprocket(
        "camshaft",
        teeth,
        asked="tooth angle",
        note=_NOTE.format(words.wheel),
        wheel=words.wheel,
    )
    return Question(
        prompt=f"{prompt} {answer_in('crank degrees', 1)}",
        givens={"cam_teeth": Given(teeth)},
        asked=ASKED,
        steps=tuple(steps),
        value=value,
        tolerance=TOLERANCE_DEG,
        wrong=wrong,
        keep=keep,
        right_because="360° ÷ teeth at the cam, twice that at the crank.",
        reference=f"720° / teeth of a half-speed {words.wheel}",
        **pictured(single_sprocket, state),
    )


def _prompts(level: Level, teeth: int, words: DriveWords) -> str:
    if level is Level.RECALL:
        return (
            f"The cam {words.wheel} has {teeth} teeth and turns at half crank speed. How many "
            "crank degrees are one tooth?"
        )
    if level is Level.APPLY:
        return (
            f"A {words.loop} was fitted one tooth out on a cam {words.wheel} of {teeth} teeth that "
            "turns at half crank speed. By how many crank degrees are the valves out of time, be "
            "it early or late?"
        )
    return (
        f"A cam signal is out by what looks like one tooth of the cam {words.wheel}, which has "
        f"{teeth} teeth and turns at half crank speed. To compare it with the scan tool you need "
        "one tooth in crank degrees."
    )
