"""Questions that must not stand in one form."""

from __future__ import annotations

import pytest
from pydantic import TypeAdapter

from quizsvc.items.banks.loading import shipped_banks
from quizsvc.items.banks.schema import AnyItem
from quizsvc.items.cross_answers import cross_answers


def item(name: str, prompt: str, right: str) -> AnyItem:
    return TypeAdapter(AnyItem).validate_python(
        {
            "id": name,
            "topic": "wear",
            "level": "recall",
            "kind": "one choice",
            "prompt": prompt,
            "reference": "common practice, no source",
            "options": [
                {"text": right, "correct": True, "rationale": "So it is."},
                {"text": "Nothing at all", "rationale": "Not so."},
                {"text": "Something else", "rationale": "Not so."},
            ],
        },
        strict=False,
    )


ASKED = item("asked", "What slaps when the engine starts cold?", "The slack strand of the chain")
TELLS = item(
    "tells", "At a cold start the slack strand of the chain slaps. What is worn?", "The tensioner"
)
OTHER = item("other", "Which liquid carries heat to the radiator?", "Coolant from the pump")
REPEATS = item("repeats", "What slaps when the engine starts cold?", "The slack strand")


def test_a_prompt_that_tells_anothers_answer_stands_apart_from_it():
    found = cross_answers({"asked": ASKED, "tells": TELLS, "other": OTHER})

    assert found == {"asked": {"tells"}, "tells": {"asked"}, "other": frozenset()}


def test_a_question_that_nearly_repeats_another_stands_apart_from_it():
    found = cross_answers({"asked": ASKED, "repeats": REPEATS})

    assert found["asked"] == {"repeats"}


@pytest.mark.parametrize("bank_id", sorted(shipped_banks()))
def test_in_shipped_banks_few_questions_stand_apart_and_always_both_ways(bank_id):
    items = {one.id: one for one in shipped_banks()[bank_id].written.items}

    found = cross_answers(items)

    assert all(one in found[other] for one, others in found.items() for other in others)
    assert sum(map(len, found.values())) <= len(items)
