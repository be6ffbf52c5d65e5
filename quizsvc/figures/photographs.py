"""Pictures from outside: capped before they are decoded, whatever their file says it is."""

from __future__ import annotations

from io import BytesIO

from PIL import Image, UnidentifiedImageError

from quizsvc.errors import InputError

FORMATS = ("JPEG", "PNG", "TIFF", "WEBP")


def open_photograph(
    picture: bytes, *, most_bytes: int, most_pixels: int, formats: tuple[str, ...] = FORMATS
) -> Image.Image:
    """Return the decoded picture.

    Raises:
        InputError: no picture of the ``formats``, or larger than allowed. The size is looked at
            before decoding: a file of 20 kB can unpack to gigabytes.
    """
    if len(picture) > most_bytes:
        raise InputError(
            "the picture is too large.",
            field="picture",
            value=f"{len(picture) / 1e6:.1f} MB",
            remedy=f"Send at most {most_bytes / 1e6:.0f} MB.",
        )
    try:
        image = Image.open(BytesIO(picture), formats=formats)
        if image.width * image.height > most_pixels:
            raise _too_many_pixels(f"{image.width} × {image.height}", most_pixels)
        image.load()
    except InputError:
        raise
    except (Image.DecompressionBombError, Image.DecompressionBombWarning):
        raise _too_many_pixels("more than can be decoded", most_pixels) from None
    except (UnidentifiedImageError, OSError, ValueError, SyntaxError) as error:
        raise InputError(
            "this is no picture that can be read.",
            field="picture",
            remedy=f"Send a whole {' or '.join(formats)} file.",
        ) from error
    return image


def _too_many_pixels(size: str, most_pixels: int) -> InputError:
    return InputError(
        "the picture has too many pixels.",
        field="picture",
        value=size,
        remedy=f"Send one of at most {most_pixels // 1_000_000} million pixels.",
    )
