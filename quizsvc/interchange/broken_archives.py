"""What the unpacking of a broken ZIP archive may end with."""

from __future__ import annotations

import struct
import zipfile
import zlib
from lzma import LZMAError

BROKEN: tuple[type[Exception], ...] = (
    *(zipfile.BadZipFile, zlib.error, LZMAError, EOFError, struct.error, OSError),
    # A way of packing nobody knows, a password, an offset before the beginning, a size too large.
    *(NotImplementedError, RuntimeError, ValueError, OverflowError),
)
