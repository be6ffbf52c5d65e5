"""Cut one question's row out of a straightened answer sheet, for a person to decide."""

from __future__ import annotations

from io import BytesIO

from PIL import Image

from quizsvc.errors import NotFoundError
from quizsvc.paper.answer_sheet import HEIGHT_MM, WIDTH_MM, answer_boxes

_BEFORE_MM, _AFTER_MM, _BESIDE_MM = 16.0, 9.0, 6.5


def cut_out(straightened: bytes, options: tuple[int, ...], question: int) -> bytes:
    """Return the row of a question (from 1) as PNG, its number and letters included.

    Raises:
        NotFoundError: the sheet has no such question.
    """
    boxes = [box for box in answer_boxes(options) if box.question == question]
    if not boxes:
        raise NotFoundError("there is no such question.", field="question", value=question)
    with Image.open(BytesIO(straightened)) as sheet:
        across, down = sheet.width / WIDTH_MM, sheet.height / HEIGHT_MM
        row = sheet.crop(
            (
                round((boxes[0].x_mm - _BEFORE_MM) * across),
                round((boxes[0].y_mm - _BESIDE_MM) * down),
                round((boxes[-1].x_mm + _AFTER_MM) * across),
                round((boxes[0].y_mm + _BESIDE_MM) * down),
            )
        )
        out = BytesIO()
        row.save(out, "PNG")
    return out.getvalue()
