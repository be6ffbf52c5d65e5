"""The answer sheet: where everything stands on it, and the sheet as PDF.

Printing and reading share one plan, so they cannot drift apart. Four corner markers (from a
kept marker dictionary) give the perspective; a QR code names the paper, person and page.
All places in mm from the upper left corner of an A4 page.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from io import BytesIO

import cv2
import numpy as np
import segno
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from quizsvc.errors import InputError
from quizsvc.paper.drawing import BOLD, PLAIN, embed_fonts

WIDTH_MM, HEIGHT_MM = 210.0, 297.0
MARKER_MM = 14.0
MARKER_IDS = (0, 1, 2, 3)  # upper left, upper right, lower right, lower left
_EDGE = 12.0
MARKER_CORNERS = (
    (_EDGE, _EDGE),
    (WIDTH_MM - _EDGE - MARKER_MM, _EDGE),
    (WIDTH_MM - _EDGE - MARKER_MM, HEIGHT_MM - _EDGE - MARKER_MM),
    (_EDGE, HEIGHT_MM - _EDGE - MARKER_MM),
)
CODE_MM = 26.0
CODE_CORNER = (WIDTH_MM - 60.0, 32.0)
BOX_MM = 5.0
_FIRST_ROW, _ROW_STEP = 84.0, 9.4
_COLUMN_LEFT = (30.0, 118.0)
_BOX_STEP = 10.5
ROWS = 20
QUESTIONS = ROWS * len(_COLUMN_LEFT)
LETTERS = "ABCDEF"


@dataclass(frozen=True, slots=True)
class Box:
    """One box to fill: question (from 1), option letter, centre in mm."""

    question: int
    letter: str
    x_mm: float
    y_mm: float


@dataclass(frozen=True, slots=True)
class SheetCode:
    """What the QR code says: nothing about the key, only which paper this is."""

    paper: str  # random id of the printed test
    copy: int  # which person and variant, as the server lists them

    def text(self) -> str:
        return f"{self.paper}/{self.copy}"

    @classmethod
    def read(cls, text: str) -> SheetCode:
        paper, _, copy = text.rpartition("/")
        if not paper or not copy.isascii() or not copy.isdigit() or len(copy) > 6:
            raise InputError("the code on the sheet is not ours.", field="code", value=text[:60])
        return cls(paper, int(copy))


@dataclass(frozen=True, slots=True)
class SheetWords:
    title: str
    person: str
    variant: str
    note: str = "Fill the box of your answer completely, with a dark pen. Leave the others empty."


def answer_boxes(options: tuple[int, ...]) -> tuple[Box, ...]:
    """Return the boxes of a test whose questions have ``options[i]`` options each.

    Raises:
        InputError: more questions or options than the sheet has room for.
    """
    if not 1 <= len(options) <= QUESTIONS:
        raise InputError(
            f"an answer sheet holds 1 to {QUESTIONS} questions.",
            field="questions",
            value=len(options),
            remedy="Print two tests.",
        )
    if not all(2 <= count <= len(LETTERS) for count in options):
        raise InputError(
            f"a question on paper has 2 to {len(LETTERS)} options.", field="options", value=options
        )
    return tuple(
        Box(
            number + 1,
            LETTERS[place],
            _COLUMN_LEFT[number // ROWS] + 9 + place * _BOX_STEP,
            _FIRST_ROW + (number % ROWS) * _ROW_STEP,
        )
        for number, count in enumerate(options)
        for place in range(count)
    )


@cache
def marker_cells(marker: int) -> tuple[tuple[int, int], ...]:
    """Return the black cells (column, row) of a corner marker on its 6 × 6 grid."""
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)
    grid = np.asarray(cv2.aruco.generateImageMarker(dictionary, marker, 6))
    return tuple((int(x), int(y)) for y, x in np.argwhere(grid == 0))


def answer_sheet_pdf(
    sheets: tuple[tuple[SheetCode, SheetWords], ...], options: tuple[int, ...]
) -> bytes:
    """Return one page for each of ``sheets``, all with the same questions and option counts."""
    return answer_piles_pdf(((sheets, options),))


def answer_piles_pdf(
    piles: tuple[tuple[tuple[tuple[SheetCode, SheetWords], ...], tuple[int, ...]], ...],
) -> bytes:
    """Return the sheets of several variants: (sheets, option counts) of one after another."""
    embed_fonts()
    out = BytesIO()
    canvas = Canvas(out, pagesize=(WIDTH_MM * mm, HEIGHT_MM * mm), invariant=True)
    canvas.setTitle("Answer sheets")
    for sheets, options in piles:
        boxes = answer_boxes(options)
        for code, words in sheets:
            _page(canvas, code, words, boxes)
            canvas.showPage()
    canvas.save()
    return out.getvalue()


def _page(canvas: Canvas, code: SheetCode, words: SheetWords, boxes: tuple[Box, ...]) -> None:
    for marker, corner in zip(MARKER_IDS, MARKER_CORNERS, strict=True):
        _marker(canvas, marker, corner)
    _code(canvas, code)
    _words(canvas, words, code)
    for box in boxes:
        _box(canvas, box)
    for box in boxes:
        if box.letter == "A":
            _text(canvas, box.x_mm - 6, box.y_mm + 1.4, str(box.question), 10, BOLD, right=True)


def _marker(canvas: Canvas, marker: int, corner: tuple[float, float]) -> None:
    cell = MARKER_MM / 6
    canvas.setFillGray(0)
    for column, row in marker_cells(marker):
        # A hair of overlap keeps white seams out of the black.
        _rect(canvas, corner[0] + column * cell, corner[1] + row * cell, cell + 0.02, cell + 0.02)


def _code(canvas: Canvas, code: SheetCode) -> None:
    rows = [list(row) for row in segno.make_qr(code.text(), error="m").matrix]
    cell = CODE_MM / len(rows)
    canvas.setFillGray(0)
    for y, row in enumerate(rows):
        for x, dark in enumerate(row):
            if dark:
                left, top = CODE_CORNER[0] + x * cell, CODE_CORNER[1] + y * cell
                _rect(canvas, left, top, cell + 0.02, cell + 0.02)


def _words(canvas: Canvas, words: SheetWords, code: SheetCode) -> None:
    _text(canvas, 30, 38, words.title[:48], 14, BOLD)
    _text(canvas, 30, 46, words.person[:60], 11, PLAIN)
    _text(canvas, 30, 53, f"Variant {words.variant}", 11, PLAIN)
    _text(canvas, 30, 66, words.note, 9, PLAIN)
    _text(canvas, 30, 71, "To change an answer, ask for a new sheet.", 9, PLAIN)
    _text(canvas, 105, 287, code.text(), 6, PLAIN)


def _box(canvas: Canvas, box: Box) -> None:
    half = BOX_MM / 2
    canvas.setStrokeGray(0.25)
    canvas.setLineWidth(0.7)
    top = (HEIGHT_MM - box.y_mm - half) * mm
    canvas.rect((box.x_mm - half) * mm, top, BOX_MM * mm, BOX_MM * mm, stroke=1, fill=0)
    # The letter stands beside the box, not in it: ink inside means an answer.
    _text(canvas, box.x_mm + half + 0.7, box.y_mm + 1.2, box.letter, 7, PLAIN)


def _rect(canvas: Canvas, left: float, top: float, width: float, height: float) -> None:
    canvas.rect(
        left * mm, (HEIGHT_MM - top - height) * mm, width * mm, height * mm, stroke=0, fill=1
    )


def _text(
    canvas: Canvas, x: float, y: float, text: str, size: float, face: str, *, right: bool = False
) -> None:
    canvas.setFillGray(0)
    canvas.setFont(face, size)
    draw = canvas.drawRightString if right else canvas.drawString
    draw(x * mm, (HEIGHT_MM - y) * mm, text)
