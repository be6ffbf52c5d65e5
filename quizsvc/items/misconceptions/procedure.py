"""Wrong ideas about how a timing drive is taken apart, put together and tightened."""

from quizsvc.items.misconception import Misconception

MISCONCEPTIONS = (
    Misconception(
        "locking-bar-takes-torque",
        "procedure",
        "The locking bar bears bolt torque",
        "The bar that locks the cams may hold them while bolts are loosened.",
        "A locking bar keeps a position; the torque of a bolt is taken at the hexagon or by a "
        "counter-holder.",
    ),
    Misconception(
        "click-wrench-lets-go",
        "fasteners",
        "A click wrench lets go at its torque",
        "After the click the wrench no longer turns the bolt.",
        "The click is a signal, not a clutch: pulling on turns the bolt further.",
    ),
    Misconception(
        "oil-lowers-clamp-load",
        "fasteners",
        "Oil lowers the clamp load",
        "An oiled bolt turns more easily, so it holds less.",
        "At the same torque less is lost to friction, and the bolt is stretched more.",
    ),
    Misconception(
        "pull-damper-by-ring",
        "procedure",
        "A damper is pulled by its ring",
        "The outer ring is the strongest place for the puller.",
        "Ring and hub are joined by rubber: the puller takes the hub.",
    ),
    Misconception(
        "chain-keeps-crank-in-step",
        "procedure",
        "The chain keeps everything in step",
        "As long as the chain is on, crank and cams can't lose each other.",
        "A sprocket clamped by friction alone may turn on its shaft when the bolt is loosened.",
    ),
    Misconception(
        "both-marks-off-means-jumped",
        "marks",
        "Marks half a turn off mean a jump",
        "Cam marks that point away show that the chain has jumped.",
        "The crank mark meets twice in a cycle: one more crank turn brings the cams round.",
    ),
    Misconception(
        "abrasive-disc-on-faces",
        "procedure",
        "An abrasive disc cleans faces best",
        "A bright face is a good sealing face.",
        "A disc wears hollows into the metal, and its grit gets into bearings.",
    ),
)
