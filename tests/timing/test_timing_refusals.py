"""Every number the core takes is refused by name when it is none, whatever the function."""

import math
import re

import pytest

from quizsvc.errors import InputError
from quizsvc.timing import (
    belt,
    chain,
    clearance,
    crank,
    cycle,
    drives,
    fasteners,
    lift,
    marks,
    motion,
    path,
    phaser,
    sensors,
    slip,
    tensioner,
    valves,
    wear,
)

SLIDER = crank.SliderCrank(86, 143, 0.5)
LAYOUT = cycle.inline_layout((1, 3, 4, 2))
EVENTS = valves.ValveEvents(10, 50, 50, 10)
CURVE = lift.LiftCurve(350, 590, 9)
ROOM = clearance.ValveRoom("intake", CURVE, 5, 10)
WHEEL = sensors.ToneWheel(60, 2)
PAIR = path.DrivePath((path.PathWheel(0, 0, 50), path.PathWheel(0, 300, 50)))
PLUNGER = tensioner.Plunger(5, 15, 20)
PHASER = phaser.Phaser("intake", 40, 0)
MARK = motion.TurningWheel("cam", 0, 0.5)

# Each function with arguments that are right, so that one at a time can be made wrong.
CALLS = [
    (belt.open_belt_length_mm, {"small_mm": 100, "large_mm": 200, "centre_mm": 400}),
    (belt.small_pulley_wrap_deg, {"small_mm": 100, "large_mm": 200, "centre_mm": 400}),
    (belt.pulley_speed_rpm, {"driver_rpm": 900, "driver_mm": 150, "driven_mm": 60}),
    (belt.span_tension_n, {"frequency_hz": 200, "mass_kg_m": 0.1, "span_m": 0.2}),
    (belt.span_frequency_hz, {"tension_n": 500, "mass_kg_m": 0.1, "span_m": 0.2}),
    (belt.capstan_ratio, {"friction": 0.4, "wrap_deg": 180}),
    (belt.setting_for_age, {"minutes_run": 5, "new": 600, "used": 400}),
    (chain.pitch_diameter_mm, {"pitch_mm": 8, "teeth": 18}),
    (
        chain.chain_length_pitches,
        {"centre_pitches": 40, "small_teeth": 18, "large_teeth": 36},
    ),
    (
        chain.centre_distance_pitches,
        {"length_pitches": 110, "small_teeth": 18, "large_teeth": 36},
    ),
    (
        chain.wrap_angles_deg,
        {"pitch_mm": 8, "small_teeth": 18, "large_teeth": 36, "centre_mm": 300},
    ),
    (chain.speed_ripple, {"teeth": 18}),
    (clearance.ValveRoom, {"room_mm": 4, "tilt_deg": 10}),
    (ROOM.gap_mm, {"own_deg": 360}),
    (ROOM.retarded, {"crank_deg": 10}),
    (clearance.room_mm, {"recess_mm": 1, "pocket_mm": 1, "gasket_mm": 1, "deck_mm": 0}),
    (crank.SliderCrank, {"stroke_mm": 86, "rod_mm": 143, "pin_offset_mm": 1}),
    (SLIDER.drop_mm, {"atdc_deg": 30}),
    (SLIDER.angle_for_drop_deg, {"drop_mm": 30}),
    (SLIDER.speed_m_s, {"atdc_deg": 30, "rpm": 3000}),
    (crank.least_drop, {"crank_deg": 30}),
    (crank.cylinder_cc, {"bore_mm": 80, "height_mm": 1}),
    (crank.displacement_cc, {"bore_mm": 80, "stroke_mm": 86, "cylinders": 4}),
    (
        crank.compression_ratio,
        {"swept_cc": 450, "chamber_cc": 40, "gasket_cc": 4, "deck_cc": 1, "dish_cc": 1},
    ),
    (crank.wheel_error_deg, {"reading_before_deg": 37, "reading_after_deg": 35}),
    (crank.stop_angle_deg, {"reading_before_deg": 37, "reading_after_deg": 35}),
    (cycle.CylinderPlace, {"number": 1, "bank_deg": 0, "pin_deg": 0}),
    (cycle.firing_interval_deg, {"cylinders": 4}),
    (cycle.degrees_after_firing_tdc, {"firing_deg": 180, "crank_deg": 20}),
    (cycle.degrees_after_last_tdc, {"firing_deg": 180, "crank_deg": 20}),
    (cycle.stroke_at, {"firing_deg": 180, "crank_deg": 20}),
    (cycle.vee_layout, {"bank_angle_deg": 60}),
    (drives.tooth_crank_deg, {"teeth": 36, "turns_per_crank_turn": 0.5}),
    (drives.Stage, {"driving_teeth": 18, "driven_teeth": 36}),
    (
        fasteners.adapter_setting_nm,
        {"torque_nm": 80, "wrench_mm": 400, "adapter_mm": 50, "angle_deg": 0},
    ),
    (
        fasteners.torque_at_bolt_nm,
        {"setting_nm": 80, "wrench_mm": 400, "adapter_mm": 50, "angle_deg": 0},
    ),
    (fasteners.newton_metres, {"lbf_ft": 80}),
    (fasteners.pound_force_feet, {"torque_nm": 80}),
    (fasteners.kilogram_force_metres, {"torque_nm": 80}),
    (fasteners.flats_turned, {"angle_deg": 80}),
    (fasteners.thread_advance_mm, {"angle_deg": 80, "thread_pitch_mm": 1.5}),
    (fasteners.final_mark_deg, {"start_deg": 80}),
    (fasteners.damper_arc_mm, {"diameter_mm": 160, "crank_deg": 5}),
    (fasteners.damper_angle_deg, {"diameter_mm": 160, "arc_mm": 5}),
    (lift.LiftCurve, {"open_deg": 350, "close_deg": 590, "max_lift_mm": 9}),
    (CURVE.lift_mm, {"cycle_deg": 400}),
    (CURVE.velocity_mm_per_deg, {"cycle_deg": 400}),
    (CURVE.angles_at_lift_deg, {"lift_mm": 2}),
    (CURVE.retarded, {"crank_deg": 2}),
    (lift.lift_curve, {"max_lift_mm": 9, "at_lift_mm": 1}),
    (marks.MarkCount, {"pitches": 9}),
    (
        marks.pins_between_marks,
        {
            "pitch_mm": 8, "from_index": 0, "from_mark_deg": 180,
            "to_index": 1, "to_mark_deg": 0,
        },
    ),
    (marks.check_pin_count, {"specified": 40, "counted": 41, "cam_teeth": 36}),
    (marks.verdict_of_teeth, {"teeth_off": 1, "cam_teeth": 36}),
    (marks.mark_angle_deg, {"cam_mark_deg": 10, "crank_turn_deg": 90, "ratio": 0.5}),
    (marks.realign_revolutions, {"links": 96, "crank_teeth": 15}),
    (marks.realign_with_cam_revolutions, {"links": 96, "crank_teeth": 15}),
    (marks.crank_degrees_per_tooth, {"cam_teeth": 36}),
    (motion.CamShaft, {"tooth_deg": 20}),
    (motion.TurningWheel, {"at_deg": 0, "clockwise_turns": 0.5, "reference_deg": 0}),
    (motion.RunningChain, {"pitches_per_turn": 18, "pins": 120}),
    (motion.motion_table, {"step_deg": 90}),
    (path.PathWheel, {"x_mm": 0, "y_mm": 0, "radius_mm": 20}),
    (PAIR.pitches, {"pitch_mm": 8}),
    (PAIR.belt_pitches, {"pitch_mm": 8}),
    (PAIR.teeth_in_mesh, {"wheel_index": 0, "teeth": 40}),
    (PAIR.turns_clockwise, {"wheel_index": 0}),
    (PAIR.tight_span, {"driver_index": 0}),
    (PAIR.slack_span, {"driver_index": 0}),
    (PAIR.distance_of, {"wheel_index": 0, "at_deg": 180}),
    (PAIR.pitches_to, {"wheel_index": 0, "at_deg": 180, "pitch_mm": 8}),
    (PAIR.touches, {"wheel_index": 0, "at_deg": 180}),
    (PAIR.point_at, {"distance_mm": 10}),
    (phaser.Phaser, {"advance_deg": 10, "retard_deg": 10}),
    (PHASER.events, {"advanced_deg": 10}),
    (phaser.phase_error_deg, {"commanded_deg": 10, "measured_deg": 10}),
    (sensors.ToneWheel, {
        "places": 60, "missing": 2, "first_edge_deg": 0, "turns_per_crank_turn": 1,
    }),
    (WHEEL.edge_deg, {"tooth": 10}),
    (WHEEL.tooth_at, {"crank_deg": 10}),
    (WHEEL.level, {"crank_deg": 10}),
    (sensors.degrees_to_ms, {"crank_deg": 10, "rpm": 900}),
    (sensors.ms_to_degrees, {"milliseconds": 10, "rpm": 900}),
    (sensors.correlation_error_deg, {"specified_deg": 10, "measured_deg": 10}),
    (sensors.teeth_of_error, {"error_deg": 18, "tooth_deg": 20}),
    (slip.first_contact, {"teeth_off": -5, "tooth_deg": 20, "from_deg": 0}),
    (slip.slip_tolerance, {"tooth_deg": 20, "from_deg": 0}),
    (tensioner.Plunger, {"extension_new_mm": 5, "groove_at_mm": 15, "longest_mm": 20}),
    (PLUNGER.travel_mm, {"extension_now_mm": 10}),
    (PLUNGER.groove_seen, {"extension_now_mm": 10}),
    (PLUNGER.left_mm, {"extension_now_mm": 10}),
    (tensioner.moved_wheel, {"wheel_index": 1, "toward_deg": 0, "by_mm": 1}),
    (
        tensioner.travel_for_growth_mm,
        {"wheel_index": 1, "toward_deg": 0, "growth_mm": 1, "longest_mm": 10},
    ),
    (valves.ValveEvents, {"ivo_btdc": 1, "ivc_abdc": 1, "evo_bbdc": 1, "evc_atdc": 1}),
    (EVENTS.advanced, {"crank_deg": 5}),
    (valves.open_valves, {"crank_deg": 5}),
    (wear.elongation_percent, {"measured_mm": 160, "pitches": 20, "pitch_mm": 8}),
    (wear.elongation_limit_percent, {"largest_teeth": 40}),
    (wear.loop_growth_mm, {"pins": 120, "pitch_mm": 8, "elongation_percent": 1}),
    (
        wear.wear_retard_deg,
        {"strand_mm": 300, "elongation_percent": 1, "pitch_mm": 8, "cam_teeth": 36},
    ),
    (
        wear.elongation_for_retard_percent,
        {"strand_mm": 300, "retard_crank_deg": 4, "pitch_mm": 8, "cam_teeth": 36},
    ),
]  # fmt: skip
# What else those functions need, always right here.
OTHERS = {
    clearance.ValveRoom: {"valve": "intake", "curve": CURVE},
    ROOM.gap_mm: {"slider": SLIDER},
    crank.least_drop: {"layout": LAYOUT, "slider": SLIDER},
    cycle.vee_layout: {"firing_order": (1, 2, 3, 4, 5, 6)},
    drives.Stage: {"driving": "crank", "driven": "cam"},
    lift.lift_curve: {"events": EVENTS, "valve": "intake"},
    marks.pins_between_marks: {"path": PAIR},
    marks.check_pin_count: {"side": "tight"},
    motion.CamShaft: {"id": "cam", "cylinders": (1,), "rooms": (ROOM,)},
    motion.TurningWheel: {"id": "cam"},
    motion.RunningChain: {"id": "primary"},
    motion.motion_table: {"layout": LAYOUT, "slider": SLIDER},
    phaser.Phaser: {"valve": "intake"},
    PHASER.events: {"parked": EVENTS},
    slip.first_contact: {"rooms": [ROOM], "slider": SLIDER, "firing_deg": {1: 0.0}},
    slip.slip_tolerance: {"rooms": [ROOM], "slider": SLIDER, "firing_deg": {1: 0.0}},
    tensioner.moved_wheel: {"path": PAIR},
    tensioner.travel_for_growth_mm: {"path": PAIR},
    valves.open_valves: {"events": EVENTS, "firing_deg": {1: 0.0}},
}
ARGUMENTS = [
    pytest.param(call, right, name, id=f"{call.__qualname__}-{name}")
    for call, right in CALLS
    for name in right
]
NO_NUMBERS = [math.nan, math.inf, -math.inf, "12", "12,5", None, True, [1], 1j]


@pytest.mark.parametrize(("call", "right"), CALLS, ids=[call.__qualname__ for call, _ in CALLS])
def test_the_arguments_taken_for_right_are_right(call, right):
    assert call(**right, **OTHERS.get(call, {})) is not None


@pytest.mark.parametrize(("call", "right", "name"), ARGUMENTS)
def test_what_is_no_number_is_refused_with_argument_value_and_reason(call, right, name):
    for wrong in NO_NUMBERS:
        with pytest.raises(InputError) as refused:
            call(**{**right, name: wrong}, **OTHERS.get(call, {}))

        assert refused.value.value is wrong
        assert re.search(r"number|finite", refused.value.problem), refused.value.problem
        assert str(wrong) in str(refused.value)
        assert refused.value.field == name
