"""Answer sheets printed, filled in and photographed by program, for the reading tests."""

from __future__ import annotations

import io

import cv2
import numpy as np
import pypdfium2
from PIL import Image

from quizsvc.paper.answer_sheet import BOX_MM, answer_boxes

DPI = 150
PX = DPI / 25.4  # pixels for a mm


def printed(pdf: bytes, page: int = 0) -> np.ndarray:
    """Return a page as grey pixels."""
    document = pypdfium2.PdfDocument(pdf)
    try:
        return np.array(document[page].render(scale=DPI / 72).to_pil().convert("L"))
    finally:
        document.close()


def filled(sheet: np.ndarray, options, marks, chance, *, share=1.0, ink=60) -> np.ndarray:
    """Fill the boxes of ``marks`` (question -> letters) by hand: uneven, a little off."""
    picture = sheet.copy()
    for box in answer_boxes(options):
        if box.letter not in marks.get(box.question, ""):
            continue
        half = BOX_MM / 2 * chance.uniform(0.86, 1.04)
        x, y = box.x_mm + chance.uniform(-0.3, 0.3), box.y_mm + chance.uniform(-0.3, 0.3)
        bottom = y - half + 2 * half * share
        corners = np.array(
            [(x - half, y - half), (x + half, y - half), (x + half, bottom), (x - half, bottom)]
        )
        corners += chance.uniform(-0.25, 0.25, (4, 2))
        cv2.fillPoly(picture, [np.round(corners * PX).astype(np.int32)], int(ink))
    return picture


def photographed(sheet: np.ndarray, chance, *, hard=1.0) -> bytes:
    """Lay the sheet on a table and photograph it: turned, askew, shaded, noisy, JPEG."""
    high, wide = sheet.shape
    margin = 0.12
    size = (round(wide * (1 + 2 * margin)), round(high * (1 + 2 * margin)))
    base = np.array([(0, 0), (wide, 0), (wide, high), (0, high)], dtype=np.float32)
    turn = np.deg2rad(chance.uniform(-6, 6) * hard)
    spin = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    middle = base.mean(axis=0)
    corners = (base - middle) @ spin.T * chance.uniform(0.9, 1.0) + np.array(size) / 2
    corners += chance.uniform(-0.02, 0.02, (4, 2)) * wide * hard
    matrix = cv2.getPerspectiveTransform(base, corners.astype(np.float32))
    photo = cv2.warpPerspective(sheet, matrix, size, borderValue=int(chance.integers(60, 140)))
    photo = photo.astype(np.float32) * _shadow(size, chance, hard)
    photo = cv2.GaussianBlur(photo, (0, 0), chance.uniform(0.3, 1.1) * hard)
    photo += chance.normal(0, chance.uniform(2, 9) * hard, photo.shape)
    photo = np.rot90(np.clip(photo, 0, 255).astype(np.uint8), int(chance.integers(0, 4)))
    out = io.BytesIO()
    Image.fromarray(photo).save(out, "JPEG", quality=int(chance.integers(45, 90)))
    return out.getvalue()


def _shadow(size, chance, hard) -> np.ndarray:
    """Return brightness falling off across the sheet, to little more than half."""
    x, y = np.meshgrid(np.linspace(-1, 1, size[0]), np.linspace(-1, 1, size[1]))
    way = chance.uniform(0, 2 * np.pi)
    slope = (x * np.cos(way) + y * np.sin(way)) * chance.uniform(0.0, 0.22) * hard
    return (0.78 + slope).astype(np.float32)
