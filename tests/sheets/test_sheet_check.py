"""Each finding of the check, proven by a sheet that is broken in just that way.

Shipped sheets have no findings at all (test_shipped_sheets.py), so whatever is found here comes
from the one edit.
"""

import math

import pytest
from valid_sheets import INLINE_FOUR, REMOVED, VEE_EIGHT, VEE_SIX, edited, shipped

from quizsvc.sheets.check import check_sheet, errors_of
from quizsvc.sheets.finding import Finding, Severity
from quizsvc.sheets.schema import EngineSheet

ERROR, WARNING = Severity.ERROR, Severity.WARNING


def found(sheet: EngineSheet, field: str) -> Finding:
    """Return the one finding on a field."""
    findings = [finding for finding in check_sheet(sheet) if finding.field == field]
    assert len(findings) == 1, [str(finding) for finding in check_sheet(sheet)]
    return findings[0]


def only(sheet: EngineSheet) -> Finding:
    """Return the finding, there being no other."""
    findings = check_sheet(sheet)
    assert len(findings) == 1, [str(finding) for finding in findings]
    return findings[0]


# --- cylinders and crank -----------------------------------------------------------------


def test_an_inline_engine_with_two_banks_is_refused():
    banks = [
        {"id": "a", "angle_deg": 0, "title": "one"},
        {"id": "b", "angle_deg": 60, "title": "two"},
    ]

    finding = only(edited(layout__banks=banks))

    assert (finding.severity, finding.field, finding.value) == (ERROR, "layout.banks", 2)
    assert "has 1 bank" in finding.message


def test_banks_of_a_vee_in_one_direction_are_refused():
    finding = found(edited(VEE_SIX, layout__banks__1__angle_deg=-30.0), "layout.banks")

    assert finding.severity is ERROR
    assert "same direction" in finding.message


def test_banks_of_a_flat_engine_stand_opposite():
    assert "180° apart" in found(edited(VEE_SIX, layout__kind="flat"), "layout.banks").message


def test_crankpins_are_counted_from_the_first():
    turned = {
        f"layout__cylinders__{i}__pin_deg": pin + 90 for i, pin in enumerate((0, 180, 180, 0))
    }

    finding = only(edited(**turned))

    assert finding.field == "layout.cylinders[1].pin_deg"
    assert (finding.severity, finding.value) == (ERROR, 90)


def test_a_firing_order_that_the_crankshaft_cannot_fire_is_refused():
    order = [1, 4, 3, 2]  # 1 and 4 stand on one pin, so this takes more than two turns

    finding = only(edited(layout__firing_order=order))

    assert (finding.severity, finding.field) == (ERROR, "layout.firing_order")
    assert "two turns" in finding.message


def test_uneven_firing_is_pointed_out_with_its_intervals():
    finding = found(edited(layout__cylinders__1__pin_deg=170.0), "layout.firing_order")

    assert finding.severity is WARNING
    assert "190" in finding.message


def test_a_rod_too_short_to_go_round_is_refused():
    finding = found(edited(piston__rod_mm=40.0), "piston.rod_mm")

    assert finding.severity is ERROR
    assert "longer than throw + offset = 43" in finding.message


def test_an_unusual_rod_is_pointed_out():
    finding = found(edited(piston__rod_mm=90.0), "piston.rod_mm")

    assert finding.severity is WARNING
    assert "1.05" in finding.message


def test_a_gasket_that_stands_into_the_bore_is_refused():
    assert only(edited(piston__gasket_bore_mm=85.0)).field == "piston.gasket_bore_mm"


def test_a_dome_that_fills_the_chamber_is_refused():
    finding = found(edited(piston__dish_cc=-50.0, piston__chamber_cc=30.0), "piston.dish_cc")

    assert "no room" in finding.message


def test_an_unusual_compression_ratio_is_pointed_out():
    finding = only(edited(piston__chamber_cc=440.0))

    assert (finding.severity, finding.field) == (WARNING, "piston.chamber_cc")
    assert "2.1" in finding.message


# --- wheels and path ---------------------------------------------------------------------


def test_a_crank_wheel_away_from_the_crankshaft_is_refused():
    finding = found(edited(drives__0__wheels__0__x_mm=2.0), "drives[1].wheels[1].x_mm")

    assert finding.severity is ERROR
    assert "2.00 mm from the centre of the crankshaft" in finding.message


def test_two_wheels_of_one_shaft_have_one_centre():
    finding = found(edited(VEE_SIX, drives__1__wheels__0__y_mm=320.7), "drives[2].wheels[1].x_mm")

    assert "1.00 mm from the centre of its shaft" in finding.message


def test_sprockets_that_run_into_each_other_are_refused():
    radius = 8 / 2 / math.sin(math.pi / 36)

    finding = found(
        edited(drives__0__wheels__2__x_mm=-30.0, drives__0__wheels__3__x_mm=30.0),
        "drives[1].wheels[4].x_mm",
    )

    assert finding.severity is ERROR
    assert f"60.00 mm apart, their pitch circles need more than {2 * radius:.2f} mm" in (
        finding.message
    )


def test_wheels_too_close_for_a_strand_between_them_are_named():
    finding = found(edited(drives__0__wheels__1__x_mm=-200.0), "drives[1].wheels[2]")

    assert finding.severity is ERROR
    assert "no strand can run from shoe to intake-wheel" in finding.message


def test_wheels_in_a_wrong_order_are_refused():
    wheels = shipped().model_dump(mode="json")["drives"][0]["wheels"]
    wheels[2], wheels[3] = wheels[3], wheels[2]

    finding = found(edited(drives__0__wheels=wheels), "drives[1].wheels")

    assert finding.severity is ERROR
    assert "no chain can lie so" in finding.message
    assert "1 shoe" in finding.message


def test_a_shoe_that_the_chain_does_not_touch_is_refused():
    finding = found(edited(drives__0__wheels__1__x_mm=-300.0), "drives[1].wheels")

    assert "close once round" in finding.message


def test_a_guide_that_the_chain_only_grazes_is_pointed_out():
    touching = shipped().drives[0].wheels[4].x_mm
    grazing = edited(drives__0__wheels__4__x_mm=touching + 3.985)

    finding = found(grazing, "drives[1].wheels[5]")

    assert finding.severity is WARNING
    assert "does not touch it" in finding.message


def test_a_driver_with_little_wrap_is_pointed_out():
    crank, _, intake, exhaust, _ = shipped().model_dump(mode="json")["drives"][0]["wheels"]
    wide = [crank, intake | {"x_mm": -200.0}, exhaust | {"x_mm": 200.0}]

    finding = found(
        edited(drives__0__wheels=wide, drives__0__tensioner=None, drives__0__mark_pins=[]),
        "drives[1].wheels[1]",
    )

    assert finding.severity is WARNING
    assert "usual is at least 120°" in finding.message


def test_a_driven_sprocket_with_few_teeth_in_mesh_is_pointed_out():
    wheels = shipped(VEE_EIGHT).model_dump(mode="json")["drives"][0]["wheels"]
    pump = {"id": "pump-wheel", "part": "sprocket", "shaft": "pump", "teeth": 14}
    wheels.insert(1, pump | {"x_mm": -53.0, "y_mm": 90.0, "contact": "back"})
    shafts = shipped(VEE_EIGHT).model_dump(mode="json")["shafts"]
    shafts.append({"id": "pump", "title": "Oil pump", "kind": "pump"})

    finding = found(
        edited(VEE_EIGHT, drives__0__wheels=wheels, shafts=shafts), "drives[1].wheels[2]"
    )

    assert finding.severity is WARNING
    assert "at least 5 teeth" in finding.message


def test_a_tensioner_on_the_pulled_strand_is_pointed_out():
    finding = found(edited(drives__0__tensioner__wheel="fixed-guide"), "drives[1].tensioner.wheel")

    assert finding.severity is WARNING
    assert "slack strand" in finding.remedy


# --- chain length ------------------------------------------------------------------------


def test_a_chain_too_short_for_its_path_is_refused():
    finding = found(edited(drives__0__pins=118), "drives[1].pins")

    assert (finding.severity, finding.value) == (ERROR, 118)
    assert "takes 120.00 pitches, 2.00 more than it has (16.0 mm)" in finding.message
    assert "State 120 pins" in finding.remedy


def test_a_chain_too_long_even_for_its_tensioner_is_refused():
    finding = found(edited(drives__0__pins=122), "drives[1].pins")

    assert finding.severity is ERROR
    assert "2.00 pitches (16.0 mm) longer" in finding.message


def test_a_little_slack_is_left_to_the_tensioner_with_a_warning():
    lower = edited(drives__0__wheels__2__y_mm=304.0, drives__0__wheels__3__y_mm=304.0)

    finding = found(lower, "drives[1].pins")

    assert finding.severity is WARNING
    assert "Move shoe" in finding.remedy


def test_slack_without_a_tensioner_is_refused():
    finding = found(
        edited(
            VEE_EIGHT,
            drives__0__wheels__1__y_mm=177.0,
            drives__1__wheels__0__y_mm=177.0,
            drives__2__wheels__0__y_mm=177.0,
        ),
        "drives[1].pins",
    )

    assert finding.severity is ERROR
    assert "longer than its path" in finding.message


def test_a_path_off_by_less_than_two_pins_asks_for_the_wheels_not_for_the_same_pins():
    higher = edited(drives__0__wheels__2__y_mm=308.0, drives__0__wheels__3__y_mm=308.0)

    finding = found(higher, "drives[1].pins")

    assert "too short" in finding.message
    assert finding.remedy == "Correct the teeth or the places of the wheels."


def test_an_odd_number_of_pins_is_pointed_out():
    odd = [f for f in check_sheet(edited(drives__0__pins=121)) if "cranked link" in f.message]

    assert [f.severity for f in odd] == [WARNING]
    assert "120 or 122" in odd[0].remedy


# --- ratio -------------------------------------------------------------------------------


def test_a_camshaft_not_at_half_speed_is_refused():
    finding = found(edited(drives__0__wheels__2__teeth=35), "shafts[2].id")

    assert (finding.severity, finding.value) == (ERROR, "intake")
    assert "18/35 times per crank turn (18 to 35 teeth)" in finding.message


def test_a_wrong_stage_puts_every_camshaft_behind_it_out():
    wrong = edited(VEE_EIGHT, drives__0__wheels__1__teeth=27)

    fields = {f.field for f in errors_of(wrong) if "half as fast" in f.message}

    assert fields == {"shafts[3].id", "shafts[4].id", "shafts[5].id", "shafts[6].id"}


def test_a_shaft_that_nothing_turns_is_refused():
    shafts = [
        *shipped().model_dump(mode="json")["shafts"],
        {"id": "pump", "title": "Oil pump", "kind": "pump"},
    ]

    finding = only(edited(shafts=shafts))

    assert (finding.field, finding.value) == ("shafts[4].id", "pump")
    assert "no chain of drives" in finding.message


def test_a_shaft_driven_twice_at_two_speeds_is_refused():
    drive = shipped().model_dump(mode="json")["drives"][0] | {"id": "second"}
    drive["wheels"][3] |= {"teeth": 30}

    finding = found(edited(drives=[shipped().model_dump(mode="json")["drives"][0], drive]),
                    "drives[2].wheels")  # fmt: skip

    assert finding.severity is ERROR
    assert "turns exhaust 3/5 times per crank turn, another one 1/2" in finding.message


def test_a_lobe_on_no_camshaft_is_refused():
    finding = only(edited(shafts__2__carries=[]))

    assert (finding.severity, finding.field) == (ERROR, "shafts")
    assert "exhaust of cylinder 1" in finding.message


# --- marks -------------------------------------------------------------------------------


def test_marks_that_cannot_line_up_in_the_stated_position_are_refused():
    finding = found(edited(drives__0__mark_pins__0__pins=54), "drives[1].mark_pins[1].pins")

    assert (finding.severity, finding.value) == (ERROR, 54)
    assert "there are 53.00 pitches, not 54" in finding.message
    assert "-1.00 pitches, 20.0° of crank" in finding.message
    assert finding.remedy.startswith("State 53 pins")


def test_a_mark_off_by_part_of_a_pin_is_pointed_out():
    fields = {
        f.field: f.severity for f in check_sheet(edited(drives__0__wheels__3__mark__at_deg=3.0))
    }

    assert fields == {
        "drives[1].mark_pins[2].pins": WARNING,  # 3° of a 10° tooth
        "drives[1].mark_pins[3].pins": WARNING,
    }


def test_a_mark_where_the_chain_does_not_lie_cannot_be_counted():
    finding = found(edited(drives__0__wheels__0__mark__at_deg=0.0), "drives[1].mark_pins[1].pins")

    assert finding.severity is ERROR
    assert "the chain does not lie on its wheel (0.0°)" in finding.message


def test_marks_without_a_stated_count_must_still_stand_whole_pins_apart():
    sheet = edited(drives__0__mark_pins=[], drives__0__wheels__3__mark__at_deg=3.0)

    finding = only(sheet)

    assert (finding.severity, finding.field) == (WARNING, "drives[1].wheels[4].mark")
    assert "14.30 pitches" in finding.message


def test_a_sprocket_without_a_mark_is_pointed_out():
    finding = only(edited(VEE_EIGHT, drives__0__wheels__1__mark=None, drives__0__mark_pins=[],
                          drives__0__marked_links=[0]))  # fmt: skip

    assert finding.field == "drives[1].wheels[2].mark"
    assert finding.severity is WARNING


def test_a_marked_link_away_from_every_mark_is_pointed_out():
    finding = only(edited(drives__0__marked_links=[0, 52, 67]))

    assert (finding.field, finding.value) == ("drives[1].marked_links[2]", 52)
    assert "marks stand at 0, 53, 67" in finding.message


# --- safe position -----------------------------------------------------------------------


def test_a_stated_safe_position_that_is_not_the_computed_one_is_refused():
    finding = only(edited(VEE_SIX, safe_position__atdc_deg=90.0))

    throw, rod = 42.0, 150.0
    thirty = math.radians(30)  # cylinders 2 and 5 stand 30° before their TDC at 120°
    drop = throw + rod - throw * math.cos(thirty) - math.sqrt(rod**2 - (throw * 0.5) ** 2)
    assert (finding.severity, finding.field, finding.value) == (
        ERROR,
        "safe_position.atdc_deg",
        90.0,
    )
    assert "60.0° or 180.0° or 300.0° ATDC; the stated one is 30.0° off" in finding.message
    assert f"cylinders 2 and 5 are the shallowest, {drop:.1f} mm below TDC" in finding.message


def test_any_of_several_equal_safe_positions_may_be_stated():
    assert check_sheet(edited(INLINE_FOUR, safe_position__atdc_deg=270.0)) == ()


def test_top_dead_centre_is_no_safe_position():
    finding = only(edited(safe_position__atdc_deg=0.0))

    assert "cylinders 1 and 4 are the shallowest, 0.0 mm" in finding.message
    assert "90.0° off" in finding.message


# --- valves ------------------------------------------------------------------------------


def test_valve_heads_wider_than_the_bore_are_refused():
    sheet = edited(valves__intake_head_mm=50.0, valves__exhaust_head_mm=40.0)

    finding = found(sheet, "valves.intake_head_mm")

    assert finding.severity is ERROR
    assert "bore of 86 mm" in finding.message


def test_a_valve_that_shuts_before_it_opens_is_refused():
    finding = found(
        edited(valves__events__ivo_btdc=-90.0, valves__events__ivc_abdc=-90.0),
        "valves.events.ivc_abdc",
    )

    assert finding.severity is ERROR
    assert "before it has opened" in finding.message


def test_events_with_a_wrong_sign_show_in_the_lobe_separation():
    sheet = edited(valves__events__ivc_abdc=-48.0)

    assert "cam degrees" in next(
        f.message for f in check_sheet(sheet) if "lobe separation" in f.message
    )
    assert any("open for 144 crank degrees" in f.message for f in check_sheet(sheet))


def test_a_checking_lift_that_the_valve_does_not_reach_is_refused():
    sheet = edited(
        valves__events__at_lift_mm=2.0, valves__intake_lift_mm=1.9, valves__intake_head_mm=10.0
    )

    finding = next(f for f in errors_of(sheet) if f.field == "valves.events.at_lift_mm")

    assert "at_lift_mm" in finding.message


def test_a_lift_too_steep_for_its_events_is_pointed_out():
    sheet = edited(valves__intake_lift_mm=24.0, valves__intake_recess_mm=20.0)

    messages = [f.message for f in check_sheet(sheet) if f.field == "valves.intake_lift_mm"]

    assert any("mm per crank degree" in message for message in messages)
    assert any("of the head's diameter" in message for message in messages)


def test_a_valve_that_meets_the_piston_in_time_is_refused():
    sheet = edited(
        valves__intake_recess_mm=0.0, valves__intake_pocket_mm=0.0, valves__events__ivo_btdc=50.0
    )

    finding = found(sheet, "valves.intake_pocket_mm")

    assert finding.severity is ERROR
    assert "into the piston" in finding.message


def test_a_gap_below_the_one_asked_for_is_pointed_out():
    finding = only(edited(valves__exhaust_pocket_mm=0.0))

    assert (finding.severity, finding.field) == (WARNING, "valves.exhaust_pocket_mm")
    assert "2.37 mm" in finding.message
    assert "less than the 2.54 mm" in finding.message


def test_the_phaser_range_counts_for_the_gap():
    """Parked, the gap is 5.0 mm; advanced by 60° the valve is much further open at TDC."""
    finding = only(edited(VEE_SIX, valves__phaser_range_deg=60.0))

    assert finding.field == "valves.intake_pocket_mm"


def test_a_free_running_engine_whose_valves_reach_the_pistons_is_refused():
    finding = only(edited(valves__interference=False))

    assert (finding.severity, finding.field) == (ERROR, "valves.interference")
    assert "intake and the exhaust valve" in finding.message


def test_an_interference_engine_whose_valves_never_reach_is_pointed_out():
    finding = only(edited(valves__intake_recess_mm=9.0, valves__exhaust_recess_mm=9.0))

    assert (finding.severity, finding.field) == (WARNING, "valves.interference")


# --- wear --------------------------------------------------------------------------------


def test_a_wear_limit_beyond_practice_is_pointed_out():
    finding = only(edited(VEE_EIGHT, drives__0__elongation_limit_percent=2.0))

    assert finding.field == "drives[1].elongation_limit_percent"
    assert "1.5 %" in finding.message


def test_a_groove_outside_the_plungers_travel_is_refused():
    finding = only(edited(drives__0__tensioner__groove_at_mm=5.0))

    assert (finding.severity, finding.field) == (ERROR, "drives[1].tensioner.groove_at_mm")


def test_a_tensioner_that_runs_out_before_the_limit_is_pointed_out():
    finding = only(edited(drives__0__tensioner__longest_mm=21.0))

    assert (finding.severity, finding.field) == (WARNING, "drives[1].tensioner.longest_mm")


def test_a_groove_that_shows_only_after_the_limit_is_pointed_out():
    finding = only(edited(drives__0__tensioner__groove_at_mm=24.0))

    assert finding.field == "drives[1].tensioner.groove_at_mm"
    assert "22.9 mm out" in finding.message


# --- sensors, belt, cautions -------------------------------------------------------------


def test_a_tone_wheel_on_an_intermediate_shaft_is_pointed_out():
    assert only(edited(VEE_EIGHT, sensors__0__shaft="intermediate")).field == "sensors[1].shaft"


def test_an_accessory_belt_that_cannot_lie_so_is_refused():
    order = ["crank-pulley", "pump-pulley", "alternator-pulley", "steering-pulley"]

    finding = only(edited(accessory_belt__order=order))

    assert (finding.severity, finding.field) == (ERROR, "accessory_belt.order")


def test_a_used_belt_set_tighter_than_a_new_one_is_pointed_out():
    assert only(edited(accessory_belt__tension_used_n=700.0)).severity is WARNING


@pytest.mark.parametrize(
    ("kind", "severity"),
    [
        ("spring", ERROR),
        ("rotation", ERROR),
        ("interference", ERROR),
        ("coolant", WARNING),
        ("lifting", WARNING),
        ("battery", WARNING),
    ],
)
def test_a_missing_caution_is_named(kind, severity):
    left = [c.model_dump(mode="json") for c in shipped().cautions if c.kind != kind]

    finding = only(edited(cautions=left))

    assert (finding.severity, finding.field) == (severity, "cautions")
    assert f"the {kind} caution is missing" in finding.message
    assert kind in finding.remedy


def test_a_free_running_engine_needs_no_interference_caution():
    left = [c.model_dump(mode="json") for c in shipped().cautions if c.kind != "interference"]

    assert (
        check_sheet(
            edited(
                cautions=left,
                valves__interference=False,
                valves__intake_recess_mm=9.0,
                valves__exhaust_recess_mm=9.0,
            )
        )
        == ()
    )


# --- findings as such --------------------------------------------------------------------


def test_every_finding_says_where_what_and_what_to_do():
    broken = edited(
        drives__0__pins=117,
        safe_position__atdc_deg=10.0,
        cautions=[],
        drives__0__wheels__2__teeth=30,
        piston__rod_mm=90.0,
    )

    findings = check_sheet(broken)

    assert len(findings) > 8
    assert all(f.field and f.message.endswith(".") and f.remedy for f in findings)
    severities = [f.severity for f in findings]
    assert severities == sorted(severities, key=lambda s: s is not ERROR)


def test_what_cannot_be_computed_is_said_once_and_not_again_by_what_builds_on_it():
    assert only(edited(layout__firing_order=[1, 4, 3, 2])).field == "layout.firing_order"


def test_a_sheet_without_drives_is_still_checked():
    sheet = edited(drives=[], sensors=[])

    assert {f.field for f in errors_of(sheet)} == {"shafts[2].id", "shafts[3].id"}


def test_removing_a_value_is_seen_by_the_schema_not_by_the_check():
    with pytest.raises(ValueError, match="rod_mm"):
        edited(piston__rod_mm=REMOVED)
