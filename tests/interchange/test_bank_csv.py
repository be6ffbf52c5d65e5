"""Simple banks as CSV: what a spreadsheet gets, and what comes back from one."""

import csv
import io

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from items.bank_texts import CHOICE, EVERY_KIND, HEAD, SEVERAL

from quizsvc.errors import InputError
from quizsvc.interchange.bank_csv import MOST_BYTES, export_csv, import_csv
from quizsvc.interchange.cells import DANGEROUS, cell_text, safe_cell
from quizsvc.interchange.qti.report import Fate, Filling
from quizsvc.items.banks.loading import read_bank, shipped_banks
from quizsvc.items.banks.schema import ChoiceItem

NEEDED = "prompt,right,option 1,option 2"


def bank_of_text(text):
    bank, faults = read_bank(text)
    assert not faults
    return bank.written


def came_back(text):
    return import_csv(text.encode(), Filling(bank_id="sound", author="Test"))


@given(st.text())
def test_every_text_comes_back_from_its_cell(text):
    assert cell_text(safe_cell(text)) == text


@given(st.text(st.sampled_from("'=+-@\t\r\n＝＋－＠a"), max_size=6))
def test_no_cell_begins_as_a_formula(text):
    cell = safe_cell(text)

    assert cell[:1] not in DANGEROUS
    assert cell_text(cell) == text


def test_choices_come_back_equal_with_nothing_to_tell():
    bank = bank_of_text(HEAD + CHOICE + SEVERAL)

    text, notes = export_csv(bank)
    imported = came_back(text)

    assert notes == ()
    assert imported.bank.items == bank.items
    assert imported.notes == ()


@pytest.mark.parametrize("bank_id", sorted(shipped_banks()))
def test_shipped_choices_come_back_as_far_as_a_row_holds_them(bank_id):
    bank = shipped_banks()[bank_id].written
    choices = [item for item in bank.items if isinstance(item, ChoiceItem)]

    text, notes = export_csv(bank)
    imported = came_back(text)

    assert [item.id for item in imported.bank.items] == [item.id for item in choices]
    for item, back in zip(choices, imported.bank.items, strict=True):
        left = {"caution", "cautions", "steps", "accepted"}
        assert back.model_dump(exclude=left) == item.model_dump(exclude=left)
        named = [bank.cautions[name] for name in item.cautions]
        assert back.caution == " ".join(filter(None, [*named, item.caution]))
    told = {note.item for note in notes}
    assert told >= {item.id for item in bank.items if not isinstance(item, ChoiceItem)}
    assert told >= {item.id for item in choices if item.steps or item.cautions}


def test_items_that_fit_no_row_are_left_out_by_name():
    _, notes = export_csv(bank_of_text(EVERY_KIND))

    left_out = [note.item for note in notes if note.fate is Fate.LEFT_OUT]
    assert left_out == ["two-blades", "cover-order", "tools-match", "wheel-point"]


def test_formulas_in_a_bank_are_no_formulas_in_the_table():
    bank = bank_of_text((HEAD + CHOICE).replace("A dry belt", "=cmd()+A dry belt"))

    text, _ = export_csv(bank)

    cells = [cell for row in csv.reader(io.StringIO(text)) for cell in row]
    assert "'=cmd()+A dry belt is found wet with engine oil. What is done with it?" in cells
    assert not any(cell[:1] in DANGEROUS for cell in cells)
    assert came_back(text).bank.items == bank.items


@settings(max_examples=50)
@given(
    st.lists(
        st.text(
            st.characters(exclude_characters="\x00", exclude_categories=("Cs",)),
            min_size=1,
            max_size=20,
        ),
        min_size=3,
        max_size=3,
    )
)
def test_texts_with_commas_quotes_and_lines_come_back(texts):
    one, two, why = texts
    source = bank_of_text(HEAD + CHOICE)
    item = source.items[0]
    options = (
        item.options[0].model_copy(update={"text": "A" + one, "rationale": why}),
        item.options[1].model_copy(update={"text": "B" + two}),
    )
    bank = source.model_copy(update={"items": (item.model_copy(update={"options": options}),)})

    imported = came_back(export_csv(bank)[0])

    assert imported.bank.items == bank.items


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig"])
def test_a_table_of_four_columns_suffices(delimiter, encoding):
    rows = ["Prompt,Right,Option 1,Option 2", "What turns?,2,The block,The crank", ",,,"]
    content = "\r\n".join(rows).replace(",", delimiter).encode(encoding)

    imported = import_csv(content, Filling(topic="cycle"))

    (item,) = imported.bank.items
    assert item.kind == "one choice"
    assert [(one.text, one.correct) for one in item.options] == [
        ("The block", False),
        ("The crank", True),
    ]
    assert item.topic == "cycle"
    assert [note.fate for note in imported.notes] == [Fate.FILLED]


def test_progress_is_told_row_by_row():
    told = []

    import_csv(f"{NEEDED}\na?,1,x,y\nb?,2,x,y\n".encode(), None, lambda *d: told.append(d))

    assert told == [(1, 2), (2, 2)]


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ("Which?,,one,two", "no option is marked right"),
        ("Which?,7,one,two", "no option is marked right"),
        ("Which?,1,one,One.", "the same"),
        ("Which?,1,one,", "at least 2"),
        (",1,one,two", "prompt"),
        (f"Which?,1,{'x' * 401},two", "at most 400"),
    ],
)
def test_a_row_that_can_t_be_an_item_is_left_out_with_why_and_what_to_do(row, said):
    imported = import_csv(f"{NEEDED}\nGood?,1,yes,no\n{row}\n".encode())

    assert imported.items_kept == 1
    (note,) = [note for note in imported.notes if note.fate is Fate.LEFT_OUT]
    assert said in f"{note.what} {note.why}"
    assert note.item in {"line 3", "line-3"}
    assert note.remedy


def test_an_id_twice_leaves_the_second_out():
    imported = import_csv(f"id,{NEEDED}\na,Good?,1,yes,no\na,Bad?,1,yes,no\n".encode())

    assert [item.prompt for item in imported.bank.items] == ["Good?"]
    assert [note.why for note in imported.notes if note.fate is Fate.LEFT_OUT] == [
        "an earlier row has this id."
    ]


def test_a_column_nobody_knows_is_told_with_what_it_holds():
    imported = import_csv(f"{NEEDED},mood\nGood?,1,yes,no,merry\n".encode())

    assert any("mood" in note.what and "merry" in note.what for note in imported.notes)


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "does not name the columns"),
        (b"question,answer\na,b\n", "does not name the columns"),
        (b"prompt,prompt,right,option 1,option 2\n", "two columns"),
        (f"{NEEDED}\nGrün?,1,a,b\n".encode("latin-1"), "no UTF-8"),
        (f"{NEEDED}\nGood?,1,a,b\n".encode("utf-16"), "no UTF-8"),
        (f"{NEEDED}\nG\x00?,1,a,b\n".encode(), "NUL"),
        (f'{NEEDED}\n"Good?,1,a,b\n'.encode(), "no CSV"),
        (f"{NEEDED}\nGood?,1,a,b,c,d\n".encode(), "more cells"),
        (f"{NEEDED}\n{'x' * 200_000},1,a,b\n".encode(), "no CSV"),
        (bytes(MOST_BYTES + 1), "MB"),
    ],
)
def test_what_is_no_table_is_refused_with_what_to_do(content, said):
    with pytest.raises(InputError, match=said) as refused:
        import_csv(content)

    assert refused.value.remedy
