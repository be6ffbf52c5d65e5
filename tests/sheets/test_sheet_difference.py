"""The difference of two revisions in words."""

from quizsvc.sheets.difference import Difference, differences
from quizsvc.sheets.loading import shipped_sheets

SIX = shipped_sheets()["demo-vee-six"]


def with_drive(**changes):
    first, *others = SIX.drives
    return SIX.model_copy(update={"drives": (first.model_copy(update=changes), *others)})


def test_a_sheet_does_not_differ_from_itself_nor_by_revision_and_note():
    assert differences(SIX, SIX) == ()
    assert differences(SIX, SIX.model_copy(update={"revision": 9, "note": "other"})) == ()


def test_a_number_is_named_with_its_unit_before_and_now():
    piston = SIX.piston.model_copy(update={"rod_mm": 151.25})

    assert differences(SIX, SIX.model_copy(update={"piston": piston})) == (
        Difference("Pistons and crank", "Rod between centres", "150 mm", "151.25 mm"),
    )


def test_a_wheel_put_in_between_does_not_make_the_later_ones_look_changed():
    wheels = SIX.drives[0].wheels
    new = wheels[1].model_copy(update={"id": "second-shoe"})

    found = differences(SIX, with_drive(wheels=(*wheels[:1], new, *wheels[1:])))

    assert [one.where for one in found] == ["drive primary, wheel second-shoe"]
    assert "radius 220 mm" in found[0].new


def test_rows_that_only_change_places_are_told_as_another_order():
    wheels = SIX.drives[0].wheels

    (found,) = differences(SIX, with_drive(wheels=(wheels[1], wheels[0], *wheels[2:])))

    assert found.where == "drive primary, order"
    assert found.new.startswith("primary-shoe, crank-wheel")


def test_what_is_taken_out_is_told_row_or_table():
    assert [one.new for one in differences(SIX, SIX.model_copy(update={"cautions": ()}))] == [
        "taken out"
    ] * len(SIX.cautions)
    gone = differences(SIX, with_drive(tensioner=None))
    assert {one.new for one in gone} == {"nothing"}
    assert all(one.where.startswith("drive primary, Tensioner") for one in gone)


def test_a_negative_number_has_a_true_minus():
    events = SIX.valves.events.model_copy(update={"ivo_btdc": 6.0})
    valves = SIX.valves.model_copy(update={"events": events})

    (found,) = differences(SIX, SIX.model_copy(update={"valves": valves}))

    assert (found.old, found.new) == ("−2°", "6°")
