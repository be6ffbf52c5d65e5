"""Many states of every figure, for the tests that hold for all of them."""

from itertools import product

from quizsvc.figures import (
    angle_gauge,
    cycle_chart,
    cylinder_phases,
    cylinder_section,
    damper,
    degree_wheel,
    drive_view,
    elongation,
    event_circle,
    firing_row,
    lift_curves,
    piston_curve,
    pulley_pair,
    setting_scale,
    single_sprocket,
    sprocket_pair,
    tensioner,
    tone_wheel,
    torque_wrench,
)
from quizsvc.figures.from_sheet import drive_view as view_of
from quizsvc.figures.section_valves import SectionValve
from quizsvc.sheets.loading import shipped_sheets
from quizsvc.timing.crank import SliderCrank
from quizsvc.timing.lift import LiftCurve
from quizsvc.timing.valves import ValveEvents

SLIDER = SliderCrank(86, 143)
FOUR = (1, 3, 4, 2)
STROKES = ("power", "exhaust", "intake", "compression")


def _phases(crank, asked):
    rows = []
    for place, cylinder in enumerate(FOUR):
        after = (crank - 180 * place) % 720
        rows.append(
            cylinder_phases.Phase(
                cylinder,
                SLIDER.drop_mm(after),
                STROKES[int(after // 180)],
                shown=cylinder != asked,
                asked=cylinder == asked,
            )
        )
    moment = f"Crankshaft {crank}° after firing TDC of cylinder 1."
    return cylinder_phases.CylinderPhases(tuple(sorted(rows, key=lambda r: r.cylinder)), 86, moment)


def _section(crank, asked, tilt):
    intake = LiftCurve(345, 592, 10).lift_mm(crank)
    exhaust = LiftCurve(130, 375, 9.5).lift_mm(crank)
    return cylinder_section.CylinderSection(
        86,
        86,
        143,
        crank,
        SectionValve(intake, 34, tilt, 1.5, 3),
        SectionValve(exhaust, 29, tilt + 2, 1.5, 3),
        asked=asked,
    )


def _curves(at, asked, retard):
    intake = lift_curves.LiftOf(345 + retard, 592 + retard, 10, 5.5, 14)
    exhaust = lift_curves.LiftOf(130 + retard, 375 + retard, 9.5, 6.2, 16)
    return lift_curves.LiftCurves(intake, exhaust, 86, 143, at, asked)


def _chart(order, at, asked, *, valves):
    step = 720 / len(order)
    rows = sorted((cylinder, step * place) for place, cylinder in enumerate(order))
    return cycle_chart.CycleChart(
        tuple(cycle_chart.CycleRow(*row) for row in rows),
        at,
        asked,
        ValveEvents(15, 52, 50, 15),
        valves,
    )


def _pair(pins, cam_mark):
    crank = sprocket_pair.Sprocket("crankshaft", 18, 170)
    return sprocket_pair.SprocketPair(crank, sprocket_pair.Sprocket("camshaft", 36, cam_mark), pins)


def _drive(crank_mark, cam_mark):
    wheels = (
        drive_view.ViewWheel("crankshaft", 0, 0, 23.04, 18, mark_deg=crank_mark),
        drive_view.ViewWheel("tensioner", -60, 150, 30, back=True, part="tensioner"),
        drive_view.ViewWheel("camshaft", 0, 300, 45.9, 36, mark_deg=cam_mark),
    )
    return drive_view.DriveView(
        wheels, True, 8.0, marked_pins=(0, 50), extension_mm=8, groove_at_mm=6
    )


def _belt_pair(*, clockwise):
    side = -1 if clockwise else 1
    wheels = (
        drive_view.ViewWheel("crankshaft", 0, 0, 25.46, 20, part="pulley", mark_deg=180),
        drive_view.ViewWheel("tensioner", side * 58, 90, 28, back=True, part="tensioner"),
        drive_view.ViewWheel("camshaft", 0, 200, 50.93, 40, part="pulley", mark_deg=10),
    )
    ends = ("camshaft", "crankshaft")
    return drive_view.DriveView(wheels, clockwise, 8.0, counted=ends, belt=True)


def _pulleys(first, second, centre, asked):
    idler = {"idler_mm": 50, "idler_in_mm": 12} if asked == "second wrap" else {}
    return pulley_pair.PulleyPair(
        pulley_pair.Pulley("crankshaft", first, "3000 rpm"),
        pulley_pair.Pulley("coolant pump", second),
        centre,
        asked=asked,
        answer={"speed": "4321 rpm", "tension": "543 N"}.get(asked, ""),
        **idler,
    )


BELT = view_of(
    shipped_sheets()["demo-inline-three"], "timing", counted=("exhaust-pulley", "crank-pulley")
)
SAMPLES = {
    sprocket_pair: [_pair(pins, mark) for pins, mark in product((24, 40), (45, 10))],
    cylinder_phases: [_phases(c, a) for c, a in product((0, 100, 250.5, 431), (0, 1, 3))],
    event_circle: [
        event_circle.EventCircle(20, 61, 63, 24, hidden=hidden, span=span)
        for hidden, span in product(((), ("IVC",)), ("", *event_circle.SPANS))
    ],
    firing_row: [
        firing_row.FiringRow(FOUR, 3, question, 4) for question in ("next", "companion", "")
    ],
    drive_view: [
        BELT,
        *(_belt_pair(clockwise=clockwise) for clockwise in (True, False)),
        *(_drive(c, m) for c, m in product((180, 200), (0, 330, 45))),
    ],
    piston_curve: [
        piston_curve.PistonCurve(86, 143, deg, asked)
        for deg, asked in product((2, 12, 45, 90, 133.5, 170, 179), ("", "drop", "angle"))
    ],
    single_sprocket: [
        *(
            single_sprocket.SingleSprocket("camshaft", teeth, mark, "mark", turn_deg=turn)
            for teeth, mark, turn in product((36, 42), (0, 35, 200, 301), (45, 120, -90, 180))
        ),
        *(
            single_sprocket.SingleSprocket("crankshaft", teeth, None, asked, pitch_mm=9.525)
            for teeth, asked in product((15, 24, 48), ("pitch diameter", "tooth angle", "ripple"))
        ),
    ],
    tensioner: [
        tensioner.TensionerSide(mm, 14, 20, new, shown, asked)
        for mm, new, (shown, asked) in product(
            (3.5, 6.0, 11.5, 15.5, 20),
            (-1, 3),
            ((False, "groove"), (True, ""), (True, "extension")),
        )
    ],
    elongation: [
        elongation.ElongationGauge(n, 8, n * 8 * factor, asked)
        for n, factor, asked in product((8, 20, 40), (1.003, 1.012, 1.03), ("", "percent"))
    ]
    + [elongation.ElongationGauge(13, 8, 105.3, "pitches")],
    torque_wrench: [
        torque_wrench.TorqueWrench(length, adapter, deg, "71.1 N·m", "83 N·m", asked)
        for length, adapter, deg, asked in product(
            (300, 600), (40, 100), (0, 15, 45, 90, 135, 165, 180), ("setting", "torque")
        )
    ],
    damper: [
        damper.Damper(165, deg, asked)
        for deg, asked in product((-150, -60, -12, -4, 4, 10, 33, 90, 150), ("", "arc", "angle"))
    ],
    pulley_pair: [
        _pulleys(*sizes, asked)
        for sizes, asked in product(
            ((150, 60, 260), (105, 393, 697), (90, 90, 200)), pulley_pair.QUESTIONS
        )
    ],
    degree_wheel: [
        degree_wheel.DegreeWheel(*stops)
        for stops in ((36.75, 35.25), (40, 40), (88, 94.5), (22, 20.5))
    ],
    tone_wheel: [
        *(
            tone_wheel.ToneWheelView(*wheel, turned, asked, answer)
            for wheel, turned, (asked, answer) in product(
                ((60, 2), (36, 1), (24, 0)), (0, 10, 102, 355), (("tooth", "17"), ("teeth", "58"))
            )
        ),
        *(
            tone_wheel.ToneWheelView(36, 1, 30, "cam", "19° late", edge, should)
            for edge, should in ((119, 100), (20, 5), (350, 331))
        ),
    ],
    angle_gauge: [
        angle_gauge.AngleGauge(start, stages, "40 N·m")
        for start, stages in product((0, 30, 250), ((90,), (90, 90), (60, 45)))
    ],
    setting_scale: [
        setting_scale.SettingScale(
            0, 20, "mm", ((4, "new belt"), (7, "used belt"), (15, "renew")), pointer, right, names
        )
        for pointer, right, names in product(
            (None, 0, 9, 20), ("used belt", "new belt"), (True, False)
        )
    ],
    cylinder_section: [
        _section(crank, asked, tilt)
        for crank, asked, tilt in product(
            (3, 60, 120, 180, 271, 350, 372, 470), cylinder_section.QUESTIONS, (0, 14, 22)
        )
    ],
    lift_curves: [
        _curves(at, asked, retard)
        for at, asked, retard in product((-20, 0, 15), lift_curves.QUESTIONS, (0, 20, -20))
    ],
    cycle_chart: [
        _chart(order, at, asked, valves=valves)
        for order, at, asked, valves in product(
            ((1, 2, 3), FOUR, (1, 8, 4, 3, 6, 5, 7, 2)),
            (-1, 0, 100, 719),
            (0, 3),
            (True, False),
        )
    ],
}

ALL = [(module, state) for module, states in SAMPLES.items() for state in states]
IDS = [f"{module.__name__.rsplit('.', 1)[1]}-{number}" for number, (module, _) in enumerate(ALL)]
