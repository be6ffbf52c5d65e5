"""Items as typed in, for tests of writing and review."""

from quizsvc.rules.reviewing import Deed
from quizsvc.services import practise, review, write_items
from quizsvc.services.banks_at_hand import make_bank
from quizsvc.services.review import Decision
from quizsvc.services.shown import Given

QUESTION = "A spring tensioner comes out for a belt change. What is done before its lock is off?"
RIGHT, WRONG = "Its arm is held by a tool", "Its arm is left to strike"
CHOICE = {
    "id": "arm-held",
    "kind": "one choice",
    "topic": "safety",
    "level": "apply",
    "prompt": QUESTION,
    "reference": "common practice, no source",
    "caution": "Hold the spring's load; the maker's information and local rules come first.",
    "options": [
        {"text": RIGHT, "correct": True, "rationale": "Held, the load of the spring goes slowly."},
        {"text": WRONG, "rationale": "The load of the spring comes free at once."},
        {
            "text": "Its bolt is oiled well",
            "rationale": "It moves too quickly as it is, oil or not.",
        },
        {"text": "Its pulley is marked up", "rationale": "A mark shows a place but holds no load."},
    ],
}


def with_bank(house, actor, now, bank_id="ours"):
    make_bank(house, actor, bank_id=bank_id, title="Our own bank", about="", now=now)
    return bank_id


def with_key(data, right):
    """Return the item with another option marked right."""
    options = [
        {name: value for name, value in option.items() if name != "correct"}
        | ({"correct": True} if option["text"] == right else {})
        for option in data["options"]
    ]
    return data | {"options": options}


def saved(house, actor, now, data=CHOICE, **more):
    return write_items.save(house, actor, "ours", data, now=now, **more)


def decided(house, actor, item_id, deed, version, now, **more):
    return review.decide(house, actor, item_id, Decision(deed, version, **more), now=now)


def approved(house, writer, approver, now, data=CHOICE, **more):
    """Write, send and approve a version; return the item's key and the version."""
    what = saved(house, writer, now, data, **more)
    decided(house, writer, what.item_id, Deed.SENT, what.version, now)
    decided(house, approver, what.item_id, Deed.APPROVED, what.version, now)
    return what


def answered(house, learner, now, words, *, saying=QUESTION, topic="safety"):
    """Practise until the item comes, and choose the option with these words."""
    token = put(house, learner, now, saying=saying, topic=topic)
    item = practise.open_offer(house, learner, token, now=now)
    number = next(one.number for one in item.options if one.text == words)
    practise.answer(house, learner, token, Given(choices=(number,)), now=now)
    return token


def put(house, learner, now, *, saying=QUESTION, topic="safety"):
    """Practise until the item comes."""
    for _ in range(200):
        token = practise.put_next(house, learner, topic=topic, now=now)
        if practise.open_offer(house, learner, token, now=now).prompt == saying:
            return token
    raise AssertionError("the item never came")
