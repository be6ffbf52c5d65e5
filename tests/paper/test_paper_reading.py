"""Answer sheets printed, filled in and photographed: what is read is what was marked."""

import io
import zlib

import numpy as np
import pytest
from paper.printed_sheets import filled, photographed, printed
from PIL import Image

from quizsvc.errors import InputError
from quizsvc.paper.answer_sheet import (
    LETTERS,
    SheetCode,
    SheetWords,
    answer_boxes,
    answer_sheet_pdf,
)
from quizsvc.paper.reading import find_sheet, read_marks

OPTIONS = (4,) * 24 + (3, 5, 6, 2)
CODE = SheetCode("Zk3vX0c1Qm8Rr2Tt5Yy7Uw", 17)
WORDS = SheetWords("Timing marks, demo inline four", "Invented Person", "C")


@pytest.fixture(scope="module")
def blank():
    return printed(answer_sheet_pdf(((CODE, WORDS),), OPTIONS))


def random_marks(chance):
    return {
        number + 1: LETTERS[int(chance.integers(0, count))] for number, count in enumerate(OPTIONS)
    }


def read(picture, **settings):
    return read_marks(find_sheet(picture), OPTIONS, **settings)


@pytest.mark.parametrize("seed", range(12))
def test_a_photographed_sheet_is_read_as_it_was_filled(blank, seed):
    chance = np.random.default_rng(seed)
    marks = random_marks(chance)

    sheet = read(photographed(filled(blank, OPTIONS, marks, chance), chance))

    assert sheet.code == CODE
    wrong = [a for a in sheet.answers if a.letters != marks[a.question] and not a.doubt]
    assert wrong == []
    clear = [a for a in sheet.answers if not a.doubt]
    assert len(clear) >= 0.99 * len(OPTIONS)


def test_an_empty_question_is_left_to_a_person(blank):
    chance = np.random.default_rng(1)
    marks = random_marks(chance)
    del marks[5]

    sheet = read(photographed(filled(blank, OPTIONS, marks, chance), chance))

    assert [a.question for a in sheet.doubtful] == [5]
    assert sheet.doubtful[0].doubt == "No box is filled."


def test_two_filled_boxes_are_left_to_a_person(blank):
    chance = np.random.default_rng(2)
    marks = random_marks(chance) | {7: "AC"}

    sheet = read(photographed(filled(blank, OPTIONS, marks, chance), chance))

    assert [(a.question, a.letters) for a in sheet.doubtful] == [(7, "AC")]
    assert "More than one" in sheet.doubtful[0].doubt


def test_two_filled_boxes_are_right_where_several_may_be_chosen(blank):
    chance = np.random.default_rng(3)
    marks = random_marks(chance) | {7: "AC"}

    sheet = read(
        photographed(filled(blank, OPTIONS, marks, chance), chance), several=frozenset({7})
    )

    assert not sheet.doubtful
    assert sheet.answers[6].letters == "AC"


@pytest.mark.parametrize("share", [0.3, 0.4])
def test_a_half_filled_box_is_left_to_a_person(blank, share):
    chance = np.random.default_rng(4)
    picture = filled(blank, OPTIONS, {1: "B"}, chance, share=share)

    sheet = read(photographed(picture, chance))

    assert sheet.answers[0].doubt


def test_a_faint_pencil_is_read_or_asked_about_but_never_read_wrong(blank):
    chance = np.random.default_rng(5)
    marks = random_marks(chance)

    sheet = read(photographed(filled(blank, OPTIONS, marks, chance, ink=150), chance))

    assert [a for a in sheet.answers if not a.doubt and a.letters != marks[a.question]] == []


def test_the_straightened_sheet_is_kept_for_whoever_decides(blank):
    chance = np.random.default_rng(6)

    sheet = read(photographed(filled(blank, OPTIONS, {}, chance), chance))

    with Image.open(io.BytesIO(sheet.straightened)) as picture:
        assert picture.width / picture.height == pytest.approx(210 / 297, abs=0.01)


def test_a_hidden_corner_is_named(blank):
    covered = blank.copy()
    covered[:200, :200] = 255
    out = io.BytesIO()
    Image.fromarray(covered).save(out, "PNG")

    with pytest.raises(InputError, match="upper left"):
        find_sheet(out.getvalue())


def test_a_covered_code_is_told(blank):
    covered = blank.copy()
    covered[150:400, 850:1120] = 255
    out = io.BytesIO()
    Image.fromarray(covered).save(out, "PNG")

    with pytest.raises(InputError, match="code on the sheet"):
        find_sheet(out.getvalue())


def huge_png():
    """Return a small PNG file that would unpack to 169 megapixels."""

    def chunk(kind, data):
        body = kind + data
        return len(data).to_bytes(4, "big") + body + zlib.crc32(body).to_bytes(4, "big")

    head = (13_000).to_bytes(4, "big") * 2 + bytes([1, 0, 0, 0, 0])
    rows = zlib.compress(bytes((13_000 // 8 + 1) * 13_000), 9)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", rows) + chunk(b"IEND", b"")


@pytest.mark.parametrize(
    ("picture", "says"),
    [
        (b"", "no picture"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'><script/></svg>", "no picture"),
        (huge_png(), "too many pixels"),
        (bytes(26_000_000), "too large"),
    ],
)
def test_what_is_no_photograph_is_refused(picture, says):
    with pytest.raises(InputError, match=says):
        find_sheet(picture)


@pytest.mark.parametrize("text", ["", "abc", "abc/", "abc/x", "/5", "abc/9999999"])
def test_a_foreign_code_is_refused(text):
    with pytest.raises(InputError, match="not ours"):
        SheetCode.read(text)


@pytest.mark.parametrize("options", [(), (1,), (7,), (4,) * 41])
def test_a_test_that_does_not_fit_the_sheet_is_refused(options):
    with pytest.raises(InputError):
        answer_boxes(options)


def test_boxes_keep_clear_of_each_other_and_of_markers_and_code():
    boxes = answer_boxes((6,) * 40)

    assert len({(b.x_mm, b.y_mm) for b in boxes}) == 240
    assert all(18 < b.x_mm < 192 and 75 < b.y_mm < 268 for b in boxes)


def test_the_same_sheets_print_to_the_same_bytes():
    assert answer_sheet_pdf(((CODE, WORDS),), OPTIONS) == answer_sheet_pdf(
        ((CODE, WORDS),), OPTIONS
    )
