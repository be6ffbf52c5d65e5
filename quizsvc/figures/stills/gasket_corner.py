"""Block, head and timing cover from the side: where the joints meet."""

from __future__ import annotations

from quizsvc.figures import parts
from quizsvc.figures.scene import Anchor, Circle, Ink, Scene, Shape, Style
from quizsvc.figures.stills import sketching as sketch

ALT = (
    "An engine's front end from the side. The head stands on the block with the head gasket "
    "between them; the head's front face stands a little further forward than the block's. The "
    "timing cover with its gasket lies against both front faces and is bolted to the block. On top "
    "a cam cover with its gasket bridges head and timing cover."
)


def draw() -> Scene:
    shapes = [*_castings(), *_gaskets(), *_bolt(), *_names()]
    return Scene(parts.WIDTH, 390, tuple(shapes), ALT)


def _castings() -> list[Shape]:
    return [
        *sketch.cut(24, 230, 296, 370, "block"),
        *sketch.cut(24, 108, 302, 222, "head"),
        parts.rectangle(24, 40, 350, 92, parts.EDGE, "cam cover"),
        parts.rectangle(312, 108, 350, 370, parts.EDGE, "timing cover"),
    ]


def _gaskets() -> list[Shape]:
    return [
        parts.rectangle(24, 222, 302, 230, sketch.RUBBER, "head gasket"),
        parts.rectangle(302, 108, 312, 222, sketch.RUBBER, "cover gasket"),
        parts.rectangle(302, 222, 312, 370, sketch.RUBBER, "cover gasket"),
        parts.rectangle(24, 92, 350, 108, sketch.RUBBER, "cam cover gasket"),
    ]


def _bolt() -> list[Shape]:
    return [
        parts.rectangle(350, 298, 362, 314, parts.EDGE, "bolt head"),
        parts.rectangle(270, 302, 350, 310, Style(Ink.LINE, Ink.PAPER), "bolt"),
        Circle((356, 306), 3, Style(Ink.LINE, Ink.LINE)),
    ]


def _names() -> list[Shape]:
    return [
        sketch.word("cam cover", (170, 72)),
        sketch.word("head", (150, 170)),
        sketch.word("block", (150, 310)),
        sketch.word("timing", (366, 190), Anchor.START),
        sketch.word("cover", (366, 211), Anchor.START),
    ]
