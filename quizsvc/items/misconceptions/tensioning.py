"""Wrong ideas about tensioners, slack and marked links."""

from quizsvc.items.misconception import Misconception

MISCONCEPTIONS = (
    Misconception(
        "links-must-meet-again",
        "marks",
        "Marked links prove the timing",
        "Marked links must meet their marks again after turning.",
        "Marked links serve for fitting; they meet again only after many turns, and the sprocket "
        "marks decide.",
    ),
    Misconception(
        "slack-shared-evenly",
        "procedure",
        "Slack is shared between both sides",
        "Half of the slack on each side puts the marks right.",
        "The running engine pulls all slack to the tensioner's side: lay the chain on with the "
        "pulling side tight.",
    ),
    Misconception(
        "same-engine-same-reset",
        "wear",
        "One engine, one way of resetting",
        "A tensioner of this engine type is reset as the last one was.",
        "Early and late build may need different ways of resetting: look up the build date.",
    ),
    Misconception(
        "rev-to-build-pressure",
        "procedure",
        "Revving brings the pressure sooner",
        "Revving in the first seconds helps the oil to get there.",
        "Until the oil is there the chain is loose: build up pressure before running, as stated.",
    ),
    Misconception(
        "oil-will-fix-the-tensioner",
        "wear",
        "The first oil sets the tensioner",
        "A plunger that stays in comes out with the first oil pressure.",
        "Before the first turn the chain must be tight, or it may jump.",
    ),
    Misconception(
        "spring-load-is-small",
        "wear",
        "A tensioner spring is harmless",
        "The arm may just snap back to its stop.",
        "The spring's whole load comes free: hold the arm by hand or tool while its bolt comes "
        "out.",
    ),
    Misconception(
        "plunger-reads-anywhere",
        "wear",
        "The plunger reads at any position",
        "How far the plunger stands out shows wear wherever the crank stands.",
        "Only with all slack on the tensioner's side, the crank last turned forwards, does it "
        "show wear.",
    ),
    Misconception(
        "turn-back-to-correct",
        "procedure",
        "Turn back to put it right",
        "What moved by turning forwards is put right by turning back.",
        "Turning back moves the slack to the side without tensioner; set again and turn forwards.",
    ),
    Misconception(
        "plates-stretch",
        "wear",
        "Chains stretch like rubber",
        "The plates are drawn longer by the load.",
        "A chain lengthens by wear between pins and bushes, a little at each joint.",
    ),
    Misconception(
        "groove-is-damage",
        "wear",
        "The wear groove is damage",
        "A groove in the plunger means that the tensioner is worn.",
        "The groove is made as a mark: seen with the slack at the tensioner, it means that the "
        "chain has worn.",
    ),
)
