"""Wrong ideas about accessory drives."""

from __future__ import annotations

from quizsvc.items.misconception import Misconception

MISCONCEPTIONS = (
    Misconception(
        "pulley-ratio-inverted",
        "accessory",
        "Ratio the wrong way round",
        "The larger pulley turns faster.",
        "The belt has one speed: the smaller pulley turns faster.",
    ),
    Misconception(
        "pulley-ratio-ignored",
        "accessory",
        "All pulleys at one speed",
        "One belt, one speed for all shafts.",
        "The belt's speed is the same everywhere; the shafts' speeds follow the diameters.",
    ),
    Misconception(
        "pulley-ratio-squared",
        "accessory",
        "Ratio of the areas",
        "I take the squares of the diameters.",
        "The circumferences count, and they go with the diameter.",
    ),
    Misconception(
        "pulley-speed-halved",
        "accessory",
        "Half speed as at the camshaft",
        "Accessories turn at camshaft speed.",
        "Only the camshaft is tied to half speed; here the pulleys decide.",
    ),
    Misconception(
        "idler-changes-ratio",
        "accessory",
        "The idler counted into the ratio",
        "Each pulley the belt passes changes the speed.",
        "An idler in between turns the belt's way only; the ratio is of the first and last.",
    ),
    Misconception(
        "belt-radius-for-diameter",
        "accessory",
        "Diameters put in for radii",
        "I put the diameters where the radii belong.",
        "Half a pulley's circumference is π times its radius.",
    ),
    Misconception(
        "belt-straight-only",
        "accessory",
        "Slant of the strands left out",
        "Twice the centre distance and half of each circumference.",
        "With unequal pulleys the strands slant and the wraps differ.",
    ),
    Misconception(
        "belt-full-circles",
        "accessory",
        "Whole circumferences counted",
        "The belt goes round both pulleys.",
        "It lies round about half of each.",
    ),
    Misconception(
        "belt-one-strand",
        "accessory",
        "One strand only",
        "The centre distance counts once.",
        "The belt goes there and back.",
    ),
    Misconception(
        "belt-half-wrap-both",
        "accessory",
        "Half a turn of wrap on both",
        "The strands slant, but the wrap is half a turn on both pulleys.",
        "The wrap grows on the large pulley and shrinks on the small one.",
    ),
    Misconception(
        "back-side-turns-alike",
        "accessory",
        "All pulleys taken to turn alike",
        "One belt turns everything the same way.",
        "A pulley on the back of the belt turns the other way.",
    ),
    Misconception(
        "each-pulley-reverses",
        "accessory",
        "Each pulley taken to reverse",
        "As with gears, each pulley turns against the one before.",
        "Gears reverse; pulleys inside the belt all turn alike.",
    ),
    Misconception(
        "view-swapped",
        "accessory",
        "Viewing end mistaken",
        "Clockwise is clockwise from wherever I look.",
        "Seen from the other end the same rotation is the other way round.",
    ),
)
