"""A QR code as inline SVG, dark on light in every colour scheme, without styles."""

from __future__ import annotations

import segno
from markupsafe import Markup

QUIET = 4  # modules of white around it, as ISO/IEC 18004 asks


def qr_code(address: str) -> Markup:
    """Return the picture of an address; the page beside it says what it is for."""
    made = segno.make(address, error="m", micro=False)
    drawn = made.svg_inline(
        border=QUIET, dark="#000", light="#fff", svgclass="qr", lineclass=None, omitsize=True
    )
    described = ' role="img" aria-label="QR code of the secret, to scan with an app"'
    return Markup(drawn.replace("<svg", f"<svg{described}", 1))  # noqa: S704 - segno writes numbers only
