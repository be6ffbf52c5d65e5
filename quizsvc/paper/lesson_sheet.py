"""A lesson sheet about one wrong idea as PDF: the idea, the case against it, items, answers."""

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
    HRFlowable,
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
_WIDTH = A4[0] - 2 * _MARGIN
_FIGURE_HEIGHT = 90 * mm
_TRY_HEIGHT = 78 * mm
SERVICE_FIRST = (
    "The maker's service information, local rules and licensed practice come before anything "
    "said here."
)


@dataclass(frozen=True, slots=True)
class TryIt:
    """One item as printed; ``misled`` is what the wrong idea makes of it."""

    prompt: str
    options: tuple[str, ...]
    figure: Scene | None
    right: str
    misled: str
    worked: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class LessonPage:
    title: str
    topic: str
    thinks: str
    but: str
    case: TryIt
    solution: Scene | None
    practice: tuple[TryIt, ...]
    caution: str = ""


def lesson_pdf(lesson: LessonPage) -> bytes:
    """Return the lesson, the practice items after it, and their answers on a page of their own."""
    embed_fonts()
    out = BytesIO()
    document = BaseDocTemplate(
        out, pagesize=A4, title=f"Lesson sheet: {lesson.title}", invariant=1,
        leftMargin=_MARGIN, rightMargin=_MARGIN, topMargin=_MARGIN, bottomMargin=_MARGIN,
    )  # fmt: skip
    frame = Frame(_MARGIN, _MARGIN + 8 * mm, _WIDTH, A4[1] - 2 * _MARGIN - 8 * mm)
    document.addPageTemplates(PageTemplate(frames=[frame], onPage=_footer(lesson.title)))
    document.build([*_idea(lesson), *_case(lesson), *_practice(lesson), *_answers(lesson)])
    return out.getvalue()


def _footer(title: str) -> Callable[[Canvas, BaseDocTemplate], None]:
    def draw(canvas: Canvas, document: BaseDocTemplate) -> None:
        canvas.saveState()
        canvas.setLineWidth(0.7)
        canvas.line(_MARGIN, _MARGIN + 5 * mm, A4[0] - _MARGIN, _MARGIN + 5 * mm)
        canvas.setFont(PLAIN, 8)
        canvas.drawString(_MARGIN, _MARGIN, f"Lesson sheet · {title}"[:90])
        canvas.drawRightString(A4[0] - _MARGIN, _MARGIN, f"Page {document.page}")
        canvas.restoreState()

    return draw


def _idea(lesson: LessonPage) -> list[Flowable]:
    flow: list[Flowable] = [
        _text(lesson.topic, 9),
        _text(lesson.title, 17, bold=True, after=8),
        _text("What one might think", 11, bold=True),
        _text(f"“{lesson.thinks}”", 11, left=12, after=6),
        _text("But", 11, bold=True),
        _text(lesson.but, 11, left=12, after=6),
    ]
    if lesson.caution:
        flow.append(_text(f"Caution: {lesson.caution}", 9.5, bold=True, after=2))
    flow.append(_text(SERVICE_FIRST, 8.5, after=8))
    return flow


def _case(lesson: LessonPage) -> list[Flowable]:
    case = lesson.case
    flow: list[Flowable] = [
        HRFlowable(width="100%", thickness=0.7, color="black"),
        _text("A case that shows why", 11, bold=True, after=4),
        _text(case.prompt, 10.5, after=4),
    ]
    if lesson.solution is not None:
        flow.append(Drawing(lesson.solution, _WIDTH, _FIGURE_HEIGHT))
    flow.append(_text(f"The idea gives: {case.misled}", 10.5, left=12))
    flow.append(_text(f"Right is: {case.right}", 10.5, bold=True, left=12, after=4))
    flow += [_text(f"{n}. {step}", 9.5, left=12) for n, step in enumerate(case.worked, 1)]
    return [KeepTogether(flow)]


def _practice(lesson: LessonPage) -> list[Flowable]:
    if not lesson.practice:
        return []
    flow: list[Flowable] = [Spacer(1, 6 * mm)]
    for number, one in enumerate(lesson.practice, 1):
        asked: list[Flowable] = [_text("Try it", 13, bold=True, after=6)] if number == 1 else []
        asked.append(_text(f"{number}. {one.prompt}", 10.5, after=3))
        if one.figure is not None:
            asked.append(Drawing(one.figure, _WIDTH * 0.75, _TRY_HEIGHT))
        asked += [
            _text(f"{letter}   {option}", 10.5, left=12)
            for letter, option in zip(LETTERS, one.options, strict=False)
        ]
        if not one.options:
            asked.append(_text("Answer: ______________________", 10.5, left=12))
        flow.append(KeepTogether([*asked, Spacer(1, 6 * mm)]))
    return flow


def _answers(lesson: LessonPage) -> list[Flowable]:
    if not lesson.practice:
        return []
    flow: list[Flowable] = [PageBreak(), _text("Answers", 13, bold=True, after=6)]
    for number, one in enumerate(lesson.practice, 1):
        lines: list[Flowable] = [
            _text(f"{number}. {one.right}", 10.5, bold=True),
            _text(f"The idea would give: {one.misled}", 9.5, left=12),
            *[_text(step, 9.5, left=12) for step in one.worked],
        ]
        flow.append(KeepTogether([*lines, Spacer(1, 4 * mm)]))
    return flow


def _text(
    text: str, size: float, *, bold: bool = False, left: float = 0, after: float = 2
) -> Paragraph:
    style = ParagraphStyle(
        "", fontName=BOLD if bold else PLAIN, fontSize=size, leading=size * 1.35,
        leftIndent=left, spaceAfter=after,
    )  # fmt: skip
    return Paragraph(escape(text), style)
