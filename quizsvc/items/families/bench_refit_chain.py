"""Family `bench-refit-chain`: put a chain or belt that sits some teeth wrong back in time."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache, partial

from quizsvc.figures import drive_state, drive_view
from quizsvc.figures.drive_state import DriveView
from quizsvc.figures.from_sheet import drive_view as view_of
from quizsvc.items import cautions
from quizsvc.items.assemble import Question
from quizsvc.items.choosing import Draw
from quizsvc.items.family import NotForThisSheet, family
from quizsvc.items.model import Asked, BenchStart, BenchTask, Given, Kind, Level, Step
from quizsvc.items.options import Idea, wrong_answers
from quizsvc.items.phrases import convention_for, counted
from quizsvc.sheets.drive_words import DriveKind, words_for
from quizsvc.sheets.schema import EngineSheet, ShaftKind
from quizsvc.sheets.state import drive_of, runs_clockwise, shaft_of, wheel_index, wheel_of

ASKED = Asked("teeth_off", "teeth", 0)


@dataclass(frozen=True, slots=True)
class Strand:
    """A strand between the driver's mark and a camshaft's, with its stated pins or belt teeth."""

    drive: str
    kind: DriveKind
    cam_wheel: str
    cam_title: str
    teeth: int
    pins: int
    tight: bool


@dataclass(frozen=True, slots=True)
class Slipped:
    strand: Strand
    teeth_off: int  # positive: the cam lags

    @property
    def counted(self) -> int:
        more = self.teeth_off if self.strand.tight else -self.teeth_off
        return self.strand.pins + more


def _ideas(first: str, last: str, pin: str) -> tuple[Idea[Slipped], ...]:
    """Return the wrong ideas; those about counting are named after what is counted."""
    return (
        Idea(
            "chain-moved-wrong-way",
            lambda s: float(2 * s.teeth_off),
            "That moves the cam further out instead of back.",
        ),
        Idea(
            first,
            lambda s: -1.0 if s.strand.tight else 1.0,
            f"That counts the {pin} at the first mark and so moves one tooth too far.",
        ),
        Idea(
            last,
            lambda s: 1.0 if s.strand.tight else -1.0,
            f"That leaves out the {pin} at the second mark and so moves one tooth too far.",
        ),
        Idea(
            "doubled-twice",
            lambda s: float(-s.teeth_off),
            "That moves it twice as far as needed.",
        ),
    )


IDEAS = {
    "chain": _ideas("first-pin-counted", "last-pin-left-out", "pin"),
    "belt": _ideas("belt-first-tooth-counted", "belt-last-tooth-left-out", "tooth"),
}


@family(
    "bench-refit-chain",
    version=1,
    topic="marks",
    title="Refit a chain or belt in time",
    levels=(Level.APPLY, Level.DIAGNOSE),
    kinds=(Kind.BENCH,),
    gives=("pins_specified", "pins_counted", "cam_teeth", "side"),
    asks="teeth_off",
    key_follows="The pins that are too many or too few are the teeth to move.",
    misconceptions=tuple(
        dict.fromkeys(idea.misconception for ideas in IDEAS.values() for idea in ideas)
    ),
    caution=cautions.CHECK_TURN,
)
def ask(sheet: EngineSheet, draw: Draw, level: Level, _kind: Kind) -> Question:
    strands = _strands(sheet)
    if not strands:
        raise NotForThisSheet(
            "the sheet states no pins between a driving mark and a camshaft mark.",
            field="sheet",
            value=sheet.id,
            remedy="State mark_pins on a drive.",
        )
    size = 1 if level is Level.APPLY else draw.integer(2, 3)
    off = size if draw.chance(0.5) else -size
    slipped = Slipped(draw.choice(strands), off)
    strand = slipped.strand
    side, words = "tight" if strand.tight else "slack", words_for(strand.kind)
    state = _view(sheet, slipped)
    work = cautions.BELT_WORK if strand.kind == "belt" else cautions.CHAIN_WORK
    what = "teeth of the belt" if strand.kind == "belt" else "pins"
    return Question(
        prompt=(
            f"{_title(sheet, strand.drive)}: with the driving {words.wheel} at its mark, "
            f"{strand.pins} {what} are specified along the {side} strand between its mark and that "
            f"of the {strand.cam_title} ({convention_for(strand.kind)}); {slipped.counted} are "
            f"there. The {words.wheel} of the {strand.cam_title} has {strand.teeth} teeth. On the "
            f"bench, take the {words.loop} off and refit it so that this camshaft is in time. The "
            "state you leave it in is marked in whole teeth: it must be 0 teeth off."
        ),
        givens={
            "pins_specified": Given(strand.pins),
            "pins_counted": Given(slipped.counted),
            "cam_teeth": Given(strand.teeth),
            "side": Given(side),
        },
        asked=ASKED,
        steps=_steps(slipped),
        value=0.0,
        wrong=wrong_answers(IDEAS[strand.kind], slipped),
        right_because=f"Moved by as many teeth as the count was wrong, the {words.pins} agree.",
        bench=BenchStart(
            BenchTask.REFIT, sheet.marks_position.crank_deg, strand.drive, slipped.teeth_off
        ),
        figure=partial(drive_view.draw, state),
        solution_figure=partial(drive_view.draw, _view(sheet, Slipped(strand, 0)), solution=True),
        figure_alt=drive_state.describe(state),
        caution=" ".join(filter(None, (work, cautions.interference_of(sheet)))),
        reference="pitches from mark to mark; common practice, no source",
    )


@lru_cache(128)
def _strands(sheet: EngineSheet) -> tuple[Strand, ...]:
    """Return the stated strands that lead straight from a driver to a camshaft or back."""
    found = []
    for drive in sheet.drives:
        for stated in drive.mark_pins:
            ends = {stated.from_wheel, stated.to_wheel}
            if drive.driver not in ends:
                continue
            tight = stated.to_wheel == drive.driver
            cam = wheel_of(drive, stated.from_wheel if tight else stated.to_wheel)
            if cam.shaft is None or cam.teeth is None:
                continue
            shaft = shaft_of(sheet, cam.shaft)
            if shaft.kind is ShaftKind.CAM:
                found.append(
                    Strand(
                        drive.id,
                        drive.kind,
                        cam.id,
                        _inside(shaft.title),
                        cam.teeth,
                        stated.pins,
                        tight,
                    )
                )
    return tuple(found)


def _inside(title: str) -> str:
    """Return a title as it stands inside a sentence."""
    return title[0].lower() + title[1:]


@lru_cache(512)
def _view(sheet: EngineSheet, slipped: Slipped) -> DriveView:
    """Return the drive with the slipped camshaft's mark where it really stands."""
    strand = slipped.strand
    drive = drive_of(sheet, strand.drive)
    ends = (strand.cam_wheel, drive.driver)
    view = view_of(
        sheet, strand.drive, note=f"The driving {words_for(strand.kind).wheel} stands at its mark."
    )
    index = wheel_index(drive, strand.cam_wheel)
    wheel = view.wheels[index]
    way = 1 if runs_clockwise(sheet, drive) != wheel.back else -1
    mark = ((wheel.mark_deg or 0.0) - way * slipped.teeth_off * 360 / strand.teeth) % 360
    wheels = (*view.wheels[:index], replace(wheel, mark_deg=mark), *view.wheels[index + 1 :])
    view = replace(view, wheels=wheels, marked_pins=())
    if not drive_state.path_of(view).touches(index, mark):
        return view  # slipped off the strand: its pins are not counted in the picture
    ends = (wheel.name, view.wheels[view.driver].name)
    return replace(view, counted=ends if strand.tight else ends[::-1])


def _title(sheet: EngineSheet, drive_id: str) -> str:
    return drive_of(sheet, drive_id).title


def _steps(slipped: Slipped) -> tuple[Step, ...]:
    strand, off = slipped.strand, slipped.teeth_off
    pins = slipped.counted - strand.pins
    side, words = "tight" if strand.tight else "slack", words_for(strand.kind)
    late = "late" if off > 0 else "early"
    way = "ahead in" if off > 0 else "back against"
    return (
        Step(
            f"{slipped.counted} − {strand.pins}: {counted(abs(pins), words.pin, words.pins)} too "
            f"{'many' if pins > 0 else 'few'} on the {side} strand.",
            pins,
        ),
        Step(f"So the camshaft is {counted(abs(off), 'tooth', 'teeth')} {late}.", off, "teeth"),
        Step(
            f"With the {words.loop} off its {words.wheel}, turn the camshaft {way} its running "
            f"direction by {counted(abs(off), 'tooth', 'teeth')} and lay the {words.loop} on again."
        ),
        Step(f"Count again: {strand.pins} {words.pins}.", strand.pins),
    )
