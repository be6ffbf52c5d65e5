"""Wrong ideas about strokes, firing intervals and firing order."""

from __future__ import annotations

from quizsvc.items.misconception import Misconception

MISCONCEPTIONS = (
    Misconception(
        "cycle-in-one-turn",
        "cycle",
        "The whole cycle in one turn",
        "All cylinders fire within one turn of the crankshaft.",
        "A four-stroke needs two turns, 720° of crank rotation, for every cylinder to fire once.",
    ),
    Misconception(
        "gaps-one-fewer",
        "cycle",
        "One firing gap too few",
        "Between the firings of n cylinders there are n − 1 gaps.",
        "The cycle closes on itself: after the last cylinder the first fires again, so there are "
        "as many gaps as cylinders.",
    ),
    Misconception(
        "gaps-one-more",
        "cycle",
        "One firing gap too many",
        "The cycle begins and ends with a firing of cylinder 1, so there are n + 1 firings to "
        "share the 720°.",
        "The firing that ends one cycle is the one that begins the next; it is counted once.",
    ),
    Misconception(
        "fires-every-stroke",
        "cycle",
        "A firing every stroke",
        "A stroke is 180° long, so one cylinder or another fires every 180°.",
        "180° is the length of a stroke in any engine; the interval depends on how many "
        "cylinders share the 720°.",
    ),
    Misconception(
        "half-the-cylinders-fire",
        "cycle",
        "Only half of the cylinders count",
        "Pistons move in pairs, so only half of the cylinders fire in a cycle.",
        "Pistons of a pair stand alike, but they fire one turn apart: every cylinder fires once "
        "in 720°.",
    ),
    Misconception(
        "firing-for-exhaust-tdc",
        "cycle",
        "Firing TDC and exhaust TDC mixed up",
        "A piston at TDC is a piston at TDC; it does not matter which one.",
        "The piston comes to TDC twice in a cycle, 360° apart: once between compression and "
        "power, once between exhaust and intake.",
    ),
    Misconception(
        "order-read-backwards",
        "cycle",
        "Firing order read backwards",
        "A cylinder further along in the firing order is further ahead in its cycle.",
        "A cylinder further along in the order fires later, so it is that much behind cylinder 1.",
    ),
    Misconception(
        "row-for-order",
        "cycle",
        "Cylinder number taken for the place in the firing order",
        "Cylinders fire one after another as they are numbered.",
        "The place in the firing order decides when a cylinder fires, not its number.",
    ),
    Misconception(
        "cylinder-one-for-all",
        "cycle",
        "Cylinder 1 taken for the cylinder asked about",
        "The crank angle says where the pistons are, so it holds for every cylinder.",
        "Crank angle is counted from the firing TDC of cylinder 1; every other cylinder is "
        "shifted by its own firing angle.",
    ),
    Misconception(
        "cam-degrees-in-cycle",
        "cycle",
        "Strokes counted in cam degrees",
        "The four strokes take 360°, 90° each.",
        "That is so for the camshaft; in crank degrees a stroke takes 180° and the cycle 720°.",
    ),
    Misconception(
        "bottom-for-top",
        "cycle",
        "Bottom dead centre taken for top",
        "The power stroke begins when the piston is at the bottom.",
        "Power begins at firing TDC; at BDC the power stroke ends and exhaust begins.",
    ),
    Misconception(
        "dead-centres-counted-from-one",
        "cycle",
        "One stroke too many counted",
        "Firing TDC is one, so the dead centre passed last says how many strokes have gone by.",
        "Firing TDC is nought: the stroke that begins there is the first.",
    ),
    Misconception(
        "intake-before-exhaust",
        "cycle",
        "Intake and exhaust changed over",
        "After power comes intake, then exhaust.",
        "The order is power, exhaust, intake, compression: first out with the burnt gas.",
    ),
    Misconception(
        "only-firing-tdc-counts",
        "cycle",
        "Only the firing TDC counted",
        "A cylinder's TDC is the one where it fires.",
        "The piston is just as much at TDC one turn later, between exhaust and intake.",
    ),
    Misconception(
        "before-for-after",
        "cycle",
        "Degrees before taken for degrees after",
        "So many degrees to the next dead centre is the same as so many after the last.",
        "Before and after are counted from opposite ends of the turn: they add up to 360°.",
    ),
    Misconception(
        "next-for-companion",
        "cycle",
        "The next to fire taken for the companion",
        "The companion cylinder is the one that fires next.",
        "The companion stands at TDC at the same time, one whole turn (360°) away in the cycle.",
    ),
    Misconception(
        "nearest-in-row",
        "cycle",
        "The nearest cylinder in the row",
        "Cylinders that stand side by side work one after the other.",
        "Firing order is chosen for smooth running; the neighbour is seldom the next.",
    ),
    Misconception(
        "across-the-vee",
        "cycle",
        "The cylinder across the vee",
        "The cylinder that stands opposite in the other bank moves with this one.",
        "Which pistons stand alike follows from crankpins and bank angle; the firing order tells.",
    ),
    Misconception(
        "one-piston-at-tdc",
        "cycle",
        "One piston at TDC at a time",
        "Only one piston can be at TDC, the one that is firing.",
        "With an even number of cylinders firing evenly, pistons reach TDC in pairs.",
    ),
    Misconception(
        "fires-every-turn",
        "cycle",
        "A cylinder fires every turn",
        "After one turn it is the same cylinder's go again.",
        "A cylinder fires once in two turns, and the others come in between.",
    ),
    Misconception(
        "companion-for-next",
        "cycle",
        "The companion taken for the next to fire",
        "The cylinder whose piston comes up at the same time fires next.",
        "The companion fires a whole turn later; others come before it.",
    ),
    Misconception(
        "skips-one-in-order",
        "cycle",
        "One skipped in the firing order",
        "The cylinder just after is on compression already, so the one after that is next.",
        "The one on compression is the next to fire: go one place on in the order, not two.",
    ),
    Misconception(
        "previous-in-order",
        "cycle",
        "One place back in the firing order",
        "The firing order is read towards the front: the next is the one to the left.",
        "The order is read from left to right and, after the last, from the beginning.",
    ),
    Misconception(
        "order-not-wrapped",
        "cycle",
        "The firing order not continued at its beginning",
        "Every round of firing begins with cylinder 1.",
        "The order goes round: starting anywhere, read on and, after the last, from the front.",
    ),
    Misconception(
        "same-way-same-stroke",
        "cycle",
        "Pistons that move the same way are on the same stroke",
        "Pistons going down are all on intake (or all on power), those going up on exhaust.",
        "Two of the four strokes go down and two go up; which one it is follows from the firing "
        "order.",
    ),
)
