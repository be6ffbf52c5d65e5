"""A certificate as a drawing sheet: frame with zones, the words, a title block, a code to scan."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime
from io import BytesIO

import segno
from reportlab.lib.colors import HexColor
from reportlab.lib.pagesizes import A4, landscape
from reportlab.lib.units import mm
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfgen.canvas import Canvas

from quizsvc.figures.palette import PRINT
from quizsvc.figures.scene import Ink
from quizsvc.paper.drawing import BOLD, PLAIN, embed_fonts

WIDTH, HEIGHT = landscape(A4)
FRAME_LEFT, FRAME = 20 * mm, 10 * mm  # the wide margin is for binding, as on drawing sheets
ZONE = 4 * mm
COLUMNS, ROWS = 8, 4  # zones along the frame
THICK, MEDIUM, THIN = 2.0, 1.0, 0.5  # points, 1 : 2 : 4
BLOCK_HEIGHT = 44 * mm
CODE = 38 * mm
INSET = 16 * mm
QUIET = 4  # modules of white around the code (ISO/IEC 18004)
FIRST = "It says what was shown then. The maker’s service information and local rules come first."
_SMALLEST = 8.0
SOFT = HexColor("#4d5963")  # small words: still 7 to 1 on white


@dataclass(frozen=True, slots=True)
class CertificateSheet:
    """What is printed."""

    holder: str
    scheme: str
    scope: str
    version: int
    shop: str
    issued: datetime
    valid_until: datetime | None
    number: str
    address: str  # public page, in the code and in letters
    topics: tuple[str, ...]
    tasks: tuple[str, ...]
    invented: bool = False


def certificate_pdf(sheet: CertificateSheet) -> bytes:
    """Return one page, A4 landscape; the same sheet gives the same bytes."""
    embed_fonts()
    out = BytesIO()
    canvas = Canvas(out, pagesize=(WIDTH, HEIGHT), invariant=1, lang="en")
    canvas.setTitle(f"Certificate: {sheet.scheme}")
    canvas.setAuthor(sheet.shop)
    _frame(canvas)
    _words(canvas, sheet)
    _drive(canvas)
    _title_block(canvas, sheet)
    _code(canvas, sheet.address)
    if sheet.invented:
        _mark_invented(canvas)
    canvas.showPage()
    canvas.save()
    return out.getvalue()


def _day(moment: datetime) -> str:
    return f"{moment.day} {moment:%B %Y}"


def _ink(canvas: Canvas) -> None:
    canvas.setStrokeColor(HexColor(PRINT[Ink.LINE]))
    canvas.setFillColor(HexColor(PRINT[Ink.LINE]))


def _frame(canvas: Canvas) -> None:
    """Draw the frame with its zones: letters up the sides, figures along the edges."""
    _ink(canvas)
    left, bottom, right, top = FRAME_LEFT, FRAME, WIDTH - FRAME, HEIGHT - FRAME
    canvas.setLineWidth(THICK)
    canvas.rect(left, bottom, right - left, top - bottom)
    canvas.setLineWidth(THIN)
    canvas.rect(left - ZONE, bottom - ZONE, right - left + 2 * ZONE, top - bottom + 2 * ZONE)
    canvas.setFont(PLAIN, 6.5)
    step = (right - left) / COLUMNS
    for column in range(COLUMNS):
        middle = left + (column + 0.5) * step
        for edge, out in ((bottom, -ZONE), (top, 0)):
            canvas.drawCentredString(middle, edge + out + 1.2 * mm, str(column + 1))
            if column:
                canvas.line(
                    left + column * step, edge + out, left + column * step, edge + out + ZONE
                )
    rise = (top - bottom) / ROWS
    for row in range(ROWS):
        middle = top - (row + 0.5) * rise - 0.8 * mm
        for edge in (left - ZONE, right):
            canvas.drawCentredString(edge + ZONE / 2, middle, "ABCD"[row])
            if row:
                canvas.line(edge, top - row * rise, edge + ZONE, top - row * rise)


def _words(canvas: Canvas, sheet: CertificateSheet) -> None:
    left, top = FRAME_LEFT + INSET, HEIGHT - FRAME - 22 * mm
    room = WIDTH - FRAME - INSET - left
    _line(canvas, left, top, "CERTIFICATE", 11, spacing=3)
    canvas.setLineWidth(THIN)
    canvas.line(left, top - 3 * mm, left + room, top - 3 * mm)
    _fitted(canvas, left, top - 19 * mm, sheet.holder, 30, room, bold=True)
    _line(canvas, left, top - 28 * mm, "has shown what the scheme asks for:", 11)
    _fitted(canvas, left, top - 40 * mm, sheet.scheme, 20, room, bold=True)
    y = _paragraph(canvas, left, top - 49 * mm, sheet.scope, 10.5, room, most=3)
    y -= 3 * mm
    y = _paragraph(canvas, left, y, "Written: " + "; ".join(sheet.topics) + ".", 9.5, room, most=3)
    if sheet.tasks:
        hands_on = "Hands-on, signed off: " + "; ".join(sheet.tasks) + "."
        y = _paragraph(canvas, left, y, hands_on, 9.5, room, most=3)
    canvas.setFillColor(SOFT)
    _paragraph(canvas, left, y - 4 * mm, FIRST, 8.5, room, most=2)


def _drive(canvas: Canvas) -> None:
    """Draw two pitch circles and the chain's lines between them: an ornament, to no scale."""
    y = FRAME + BLOCK_HEIGHT + 22 * mm
    left, right = WIDTH - FRAME - 108 * mm, WIDTH - FRAME - 38 * mm
    small, large = 7 * mm, 14 * mm
    canvas.saveState()
    canvas.setStrokeColor(HexColor(PRINT[Ink.LINE]))
    lean = math.asin((large - small) / (right - left))
    canvas.setLineWidth(MEDIUM)
    for side in (1, -1):
        across, up = -math.sin(lean), side * math.cos(lean)
        canvas.line(left + small * across, y + small * up, right + large * across, y + large * up)
    for x, radius, teeth in ((left, small, 18), (right, large, 36)):
        _sprocket(canvas, x, y, radius, teeth)
    canvas.setLineWidth(THIN)
    canvas.setDash([12, 3, 2, 3])  # long and short dashes: a centre line
    canvas.line(left - 14 * mm, y, right + 21 * mm, y)
    canvas.restoreState()


def _sprocket(canvas: Canvas, x: float, y: float, radius: float, teeth: int) -> None:
    canvas.setLineWidth(THIN)
    canvas.circle(x, y, radius)
    canvas.circle(x, y, radius * 0.3)
    canvas.line(x, y - radius - 3 * mm, x, y + radius + 3 * mm)
    for tooth in range(teeth):
        turn = 2 * math.pi * tooth / teeth
        inner, outer = radius - 0.9 * mm, radius + 0.9 * mm
        canvas.line(
            x + inner * math.cos(turn),
            y + inner * math.sin(turn),
            x + outer * math.cos(turn),
            y + outer * math.sin(turn),
        )


def _title_block(canvas: Canvas, sheet: CertificateSheet) -> None:
    """Draw the block in the lower right corner: who issued it, when, until when, its number."""
    right, bottom = WIDTH - FRAME, FRAME
    left, top = right - 178 * mm, bottom + BLOCK_HEIGHT
    _ink(canvas)
    canvas.setLineWidth(MEDIUM)
    canvas.rect(left, bottom, right - left, BLOCK_HEIGHT)
    until = _day(sheet.valid_until) if sheet.valid_until else "no end stated"
    half = (left + right) / 2
    _cell(canvas, left, top, half - left, "Issued by", sheet.shop)
    _cell(canvas, half, top, right - half, "Scheme, version", f"{sheet.scheme}, {sheet.version}")
    _cell(canvas, left, top - 11 * mm, half - left, "Issued (UTC)", _day(sheet.issued))
    _cell(canvas, half, top - 11 * mm, right - half, "Valid until", until)
    _cell(canvas, left, top - 22 * mm, right - left, "Number", sheet.number)
    _cell(canvas, left, top - 33 * mm, right - left, "Whether it still stands", sheet.address)
    canvas.setLineWidth(THIN)
    for row in (1, 2, 3):
        canvas.line(left, top - row * 11 * mm, right, top - row * 11 * mm)
    canvas.line(half, top, half, top - 22 * mm)


def _cell(canvas: Canvas, x: float, top: float, width: float, label: str, words: str) -> None:
    canvas.setFillColor(SOFT)
    canvas.setFont(PLAIN, 6.5)
    canvas.drawString(x + 2 * mm, top - 3.4 * mm, label)
    _ink(canvas)
    _fitted(canvas, x + 2 * mm, top - 8.6 * mm, words, 10.5, width - 4 * mm)


def _code(canvas: Canvas, address: str) -> None:
    """Draw the code at the left of the title block, with its quiet zone."""
    made = segno.make(address, error="m", micro=False)
    rows = [list(row) for row in made.matrix]
    module = CODE / (len(rows) + 2 * QUIET)
    left = FRAME_LEFT + INSET - QUIET * module
    bottom = FRAME + 6 * mm
    canvas.setFillColor(HexColor(PRINT[Ink.PAPER]))
    canvas.rect(left, bottom, CODE, CODE, stroke=0, fill=1)
    canvas.setFillColor(HexColor("#000000"))
    for number, row in enumerate(rows):
        y = bottom + CODE - (QUIET + number + 1) * module
        for place, dark in enumerate(row):
            if dark:
                # A hair wider, so that no light shows between modules on screen.
                canvas.rect(left + (QUIET + place) * module, y, module * 1.02, module * 1.02, 0, 1)
    _ink(canvas)


def _mark_invented(canvas: Canvas) -> None:
    canvas.setFillColor(SOFT)
    canvas.setFont(PLAIN, 9)
    canvas.drawRightString(
        WIDTH - FRAME - INSET, HEIGHT - FRAME - 22 * mm, "Invented shop and person, for trial only"
    )


def _line(
    canvas: Canvas, x: float, y: float, words: str, size: float, *, spacing: float = 0
) -> None:
    _ink(canvas)
    canvas.setFont(PLAIN, size)
    canvas.drawString(x, y, words, charSpace=spacing)


def _fitted(
    canvas: Canvas,
    x: float,
    y: float,
    words: str,
    size: float,
    room: float,
    *,
    bold: bool = False,
) -> None:
    """Draw one line, smaller where it is long, cut where even small letters don't fit."""
    _ink(canvas)
    name = BOLD if bold else PLAIN
    wide = pdfmetrics.stringWidth(words, name, size)
    size = max(_SMALLEST, size * min(1.0, room / wide)) if wide else size
    while pdfmetrics.stringWidth(words, name, size) > room + 0.01:
        words = words.rstrip("…")[:-1] + "…"
    canvas.setFont(name, size)
    canvas.drawString(x, y, words)


def _paragraph(
    canvas: Canvas, x: float, y: float, words: str, size: float, room: float, *, most: int
) -> float:
    """Draw words in at most so many lines and return where the next begins."""
    lines: list[str] = [""]
    for word in words.split():
        longer = f"{lines[-1]} {word}".strip()
        if pdfmetrics.stringWidth(longer, PLAIN, size) <= room:
            lines[-1] = longer
        else:
            lines.append(word)
    if len(lines) > most:
        lines = [*lines[: most - 1], lines[most - 1] + " …"]
    for line in lines:
        _fitted(canvas, x, y, line, size, room)
        y -= size * 1.4
    return y
