"""Pictures of a package: found by reference, looked at before they are believed, and named."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import PurePosixPath

from quizsvc.errors import InputError
from quizsvc.figures.photographs import open_photograph
from quizsvc.interchange.qti.archive import inside
from quizsvc.interchange.qti.names import name_of

MOST_BYTES = 15_000_000
MOST_PIXELS = 40_000_000
ENDINGS = {"PNG": "png", "JPEG": "jpg", "WEBP": "webp"}


@dataclass(slots=True)
class Pictures:
    """The pictures taken so far, by the name they get and by their path in the package."""

    files: dict[str, bytes]
    contents: dict[str, bytes] = field(default_factory=dict)
    sizes: dict[str, tuple[int, int]] = field(default_factory=dict)
    names: dict[str, str] = field(default_factory=dict)

    def take(self, item_file: str, reference: str) -> str:
        """Return the name of the picture that an item refers to.

        Raises:
            InputError: it is not in the package, or no PNG, JPEG or WebP picture, or too large.
        """
        path = inside(str(PurePosixPath(item_file).parent), reference)
        if path not in self.names:
            self.names[path] = self._new(path)
        return self.names[path]

    def size_of(self, name: str) -> tuple[int, int] | None:
        return self.sizes.get(name)

    def _new(self, path: str) -> str:
        if path not in self.files:
            raise InputError(
                "the package holds no such file.",
                field="picture",
                value=path,
                remedy="Add it to the package.",
            )
        content = self.files[path]
        opened = open_photograph(
            content, most_bytes=MOST_BYTES, most_pixels=MOST_PIXELS, formats=tuple(ENDINGS)
        )
        name = self._name(PurePosixPath(path), ENDINGS[str(opened.format)])
        self.contents[name] = content
        self.sizes[name] = opened.size
        return name

    def _name(self, path: PurePosixPath, ending: str) -> str:
        """Return the file's own name where it is one of ours, else one like it."""
        stem = name_of(path.stem)
        if f"{stem}.{ending}" in self.contents:
            stem = name_of(stem, [name.rpartition(".")[0] for name in self.contents])
        return f"{stem}.{ending}"
