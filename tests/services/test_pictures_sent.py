"""Pictures sent in: capped before decoding, drawn anew, nothing hidden left in them."""

import struct
import zlib
from io import BytesIO

import pytest
from PIL import Image
from PIL.PngImagePlugin import PngInfo

from quizsvc.errors import InputError, NotAllowedError, NotFoundError
from quizsvc.services.pictures import (
    LONGEST_SIDE,
    SentPicture,
    keep_picture,
    picture_bytes,
    picture_for_author,
    pictures_for,
    redrawn,
)

ALT = "Two wheels of steel, side by side on a bench."
SVG = b'<svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>'
SCRIPT = b"<?php system($_GET['x']); ?>"


def encoded(picture, kind, **more):
    into = BytesIO()
    picture.save(into, kind, **more)
    return into.getvalue()


def drawn(width=40, height=30, mode="RGB", colour="teal"):
    return Image.new(mode, (width, height), colour)


def png_that_claims(width, height):
    """Return a small PNG whose head says that it is very large."""

    def chunk(kind, data):
        body = kind + data
        return struct.pack(">I", len(data)) + body + struct.pack(">I", zlib.crc32(body))

    head = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    rows = zlib.compress(b"\0" * 1000)
    start = b"\x89PNG\r\n\x1a\n"
    return start + chunk(b"IHDR", head) + chunk(b"IDAT", rows) + chunk(b"IEND", b"")


def sent(house, person, now, content, alt=ALT, name="Two wheels.JPG"):
    return keep_picture(house, person, SentPicture(name, content, alt), now=now)


def test_a_picture_is_kept_under_a_name_of_its_own_and_read_back(workshop, ida):
    file = sent(workshop.house, ida, workshop.now, encoded(drawn(), "JPEG"))

    assert file.startswith("two-wheels-")
    assert file.endswith(".jpg")
    assert Image.open(BytesIO(picture_for_author(workshop.house, ida, file))).size == (40, 30)
    assert [one.alt for one in pictures_for(workshop.house, ida)] == [ALT]
    assert sent(workshop.house, ida, workshop.now, encoded(drawn(), "JPEG")) == file


def test_what_was_hidden_in_a_picture_stays_behind():
    exif = Image.Exif()
    exif[0x010E] = "TELLTALE of the place"
    exif[0x0112] = 6  # lies on its side
    jpeg = encoded(drawn(), "JPEG", exif=exif.tobytes(), comment=b"TELLTALE comment")
    info = PngInfo()
    info.add_text("Author", "TELLTALE person")
    png = encoded(drawn(), "PNG", pnginfo=info) + b"TELLTALE after the end"
    assert b"TELLTALE" in jpeg

    (from_jpeg, kind, size), (from_png, kind_of_png, _) = redrawn(jpeg), redrawn(png)

    assert (kind, kind_of_png) == ("jpg", "png")
    assert size == (30, 40), "it stands upright, since nothing says any more that it should"
    assert b"TELLTALE" not in from_jpeg + from_png
    assert not Image.open(BytesIO(from_jpeg)).getexif()


def test_a_large_photograph_is_made_smaller_and_see_through_parts_stay():
    _, _, size = redrawn(encoded(drawn(2400, 1200), "JPEG"))
    content, kind, _ = redrawn(encoded(drawn(mode="RGBA", colour=(0, 0, 0, 0)), "WEBP"))

    assert size == (LONGEST_SIDE, LONGEST_SIDE // 2)
    assert kind == "png"
    assert Image.open(BytesIO(content)).getpixel((1, 1))[3] == 0


@pytest.mark.parametrize(
    ("content", "problem"),
    [
        (png_that_claims(10_000, 6_000), "too many pixels"),
        (png_that_claims(100_000, 100_000), "too many pixels"),
        (SVG, "no picture that can be read"),
        (SCRIPT, "no picture that can be read"),
        (b"", "no picture that can be read"),
        (encoded(drawn(), "GIF"), "no picture that can be read"),
        (encoded(drawn(), "PNG")[:60], "no picture that can be read"),
        (encoded(drawn(), "PNG") + bytes(16_000_000), "too large"),
    ],
    ids=["60 MP", "10 GP", "svg", "script", "nothing", "gif", "cut off", "16 MB"],
)
def test_what_is_no_fair_picture_is_refused_and_not_kept(workshop, ida, content, problem):
    with pytest.raises(InputError, match=problem):
        sent(workshop.house, ida, workshop.now, content, name="evil.png")

    assert pictures_for(workshop.house, ida) == ()


def test_a_picture_that_is_a_script_too_is_kept_as_a_picture_only():
    both = encoded(drawn(), "JPEG", comment=SCRIPT) + SCRIPT + SVG

    content, _, _ = redrawn(both)

    assert b"<?php" not in content
    assert b"<script" not in content


def test_a_picture_without_words_is_refused(workshop, ida):
    with pytest.raises(InputError, match="no text that says what is seen"):
        sent(workshop.house, ida, workshop.now, encoded(drawn(), "PNG"), alt="Wheels")


def test_pictures_are_the_shops_own_and_learners_send_none(workshop, ida, ana):
    house, now = workshop.house, workshop.now
    file = sent(house, ida, now, encoded(drawn(), "PNG"))

    for attempt in (lambda: sent(house, ana, now, b""), lambda: pictures_for(house, ana)):
        with pytest.raises(NotAllowedError):
            attempt()
    with pytest.raises(NotAllowedError):
        picture_for_author(house, ana, file)


@pytest.mark.parametrize("name", ["../secret.png", "a/b.png", ".png", "x.svg", "X.png", ""])
def test_a_name_that_leads_elsewhere_finds_nothing(workshop, name):
    with pytest.raises(NotFoundError):
        picture_bytes(workshop.house, name)
