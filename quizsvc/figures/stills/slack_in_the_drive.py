"""A two-wheel chain drive with its slack on one side or the other."""

from __future__ import annotations

from dataclasses import dataclass

from quizsvc.figures import parts
from quizsvc.figures.scene import Circle, Ink, Point, Polyline, Scene, Shape, Style, Weight
from quizsvc.figures.stills import sketching as sketch

CAM_Y, CRANK_Y = 120.0, 318.0
CAM_RADIUS, CRANK_RADIUS = 54.0, 30.0
HEIGHT = 400.0
BOW = 17.0
CHAIN = Style(Ink.LINE, weight=Weight.THICK)

READING_ALT = (
    "Two drawings, A and B, of the same chain drive seen from the chain end. The crank wheel below "
    "turns clockwise; the cam wheel is above; a fixed guide lies along the right strand, a movable "
    "guide with a plunger behind it on the left. In A the left strand bows inwards with the guide "
    "and the plunger stands far out, the right strand is straight. In B the right strand sags "
    "inwards and the left strand is straight, the plunger nearly in."
)
FITTING_ALT = (
    "A chain drive seen from the chain end, without its tensioner. The crank wheel below is to "
    "turn clockwise; the cam wheel is above. Both wheels' marks stand at their pointers. The left "
    "strand, where the movable guide and the empty seat of the tensioner are, is straight. The "
    "right strand sags inwards."
)


@dataclass(frozen=True, slots=True)
class _Drive:
    """One drive: where it stands and how far each strand bows (inwards is positive)."""

    x: float
    left_bow: float
    right_bow: float
    plunger: float | None  # how far it stands out; None without a tensioner


def reading() -> Scene:
    shapes = [
        *_drive(_Drive(140, BOW, 0, 30)),
        *_drive(_Drive(376, 0, BOW, 13)),
        sketch.title("A", (140, 32)),
        sketch.title("B", (376, 32)),
    ]
    return Scene(parts.WIDTH, HEIGHT, tuple(shapes), READING_ALT)


def fitting() -> Scene:
    drive = _Drive(250, 0, BOW, None)
    shapes = [
        *_drive(drive),
        *_pointer((250, CAM_Y), CAM_RADIUS),
        *_pointer((250, CRANK_Y), CRANK_RADIUS),
        sketch.word("seat of the", (96, 226)),
        sketch.word("tensioner", (96, 247)),
    ]
    return Scene(parts.WIDTH, HEIGHT, tuple(shapes), FITTING_ALT)


def _drive(drive: _Drive) -> list[Shape]:
    cam, crank = (drive.x, CAM_Y), (drive.x, CRANK_Y)
    left = ((crank[0] - CRANK_RADIUS, CRANK_Y), (cam[0] - CAM_RADIUS, CAM_Y))
    right = ((cam[0] + CAM_RADIUS, CAM_Y), (crank[0] + CRANK_RADIUS, CRANK_Y))
    loop = [
        *sketch.bowed(*left, -drive.left_bow),
        *sketch.around(cam, CAM_RADIUS, -90, 90),
        *sketch.bowed(*right, -drive.right_bow),
        *sketch.around(crank, CRANK_RADIUS, 90, 270),
    ]
    return [
        *_wheel(cam, CAM_RADIUS),
        *_wheel(crank, CRANK_RADIUS),
        *_guides(drive, left, right),
        Polyline(tuple(loop), CHAIN, closed=True, name="chain"),
        *parts.turning_arrow(crank, 18, 120, 120, parts.FINE),
    ]


def _wheel(centre: Point, radius: float) -> list[Shape]:
    return [
        Circle(centre, radius - 3, parts.EDGE),
        Circle(centre, 5, Style(Ink.LINE, Ink.PAPER)),
    ]


def _guides(drive: _Drive, left: tuple[Point, Point], right: tuple[Point, Point]) -> list[Shape]:
    movable = _band(sketch.bowed(*left, -drive.left_bow), -7)
    fixed = _band(sketch.bowed(*right, 0), 7)
    return [
        Polyline(movable, sketch.RUBBER, closed=True, name="movable guide"),
        Polyline(fixed, sketch.RUBBER, closed=True, name="fixed guide"),
        *_tensioner(drive, movable),
    ]


def _band(strand: list[Point], beside: float) -> tuple[Point, ...]:
    """Return a guide beside the middle of a strand; a negative distance is to the left."""
    middle = strand[4:21]
    thick = -8 if beside < 0 else 8
    near = [(x + beside, y) for x, y in middle]
    far = [(x + beside + thick, y) for x, y in reversed(middle)]
    return (*near, *far)


def _tensioner(drive: _Drive, guide: tuple[Point, ...]) -> list[Shape]:
    tip_x, tip_y = guide[25]
    if drive.plunger is None:
        style = Style(Ink.FAINT, weight=Weight.THIN, dash=parts.HIDDEN.dash)
        return [parts.rectangle(tip_x - 46, tip_y - 15, tip_x - 14, tip_y + 15, style)]
    body = tip_x - drive.plunger
    return [
        parts.rectangle(body, tip_y - 6, tip_x, tip_y + 6, parts.EDGE, "plunger"),
        parts.rectangle(body - 34, tip_y - 14, body, tip_y + 14, parts.EDGE, "tensioner"),
    ]


def _pointer(centre: Point, radius: float) -> list[Shape]:
    x, y = centre
    beyond = y - radius - 8
    return [
        parts.mark_pointer(centre, radius - 6, 14, 0, "mark"),
        Polyline(
            ((x, beyond), (x - 6, beyond - 12), (x + 6, beyond - 12)), parts.EDGE, closed=True
        ),
    ]
