"""Reading a sheet: what is right comes through, what is wrong is named with its line."""

import pytest
from valid_sheets import INLINE_FOUR, SHIPPED, edited, shipped, shipped_text

from quizsvc.errors import InputError, NotFoundError
from quizsvc.sheets.loading import (
    LARGEST_FILE_BYTES,
    engines_folder,
    find_sheet,
    load_sheet,
    sheet_hash,
    shipped_sheets,
)
from quizsvc.sheets.problems import Problem, SheetError


def problems_of(text: str) -> tuple[Problem, ...]:
    with pytest.raises(SheetError) as refused:
        load_sheet(text)
    return refused.value.problems


def line_with(text: str, part: str) -> int:
    return next(n for n, line in enumerate(text.splitlines(), start=1) if part in line)


@pytest.mark.parametrize("name", SHIPPED)
def test_a_file_and_its_text_give_the_same_sheet(name):
    from_file = load_sheet(engines_folder() / f"{name}.toml")

    assert load_sheet(shipped_text(name)) == from_file == find_sheet(name)
    assert from_file.id == name


def test_shipped_sheets_are_found_by_their_ids():
    assert tuple(sorted(shipped_sheets())) == tuple(sorted(SHIPPED))


def test_a_sheet_survives_being_written_as_json_and_read_again():
    sheet = shipped()

    assert type(sheet).model_validate_json(sheet.model_dump_json()) == sheet


@pytest.mark.parametrize(
    ("old", "new", "field", "value", "says"),
    [
        ("bore_mm = 86.0", "bore_mm = nan", "piston.bore_mm", "nan", "finite"),
        ("bore_mm = 86.0", "bore_mm = inf", "piston.bore_mm", "inf", "finite"),
        ("bore_mm = 86.0", 'bore_mm = "wide"', "piston.bore_mm", "'wide'", "number"),
        ("bore_mm = 86.0", "bore_mm = -3.0", "piston.bore_mm", "-3.0", "greater than 0"),
        ("bore_mm = 86.0", "bore_mmm = 86.0", "piston.bore_mmm", "86.0", "not permitted"),
        ("teeth = 18", "teeth = 18.5", "drives[1].wheels[1].teeth", "18.5", "integer"),
        ('kind = "inline"', 'kind = "round"', "layout.kind", "'round'", "inline"),
        ("firing_order = [1, 3, 4, 2]", "firing_order = 1342", "layout.firing_order", "1342", ""),
    ],
)
def test_a_wrong_value_is_named_with_field_value_and_line(old, new, field, value, says):
    text = shipped_text().replace(old, new, 1)

    problem = next(p for p in problems_of(text) if p.field == field)

    assert problem.line == line_with(text, new)
    assert value in str(problem)
    assert says in problem.message


def test_a_missing_key_points_to_the_table_where_it_belongs():
    text = shipped_text().replace("rod_mm = 143.0\n", "")

    (problem,) = problems_of(text)

    assert (problem.field, problem.remedy) == ("piston.rod_mm", "Add it.")
    assert problem.line == line_with(text, "[piston]")


def test_everything_wrong_is_named_at_once():
    text = (
        shipped_text().replace("bore_mm = 86.0", "bore_mm = nan").replace("teeth = 18", "teeth = 2")
    )

    assert [p.field for p in problems_of(text)] == ["piston.bore_mm", "drives[1].wheels[1].teeth"]


def test_a_syntax_error_is_named_with_line_and_column():
    text = shipped_text().replace("rod_mm = 143.0", "rod_mm = ")

    (problem,) = problems_of(text)

    assert f"line {line_with(text, 'rod_mm =')}, column 10" in problem.message


@pytest.mark.parametrize(
    ("old", "new", "field", "says"),
    [
        ("[1, 3, 4, 2]", "[1, 3, 3, 2]", "layout.firing_order", "cylinder 3 is repeated"),
        ("[1, 3, 4, 2]", "[1, 3, 4]", "layout.firing_order", "cylinder 2 is missing"),
        ("[1, 3, 4, 2]", "[1, 3, 4, 2, 5]", "layout.firing_order", "no cylinder 5"),
        ("[1, 3, 4, 2]", "[3, 4, 2, 1]", "layout.firing_order", "does not begin"),
        ("number = 4", "number = 3", "layout.cylinders[4].number", "used twice"),
        ('bank = "a"\npin_deg', 'bank = "z"\npin_deg', "layout.cylinders[1].bank", "no such bank"),
        ('driver = "crank-wheel"', 'driver = "x"', "drives[1].driver", "no such wheel"),
        ('driver = "crank-wheel"', 'driver = "shoe"', "drives[1].driver", "has no teeth"),
        ('wheel = "shoe"', 'wheel = "x"', "drives[1].tensioner.wheel", "no such wheel"),
        ('from_wheel = "crank-wheel"', 'from_wheel = "shoe"', "drives[1].mark_pins[1].from_wheel",
         "has no mark"),
        ('shaft = "intake"\nx', 'shaft = "x"\nx', "drives[1].wheels[3].shaft", "no such shaft"),
        ("radius_mm = 220.0", "", "drives[1].wheels[2].teeth", "either teeth or a radius"),
        ('kind = "crank"', 'kind = "pump"', "shafts", "0 crankshafts"),
        ('shaft = "crank"\nplaces', 'shaft = "x"\nplaces', "sensors[1].shaft", "no such shaft"),
        ('"pump-pulley", "alt', '"x", "alt', "accessory_belt.order[3]", "no such pulley"),
    ],
)  # fmt: skip
def test_a_name_that_leads_nowhere_is_refused(old, new, field, says):
    text = shipped_text()
    assert old in text

    found = problems_of(text.replace(old, new, 1))

    assert field in [p.field for p in found]
    assert says in next(p for p in found if p.field == field).message
    assert all(p.line > 0 and p.remedy for p in found)


def test_a_missing_file_is_said_to_be_missing(tmp_path):
    with pytest.raises(NotFoundError, match="no such file"):
        load_sheet(tmp_path / "none.toml")


def test_a_folder_is_no_sheet(tmp_path):
    with pytest.raises(InputError, match="cannot be read"):
        load_sheet(tmp_path)


def test_a_file_that_is_no_text_is_refused(tmp_path):
    path = tmp_path / "sheet.toml"
    path.write_bytes(b'title = "\xff\xfe"')

    with pytest.raises(InputError, match="not UTF-8"):
        load_sheet(path)


def test_a_huge_file_is_refused_unread(tmp_path):
    path = tmp_path / "sheet.toml"
    path.write_bytes(b"#" * (LARGEST_FILE_BYTES + 1))

    with pytest.raises(InputError, match="larger"):
        load_sheet(path)


def test_an_unknown_name_lists_the_shipped_sheets():
    with pytest.raises(NotFoundError, match=INLINE_FOUR):
        find_sheet("demo-inline-nine")


def test_equal_sheets_have_equal_hashes_and_a_changed_value_changes_it():
    assert sheet_hash(edited()) == sheet_hash(shipped())
    assert sheet_hash(edited(piston__bore_mm=86.5)) != sheet_hash(shipped())


def test_sheets_of_one_name_and_different_content_are_not_confused():
    """Caches look sheets up by name and revision first; equality must still decide."""
    other = edited(piston__rod_mm=150.0)

    assert hash(other) == hash(shipped())
    assert other != shipped()
