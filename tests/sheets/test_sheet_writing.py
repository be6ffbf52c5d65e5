"""Sheets written back to TOML: what comes out states what went in, and comments stay."""

import pytest

from quizsvc.sheets.loading import engines_folder, load_sheet, shipped_sheets
from quizsvc.sheets.writing import rewritten, sheet_toml

SHIPPED = list(shipped_sheets())


def text_of(sheet_id):
    return (engines_folder() / f"{sheet_id}.toml").read_text(encoding="utf-8")


@pytest.mark.parametrize("sheet_id", SHIPPED)
def test_a_sheet_written_anew_reads_back_equal(sheet_id):
    sheet = shipped_sheets()[sheet_id]

    assert load_sheet(sheet_toml(sheet)) == sheet


@pytest.mark.parametrize("sheet_id", SHIPPED)
def test_a_text_that_states_the_sheet_already_is_left_word_for_word(sheet_id):
    assert rewritten(text_of(sheet_id), shipped_sheets()[sheet_id]) == text_of(sheet_id)


def test_only_the_lines_of_what_changed_change():
    sheet = shipped_sheets()["demo-inline-four"]
    piston = sheet.piston.model_copy(update={"rod_mm": 141.5})
    changed = sheet.model_copy(update={"piston": piston, "revision": 2, "note": "Rod measured."})

    before = text_of("demo-inline-four").splitlines()
    after = rewritten(text_of("demo-inline-four"), changed).splitlines()

    assert load_sheet("\n".join(after)) == changed
    assert len(before) == len(after)
    differing = [line for old, line in zip(before, after, strict=True) if old != line]
    assert [line.split(" =")[0] for line in differing] == ["revision", "note", "rod_mm"]
    assert "#" in differing[0]  # the comment behind the value


def test_rows_put_in_taken_out_and_moved_are_written():
    sheet = shipped_sheets()["demo-vee-six"]
    bolts = sheet.fasteners
    new = bolts[0].model_copy(update={"id": "new-bolt", "title": "New bolt"})
    changed = sheet.model_copy(update={"fasteners": (bolts[2], new, *bolts[3:], bolts[0])})

    text = rewritten(text_of("demo-vee-six"), changed)

    assert load_sheet(text) == changed
    assert text.startswith(text_of("demo-vee-six").splitlines()[0])


def test_a_part_that_is_left_out_is_gone_from_the_text():
    sheet = shipped_sheets()["demo-vee-six"].model_copy(
        update={"accessory_belt": None, "damper_diameter_mm": None}
    )

    text = rewritten(text_of("demo-vee-six"), sheet)

    assert load_sheet(text) == sheet
    assert "accessory_belt" not in text
