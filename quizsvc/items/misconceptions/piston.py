"""Wrong ideas about piston height, safe positions, degree wheels, displacement and ratio."""

from __future__ import annotations

from quizsvc.items.misconception import Misconception

MISCONCEPTIONS = (
    Misconception(
        "piston-moves-evenly",
        "piston",
        "The piston moves evenly with the crank",
        "Every degree of crank moves the piston the same distance.",
        "The piston hardly moves near the dead centres and fastest a little before 90°.",
    ),
    Misconception(
        "rod-forgotten",
        "piston",
        "The lean of the rod forgotten",
        "At 90° the piston is halfway; the rod only passes on what the crankpin does.",
        "The rod leans over on the way and pulls the piston further down: mid-stroke comes "
        "before 90°.",
    ),
    Misconception(
        "rod-lean-reversed",
        "piston",
        "The lean of the rod taken off instead of added",
        "The leaning rod holds the piston up a little.",
        "A leaning rod reaches less high, so its lean adds to the drop from TDC.",
    ),
    Misconception(
        "stroke-for-throw",
        "piston",
        "The stroke taken for the throw",
        "The crankpin turns on a radius as long as the stroke.",
        "The throw is half of the stroke: radius, not diameter, of the crankpin's circle.",
    ),
    Misconception(
        "measured-from-bottom",
        "piston",
        "Measured from the bottom",
        "The piston's place is measured up from BDC.",
        "Drop is measured down from TDC, where valves and piston can meet.",
    ),
    Misconception(
        "cam-degrees-for-piston",
        "piston",
        "Cam degrees used for the piston",
        "The angle has to be halved, as the cam turns at half speed.",
        "Pistons hang on the crankshaft: their place follows from crank degrees.",
    ),
    Misconception(
        "crank-angle-doubled",
        "piston",
        "Crank degrees doubled",
        "A cycle is two turns, so the angle counts twice.",
        "The piston follows the crankshaft turn by turn; the doubling belongs between cam and "
        "crank.",
    ),
    Misconception(
        "sideways-for-down",
        "piston",
        "Sideways travel of the crankpin taken for the drop",
        "Throw times sine of the angle is how far the piston has gone.",
        "The sine gives how far the pin has moved sideways; downwards it is 1 − cosine.",
    ),
    Misconception(
        "tdc-taken-as-safe",
        "piston",
        "TDC taken for the safe position",
        "With the marks at TDC the engine is where cams may be turned.",
        "At TDC a piston is as near to the valves as it ever comes: the worst place of all.",
    ),
    Misconception(
        "ninety-is-safe",
        "piston",
        "90° taken as safe for every engine",
        "A quarter turn past TDC puts all pistons halfway down.",
        "That is so in an inline four; with other layouts a piston may be at or near TDC there.",
    ),
    Misconception(
        "one-at-the-bottom",
        "piston",
        "Only piston 1 considered",
        "With piston 1 at the bottom nothing can touch.",
        "While piston 1 is at the bottom another may be at TDC: the shallowest piston decides.",
    ),
    Misconception(
        "full-tdc-spacing",
        "piston",
        "The whole TDC spacing instead of half",
        "The safe position is as far from TDC as the next TDC is.",
        "A whole spacing on, the next piston is at TDC; halfway between is as far as one can get.",
    ),
    Misconception(
        "firing-interval-for-tdc-spacing",
        "piston",
        "Firing interval taken for TDC spacing",
        "A piston comes to TDC only when a cylinder fires.",
        "Every piston is at TDC once a turn, firing or not, so TDCs may lie closer together than "
        "firings.",
    ),
    Misconception(
        "quarter-of-spacing",
        "piston",
        "Half of the right angle, in cam degrees",
        "Half the TDC spacing, and half again because cams are to be turned.",
        "It is the crankshaft that is put in the safe position, in crank degrees.",
    ),
    Misconception(
        "only-cylinder-one",
        "piston",
        "Only cylinder 1 looked at",
        "The wheel shows where cylinder 1 is, so that is the margin.",
        "The margin is that of the shallowest piston, and that is seldom cylinder 1.",
    ),
    Misconception(
        "deepest-for-shallowest",
        "piston",
        "The deepest piston taken for the shallowest",
        "The margin is how far the pistons have gone down.",
        "The deepest piston has room enough; the shallowest is the one a valve would meet first.",
    ),
    Misconception(
        "mean-of-the-pistons",
        "piston",
        "The mean of all pistons",
        "On the average the pistons are so far down.",
        "An average protects no valve: one shallow piston is enough to bend it.",
    ),
    Misconception(
        "difference-not-halved",
        "piston",
        "The difference of the readings not halved",
        "The wheel is out by the difference of the two readings.",
        "Turning the wheel takes from one reading what it adds to the other: half the difference "
        "is the error.",
    ),
    Misconception(
        "halved-twice",
        "piston",
        "Halved once too often",
        "Half for the two readings and half again for the cam.",
        "The wheel sits on the crankshaft and reads crank degrees; halve once.",
    ),
    Misconception(
        "mean-for-error",
        "piston",
        "The mean taken for the error",
        "Both readings are added and halved, and that is the error.",
        "The mean is the angle at which the piston meets the stop; half the difference is the "
        "error.",
    ),
    Misconception(
        "wheel-error-reversed",
        "piston",
        "The sign of the wheel's error reversed",
        "After minus before, halved.",
        "Counted as before minus after: positive when the pointer meets zero after true TDC.",
    ),
    Misconception(
        "close-is-good-enough",
        "piston",
        "Nearly equal readings taken as equal",
        "The readings are close, so the zero is right.",
        "Only equal readings mean a true zero; half of what they differ by goes into every "
        "valve event read off the wheel.",
    ),
    Misconception(
        "one-cylinder-only",
        "piston",
        "Only one cylinder counted",
        "Bore area times stroke is the displacement.",
        "That is what one piston sweeps; the engine's displacement is that of all cylinders.",
    ),
    Misconception(
        "bore-for-radius",
        "piston",
        "Bore taken for the radius",
        "Area is π times bore squared.",
        "Bore is a diameter: area is π/4 times bore squared.",
    ),
    Misconception(
        "square-for-circle",
        "piston",
        "A square bore",
        "Bore times bore times stroke.",
        "A bore is round: only π/4, about 79 %, of that square is there.",
    ),
    Misconception(
        "throw-for-stroke",
        "piston",
        "The throw taken for the stroke",
        "The piston moves as far as the crankpin stands from the centre.",
        "The piston moves twice the throw, from top to bottom.",
    ),
    Misconception(
        "half-the-cylinders-fill",
        "piston",
        "Only half of the cylinders counted",
        "Only half of the cylinders draw in during a turn, so only they count.",
        "Displacement counts every cylinder once, whatever the turn in which it draws in.",
    ),
    Misconception(
        "swept-over-clearance",
        "piston",
        "Swept volume over clearance volume",
        "Ratio is what the piston sweeps, divided by what is left at the top.",
        "At the bottom there is the swept volume and the clearance: (swept + clearance) ÷ "
        "clearance, one more.",
    ),
    Misconception(
        "gasket-forgotten",
        "piston",
        "The head gasket forgotten",
        "What is left at TDC is chamber, deck and dish.",
        "The gasket holds the head off by its crushed thickness, and that is volume too.",
    ),
    Misconception(
        "chamber-only",
        "piston",
        "Only the chamber counted",
        "The volume at TDC is the chamber in the head.",
        "Gasket, deck clearance and dish all add to what is left at TDC.",
    ),
    Misconception(
        "dish-reversed",
        "piston",
        "A dish taken for a dome",
        "The dish takes volume away.",
        "A dish in the crown adds volume at TDC; a dome takes it away.",
    ),
    Misconception(
        "deck-forgotten",
        "piston",
        "The deck clearance forgotten",
        "The crown stands level with the block at TDC.",
        "Where the crown stays below the deck, that slice of the bore is volume at TDC.",
    ),
)
