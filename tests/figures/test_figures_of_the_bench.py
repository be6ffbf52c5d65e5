"""The bench's drawings: what moves stands where the columns say."""

import re
from itertools import pairwise
from math import cos, dist, pi, radians, sin

import pytest
from hypothesis import given, settings
from valid_sheets import (
    BELT_THREE,
    CHAIN_DRIVEN,
    INLINE_FOUR,
    SHIPPED,
    VEE_SIX,
    belt_sheets,
    shipped,
    valid_sheets,
)

from quizsvc.figures import bench_cylinders, bench_drive, bench_traces
from quizsvc.figures.bench_parts import (
    BeltTrack,
    Part,
    Pose,
    Track,
    Way,
    belt_paths,
    chain_paths,
    render,
    transform,
)
from quizsvc.figures.from_sheet import drive_view
from quizsvc.figures.scene import Circle, Polyline
from quizsvc.sheets.bench_columns import chain_place, moved_pitches, values_at
from quizsvc.sheets.bench_state import BenchState, Off, Setting, motion_of


def pose_of(sheet, state, chosen=1, shown=frozenset()):
    places = {drive.id: chain_place(sheet, state.setting, drive) for drive in sheet.drives}
    return Pose(
        values_at(sheet, state),
        {n: None if p.off else moved_pitches(p, state.turned_deg) for n, p in places.items()},
        shown,
        chosen,
        state.crank_deg,
        bench_traces.signal_paths(sheet, motion_of(sheet, state.setting).signals),
    )


def drawings_of(sheet):
    drawn = [bench_drive.drawing(sheet), bench_cylinders.row(sheet), bench_cylinders.section(sheet)]
    return [*drawn, bench_traces.drawing(sheet)] if sheet.sensors else drawn


def tracks_of(sheet):
    return [one for one in bench_drive.drawing(sheet).pieces if isinstance(one, Track)]


@pytest.mark.parametrize("name", SHIPPED)
def test_in_the_marks_position_nothing_of_the_drive_is_turned(name):
    sheet = shipped(name)
    pose = pose_of(sheet, BenchState(sheet.marks_position.crank_deg))

    for piece in bench_drive.drawing(sheet).pieces:
        if getattr(piece, "way", None) is Way.TURN:
            turned = float(transform(piece, pose).split("(")[1].split()[0])
            assert abs((turned + 180) % 360 - 180) < 0.02


@pytest.mark.parametrize("name", CHAIN_DRIVEN)
def test_a_chain_has_its_pins_and_they_stand_a_pitch_apart_wherever_it_runs(name):
    sheet = shipped(name)
    for track, drive in zip(tracks_of(sheet), sheet.drives, strict=True):
        assert track.pins == drive.pins
        lengths = []
        for moved in (0.0, 0.37, 17.5):
            pins = [track.at(track.first + moved + n) for n in range(track.pins)]
            lengths += [
                ((x1 - x0) ** 2 + (y1 - y0) ** 2) ** 0.5 for (x0, y0), (x1, y1) in pairwise(pins)
            ]
        assert max(lengths) / min(lengths) < 1.06  # chords between samples, and onto wheels


def test_marked_links_come_back_after_as_many_pitches_as_the_chain_has():
    [track] = tracks_of(shipped(INLINE_FOUR))

    assert chain_paths(track, 3.0)[2] == chain_paths(track, 3.0 + track.pins)[2]
    assert chain_paths(track, 3.0)[2] != chain_paths(track, 4.0)[2]


def test_with_the_chain_off_it_is_not_seen():
    sheet = shipped(INLINE_FOUR)
    off = BenchState(90.0, Setting((), Off("timing", 90.0)))

    drawn = render(bench_drive.drawing(sheet), pose_of(sheet, off))

    assert re.search(r'data-way="chain"[^>]*display="none"', drawn)


def test_pistons_stand_at_their_drop_and_valves_at_their_lift_in_one_scale():
    sheet = shipped(VEE_SIX)
    row = bench_cylinders.row(sheet)
    slides = [piece for piece in row.pieces if piece.way is Way.SLIDE and not piece.shown_if]
    pistons = [piece for piece in slides if piece.column.startswith("drop")]
    valves = [piece for piece in slides if piece.column.startswith("lift")]

    assert [piece.column for piece in pistons] == [f"drop:{n}" for n in range(1, 7)]
    for valve in valves:
        along = (valve.dx**2 + valve.dy**2) ** 0.5
        assert along == pytest.approx(pistons[0].dy, rel=1e-3)
        assert valve.dy > 0  # opens downwards
        assert (valve.dx > 0) == valve.column.endswith("intake")  # towards the middle


def test_the_rods_foot_meets_the_crankpin_all_round():
    sheet = shipped(INLINE_FOUR)
    section = bench_cylinders.section(sheet)
    crank = next(p for p in section.pieces if p.way is Way.TURN)
    rod = next(p for p in section.pieces if p.way is Way.SWING)
    crankpin = crank.shapes[-1].centre
    foot = next(shape for shape in rod.shapes if isinstance(shape, Circle)).centre

    for deg in range(0, 720, 30):
        pose = pose_of(sheet, BenchState(float(deg)))
        assert placed(rod, foot, pose) == pytest.approx(placed(crank, crankpin, pose), abs=0.3)


def placed(part, point, pose):
    """Carry out a transform as an SVG viewer does: the last one first."""
    for name, numbers in reversed(re.findall(r"(\w+)\(([^)]*)\)", transform(part, pose))):
        values = [float(number) for number in numbers.split()]
        if name == "translate":
            point = (point[0] + values[0], point[1] + values[1])
        else:
            turn, (cx, cy) = radians(values[0]), values[1:]
            x, y = point[0] - cx, point[1] - cy
            point = (cx + x * cos(turn) - y * sin(turn), cy + x * sin(turn) + y * cos(turn))
    return point


def test_a_contact_is_ringed_only_while_it_is_shown():
    sheet = shipped(INLINE_FOUR)
    name = bench_cylinders.contact_name(2, "exhaust")
    ringed = pose_of(sheet, BenchState(0.0), shown=frozenset({name}))

    hidden = render(bench_cylinders.row(sheet), pose_of(sheet, BenchState(0.0)))
    seen = render(bench_cylinders.row(sheet), ringed)

    assert hidden.count('display="none"') == 8
    assert seen.count('display="none"') == 7


def test_a_trace_is_high_over_as_many_degrees_as_the_table_says():
    sheet = shipped(INLINE_FOUR)
    signals = motion_of(sheet, Setting()).signals

    paths = bench_traces.signal_paths(sheet, signals)

    for name, path in paths.items():
        levels = signals[name]
        edges = sum(levels[n] != levels[n - 1] for n in range(len(levels)))
        beyond = sum(levels[n] != levels[n - 1] for n in range(-180, 180))
        assert abs(path.count("V") - edges - beyond) <= 1


@settings(max_examples=8, deadline=None)
@given(sheet=valid_sheets())
def test_every_valid_engine_can_be_drawn_without_inline_style(sheet):
    pose = pose_of(sheet, BenchState(77.7))

    for drawing in drawings_of(sheet):
        drawn = render(drawing, pose)

        assert "style=" not in drawn
        assert "nan" not in drawn
        assert 'aria-hidden="true"' in drawn


def belt_of(sheet) -> BeltTrack:
    (belt,) = (one for one in bench_drive.drawing(sheet).pieces if isinstance(one, BeltTrack))
    return belt


def strokes_in(path: str) -> list[tuple[tuple[float, float], tuple[float, float]]]:
    ends = [tuple(map(float, place.split())) for place in re.split("[ML]", path) if place]
    return list(zip(ends[::2], ends[1::2], strict=True))


def test_a_belt_has_its_teeth_and_goes_when_it_is_off():
    sheet = shipped(BELT_THREE)
    on, off = BenchState(0.0), BenchState(0.0, Setting(off=Off("timing", 0.0)))
    drawing = bench_drive.drawing(sheet)

    teeth, lines = belt_paths(belt_of(sheet), 0.0)

    assert not tracks_of(sheet)
    assert len(strokes_in(teeth)) == sheet.drives[0].pins
    assert len(strokes_in(lines)) == len(sheet.drives[0].marked_links)
    assert 'display="none"' not in render(drawing, pose_of(sheet, on))
    assert render(drawing, pose_of(sheet, off)).count('display="none"') == 1


@pytest.mark.parametrize("moved", [0.0, 0.4, 33.0])
def test_teeth_of_a_running_belt_keep_pace_with_the_grooves_of_every_pulley(moved):
    """Wherever the belt has run, a tooth on a pulley points at its centre, as its groove does."""
    sheet = shipped(BELT_THREE)
    view = drive_view(sheet, "timing")
    belt, turned = belt_of(sheet), moved / sheet.drives[0].wheels[0].teeth * 360
    pose = pose_of(sheet, BenchState(sheet.marks_position.crank_deg + turned))
    teeth = strokes_in(belt_paths(belt, pose.chains["timing"])[0])
    for part in bench_drive.drawing(sheet).pieces:
        outline = part.shapes[0] if isinstance(part, Part) and part.shapes else None
        if getattr(part, "way", None) is not Way.TURN or not isinstance(outline, Polyline):
            continue
        if len(outline.points) < 40:
            continue  # a mark
        wheel = next(w for w in view.wheels if w.teeth * 4 == len(outline.points) and near(part, w))
        bottoms = [placed(part, between(*outline.points[n + 1 : n + 3]), pose)
                   for n in range(0, len(outline.points), 4)]  # fmt: skip
        centre = (part.x, part.y)
        on_it = [tip for _, tip in teeth if dist(tip, centre) < dist(bottoms[0], centre) + 1.1]

        assert len(on_it) >= 3, wheel.name
        for tip in on_it:
            assert min(dist(tip, bottom) for bottom in bottoms) < 1.3, wheel.name


def near(part, wheel) -> bool:
    return (part.x > 260) == (wheel.x_mm > 0) or wheel.x_mm == 0


def between(one, other):
    return (one[0] + other[0]) / 2, (one[1] + other[1]) / 2


def test_what_a_belt_turns_with_its_back_turns_against_the_crankshaft():
    sheet = shipped(BELT_THREE)
    start = sheet.marks_position.crank_deg
    before, after = (pose_of(sheet, BenchState(start + deg)).values for deg in (0.0, 10.0))

    turned = {name: (after[name] - before[name] + 180) % 360 - 180 for name in before}

    pump, roller = 20 * 8 / (2 * pi * 27), 20 * 8 / (2 * pi * 30)  # turns per crank turn
    assert turned["turn:timing/crank-pulley"] == pytest.approx(10)
    assert turned["turn:timing/pump-pulley"] == pytest.approx(-10 * pump, abs=0.01)
    assert turned["turn:timing/tensioner-roller"] == pytest.approx(-10 * roller, abs=0.01)
    assert turned["turn:timing/idler"] == pytest.approx(10 * 20 / 18, abs=0.01)


@settings(max_examples=6, deadline=None)
@given(sheet=belt_sheets())
def test_every_valid_belt_engine_can_be_drawn(sheet):
    drawn = render(bench_drive.drawing(sheet), pose_of(sheet, BenchState(77.7)))

    assert drawn.count('data-way="belt"') == 1
    assert "nan" not in drawn
