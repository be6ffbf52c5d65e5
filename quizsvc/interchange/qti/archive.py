"""Zip archives from outside, unpacked in memory within limits; and written, the same for ever."""

from __future__ import annotations

import stat
import struct
import zipfile
from collections.abc import Mapping
from io import BytesIO
from pathlib import PurePosixPath
from urllib.parse import unquote

from quizsvc.errors import InputError
from quizsvc.interchange.broken_archives import BROKEN

MOST_BYTES = 100_000_000  # the archive itself
MOST_FILES = 40_000
MOST_FILE_BYTES = 40_000_000  # the list of files of a large package
MOST_UNPACKED = 400_000_000
MOST_RATIO = 200  # plain XML packs to about a twentieth
RATIO_COUNTS_FROM = 1_000_000  # bytes; a small file of blanks harms nobody
MOST_DIRECTORY = 20_000_000  # bytes of the list of files
_END = struct.Struct("<4s4H2LH")
_EPOCH = (1980, 1, 1, 0, 0, 0)


def pack(files: Mapping[str, bytes]) -> bytes:
    """Return a zip archive; equal files give equal bytes."""
    buffer = BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in files.items():
            info = zipfile.ZipInfo(name, _EPOCH)
            info.compress_type = zipfile.ZIP_DEFLATED
            info.external_attr = 0o644 << 16
            archive.writestr(info, content)
    return buffer.getvalue()


def unpack(content: bytes, name: str = "package") -> dict[str, bytes]:
    """Return the files of a zip archive by their path in it; folders are left out.

    Raises:
        InputError: no whole zip archive, a path that leads out of it, a file twice, a link,
            or more files or bytes than the limits of this module.
    """
    if len(content) > MOST_BYTES:
        raise _refusal(name, f"it has more than {MOST_BYTES // 10**6} MB.", "Split the package.")
    _look_at_directory(content, name)
    try:
        with zipfile.ZipFile(BytesIO(content)) as archive:
            return _files(archive, name)
    except InputError:
        raise
    except BROKEN as error:
        problem = f"it is no whole zip archive ({str(error)[:120] or type(error).__name__})."
        raise _refusal(name, problem, "Export or send it again.") from error


def inside(folder: str, href: str) -> str:
    """Return the path in the archive that a reference from a file in ``folder`` means.

    >>> inside("items", "../pictures/a%20b.png")
    'pictures/a b.png'

    Raises:
        InputError: the reference leads out of the package.
    """
    parts = [] if href.startswith("/") else list(PurePosixPath(folder).parts)
    for part in unquote(href).replace("\\", "/").split("/"):
        if part == "..":
            if not parts:
                raise _leads_out(href)
            parts.pop()
        elif part not in {"", "."}:
            parts.append(part)
    return "/".join(parts)


def _look_at_directory(content: bytes, name: str) -> None:
    """Refuse a list of files too long to be read, before it is read."""
    start = content.rfind(b"PK\x05\x06")
    if start < 0 or len(content) < start + _END.size:
        raise _refusal(name, "it is no whole zip archive.", "Export or send it again.")
    _, _, _, _, count, length, _, _ = _END.unpack_from(content, start)
    if count > MOST_FILES or length > MOST_DIRECTORY:
        problem = f"it holds more than {MOST_FILES} files."
        raise _refusal(name, problem, "Split the package.")


def _files(archive: zipfile.ZipFile, name: str) -> dict[str, bytes]:
    listed = archive.infolist()
    if len(listed) > MOST_FILES:
        problem = f"it holds more than {MOST_FILES} files."
        raise _refusal(name, problem, "Split the package.")
    files: dict[str, bytes] = {}
    unpacked = 0
    for info in listed:
        path = _safe_path(info)
        if info.is_dir():
            continue
        if path in files:
            raise _refusal(path, "the archive holds this file twice.", "Export the package again.")
        files[path] = _content(archive, info)
        unpacked += len(files[path])
        if unpacked > MOST_UNPACKED:
            problem = f"unpacked it has more than {MOST_UNPACKED // 10**6} MB."
            raise _refusal(name, problem, "Split the package.")
    return files


def _safe_path(info: zipfile.ZipInfo) -> str:
    path = info.orig_filename.replace("\\", "/")
    parts = path.split("/")
    if path.startswith("/") or ".." in parts or ":" in parts[0] or "\x00" in path:
        raise _leads_out(path)
    if stat.S_ISLNK(info.external_attr >> 16):
        raise _refusal(path, "it is a link, not a file.", "Pack the file itself.")
    return path


def _content(archive: zipfile.ZipFile, info: zipfile.ZipInfo) -> bytes:
    """Unpack one file; what its header says of its size is not believed."""
    with archive.open(info) as packed:
        content = packed.read(MOST_FILE_BYTES + 1)
    if len(content) > MOST_FILE_BYTES:
        problem = f"unpacked it has more than {MOST_FILE_BYTES // 10**6} MB."
        raise _refusal(info.filename, problem, "Split it, or save it smaller.")
    if len(content) > RATIO_COUNTS_FROM and len(content) > MOST_RATIO * info.compress_size:
        problem = f"unpacked it is more than {MOST_RATIO} times as large as packed."
        raise _refusal(info.filename, problem, "Pack the files themselves.")
    return content


def _leads_out(path: str) -> InputError:
    return _refusal(path, "this path leads out of the package.", "Export the package again.")


def _refusal(value: str, problem: str, remedy: str) -> InputError:
    return InputError(problem, field="package", value=value, remedy=remedy)
