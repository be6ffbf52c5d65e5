"""Read filled-in answer sheets from a photograph or scan.

The four corner markers give the perspective, the QR code the paper and copy, and each box the
share of its inside that is dark against the paper around it. Between "surely empty" and "surely
filled" lies a band in which a person decides; so it is with two filled boxes where one was meant.
"""

from __future__ import annotations

from dataclasses import dataclass
from io import BytesIO

import cv2
import numpy as np
import numpy.typing as npt
from PIL import Image

from quizsvc.errors import InputError
from quizsvc.figures.photographs import open_photograph
from quizsvc.paper.answer_sheet import (
    BOX_MM,
    CODE_CORNER,
    CODE_MM,
    HEIGHT_MM,
    MARKER_CORNERS,
    MARKER_IDS,
    MARKER_MM,
    WIDTH_MM,
    Box,
    SheetCode,
    answer_boxes,
)

Grey = npt.NDArray[np.uint8]
SCALE = 8.0  # pixels for a mm in the straightened picture
MOST_PIXELS = 50_000_000
MOST_BYTES = 25_000_000
EMPTY_BELOW, FILLED_ABOVE = 0.10, 0.62  # share of the box's inside that is ink
_INSIDE_MM = BOX_MM / 2 - 0.9  # clear of the printed frame, with half a mm of misplacement
_QUIET_MM = 5.0


@dataclass(frozen=True, slots=True)
class ReadAnswer:
    """What was read of one question. ``doubt`` says in words why a person must look, or "".

    ``inks`` holds the share of ink in each box, in the order of the letters.
    """

    question: int
    letters: str
    doubt: str
    inks: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class ReadSheet:
    code: SheetCode
    answers: tuple[ReadAnswer, ...]
    straightened: bytes  # PNG, for the person who decides about doubtful marks

    @property
    def doubtful(self) -> tuple[ReadAnswer, ...]:
        return tuple(answer for answer in self.answers if answer.doubt)


@dataclass(frozen=True, slots=True)
class FoundSheet:
    """A straightened sheet and its code, before its marks are read."""

    code: SheetCode
    picture: Grey


def find_sheet(picture: bytes) -> FoundSheet:
    """Straighten a photographed sheet and read its code.

    Raises:
        InputError: no picture, too large, a corner marker hidden, or no readable code.
    """
    grey = _open(picture)
    flat = _straighten(grey)
    return FoundSheet(_read_code(flat), flat)


def read_marks(
    found: FoundSheet, options: tuple[int, ...], several: frozenset[int] = frozenset()
) -> ReadSheet:
    """Read the marks of a sheet whose questions have ``options[i]`` options each.

    Questions in ``several`` (numbers from 1) may have more than one filled box.
    """
    paper = _evened(found.picture)
    by_question: dict[int, list[tuple[Box, float]]] = {}
    for box in answer_boxes(options):
        by_question.setdefault(box.question, []).append((box, _ink(paper, box)))
    answers = tuple(
        _judge(question, boxes, several=question in several)
        for question, boxes in by_question.items()
    )
    return ReadSheet(found.code, answers, _as_png(found.picture))


def _open(picture: bytes) -> Grey:
    image = open_photograph(picture, most_bytes=MOST_BYTES, most_pixels=MOST_PIXELS)
    return np.array(image.convert("L"), dtype=np.uint8)


def _straighten(grey: Grey) -> Grey:
    seen = _markers(grey)
    missing = [marker for marker in MARKER_IDS if marker not in seen]
    if missing:
        names = ("upper left", "upper right", "lower right", "lower left")
        hidden = ", ".join(names[marker] for marker in missing)
        raise InputError(
            f"not every corner marker of the sheet is to be seen (missing: {hidden}).",
            field="picture",
            remedy="Lay the sheet flat in even light and photograph all of it, corners included.",
        )
    places, pixels = [], []
    for marker, (left, top) in zip(MARKER_IDS, MARKER_CORNERS, strict=True):
        right, bottom = left + MARKER_MM, top + MARKER_MM
        places += [(left, top), (right, top), (right, bottom), (left, bottom)]
        pixels += list(seen[marker])
    target = np.array(places, dtype=np.float32) * SCALE
    matrix, _ = cv2.findHomography(np.array(pixels, dtype=np.float32), target)
    size = (round(WIDTH_MM * SCALE), round(HEIGHT_MM * SCALE))
    return np.asarray(cv2.warpPerspective(grey, matrix, size, borderValue=255), dtype=np.uint8)


def _markers(grey: Grey) -> dict[int, npt.NDArray[np.float32]]:
    """Return the four corners of each marker found, looked for more gently where some hide."""
    settings = cv2.aruco.DetectorParameters()
    settings.cornerRefinementMethod = cv2.aruco.CORNER_REFINE_SUBPIX
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)
    detector = cv2.aruco.ArucoDetector(dictionary, settings)
    found: dict[int, npt.NDArray[np.float32]] = {}
    for view in (grey, cv2.GaussianBlur(grey, (0, 0), 1.5), cv2.equalizeHist(grey)):
        corners, ids, _ = detector.detectMarkers(view)
        for corner, marker in zip(corners, [] if ids is None else ids.flatten(), strict=True):
            if int(marker) in MARKER_IDS:
                found.setdefault(int(marker), corner[0])
        if len(found) == len(MARKER_IDS):
            break
    return found


def _read_code(flat: Grey) -> SheetCode:
    left, top = ((place - _QUIET_MM) * SCALE for place in CODE_CORNER)
    side = (CODE_MM + 2 * _QUIET_MM) * SCALE
    part = flat[round(top) : round(top + side), round(left) : round(left + side)]
    detector = cv2.QRCodeDetector()
    binary = cv2.threshold(part, 0, 255, cv2.THRESH_BINARY + cv2.THRESH_OTSU)[1]
    for view in (
        part,
        binary,
        cv2.GaussianBlur(part, (0, 0), 2),
        cv2.resize(part, None, fx=2, fy=2),
    ):
        text, _, _ = detector.detectAndDecode(view)
        if text:
            return SheetCode.read(text)
    raise InputError(
        "the square code on the sheet cannot be read.",
        field="picture",
        remedy="Photograph the sheet again, sharper and without a shadow over the code.",
    )


def _evened(flat: Grey) -> npt.NDArray[np.float32]:
    """Return the picture divided by the paper's own brightness: 1 is paper, 0 is black."""
    # Closing with a patch wider than a box removes ink and leaves paper and its shadows.
    patch = cv2.getStructuringElement(cv2.MORPH_RECT, (33, 33))
    small = cv2.resize(flat, None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA)
    paper = cv2.GaussianBlur(cv2.morphologyEx(small, cv2.MORPH_CLOSE, patch), (0, 0), 8)
    ground = cv2.resize(paper, (flat.shape[1], flat.shape[0])).astype(np.float32)
    return np.asarray(np.minimum(flat / np.maximum(ground, 1.0), 1.0), dtype=np.float32)


def _ink(paper: npt.NDArray[np.float32], box: Box) -> float:
    reach = _INSIDE_MM * SCALE
    x, y = box.x_mm * SCALE, box.y_mm * SCALE
    inside = paper[round(y - reach) : round(y + reach), round(x - reach) : round(x + reach)]
    return float((inside < _DARK).mean())


_DARK = 0.72  # of the paper's brightness: a pencil line is darker, JPEG noise is not


def _judge(question: int, boxes: list[tuple[Box, float]], *, several: bool) -> ReadAnswer:
    filled = "".join(box.letter for box, ink in boxes if ink >= FILLED_ABOVE)
    unsure = "".join(box.letter for box, ink in boxes if EMPTY_BELOW < ink < FILLED_ABOVE)
    doubt = ""
    if unsure:
        doubt = f"Box {', '.join(unsure)} is neither clearly filled nor clearly empty."
    elif len(filled) > 1 and not several:
        doubt = f"More than one box is filled: {', '.join(filled)}."
    elif not filled:
        doubt = "No box is filled."
    return ReadAnswer(question, filled, doubt, tuple(round(ink, 3) for _, ink in boxes))


def _as_png(picture: Grey) -> bytes:
    out = BytesIO()
    half = (picture.shape[1] // 2, picture.shape[0] // 2)
    Image.fromarray(picture).resize(half).save(out, "PNG")
    return out.getvalue()
