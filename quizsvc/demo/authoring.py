"""Invented items of the invented shop, in every state of review, through the services."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

from quizsvc.rules.actors import Actor
from quizsvc.rules.reviewing import Deed
from quizsvc.services.banks_at_hand import make_bank
from quizsvc.services.house import House
from quizsvc.services.review import Decision, decide
from quizsvc.services.write_items import save

BANK, TITLE = "demo-shop", "The invented shop's own items (demo)"
Data = dict[str, Any]
_CAUTION = (
    "The maker's service information, local rules and licensed practice come first. "
    "Hold the spring's load, turn the engine by hand with the key away, and let hot parts cool."
)


def one_choice(item_id: str, topic: str, prompt: str, *options: tuple[str, str]) -> Data:
    """Return an item of one choice; the first option is the right one."""
    return {
        "id": item_id,
        "kind": "one choice",
        "topic": topic,
        "level": "apply",
        "prompt": prompt,
        "reference": "common practice, no source",
        "tags": ["invented-for-the-demo"],
        "caution": _CAUTION,
        "options": [
            {"text": text, "rationale": why} | ({"correct": True} if number == 0 else {})
            for number, (text, why) in enumerate(options)
        ],
    }


ROLLER = one_choice(
    "roller-noise",
    "diagnosis",
    "With the belt off, a tensioner's roller is spun by hand and rasps. What does that tell?",
    ("Its bearing is dry or worn", "A sound bearing spins smoothly and says next to nothing."),
    ("Its spring has lost its load", "The spring turns nothing and is not heard in a free spin."),
    ("Its belt ran much too slack", "A slack belt flaps, but the roller itself stays smooth."),
    ("Its bolt was tightened short", "A loose bolt lets the roller tilt; it does not rasp alone."),
)
LAMP = one_choice(
    "lamp-behind",
    "procedure",
    "A mark on the rear sprocket can't be seen straight on. How is it read without a guess?",
    ("With a mirror and a lamp", "A mirror brings the eye square to the face of the sprocket."),
    ("From the side, by estimate", "Seen aslant, a mark seems shifted by as much as a tooth."),
    ("By feeling for its notch", "A finger can't tell a notch from a worn edge or a burr."),
    ("From the mark on the front", "The front sprocket says nothing about the one behind it."),
)
COVER = one_choice(
    "cover-bolts",
    "fasteners",
    "Two bolts of a cover are longer than the others. What is done as the cover comes off?",
    ("Each goes to a marked place", "A long bolt in a short hole bottoms before it clamps."),
    ("All go into the same tray", "Sorted by eye, two millimetres are easily overlooked."),
    ("The long ones are renewed", "Length is no reason to renew; damage or a rule would be."),
    ("They are cut to one length", "A shortened bolt holds by fewer threads than was meant."),
)
COLD = one_choice(
    "cold-first",
    "cooling",
    "A cap of a coolant tank is to come off beside a warm engine. What comes first?",
    ("The engine cools right down", "Under pressure, hot coolant boils up as the cap opens."),
    ("The cap is opened one turn", "Even one turn lets scalding coolant out at once."),
    ("The heater is switched off", "The heater's tap leaves the pressure where it is."),
    ("The level is marked in pen", "A mark shows a level and lets no pressure down."),
)


def write_items(house: House, instructors: list[Actor], now: datetime) -> dict[str, int]:
    """Make the shop's own bank: approved, in review, given back, draft; return keys by id."""
    first, second = instructors[0], instructors[1]
    make_bank(house, first, bank_id=BANK, title=TITLE, about="Invented for the demo.", now=now)
    keys = {}
    for data in (ROLLER, LAMP, COVER, COLD):
        saved = save(house, first, BANK, data, said="First draft.", now=now)
        keys[data["id"]] = saved.item_id
    for item_id in ("roller-noise", "lamp-behind", "cover-bolts"):
        _do(house, first, keys[item_id], Deed.SENT, now + timedelta(hours=1))
    for item_id in ("roller-noise", "lamp-behind"):
        _do(house, second, keys[item_id], Deed.APPROVED, now + timedelta(days=1), "Clear and true.")
    return keys


def review_items(
    house: House, instructors: list[Actor], keys: dict[str, int], now: datetime
) -> None:
    """Go on after three months: a comment, a new version beside the old, one withdrawn."""
    second = instructors[1]
    words = "Say whether the longer ones are at the top; then I approve it."
    _do(house, second, keys["cover-bolts"], Deed.COMMENTED, now - timedelta(days=2), words)
    shorter = ROLLER | {"prompt": ROLLER["prompt"].replace("With the belt off, a", "A freed")}
    save(
        house,
        second,
        BANK,
        shorter,
        item_id=keys["roller-noise"],
        based_on=1,
        said="Shorter, and “freed” says that the belt is off.",
        now=now - timedelta(days=1),
    )
    why = "On many engines the front sprocket does carry the mark of the rear one: two are right."
    _do(house, second, keys["lamp-behind"], Deed.WITHDRAWN, now, why, again=True)


def _do(
    house: House,
    actor: Actor,
    item_id: int,
    deed: Deed,
    now: datetime,
    words: str = "",
    *,
    again: bool = False,
) -> None:
    decide(house, actor, item_id, Decision(deed, 1, words, mark_again=again), now=now)
