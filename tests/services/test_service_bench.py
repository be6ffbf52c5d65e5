"""The bench as a use case: opening engines, doing things, words, and what an item's bench hides."""

import pytest
from classroom import BLANK, give_out, make_room
from valid_sheets import (
    BELT_THREE,
    INLINE_FOUR,
    SHIPPED,
    VEE_EIGHT,
    VEE_SIX,
    edited,
    shipped,
)
from workshop import NOON

from quizsvc.errors import ConflictError, InputError, NotAllowedError, NotFoundError
from quizsvc.items.model import BenchStart, BenchTask
from quizsvc.rules.actors import Actor
from quizsvc.services import bench, bench_motion, bench_moves
from quizsvc.services.bench_moves import Deed
from quizsvc.services.bench_words import Hide, words_of
from quizsvc.services.sitting import beginning
from quizsvc.sheets.bench_state import BenchState, Off, Setting
from quizsvc.sheets.state import events_of, layout_of, slider_of
from quizsvc.sheets.valve_state import valves_may_meet_from
from quizsvc.timing.cycle import stroke_at
from quizsvc.timing.valves import open_valves


def said(sheet, state, hide=Hide.NOTHING):
    return " ".join(words_of(sheet, state, hide))


def test_the_engines_of_the_shop_can_be_put_on_the_bench(house, ana):
    [engine] = bench.engines(house, ana, now=NOON)

    assert bench.sheet_on_bench(house, ana, engine.sheet_id).title == engine.title


def test_an_engine_that_is_not_there_is_not_found(house, ana):
    with pytest.raises(NotFoundError, match="no such engine"):
        bench.sheet_on_bench(house, ana, "none")


def test_somebody_without_a_role_sees_no_bench(house):
    nobody = Actor(1, "Nobody", 1, frozenset())

    with pytest.raises(NotAllowedError):
        bench.sheet_on_bench(house, nobody, INLINE_FOUR)


def test_the_bench_is_shut_while_somebody_sits_a_timed_test(workshop):
    room = make_room(workshop)
    beginning.begin(room.house, room.ana, give_out(room, BLANK["test"]), place="desk", now=NOON)

    for ask in (
        lambda: bench.engines(room.house, room.ana, now=NOON),
        lambda: bench.sheet_on_bench(room.house, room.ana, INLINE_FOUR),
    ):
        with pytest.raises(ConflictError, match="sitting a test"):
            ask()
    assert bench.engines(room.house, room.ben, now=NOON)


@pytest.mark.parametrize("name", SHIPPED)
@pytest.mark.parametrize("deg", [0.0, 61.0, 355.5, 700.0])
def test_readings_are_the_cores_own(name, deg):
    sheet = shipped(name)
    layout = layout_of(sheet)

    readings = bench.bench_of(sheet, BenchState(deg)).readings

    assert [one.cylinder for one in readings] == list(layout.cylinders)
    for one in readings:
        assert one.stroke == stroke_at(layout.firing_deg[one.cylinder], deg)
        drop = slider_of(sheet).drop_mm(deg - layout.tdc_deg(one.cylinder))
        assert one.drop_mm == pytest.approx(drop, abs=0.01)
    opened = {(one.cylinder, v) for one in readings for v in one.lift_mm if one.lift_mm[v] > 0.001}
    assert opened == set(open_valves(events_of(sheet), layout.firing_deg, deg))


def test_marks_of_a_belt_engine_meet_every_cycle_whatever_its_rollers_do():
    """Rollers and idlers carry no marks; they come round after many turns, or never."""
    sheet = shipped(BELT_THREE)

    reached = bench_moves.do(sheet, BenchState(0.0), Deed.TO_MARKS)

    assert reached.turned_deg == 660
    assert "The pulley marks are in line with their pointers." in words_of(sheet, reached)
    assert "The pulley marks come in line at 660°." in words_of(sheet, BenchState(0.0))


def test_the_lines_on_a_belt_come_back_to_the_marks_late():
    """In lcm(137, 20) / 20 turns of the crank; after one cycle 40 teeth have passed."""
    sheet = shipped(BELT_THREE)
    start = sheet.marks_position.crank_deg

    assert "The lines on the timing belt stand at the marks." in said(sheet, BenchState(start))
    later = said(sheet, BenchState(start + 720))
    assert "The lines on the timing belt stand 40 pitches on from the marks." in later
    back = said(sheet, BenchState(start + 137 * 720))
    assert "The lines on the timing belt stand at the marks." in back


def test_the_bench_speaks_of_a_belt_where_there_is_one():
    sheet = shipped(BELT_THREE)

    with pytest.raises(InputError, match="no such belt"):
        bench_moves.do(sheet, BenchState(0.0), Deed.SLIP, by=1, drive="chain")
    with pytest.raises(InputError, match="no belt is off"):
        bench_moves.do(sheet, BenchState(0.0), Deed.REFIT)
    assert bench.bench_of(sheet, BenchState(0.0)).called.wheel == "pulley"


def test_the_words_say_angle_strokes_valves_and_timing():
    words = said(shipped(INLINE_FOUR), BenchState(90.0))

    assert "Crankshaft at 90°" in words
    assert "1 power, 2 exhaust, 3 compression, 4 intake" in words
    assert "Open valves: exhaust 2" in words
    assert "Timing chain: in time." in words
    assert "marks come in line at 0°" in words


def test_marks_and_marked_links_in_line_are_said_where_they_are():
    sheet = shipped(VEE_SIX)

    assert "marks are in line" in said(sheet, BenchState(360.0))
    assert "marked links of the primary chain stand at the marks" in said(sheet, BenchState(360.0))
    assert "stand 36 pitches on" in said(sheet, BenchState(360.0 + 720.0))


def test_marks_of_a_shaft_at_three_quarters_of_the_crank_meet_every_second_cycle_only():
    sheet = shipped(VEE_EIGHT)

    assert "marks are in line" in said(sheet, BenchState(45.0))
    assert "once in 4 crank turns" in said(sheet, BenchState(765.0))
    assert "marks are in line" in said(sheet, BenchState(45.0 + 1440.0))
    to = bench_moves.do(sheet, BenchState(50.0), Deed.TO_MARKS)
    assert to.turned_deg == 45.0 + 1440.0


def test_a_slip_is_said_in_teeth_and_crank_degrees():
    sheet = shipped(INLINE_FOUR)

    assert "2 teeth late (retarded), 40° of crank" in said(
        sheet, BenchState(90.0, Setting((("timing", 2),)))
    )
    assert "1 tooth early (advanced), 20° of crank" in said(
        sheet, BenchState(90.0, Setting((("timing", -1),)))
    )


def test_valves_that_may_meet_each_other_are_warned_of_where_the_sheet_says_they_can():
    sheet = shipped(VEE_SIX)
    teeth = valves_may_meet_from(sheet, "secondary-a", way=1)

    for slip, warned in ((teeth, True), (teeth - 1, False), (0, False)):
        state = BenchState(60.0, Setting().with_teeth("secondary-a", slip))
        assert ("may meet each other" in said(sheet, state)) is warned

    in_line = BenchState(60.0, Setting((("timing", 6),)))
    assert "may meet each other" not in said(shipped(INLINE_FOUR), in_line)


def test_a_contact_is_named_first_with_valve_cylinder_and_angle():
    sheet = shipped(INLINE_FOUR)
    slipped = bench_moves.do(sheet, BenchState(90.0), Deed.SLIP, by=2, drive="timing")

    stopped = bench_moves.do(sheet, slipped, Deed.TURN, by=200.0)

    shown = bench.bench_of(sheet, stopped)
    assert shown.contact
    assert shown.words[0] == (
        "Contact: the exhaust valve of cylinder 2 meets its piston at 164.9° of the crankshaft."
    )


def test_a_chain_off_is_said_with_the_camshafts_that_stand():
    sheet = shipped(VEE_SIX)

    words = said(sheet, bench_moves.do(sheet, BenchState(60.0), Deed.TAKE_OFF, drive="secondary-a"))

    assert "Secondary chain, bank A is off: Exhaust camshaft, bank A stands still." in words


def test_the_safe_position_is_reached_forwards():
    sheet = shipped(VEE_SIX)

    assert bench_moves.do(sheet, BenchState(100.0), Deed.TO_SAFE).turned_deg == 420.0


@pytest.mark.parametrize(
    ("state", "field"),
    [
        (BenchState(1e9), "crank"),
        (BenchState(float("nan")), "crank"),
        (BenchState(0.0, Setting((("none", 1),))), "chain"),
        (BenchState(0.0, Setting((("timing", 5000),))), "slip"),
        (BenchState(0.0, Setting((), Off("none", 0.0))), "chain"),
        (BenchState(0.0, Setting((), Off("timing", 1e300))), "off"),
    ],
)
def test_a_state_that_this_engine_cannot_have_is_refused(state, field):
    with pytest.raises(InputError) as refused:
        bench_moves.checked(shipped(INLINE_FOUR), state)

    assert refused.value.field == field
    assert refused.value.remedy


def test_a_cylinder_that_is_not_there_is_refused():
    with pytest.raises(InputError, match="no such cylinder"):
        bench.bench_of(shipped(INLINE_FOUR), BenchState(0.0), chosen=9)


def test_the_table_for_the_page_holds_every_column_over_the_whole_cycle():
    sheet = shipped(VEE_SIX)

    table = bench_motion.motion_for_page(sheet, Setting((("primary", 3),)))

    assert {len(column) for column in table["columns"].values()} == {720}
    assert table["columns"]["drop:1"][180] == 8400
    first = table["contacts"][0]
    assert first["words"].format(angle="7°").startswith(f"Contact: the {first['name'][10:]}"[:13])
    assert all(0 <= contact["from_deg"] < 720 for contact in table["contacts"])


def test_the_bench_of_an_item_hides_what_would_answer_it():
    refit = BenchStart(BenchTask.REFIT, 0.0, "timing", 2)
    turn = BenchStart(BenchTask.TURN, 100.0)
    sheet = shipped(INLINE_FOUR)

    for start in (refit, turn):
        state = bench_moves.put_on_bench(start)
        shown = bench.bench_of(sheet, state, hide=bench.hidden_in(start))

        assert shown.readings == ()
        words = " ".join((*shown.words, *(drive.words for drive in shown.drives)))
        assert ("teeth late" in words or "in line" in words) == (start is turn)
        assert ("Shallowest" in words or "Open valves" in words) == (start is refit)


def test_what_was_moved_adds_to_how_the_chain_was_put():
    start = BenchStart(BenchTask.REFIT, 0.0, "timing", 2)

    assert bench_moves.put_on_bench(start, moved=-2).setting == Setting()
    assert bench_moves.put_on_bench(start, moved=1).setting.teeth("timing") == 3


def test_an_engine_without_sensors_has_no_traces():
    shown = bench.bench_of(edited(INLINE_FOUR, sensors=[]), BenchState(0.0))

    assert [drawing.name for drawing, _ in shown.drawings] == ["drive", "row", "section"]
