"""Family `plunger-travel`: whether the wear groove of a tensioner plunger is seen."""

from __future__ import annotations

from dataclasses import dataclass

from quizsvc.figures import tensioner
from quizsvc.items.assemble import Question
from quizsvc.items.cautions import CHAIN_WORK
from quizsvc.items.choosing import Draw
from quizsvc.items.family import NotForThisSheet, family
from quizsvc.items.model import Asked, Given, Kind, Level, Step
from quizsvc.items.options import Idea, Redraw, Wrong, number_text, wrong_answers
from quizsvc.items.phrases import answer_in, plain
from quizsvc.items.picture import pictured
from quizsvc.sheets.schema import EngineSheet
from quizsvc.sheets.wear_state import plunger_of
from quizsvc.timing.tensioner import Plunger

TOLERANCE_MM = 0.1
NEAR_MM = 0.3  # nearer to the groove nobody could tell by eye
THOUSAND_KM = (40, 60, 80, 100, 120)


@dataclass(frozen=True, slots=True)
class Seen:
    """A plunger now, and after how many thousand km it was looked at."""

    plunger: Plunger
    now_mm: float
    thousand_km: int = 0

    @property
    def left_mm(self) -> float:
        """Until the groove shows; negative when it stands clear already."""
        return self.plunger.groove_at_mm - self.now_mm

    @property
    def travel_mm(self) -> float:
        return self.plunger.travel_mm(self.now_mm)

    @property
    def groove_at_km(self) -> float:
        """Thousand km at which the groove shows if wear goes on evenly."""
        plunger = self.plunger
        return (
            self.thousand_km
            * (plunger.groove_at_mm - plunger.extension_new_mm)
            / plunger.travel_mm(self.now_mm)
        )


IDEAS: tuple[Idea[Seen], ...] = (
    Idea(
        "travel-for-extension",
        lambda s: s.plunger.groove_at_mm - s.travel_mm,
        "This holds the travel since new against the groove; the groove's place is an extension.",
    ),
    Idea(
        "groove-from-new",
        lambda s: s.plunger.groove_at_mm + s.plunger.extension_new_mm - s.now_mm,
        "The groove's place is stated from the housing, not from where the plunger stood new.",
    ),
    Idea(
        "groove-means-fully-out",
        lambda s: s.plunger.longest_mm - s.now_mm,
        "This is what is left to the end of travel; the groove comes before it.",
    ),
    Idea(
        "new-extension-for-now",
        lambda s: s.plunger.groove_at_mm - s.plunger.extension_new_mm,
        "This is the room with a new chain; the plunger has come out since.",
    ),
)
KILOMETRES: tuple[Idea[Seen], ...] = (
    Idea(
        "travel-for-extension",
        lambda s: s.thousand_km * s.plunger.groove_at_mm / s.travel_mm,
        "The groove's extension is divided by a travel here; travel belongs to travel.",
    ),
    Idea(
        "extension-for-travel",
        lambda s: s.thousand_km * s.plunger.groove_at_mm / s.now_mm,
        "The plunger did not start from nought: take off its extension when new.",
    ),
    Idea(
        "groove-means-fully-out",
        lambda s: s.thousand_km * (s.plunger.longest_mm - s.plunger.extension_new_mm) / s.travel_mm,
        "This is the end of travel; the groove comes before it.",
    ),
    Idea(
        "left-for-total",
        lambda s: s.thousand_km * s.left_mm / s.travel_mm,
        "This is how far it can still run; asked is the total since the chain was new.",
    ),
)


@family(
    "plunger-travel",
    version=1,
    topic="wear",
    title="Tensioner plunger and its wear groove",
    levels=(Level.APPLY, Level.DIAGNOSE),
    kinds=(Kind.NUMBER, Kind.ONE_CHOICE),
    gives=(
        "extension_new_mm",
        "extension_now_mm",
        "groove_at_mm",
        "longest_mm",
        "thousand_km",
    ),
    asks="groove_seen",
    key_follows="The groove shows once the plunger's extension reaches the groove's place.",
    misconceptions=tuple(dict.fromkeys(i.misconception for i in (*IDEAS, *KILOMETRES))),
    caution=CHAIN_WORK,
    drive="chain",
)
def ask(sheet: EngineSheet, draw: Draw, level: Level, kind: Kind) -> Question:
    """Apply: whether the groove is seen. Diagnose: at what mileage it will be."""
    plunger = _plunger(sheet, draw)
    now = round(draw.step(plunger.extension_new_mm + 0.5, plunger.longest_mm - 0.5, 0.1), 1)
    state = Seen(plunger, now, draw.choice(THOUSAND_KM))
    if level is Level.DIAGNOSE:
        return _mileage(state)
    if abs(state.left_mm) < NEAR_MM:
        raise Redraw
    choose = kind is Kind.ONE_CHOICE
    asks = (
        "Is the wear groove seen?"
        if choose
        else "How many mm are left until the wear groove shows? A minus means that it shows "
        f"already, by so much. {answer_in('mm', 1)}"
    )
    value = round(state.left_mm, 1)
    truth = _words(value)
    return Question(
        prompt=f"{_plunger_words(state)} {asks}",
        givens=_givens(state),
        asked=Asked("groove_seen", "") if choose else Asked("left_mm", "mm", 1),
        steps=_steps(state),
        value=None if choose else value,
        tolerance=TOLERANCE_MM,
        right=((truth, truth),) if choose else (),
        wrong=_said(state) if choose else wrong_answers(IDEAS, state),
        right_because="Extension now against the extension at which the groove shows.",
        **pictured(tensioner, _picture(state, asked="groove")),
    )


def _said(state: Seen) -> tuple[Wrong, ...]:
    """Put the wrong answers into words; the words are their values, as for the right one."""
    found = wrong_answers(IDEAS, state, _words)
    return tuple(Wrong(one.misconception, one.text, one.rationale) for one in found)


def _mileage(state: Seen) -> Question:
    at_km = state.groove_at_km
    if state.left_mm < NEAR_MM or state.travel_mm < 1 or at_km > 400:
        raise Redraw
    return Question(
        prompt=f"{_plunger_words(state)} The chain has run {state.thousand_km} thousand km. If "
        "wear goes on evenly, at how many thousand km since new does the groove show? "
        f"{answer_in('thousand km', 0)}",
        givens={**_givens(state), "thousand_km": Given(state.thousand_km, "1000 km")},
        asked=Asked("thousand_km", "thousand km", 0),
        steps=_km_steps(state),
        value=round(at_km, 0),
        tolerance=1,
        wrong=wrong_answers(KILOMETRES, state),
        right_because="Travel to the groove over travel so far, times the distance run.",
        **pictured(tensioner, _picture(state)),
        reference="even wear is an assumption; common practice, no source",
    )


def _picture(state: Seen, *, asked: str = "") -> tensioner.TensionerSide:
    plunger = state.plunger
    return tensioner.TensionerSide(
        state.now_mm,
        plunger.groove_at_mm,
        plunger.longest_mm,
        plunger.extension_new_mm,
        asked=asked,
    )


def _plunger(sheet: EngineSheet, draw: Draw) -> Plunger:
    chains = [drive for drive in sheet.drives if drive.tensioner and drive.kind == "chain"]
    if not chains:
        raise NotForThisSheet("no drive has a tensioner.", field="sheet", value=sheet.id)
    own = plunger_of(draw.choice(chains))
    more = draw.step(0, 2, 0.5)
    return Plunger(own.extension_new_mm + more, own.groove_at_mm + more, own.longest_mm + more)


def _plunger_words(state: Seen) -> str:
    plunger = state.plunger
    return (
        "A tensioner plunger stands "
        f"{plain(plunger.extension_new_mm)} mm out of its housing with a new chain, now it stands "
        f"{plain(state.now_mm)} mm out. Its wear groove comes out of the housing at "
        f"{plain(plunger.groove_at_mm)} mm, its end of travel is at {plain(plunger.longest_mm)} mm."
    )


def _words(left: object) -> str:
    if not isinstance(left, int | float):
        return ""
    if left > 0:
        return f"not yet: {number_text(left, 1, 'mm')} are left"
    return f"yes: it came out {number_text(-left, 1, 'mm')} ago"


def _givens(state: Seen) -> dict[str, Given]:
    return {
        "extension_new_mm": Given(state.plunger.extension_new_mm, "mm"),
        "extension_now_mm": Given(state.now_mm, "mm"),
        "groove_at_mm": Given(state.plunger.groove_at_mm, "mm"),
        "longest_mm": Given(state.plunger.longest_mm, "mm"),
    }


def _steps(state: Seen) -> tuple[Step, ...]:
    groove, now, left = state.plunger.groove_at_mm, state.now_mm, round(state.left_mm, 1)
    return (
        Step(
            f"The groove's place and the extension are both counted from the housing: "
            f"{plain(groove)} − {plain(now)} = {plain(left)} mm.",
            left,
            "mm",
        ),
        Step(
            "The groove is still inside."
            if left > 0
            else "The groove stands clear: chain and guides are to be checked for wear."
        ),
    )


def _km_steps(state: Seen) -> tuple[Step, ...]:
    plunger = state.plunger
    so_far = round(state.travel_mm, 1)
    whole = round(plunger.groove_at_mm - plunger.extension_new_mm, 1)
    new = plain(plunger.extension_new_mm)
    value = round(state.groove_at_km)
    return (
        Step(f"Travel so far: {plain(state.now_mm)} − {new} = {plain(so_far)} mm.", so_far, "mm"),
        Step(
            f"Travel to the groove: {plain(plunger.groove_at_mm)} − {new} = {plain(whole)} mm.",
            whole,
            "mm",
        ),
        Step(
            f"{state.thousand_km} × {plain(whole)} / {plain(so_far)} = {value} thousand km.",
            value,
            "thousand km",
        ),
    )
