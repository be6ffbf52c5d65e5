"""Invented values that show every component in every state."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

from quizsvc.figures.scene import Arrow, Circle, Ink, Label, Polyline, Scene, Style, Weight
from quizsvc.items.model import BenchStart, BenchTask, Kind, Level, Step
from quizsvc.services.shown import (
    Choice,
    HistoryEntry,
    HistoryPage,
    OpenItem,
    OptionOutcome,
    Outcome,
    Place,
    PracticeOverview,
    SheetChoice,
    TopicStanding,
)

THEN = datetime(2025, 3, 14, 9, 30, tzinfo=UTC)

UNKNOWN = TopicStanding(
    "wear",
    "Wear and tension",
    "Stretch, tensioners, guides and belts that have run in.",
    0,
    None,
    None,
    None,
    None,
    "No answers yet.",
)
WIDE = TopicStanding(
    "marks",
    "Timing marks",
    "Counting pins or teeth, reading marks, finding a slipped tooth.",
    3,
    0.48,
    0.22,
    0.75,
    THEN,
    "About 48 % of typical items right, likely 22 % to 75 %, after 3 answers.",
)
NARROW = TopicStanding(
    "cycle",
    "Strokes and firing order",
    "Which stroke each cylinder is on, and which fires next.",
    64,
    0.91,
    0.84,
    0.95,
    THEN,
    "About 91 % of typical items right, likely 84 % to 95 %, last on 14 March 2025.",
    ready=True,
)

OVERVIEW = PracticeOverview(
    (NARROW, WIDE, UNKNOWN),
    (SheetChoice("demo-inline-four", "Demo inline four (invented)", 2),),
    "marks",
    "Timing marks: the fewest answers so far, and the last two were not right.",
)
EMPTY_OVERVIEW = PracticeOverview((), (), "", "")

_LINE = Style()
_ASKED = Style(stroke=Ink.ACCENT, weight=Weight.THICK)
FIGURE = Scene(
    480,
    300,
    (
        Circle((140, 150), 70, Style(fill=Ink.METAL)),
        Circle((330, 150), 110, Style(fill=Ink.METAL)),
        Polyline(((140, 80), (330, 40)), _LINE),
        Polyline(((140, 220), (330, 260)), _LINE),
        Polyline(((140, 80), (140, 98)), _ASKED),
        Arrow((140, 150), (190, 150), Style(stroke=Ink.FAINT, weight=Weight.THIN)),
        Label((140, 175), "crank"),
        Label((330, 155), "cam"),
    ),
    alt="A small crank sprocket on the left and a larger cam sprocket on the right, one chain "
    "round both, a mark at the top of the crank sprocket.",
)
SOLVED = replace(
    FIGURE,
    shapes=(*FIGURE.shapes, Label((235, 40), "12 pins", ink=Ink.SOLUTION, bold=True)),
    alt=FIGURE.alt + " Twelve pins are counted from mark to mark.",
)

ONE_CHOICE = OpenItem(
    token="sample",  # noqa: S106 - invented, opens nothing
    kind=Kind.ONE_CHOICE,
    level=Level.APPLY,
    prompt="The sheet states 13 pins from the crank mark to the cam mark on the tight strand. You "
    "count 12. The cam sprocket has 36 teeth. How does the cam stand?",
    options=tuple(
        Choice(number, text)
        for number, text in enumerate(
            ("Advanced by 20° crank", "Retarded by 20° crank", "Advanced by 10° crank", "In time"),
            start=1,
        )
    ),
    things=(),
    partners=(),
    places=(),
    unit="",
    decimals=0,
    caution="Do not turn the crankshaft against its running direction; a slipped chain can let "
    "valves meet pistons. The maker’s service information comes first.",
    topic_id="marks",
    topic_title="Timing marks",
    sheet_id="demo-inline-four",
    sheet_title="Demo inline four (invented)",
    has_figure=True,
    figure_alt=FIGURE.alt,
    picture="",
    picture_alt="",
    why="the topic with the fewest answers",
    answered=False,
)
SEVERAL = replace(
    ONE_CHOICE, kind=Kind.SEVERAL_CHOICES, prompt="Which of these must be checked?", caution=""
)
NUMBER = replace(
    ONE_CHOICE,
    kind=Kind.NUMBER,
    prompt="Stroke 86 mm, rod 143 mm. How far is the piston below TDC at 30° after TDC?",
    options=(),
    unit="mm",
    decimals=1,
    caution="",
)
TURN = replace(
    NUMBER,
    kind=Kind.BENCH,
    prompt="On the bench, turn the crankshaft to a safe position.",
    unit="°",
    decimals=0,
    bench=BenchStart(BenchTask.TURN, 130.0),
)
REFIT = replace(
    TURN,
    prompt="Refit the chain in time.",
    bench=BenchStart(BenchTask.REFIT, 0.0, "primary", 1),
)
_STEPS_OF_WORK = (
    "Turn the crank to the safe position",
    "Lock the tensioner’s plunger",
    "Loosen the sprocket bolt while the cam is held",
    "Take off the chain",
)
ORDER = replace(
    ONE_CHOICE,
    kind=Kind.ORDER,
    prompt="Put this work in order.",
    options=(),
    things=tuple(Choice(number, text) for number, text in enumerate(_STEPS_OF_WORK, start=1)),
    has_figure=False,
)
MATCH = replace(
    ORDER,
    kind=Kind.MATCH,
    prompt="Which stroke follows on which?",
    things=(Choice(1, "Intake"), Choice(2, "Power")),
    partners=(Choice(1, "Exhaust"), Choice(2, "Compression")),
    caution="",
)
POINT = replace(
    ONE_CHOICE,
    kind=Kind.POINT,
    prompt="Where is the tight strand while the engine runs clockwise?",
    options=(),
    places=(
        Place(1, "upper strand", 235, 60, 14),
        Place(2, "lower strand", 235, 240, 14),
        Place(3, "on the cam sprocket", 440, 150, 14),
    ),
    caution="",
)

WRONG = Outcome(
    token="sample",  # noqa: S106 - invented, opens nothing
    prompt=ONE_CHOICE.prompt,
    correct=False,
    credit=0.0,
    given_words="Advanced by 10° crank",
    right_words="Advanced by 20° crank",
    misconception_title="Cam degrees taken for crank degrees",
    misconception_says="One tooth of the cam sprocket is 360/36 = 10 degrees of the cam, and the "
    "crank turns twice as far.",
    rationale="The cam’s own angle was given, not the crank’s.",
    options=tuple(
        OptionOutcome(choice.number, choice.text, choice.number == 3, choice.number == 1, why)
        for choice, why in zip(
            ONE_CHOICE.options,
            (
                "One pin too few on the tight strand draws the cam ahead by one tooth.",
                "The cam would lag with one pin too many.",
                "The cam’s own angle was given, not the crank’s.",
                "One pin is one tooth, so it cannot be in time.",
            ),
            strict=True,
        )
    ),
    steps=(
        Step("Pins missing on the tight strand", 1, "pin"),
        Step("Cam angle of one tooth: 360° / 36", 10.0, "°"),
        Step("Crank angle: twice the cam angle", 20.0, "°"),
    ),
    caution=ONE_CHOICE.caution,
    reference="common practice, no source",
    topic_id="marks",
    topic_title="Timing marks",
    has_solution_figure=True,
    picture="",
    picture_alt="",
    before=WIDE,
    after=replace(
        WIDE,
        answers=4,
        chance=0.41,
        low=0.2,
        high=0.65,
        words="About 41 % of typical items right, likely 20 % to 65 %, after 4 answers.",
    ),
    answered_at=THEN,
)
RIGHT = replace(
    WRONG,
    correct=True,
    credit=1.0,
    given_words=WRONG.right_words,
    misconception_title="",
    misconception_says="",
    rationale=WRONG.options[0].rationale,
    before=UNKNOWN,
    after=WIDE,
)

HISTORY = HistoryPage(
    None,
    tuple(
        HistoryEntry(
            "sample",
            THEN,
            "marks",
            "Timing marks",
            "Demo inline four (invented)",
            ONE_CHOICE.prompt,
            "Advanced by 20° crank" if right else "In time",
            "Advanced by 20° crank",
            right,
            float(right),
        )
        for right in (True, False)
    ),
    2,
    3,
    47,
)
EMPTY_HISTORY = HistoryPage(None, (), 1, 1, 0)
