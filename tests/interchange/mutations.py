"""Bytes and texts with something flipped, deleted, doubled or swapped."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager

from hypothesis import strategies as st

_CHANGES = ("flip", "delete", "double", "insert", "cut")


@contextmanager
def counted(say: Callable[[str], None], what: str) -> Iterator[Counter[str]]:
    """Give a count to fill in, and show it at the end of the run; nothing tried is a failure."""
    came: Counter[str] = Counter()
    yield came
    kinds = ", ".join(f"{kind} {number}" for kind, number in sorted(came.items()))
    say(f"mutations: {came.total()} {what} ({kinds})")
    assert came


@st.composite
def mutated(draw: st.DrawFn, content: bytes, most: int = 4) -> bytes:
    """Return the content with up to ``most`` changes anywhere in it."""
    for _ in range(draw(st.integers(1, most))):
        if not content:
            break
        at = draw(st.integers(0, len(content) - 1))
        length = draw(st.integers(1, 40))
        part = content[at : at + length]
        match draw(st.sampled_from(_CHANGES)):
            case "flip":
                flipped = bytes([content[at] ^ draw(st.integers(1, 255))])
                content = content[:at] + flipped + content[at + 1 :]
            case "delete":
                content = content[:at] + content[at + length :]
            case "double":
                content = content[:at] + part + content[at:]
            case "insert":
                content = content[:at] + draw(st.binary(max_size=8)) + content[at:]
            case "cut":
                content = content[:at]
    return content


@st.composite
def mutated_text(draw: st.DrawFn, text: str, most: int = 4) -> str:
    """Return the text with words, numbers, signs or lines changed: mostly still well-formed."""
    for _ in range(draw(st.integers(1, most))):
        lines = text.split("\n")
        at = draw(st.integers(0, len(lines) - 1))
        match draw(st.sampled_from(("drop", "double", "swap", "value", "sign", "bytes"))):
            case "drop":
                del lines[at]
            case "double":
                lines.insert(at, lines[at])
            case "swap":
                other = draw(st.integers(0, len(lines) - 1))
                lines[at], lines[other] = lines[other], lines[at]
            case "value":
                name, equals, _ = lines[at].partition("=")
                value = draw(st.sampled_from(_VALUES))
                lines[at] = f"{name}{equals}{value if equals else ''}"
            case "sign":
                sign = draw(st.sampled_from(list("[]{}\"',.=#-0\n\\")))
                place = draw(st.integers(0, len(lines[at])))
                lines[at] = lines[at][:place] + sign + lines[at][place:]
            case "bytes":
                place = draw(st.integers(0, len(lines[at])))
                lines[at] = lines[at][:place] + draw(st.text(max_size=4)) + lines[at][place + 3 :]
        text = "\n".join(lines) or " "
    return text


_VALUES = (
    *(" nan", " inf", " -inf", " 1e308", " -1", " 0", " 99999999999999999999", " true", ' ""'),
    *(" []", " {}", ' "x"', " [[1]]", ' ["a", 1]', " 1979-05-27T07:32:00Z", " 07:32:00", " -0.0"),
    *(" 0x7f", " [1, 2, 3]", ' "\\u0000"', " { a = 1 }", " 5e-324", " 1_000", ' "☃"'),
)
