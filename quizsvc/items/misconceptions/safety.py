"""Wrong ideas about what can hurt people or the engine."""

from quizsvc.items.misconception import Misconception

MISCONCEPTIONS = (
    Misconception(
        "positive-lead-first",
        "safety",
        "Positive lead off first",
        "The positive lead carries the current, so it comes off first.",
        "With the body still joined to the battery, a spanner on the positive clamp that touches "
        "the body makes a short circuit: the earth lead comes off first.",
    ),
    Misconception(
        "small-battery-kills-high-voltage",
        "safety",
        "Small battery off makes high voltage dead",
        "With the 12-volt battery off, the orange cables are dead.",
        "Relays may stick and capacitors hold charge: only a qualified person's isolating and "
        "proving makes it dead.",
    ),
    Misconception(
        "opening-the-cap-cools",
        "safety",
        "Opening the cap lets the danger out",
        "Opening the cap lets pressure and heat out.",
        "Coolant above its boiling point flashes to steam the moment the pressure is let off.",
    ),
    Misconception(
        "starter-for-small-turns",
        "safety",
        "A touch of the starter for small turns",
        "A touch of the starter moves the engine just a little.",
        "A starter turns faster than a hand gets away and can't stop at a mark: turn by hand.",
    ),
    Misconception(
        "push-through-the-stop",
        "safety",
        "A stiff spot is pushed through",
        "A firm stop when turning by hand is only compression.",
        "A firm stop is metal on metal; force there bends a valve.",
    ),
    Misconception(
        "bent-valves-only-run-rough",
        "safety",
        "Bent valves only run rough",
        "A bent valve does no more than make the engine run rough.",
        "A bent valve may break and fall into the cylinder.",
    ),
    Misconception(
        "ignition-off-means-dead",
        "safety",
        "Ignition off means no supply",
        "With the ignition off nothing electric can move.",
        "Fans and pumps may be fed past the ignition switch and start on temperature alone.",
    ),
    Misconception(
        "quiz-equals-sign-off",
        "safety",
        "A quiz equals a sign-off",
        "Who passes the quiz may do the work alone.",
        "A quiz shows what is known; hands-on work is watched and signed by an authorised person.",
    ),
    Misconception(
        "rag-stops-fuel-jet",
        "safety",
        "A rag stops a fuel jet",
        "A rag round the pipe catches what comes out.",
        "A jet at high pressure goes through rag, glove and skin: bring the pressure down and "
        "read it.",
    ),
    Misconception(
        "safe-position-covers-valves",
        "safety",
        "Safe position makes cams free",
        "With the crank at its safe position cams may be turned at will.",
        "The safe position clears pistons alone; valves may still meet each other.",
    ),
    Misconception(
        "tdc-is-safe",
        "safety",
        "Marks in line is a safe place",
        "At TDC the marks line up, so it is safe to loosen cams there.",
        "At TDC pistons stand right under the valves; safe is where no piston is near the top.",
    ),
)
