"""From a sheet to a form and back: what is typed stays as typed, what is right is understood."""

import pytest

from quizsvc.errors import InputError
from quizsvc.services.sheet_check import Said
from quizsvc.sheets.loading import sheet_from, shipped_sheets
from quizsvc.web.sheets.laid_out import SECTIONS, SheetForm, place_words
from quizsvc.web.sheets.typed import blank_tree, changed_rows, read, tree_in, tree_of

SHEETS = shipped_sheets()


def typed(tree, name=""):
    """Yield the fields a browser would send for a tree."""
    for key, value in tree.items():
        at = f"{name}.{key}" if name else key
        if isinstance(value, dict):
            yield from typed(value, at)
        elif isinstance(value, list):
            for number, row in enumerate(value, 1):
                yield from typed(row, f"{at}[{number}]")
        else:
            yield at, value


@pytest.mark.parametrize("sheet_id", list(SHEETS))
def test_a_sheet_sent_as_it_was_filled_in_is_the_same_sheet(sheet_id):
    sheet = SHEETS[sheet_id]

    understood = read(tree_in(typed(tree_of(sheet))))

    assert understood.unread == ()
    stated = understood.content | {"revision": sheet.revision, "note": sheet.note}
    assert sheet_from(stated) == sheet


@pytest.mark.parametrize("sheet_id", list(SHEETS))
def test_every_field_of_a_sheet_has_its_place_in_the_form(sheet_id):
    tree = tree_of(SHEETS[sheet_id])
    shown = set()

    def look(table):
        shown.update(one.name for one in table.controls)
        for inner in (*table.tables, *(row for rows in table.lists for row in rows.rows)):
            look(inner)

    for section in SheetForm(tree).sections:
        look(section.table)

    assert {name for name, _ in typed(tree)} <= shown
    assert len(SheetForm(tree).sections) == len(SECTIONS)


def changed(**texts):
    fields = dict(typed(tree_of(SHEETS["demo-inline-four"])))
    return tree_in(
        (fields | {name.replace("__", "."): text for name, text in texts.items()}).items()
    )


@pytest.mark.parametrize(("text", "value"), [("141,5", 141.5), ("141.5 mm", 141.5), (" 141 ", 141)])
def test_numbers_are_read_as_people_type_them(text, value):
    assert read(changed(piston__rod_mm=text)).content["piston"]["rod_mm"] == value


def test_a_number_that_is_none_is_named_with_its_place_text_and_remedy():
    (problem,) = read(changed(piston__rod_mm="long")).unread

    assert (problem.field, problem.value) == ("piston.rod_mm", "long")
    assert "12.5" in problem.remedy


def test_what_was_typed_stays_as_typed():
    tree = changed(piston__rod_mm="long <b>", layout__firing_order="1-3-4-2")

    assert tree["piston"]["rod_mm"] == "long <b>"
    assert tree["layout"]["firing_order"] == "1-3-4-2"
    assert read(tree).content["layout"]["firing_order"] == [1, 3, 4, 2]


def test_a_part_left_blank_is_left_out():
    names = ("mass_kg_m", "ribs", "order", "tension_new_n", "tension_used_n")
    blank = {f"accessory_belt__{name}": "" for name in names}

    assert "accessory_belt" not in read(changed(**blank)).content


def test_rows_are_added_removed_and_moved_up():
    tree = tree_of(SHEETS["demo-inline-four"])
    wheels = tree["drives"][0]["wheels"]

    assert changed_rows(tree, "add drives[1].wheels")["drives"][0]["wheels"] == [*wheels, {}]
    assert changed_rows(tree, "remove drives[1].wheels[1]")["drives"][0]["wheels"] == wheels[1:]
    moved = changed_rows(tree, "up drives[1].wheels[2]")["drives"][0]["wheels"]
    assert moved == [wheels[1], wheels[0], *wheels[2:]]
    assert tree["drives"][0]["wheels"] == wheels


def test_a_first_row_is_added_where_there_was_none():
    tree = changed_rows({"title": "x"}, "add fasteners")

    assert tree["fasteners"] == [{}]


@pytest.mark.parametrize(
    "deed",
    ["remove drives[9]", "up drives[1]", "remove title", "drop drives[1]", "add", "add a[b]",
     "add title", "add piston", "add drives[9].wheels", "remove drives[1].wheels[999]",
     "up drives[1].wheels[0]"],
)  # fmt: skip
def test_rows_that_are_not_there_cannot_be_changed(deed):
    with pytest.raises(InputError, match="rows"):
        changed_rows(tree_of(SHEETS["demo-inline-four"]), deed)


def test_names_of_other_fields_and_strange_places_are_left_aside():
    fields = [("csrf_token", "x"), ("do", "save"), ("drives[1]", "x"), ("drives[x].id", "x"),
              ("title.a.b", "x"), ("title[1].x", "x"), ("piston", "x"), ("drives.title", "x"),
              ("title", "Kept"), ("a" * 500, "x")]  # fmt: skip

    assert tree_in(fields) == {"title": "Kept"}


def test_too_many_fields_are_refused():
    with pytest.raises(InputError, match="too many"):
        tree_in(("title", "x") for _ in range(7000))


def test_a_finding_stands_at_its_field_or_the_nearest_place_around_it():
    tree = tree_of(SHEETS["demo-inline-four"])
    said = [
        Said("error", place, "", "wrong.", "Mend it.")
        for place in ("piston.rod_mm", "drives[1].marked_links[2]", "drives[1].wheels", "nowhere")
    ]

    form = SheetForm(tree, tuple(said))

    assert [place for place, _ in form.placed] == [
        "piston.rod_mm", "drives[1].marked_links", "drives[1].wheels", "",
    ]  # fmt: skip


def test_places_have_words():
    assert place_words("drives[2].mark_pins[1].pins") == "Drive 2, pin count 1, pins"
    assert place_words("piston.rod_mm") == "Pistons and crank, rod between centres"
    assert place_words("nowhere") == "nowhere"


def test_a_blank_sheet_asks_for_everything_and_breaks_nothing():
    understood = read(blank_tree())

    assert understood.unread == ()
    with pytest.raises(InputError):
        sheet_from(understood.content)
