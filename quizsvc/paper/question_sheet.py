"""A test on paper: the questions of one variant, and the key with worked steps."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from io import BytesIO
from xml.sax.saxutils import escape

from reportlab.lib.pagesizes import A4
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import (
    BaseDocTemplate,
    Flowable,
    Frame,
    Image,
    KeepTogether,
    PageBreak,
    PageTemplate,
    Paragraph,
    Spacer,
)

from quizsvc.figures.scene import Scene
from quizsvc.paper.answer_sheet import LETTERS
from quizsvc.paper.drawing import BOLD, PLAIN, Drawing, embed_fonts

_MARGIN = 18 * mm
_TEXT_WIDTH = A4[0] - 2 * _MARGIN
_FIGURE_HEIGHT = 80 * mm


@dataclass(frozen=True, slots=True)
class PaperQuestion:
    """One question as printed. ``right`` holds option letters, ``worked`` the key's steps."""

    prompt: str
    options: tuple[str, ...]
    right: str
    worked: tuple[str, ...]
    several: bool = False
    figure: Scene | None = None
    picture: bytes | None = None
    caution: str = ""


@dataclass(frozen=True, slots=True)
class PaperTest:
    title: str
    variant: str
    issued: str  # who, where and when, in words
    questions: tuple[PaperQuestion, ...]


_Page = Callable[[PaperTest], list[Flowable]]


def question_pdf(tests: tuple[PaperTest, ...]) -> bytes:
    """Return the question sheets of all variants, each beginning on a new page."""
    return _document(tests, _question_page, "Questions")


def key_pdf(tests: tuple[PaperTest, ...]) -> bytes:
    """Return the keys with worked steps, for the instructor only."""
    return _document(tests, _key_page, "Key: for the instructor")


def _document(tests: tuple[PaperTest, ...], page: _Page, what: str) -> bytes:
    embed_fonts()
    out = BytesIO()
    document = BaseDocTemplate(
        out, pagesize=A4, title=f"{tests[0].title}: {what}", invariant=1,
        leftMargin=_MARGIN, rightMargin=_MARGIN, topMargin=_MARGIN, bottomMargin=_MARGIN,
    )  # fmt: skip
    frame = Frame(_MARGIN, _MARGIN + 8 * mm, _TEXT_WIDTH, A4[1] - 2 * _MARGIN - 8 * mm)
    document.addPageTemplates(PageTemplate(frames=[frame], onPage=_footer(tests[0].title, what)))
    flow: list[Flowable] = []
    for test in tests:
        flow += [*page(test), PageBreak()]
    document.build(flow[:-1])
    return out.getvalue()


def _footer(title: str, what: str) -> Callable[[Canvas, BaseDocTemplate], None]:
    def draw(canvas: Canvas, document: BaseDocTemplate) -> None:
        canvas.saveState()
        canvas.setLineWidth(0.7)
        canvas.line(_MARGIN, _MARGIN + 5 * mm, A4[0] - _MARGIN, _MARGIN + 5 * mm)
        canvas.setFont(PLAIN, 8)
        canvas.drawString(_MARGIN, _MARGIN, f"{title} · {what}")
        canvas.drawRightString(A4[0] - _MARGIN, _MARGIN, f"Page {document.page}")
        canvas.restoreState()

    return draw


def _style(size: float, *, bold: bool = False, left: float = 0, after: float = 2) -> ParagraphStyle:
    return ParagraphStyle(
        "", fontName=BOLD if bold else PLAIN, fontSize=size, leading=size * 1.35,
        leftIndent=left, spaceAfter=after,
    )  # fmt: skip


def _words(text: str, style: ParagraphStyle) -> Paragraph:
    return Paragraph(escape(text), style)


def _heading(test: PaperTest, note: str) -> list[Flowable]:
    return [
        _words(test.title, _style(16, bold=True, after=4)),
        _words(f"Variant {test.variant} · {test.issued}", _style(10)),
        _words(note, _style(9, after=10)),
    ]


def _question_page(test: PaperTest) -> list[Flowable]:
    note = (
        "Mark your answers on the answer sheet. The maker's service information, local rules and "
        "licensed practice come before anything said here."
    )
    flow = _heading(test, note)
    for number, question in enumerate(test.questions, start=1):
        flow.append(KeepTogether([*_asked(number, question), Spacer(1, 7 * mm)]))
    return flow


def _asked(number: int, question: PaperQuestion) -> list[Flowable]:
    flow: list[Flowable] = [_words(f"{number}. {question.prompt}", _style(10.5, after=4))]
    if question.caution:
        flow.append(_words(f"Caution: {question.caution}", _style(9, bold=True, left=12, after=4)))
    if question.figure is not None:
        flow.append(Drawing(question.figure, _TEXT_WIDTH * 0.7, _FIGURE_HEIGHT))
    if question.picture is not None:
        flow.append(_picture(question.picture))
    if question.several:
        flow.append(_words("More than one may be right.", _style(9, bold=True, left=12)))
    for letter, option in zip(LETTERS, question.options, strict=False):
        flow.append(_words(f"{letter}   {option}", _style(10.5, left=12)))
    return flow


def _picture(data: bytes) -> Image:
    image = Image(BytesIO(data), hAlign="LEFT")
    scale = min(1.0, _TEXT_WIDTH * 0.7 / image.imageWidth, _FIGURE_HEIGHT / image.imageHeight)
    image.drawWidth, image.drawHeight = image.imageWidth * scale, image.imageHeight * scale
    return image


def _key_page(test: PaperTest) -> list[Flowable]:
    flow = _heading(test, "For the instructor. Do not leave this page with the class.")
    for number, question in enumerate(test.questions, start=1):
        chosen = "; ".join(
            f"{letter} ({option})"
            for letter, option in zip(LETTERS, question.options, strict=False)
            if letter in question.right
        )
        lines: list[Flowable] = [_words(f"{number}. {chosen}", _style(10.5, bold=True))]
        lines += [_words(step, _style(9, left=12, after=1)) for step in question.worked]
        flow.append(KeepTogether([*lines, Spacer(1, 3 * mm)]))
    return flow
