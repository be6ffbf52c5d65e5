"""Wrong ideas about tone wheels, edges and correlation."""

from __future__ import annotations

from quizsvc.items.misconception import Misconception

MISCONCEPTIONS = (
    Misconception(
        "missing-teeth-spread-out",
        "signals",
        "The missing teeth not counted as places",
        "I divide 360° by the teeth that are there.",
        "The teeth stand on equal places and some are left out; the places divide the turn.",
    ),
    Misconception(
        "missing-teeth-taken-as-there",
        "signals",
        "A wheel of N − m taken to have N teeth",
        "A 60−2 wheel has 60 teeth.",
        "The first number counts the places; the second says how many are empty.",
    ),
    Misconception(
        "gap-is-missing-only",
        "signals",
        "The gap counted by the missing teeth only",
        "Two missing teeth make a gap of two places.",
        "From tooth to tooth across the gap it is one place more than there are missing teeth.",
    ),
    Misconception(
        "gap-one-place-too-many",
        "signals",
        "The gap counted with both its neighbours",
        "I count the places from the last tooth to the first, both included.",
        "Count steps from tooth to tooth, not teeth.",
    ),
    Misconception(
        "first-tooth-counted-as-step",
        "signals",
        "The first tooth counted as a step",
        "Tooth number n is n steps after the first.",
        "The first tooth is number 1 at nought steps; tooth n is n − 1 steps on.",
    ),
    Misconception(
        "edge-offset-forgotten",
        "signals",
        "The first tooth taken to stand at TDC",
        "The first tooth after the gap is TDC.",
        "The gap stands where the maker put it; its angle to TDC is added.",
    ),
    Misconception(
        "edge-offset-taken-off",
        "signals",
        "The first tooth's angle taken off",
        "The teeth come before TDC, so the angle is taken off.",
        "Later teeth come later: their angle after TDC is larger.",
    ),
    Misconception(
        "time-at-cam-speed",
        "signals",
        "Time at cam speed",
        "The camshaft turns at half speed, so it takes twice as long.",
        "Asked are crank degrees, and the speed is that of the crankshaft.",
    ),
    Misconception(
        "minutes-for-seconds",
        "signals",
        "Sixty forgotten at one place",
        "rpm divided by 360 gives degrees in time.",
        "rpm is per minute: the crankshaft turns rpm/60 per second, 6·rpm degrees per second.",
    ),
    Misconception(
        "time-grows-with-speed",
        "signals",
        "Time grows with speed",
        "The faster it turns, the longer it takes in ms.",
        "The faster it turns, the shorter the time for the same angle.",
    ),
    Misconception(
        "degree-as-part-of-cycle",
        "signals",
        "Degrees as a part of 720",
        "One revolution is the cycle of 720°.",
        "One revolution is 360°; the cycle takes two of them.",
    ),
    Misconception(
        "correlation-in-cam-degrees",
        "signals",
        "Error in cam degrees",
        "The cam is off by half of what the crank wheel shows.",
        "Asked are crank degrees; each crank-wheel place is read directly.",
    ),
    Misconception(
        "correlation-sign-swapped",
        "signals",
        "Late edge taken for an advanced cam",
        "The edge comes at a higher tooth, so the cam is ahead.",
        "The edge comes later in the crank's turn, so the cam lags: it is retarded.",
    ),
    Misconception(
        "wheel-tooth-as-cam-tooth",
        "signals",
        "A wheel place taken for a sprocket tooth",
        "One place of the tone wheel off is one tooth off on the sprocket.",
        "A place is a few degrees; a tooth of the cam sprocket is 720°/N.",
    ),
    Misconception(
        "gap-taken-for-wide-tooth",
        "signals",
        "The gap taken for a tooth",
        "The wide place is the reference tooth.",
        "The gap is where teeth are missing, and the signal stays without an edge.",
    ),
    Misconception(
        "tooth-opposite-gap",
        "signals",
        "The tooth opposite the gap taken",
        "The reference is half a turn from the gap.",
        "The first tooth after the gap, in the direction of rotation, is the reference.",
    ),
    Misconception(
        "gap-read-against-rotation",
        "signals",
        "Read against the rotation",
        "The first tooth is the one in front of the gap.",
        "What passes the sensor after the gap counts, so look against the wheel's motion.",
    ),
)
