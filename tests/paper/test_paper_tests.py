"""Tests on paper: what is printed, what is not, and that figures stay drawings."""

import pypdfium2
import pytest
from paper.printed_sheets import printed

from quizsvc.figures.raster import render_png
from quizsvc.items.family import all_families, draw_item
from quizsvc.paper.question_sheet import PaperQuestion, PaperTest, key_pdf, question_pdf
from quizsvc.sheets.loading import shipped_sheets


def words_of(pdf):
    document = pypdfium2.PdfDocument(pdf)
    try:
        return [" ".join(page.get_textpage().get_text_range().split()) for page in document]
    finally:
        document.close()


@pytest.fixture(scope="module")
def figure():
    item = draw_item(all_families()["pins-apart"], shipped_sheets()["demo-inline-four"], 1)
    return item.figure()


def paper(figure=None, variant="A", others=28):
    question = PaperQuestion(
        prompt="How many crank degrees is one tooth of a 36 tooth cam sprocket?",
        options=("10°", "20°", "18°", "40°"),
        right="B",
        worked=("720° ÷ 36 = 20°",),
        figure=figure,
        caution="Springs under load.",
    )
    others = tuple(
        PaperQuestion(f"Question < & > {n}", ("yes", "no"), "A", ("since",), several=n == 2)
        for n in range(2, 2 + others)
    )
    return PaperTest("Timing marks", variant, "Invented Shop, 1 March 2026", (question, *others))


def test_the_question_sheet_holds_questions_options_and_caution_but_no_key(figure):
    text = " ".join(words_of(question_pdf((paper(figure),))))

    assert "36 tooth cam sprocket" in text
    assert "B 20°" in text
    assert "Springs under load" in text
    assert "Question < & > 7" in text
    assert "720° ÷ 36" not in text


def test_the_key_names_the_right_options_and_the_steps():
    text = " ".join(words_of(key_pdf((paper(),))))

    assert "1. B (20°)" in text
    assert "720° ÷ 36 = 20°" in text


def test_every_variant_begins_on_a_page_of_its_own():
    pages = words_of(question_pdf((paper(variant="A"), paper(variant="B"))))

    assert sum("Variant A" in page for page in pages) == 1
    assert sum("Variant B" in page for page in pages) == 1


def test_figures_are_drawn_as_lines_and_not_as_pixels(figure):
    document = pypdfium2.PdfDocument(question_pdf((paper(figure),)))

    kinds = {item.type for item in document[0].get_objects()}
    document.close()

    assert pypdfium2.raw.FPDF_PAGEOBJ_PATH in kinds
    assert pypdfium2.raw.FPDF_PAGEOBJ_IMAGE not in kinds


def test_a_figure_puts_ink_on_the_page(figure):
    with_figure, without = (printed(question_pdf((paper(f, others=0),))) for f in (figure, None))

    assert (with_figure < 128).sum() > (without < 128).sum() + 2000


def test_a_photograph_is_printed_too(figure):
    question = PaperQuestion("What is shown?", ("a", "b"), "A", (), picture=render_png(figure))
    document = pypdfium2.PdfDocument(question_pdf((PaperTest("T", "A", "", (question,)),)))

    kinds = {item.type for item in document[0].get_objects()}
    document.close()

    assert pypdfium2.raw.FPDF_PAGEOBJ_IMAGE in kinds
