"""Photographs and pages with anything changed in them: read, or refused with what to do.

From fixed seeds: files with bytes changed, files of other kinds, and pictures of a sheet that was
cut, folded, turned over, smeared, covered or mixed with another.
"""

from __future__ import annotations

import io
import random
from collections import Counter
from collections.abc import Callable

import cv2
import numpy as np
import pytest
from paper.printed_sheets import filled, photographed, printed
from PIL import Image

from quizsvc.errors import InputError
from quizsvc.paper.answer_sheet import SheetCode, SheetWords, answer_sheet_pdf
from quizsvc.paper.reading import ReadSheet, find_sheet, read_marks

OPTIONS = (4,) * 12
MARKS = dict(enumerate("ABCDABCDABCD", 1))
CODE = SheetCode("Zk3vX0c1Qm8Rr2Tt5Yy7Uw", 17)
OTHER = SheetCode("Aa3vX0c1Qm8Rr2Tt5Yy7Uw", 18)
WORDS = SheetWords("Timing marks, demo inline four", "Invented Person", "C")
FORMATS = ("JPEG", "PNG", "WEBP", "TIFF")
FILES, PICTURES = 90, 42
# Pillow grumbles over damaged files before it gives up or reads them.
pytestmark = pytest.mark.filterwarnings("ignore::UserWarning:PIL")
Pixels = np.ndarray
Change = Callable[[Pixels, random.Random], Pixels]


def sheet_of(code: SheetCode) -> Pixels:
    blank = printed(answer_sheet_pdf(((code, WORDS),), OPTIONS))
    chance = np.random.default_rng(8)
    whole = photographed(filled(blank, OPTIONS, MARKS, chance), chance, hard=0.4)
    pixels = np.array(Image.open(io.BytesIO(whole)))
    return cv2.resize(pixels, None, fx=0.55, fy=0.55, interpolation=cv2.INTER_AREA)


@pytest.fixture(scope="module")
def photo() -> Pixels:
    return sheet_of(CODE)


@pytest.fixture(scope="module")
def other() -> Pixels:
    return sheet_of(OTHER)


def as_file(pixels: Pixels, kind: str) -> bytes:
    out = io.BytesIO()
    Image.fromarray(pixels).save(out, kind)
    return out.getvalue()


def with_bytes_changed(content: bytes, chance: random.Random) -> bytes:
    """Change a few bytes, mostly near the beginning, where the file says what it is."""
    changed = bytearray(content)
    for _ in range(chance.randrange(1, 6)):
        within = len(changed) if chance.random() < 0.5 else min(len(changed), 600)
        at = chance.randrange(within)
        match chance.randrange(4):
            case 0:
                changed[at] ^= chance.randrange(1, 256)
            case 1:
                del changed[at : at + chance.randrange(1, 40)]
            case 2:
                changed[at:at] = chance.randbytes(chance.randrange(1, 9))
            case _:
                changed[at : at + 4] = b"\xff\xff\xff\xff"
        if chance.random() < 0.1:
            del changed[chance.randrange(1, len(changed)) :]
    return bytes(changed)


def cut_off(pixels: Pixels, chance: random.Random) -> Pixels:
    high, wide = pixels.shape
    top, left = chance.randrange(high // 2), chance.randrange(wide // 2)
    return pixels[
        top : chance.randrange(top + 1, high + 1), left : chance.randrange(left + 1, wide)
    ]


def turned_over(pixels: Pixels, chance: random.Random) -> Pixels:
    return np.ascontiguousarray(pixels[:, ::-1] if chance.random() < 0.5 else pixels[::-1])


def stretched(pixels: Pixels, chance: random.Random) -> Pixels:
    size = (chance.randrange(1, 1200), chance.randrange(1, 1200))
    return cv2.resize(pixels, size)


def covered(pixels: Pixels, chance: random.Random) -> Pixels:
    changed = pixels.copy()
    for _ in range(chance.randrange(1, 6)):
        high, wide = pixels.shape
        top, left = chance.randrange(high), chance.randrange(wide)
        changed[top : top + chance.randrange(1, 300), left : left + chance.randrange(1, 300)] = (
            chance.randrange(256)
        )
    return changed


def mixed_up(pixels: Pixels, chance: random.Random) -> Pixels:
    """Swap parts of the page with each other, markers and code among them."""
    changed, size = pixels.copy(), chance.choice((40, 120, 260))
    high, wide = pixels.shape
    for _ in range(chance.randrange(1, 5)):
        one, two = ((chance.randrange(high - size), chance.randrange(wide - size)) for _ in "ab")
        first, second = (
            (slice(one[0], one[0] + size), slice(one[1], one[1] + size)),
            (
                slice(two[0], two[0] + size),
                slice(two[1], two[1] + size),
            ),
        )
        changed[first], changed[second] = changed[second].copy(), changed[first].copy()
    return changed


def bent(pixels: Pixels, chance: random.Random) -> Pixels:
    high, wide = pixels.shape
    rows, columns = np.indices((high, wide), dtype=np.float32)
    wave = chance.uniform(1, 30) * np.sin(rows / chance.uniform(20, 300))
    return cv2.remap(pixels, columns + wave.astype(np.float32), rows, cv2.INTER_LINEAR)


def washed_out(pixels: Pixels, chance: random.Random) -> Pixels:
    noise = np.random.default_rng(chance.randrange(10**6)).normal(
        0, chance.uniform(0, 90), pixels.shape
    )
    light = pixels.astype(np.float32) * chance.uniform(-1, 2) + chance.uniform(-200, 200) + noise
    return np.clip(light, 0, 255).astype(np.uint8)


CHANGES: tuple[Change, ...] = (
    *(cut_off, turned_over, stretched, covered, mixed_up, bent, washed_out),
)


def read_or_refused(content: bytes, came: Counter[str]) -> ReadSheet | None:
    """Read a file; whatever stops that is said with what to do."""
    try:
        sheet = read_marks(find_sheet(content), OPTIONS)
    except InputError as refusal:
        said = refusal.problem, refusal.remedy
    else:
        came["read"] += 1
        assert [one.question for one in sheet.answers] == list(MARKS)
        return sheet
    came["refused"] += 1
    assert all(said), said
    return None


def test_a_sheet_that_was_not_changed_is_read_in_every_format(photo):
    for kind in FORMATS:
        sheet = read_or_refused(as_file(photo, kind), Counter())

        assert {one.question: one.letters for one in sheet.answers} == MARKS, kind


def test_files_with_bytes_changed_are_read_or_refused(photo, say):
    chance, came = random.Random(31), Counter()
    wholes = [as_file(photo, kind) for kind in FORMATS]
    pages = answer_sheet_pdf(((CODE, WORDS), (OTHER, WORDS)), OPTIONS)
    for turn in range(FILES):
        whole = pages if turn % 6 == 5 else wholes[turn % len(wholes)]
        read_or_refused(with_bytes_changed(whole, chance), came)
    for whole in (pages, pages[:300], b"", b"%PDF-1.7", b"\x00" * 5000):
        read_or_refused(whole, came)

    say(f"mutations: {came.total()} scans with bytes changed: {dict(came)}")
    assert came["refused"] > 20
    assert came["read"] > 5


def test_pictures_of_spoiled_sheets_are_read_or_refused(photo, other, say):
    chance, came = random.Random(32), Counter()
    for turn in range(PICTURES):
        spoiled = photo
        for _ in range(chance.randrange(1, 3)):
            spoiled = CHANGES[turn % len(CHANGES)](spoiled, chance)
        sheet = read_or_refused(as_file(spoiled, "PNG"), came)

        assert sheet is None or sheet.code == CODE

    high = min(photo.shape[0], other.shape[0])
    both = np.hstack([photo[:high], other[:high]])
    read_or_refused(as_file(both, "PNG"), came)
    say(f"mutations: {came.total()} pictures of spoiled sheets: {dict(came)}")
    assert came["refused"] > 20
    assert came["read"] > 5
