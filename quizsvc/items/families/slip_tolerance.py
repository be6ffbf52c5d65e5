"""Family `slip-tolerance`: how many teeth a camshaft may be off before valves meet pistons."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache, partial

from quizsvc.figures import lift_curves
from quizsvc.figures.scene import Scene
from quizsvc.items.assemble import Question
from quizsvc.items.cam_card import VALVES, cam_teeth
from quizsvc.items.cautions import FIRST, INTERFERENCE
from quizsvc.items.choosing import Draw
from quizsvc.items.family import NotForThisSheet, family
from quizsvc.items.model import Asked, Given, Kind, Level, Step
from quizsvc.items.options import Idea, Redraw, wrong_answers
from quizsvc.items.phrases import counted, degrees
from quizsvc.items.picture import Pictured
from quizsvc.sheets.drive_words import words_of_sheet
from quizsvc.sheets.schema import EngineSheet
from quizsvc.sheets.state import slider_of
from quizsvc.sheets.valve_state import valve_room_of
from quizsvc.timing.clearance import ValveRoom
from quizsvc.timing.marks import crank_degrees_per_tooth
from quizsvc.timing.valves import ValveKind

NEAR_DEG = 2  # a tooth that lands this near to first contact is no fair question
FURTHEST_DEG = 120
WAYS = ("advanced", "retarded")


@dataclass(frozen=True, slots=True)
class Room:
    """Crank degrees each camshaft may be off, a slip, and the teeth of its sprocket."""

    advanced_deg: int  # intake cam ahead, until an intake valve meets its piston
    retarded_deg: int  # exhaust cam behind, until an exhaust valve does
    direction: str
    cam_teeth: int
    teeth_off: int = 0

    @property
    def free_deg(self) -> int:
        return self.advanced_deg if self.direction == "advanced" else self.retarded_deg

    @property
    def other_deg(self) -> int:
        return self.retarded_deg if self.direction == "advanced" else self.advanced_deg

    @property
    def tooth_deg(self) -> float:
        return crank_degrees_per_tooth(self.cam_teeth)

    @property
    def teeth(self) -> int:
        """Teeth off at which valves first meet pistons."""
        return _first(self.free_deg, self.tooth_deg)


def _first(free_deg: float, tooth_deg: float) -> int:
    return int(free_deg // tooth_deg) + 1


IDEAS: tuple[Idea[Room], ...] = (
    Idea(
        "contact-in-cam-degrees",
        lambda r: _first(r.free_deg, r.tooth_deg / 2),
        "This takes 360° divided by the teeth for a tooth; in crank degrees it is 720°.",
    ),
    Idea(
        "contact-never-by-tooth",
        lambda r: r.teeth - 1,
        "This is the last slip without contact; the next tooth meets.",
    ),
    Idea(
        "slip-room-swapped",
        lambda r: _first(r.other_deg, r.tooth_deg),
        "This is the room of the other direction, which ends at the other valves.",
    ),
    Idea(
        "slip-at-crank-teeth",
        lambda r: _first(r.free_deg, 2 * r.tooth_deg),
        "This takes a tooth for twice as many degrees as it is.",
    ),
    Idea(
        "slip-start-tooth-counted",
        lambda r: r.teeth + 1,
        "This counts the tooth at the mark as well; it is nought.",
    ),
    Idea(
        "contact-at-first-tooth",
        lambda _: 1,
        "One tooth does not always bend valves; the room in degrees decides.",
    ),
)
SLIPS: tuple[Idea[Room], ...] = (
    Idea(
        "contact-in-cam-degrees",
        lambda r: _state(r, r.teeth_off * r.tooth_deg / 2, r.free_deg),
        "This takes 360° divided by the teeth for a tooth; in crank degrees it is 720°.",
    ),
    Idea(
        "slip-room-swapped",
        lambda r: _state(r, r.teeth_off * r.tooth_deg, r.other_deg, swapped=True),
        "This is the room of the other direction, which ends at the other valves.",
    ),
    Idea(
        "slip-at-crank-teeth",
        lambda r: _state(r, r.teeth_off * r.tooth_deg * 2, r.free_deg),
        "This takes a tooth for twice as many degrees as it is.",
    ),
    Idea(
        "slip-start-tooth-counted",
        lambda r: _state(r, (r.teeth_off + 1) * r.tooth_deg, r.free_deg),
        "This counts the tooth at the mark as well.",
    ),
)


def _state(room: Room, shift: float, free: float, *, swapped: bool = False) -> str:
    ahead = (room.direction == "advanced") != swapped
    valves = "intake" if ahead else "exhaust"
    left = round(free - shift, 1)
    if left > 0:
        return f"no contact: {degrees(left)} are left before {valves} valves meet pistons"
    return f"contact: {degrees(-left)} beyond where {valves} valves first meet pistons"


@family(
    "slip-tolerance",
    version=1,
    topic="valves",
    title="Teeth to the first contact",
    levels=(Level.APPLY, Level.DIAGNOSE),
    kinds=(Kind.NUMBER, Kind.ONE_CHOICE),
    gives=("advanced_room_deg", "retarded_room_deg", "direction", "cam_teeth", "teeth_off"),
    asks="teeth to first contact, or whether there was contact",
    key_follows="Room in crank degrees over 720° divided by the teeth, up to the next whole tooth.",
    misconceptions=tuple(dict.fromkeys(idea.misconception for idea in (*IDEAS, *SLIPS))),
    caution=f"{INTERFERENCE} {FIRST}",
)
def ask(sheet: EngineSheet, draw: Draw, level: Level, kind: Kind) -> Question:
    """Apply: teeth to first contact. Diagnose: what a slip of so many teeth has done."""
    more = draw.step(-0.5, 1.5, 0.5)
    ahead, behind = (contact_deg(sheet, valve, more) for valve in VALVES)
    if ahead is None or behind is None:
        raise NotForThisSheet(
            "no valve of this engine can meet a piston.", field="sheet", value=sheet.id
        )
    way, teeth = draw.choice(WAYS), cam_teeth(sheet, draw)
    room = Room(math.floor(ahead), math.floor(behind), way, teeth, draw.integer(1, 4))
    if _unfair(room):
        raise Redraw
    slipped = room.teeth_off if level is Level.DIAGNOSE else room.teeth
    late = slipped * room.tooth_deg * (1 if way == "retarded" else -1)
    picture, wheel = _picture(sheet, more, way, late), words_of_sheet(sheet).wheel
    if level is Level.DIAGNOSE:
        return _slipped(room, picture, wheel, choose=kind is Kind.ONE_CHOICE)
    return Question(
        prompt=f"{_room_words(room)} The {wheel} has {teeth} teeth. By how many teeth must the "
        f"{_cam(room)} camshaft be {way} for the first contact? Count the first tooth that meets.",
        givens=_givens(room),
        asked=Asked("teeth", ""),
        steps=_steps(room),
        value=room.teeth,
        wrong=wrong_answers(IDEAS, room),
        right_because="The first whole tooth that goes beyond the room in crank degrees.",
        **picture,
    )


def _slipped(room: Room, picture: Pictured, wheel: str, *, choose: bool) -> Question:
    shift = room.teeth_off * room.tooth_deg
    left = room.free_deg - shift
    truth = _state(room, shift, room.free_deg)
    asked = "What follows for the valves?" if choose else (
        "How many crank degrees are left before the first contact, to one decimal? A minus means "
        "that there was contact."
    )  # fmt: skip
    return Question(
        prompt=f"{_room_words(room)} The {_cam(room)} camshaft, {wheel} with {room.cam_teeth} "
        f"teeth, is found {room.direction} by {counted(room.teeth_off, 'tooth', 'teeth')} after "
        f"the engine was turned. {asked}",
        givens={**_givens(room), "teeth_off": Given(room.teeth_off, "teeth")},
        asked=Asked("left_deg", "°", 1),
        steps=_slip_steps(room, truth),
        value=left,
        tolerance=0.2,
        right=((truth, truth),) if choose else (),
        wrong=wrong_answers(SLIPS, room) if choose else wrong_answers(LEFT, room),
        right_because="The slip in crank degrees held against the room on its side.",
        **picture,
        caution="After any contact check leakage and valves before the engine is started.",
    )


LEFT: tuple[Idea[Room], ...] = (
    Idea(
        "contact-in-cam-degrees",
        lambda r: r.free_deg - r.teeth_off * r.tooth_deg / 2,
        SLIPS[0].because,
    ),
    Idea("slip-room-swapped", lambda r: r.other_deg - r.teeth_off * r.tooth_deg, SLIPS[1].because),
    Idea(
        "slip-at-crank-teeth",
        lambda r: r.free_deg - 2 * r.teeth_off * r.tooth_deg,
        SLIPS[2].because,
    ),
    Idea(
        "slip-start-tooth-counted",
        lambda r: r.free_deg - (r.teeth_off + 1) * r.tooth_deg,
        SLIPS[3].because,
    ),
)


@lru_cache(256)
def contact_deg(sheet: EngineSheet, valve: ValveKind, more_mm: float) -> float | None:
    """Return crank degrees a camshaft may be off until its valves meet their pistons.

    Intake advanced, exhaust retarded, with ``more_mm`` of room on top of the sheet's; None where
    they never meet within `FURTHEST_DEG`.
    """
    own = valve_room_of(sheet, valve)
    room = ValveRoom(valve, own.curve, own.room_mm + more_mm, own.tilt_deg)
    slider, way = slider_of(sheet), -1 if valve == "intake" else 1

    def meets(deg: float) -> bool:
        return room.retarded(way * deg).least_gap(slider).gap_mm <= 0

    if meets(0) or not meets(FURTHEST_DEG):
        return None
    low, high = 0.0, float(FURTHEST_DEG)
    while high - low > 0.05:
        middle = (low + high) / 2
        low, high = (low, middle) if meets(middle) else (middle, high)
    return low


def _picture(sheet: EngineSheet, more_mm: float, way: str, late_deg: float) -> Pictured:
    """Lift and piston with the cams in time; with the solution, the slipped cam's curve."""
    state = _curves(sheet, more_mm)
    valve = "intake" if way == "advanced" else "exhaust"
    return {
        "figure": partial(lift_curves.draw, state),
        "solution_figure": partial(_draw_slipped, sheet, more_mm, valve, late_deg),
        "figure_alt": _said(state),
    }


@lru_cache(64)
def _curves(sheet: EngineSheet, more_mm: float) -> lift_curves.LiftCurves:
    intake, exhaust = (_lift_of(sheet, valve, more_mm, 0.0) for valve in VALVES)
    piston = sheet.piston
    return lift_curves.LiftCurves(
        intake,
        exhaust,
        piston.stroke_mm,
        piston.rod_mm,
        pin_offset_mm=piston.pin_offset_mm,
        note="The camshafts in time.",
    )


def _lift_of(
    sheet: EngineSheet, valve: ValveKind, more_mm: float, late_deg: float
) -> lift_curves.LiftOf:
    room = valve_room_of(sheet, valve).retarded(late_deg)
    curve = room.curve
    return lift_curves.LiftOf(
        curve.open_deg, curve.close_deg, curve.max_lift_mm, room.room_mm + more_mm, room.tilt_deg
    )


@lru_cache(64)
def _said(state: lift_curves.LiftCurves) -> str:
    """Describe once: it seeks the least gaps, which takes longer than the rest of an item."""
    return lift_curves.describe(state)


def _draw_slipped(
    sheet: EngineSheet, more_mm: float, valve: str, late_deg: float, *, solution: bool = True
) -> Scene:
    intake, exhaust = (
        _lift_of(sheet, one, more_mm, late_deg if one == valve else 0.0) for one in VALVES
    )
    state = replace(
        _curves(sheet, more_mm),
        intake=intake,
        exhaust=exhaust,
        asked=f"{valve} least",
        note=f"The {valve} camshaft off by {degrees(round(abs(late_deg), 1))} of crankshaft.",
    )
    return lift_curves.draw(state, solution=solution)


def _unfair(room: Room) -> bool:
    over = room.free_deg % room.tooth_deg
    near = not NEAR_DEG <= over <= room.tooth_deg - NEAR_DEG
    return near or room.advanced_deg == room.retarded_deg or room.teeth > 6


def _cam(room: Room) -> str:
    return "intake" if room.direction == "advanced" else "exhaust"


def _room_words(room: Room) -> str:
    return (
        "On an interference engine, turned by hand, intake valves first meet pistons when their "
        f"camshaft is {room.advanced_deg} crank degrees advanced, exhaust valves when theirs is "
        f"{room.retarded_deg} crank degrees retarded."
    )


def _givens(room: Room) -> dict[str, Given]:
    return {
        "advanced_room_deg": Given(room.advanced_deg, "°"),
        "retarded_room_deg": Given(room.retarded_deg, "°"),
        "direction": Given(room.direction),
        "cam_teeth": Given(room.cam_teeth, "teeth"),
    }


def _steps(room: Room) -> tuple[Step, ...]:
    tooth = round(room.tooth_deg, 2)
    free = room.teeth - 1
    return (
        Step(f"One tooth: 720° / {room.cam_teeth} = {degrees(tooth)} of crankshaft.", tooth, "°"),
        Step(f"Room when {room.direction}: {room.free_deg}°.", room.free_deg, "°"),
        Step(
            f"{counted(free, 'tooth', 'teeth')}: {degrees(round(free * room.tooth_deg, 1))}, still "
            f"free. {counted(room.teeth, 'tooth', 'teeth')}: "
            f"{degrees(round(room.teeth * room.tooth_deg, 1))}, contact.",
            room.teeth,
            "teeth",
        ),
    )


def _slip_steps(room: Room, truth: str) -> tuple[Step, ...]:
    tooth, shift = round(room.tooth_deg, 2), round(room.teeth_off * room.tooth_deg, 1)
    left = round(room.free_deg - room.teeth_off * room.tooth_deg, 1)
    return (
        Step(f"One tooth: 720° / {room.cam_teeth} = {degrees(tooth)} of crankshaft.", tooth, "°"),
        Step(
            f"{counted(room.teeth_off, 'tooth', 'teeth')} {room.direction}: {degrees(shift)}.",
            shift,
            "°",
        ),
        Step(
            f"Room when {room.direction}: {room.free_deg}° − {degrees(shift)} = {degrees(left)}: "
            f"{truth}.",
            left,
            "°",
        ),
    )
