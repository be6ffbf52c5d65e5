"""Which item is worth putting: near the level, idea held, not seen lately, little exposed."""

import pytest

from quizsvc.scoring.competence import Belief, ItemParameters
from quizsvc.scoring.worth import Candidate, information, ranked

LEVEL = Belief(0.5, 0.2)


def first(*candidates, held=frozenset(), level=LEVEL):
    order = ranked(candidates, level, held=held, remembered=60, chances=[0.0 for _ in candidates])
    return order[0]


def at(ref, b, **more):
    return Candidate(ref, ItemParameters(b=b), **more)


def test_the_item_nearest_to_the_level_comes_first():
    assert first(at("far", -2.5), at("near", 0.4), at("hard", 3.0)).ref == "near"


def test_an_item_that_shows_a_held_idea_comes_first_and_says_which():
    found = first(
        at("near", 0.5),
        at("shows", 1.0, ideas=frozenset({"idea-a", "idea-b"})),
        held=frozenset({"idea-b"}),
    )

    assert (found.ref, found.idea) == ("shows", "idea-b")


def test_an_idea_that_is_not_held_makes_no_difference():
    assert first(at("near", 0.5), at("off", 2.0, ideas=frozenset({"idea-a"}))).idea == ""


def test_what_was_put_just_now_waits():
    assert first(at("near", 0.5, seen_ago=0), at("off", 1.5)).ref == "off"
    assert first(at("near", 0.5, seen_ago=60), at("off", 1.5)).ref == "near"


def test_of_two_alike_the_one_seen_less_by_everybody_comes_first():
    assert first(at("worn", 0.5, exposure=900), at("new", 0.5, exposure=10)).ref == "new"


def test_a_guessable_item_tells_less():
    typed = information(ItemParameters(), LEVEL)
    guessed = information(ItemParameters(c=0.25), LEVEL)

    assert guessed < typed


@pytest.mark.parametrize(("b", "told"), [(1.0, 0.5625), (0.0, 0.3356), (2.0, 0.3356)])
def test_information_as_published(b, told):
    # 2PL information a = 1.5: a²/4 at b, .3356 one logit off (catsim's documentation).
    assert information(ItemParameters(a=1.5, b=b), Belief(1.0, 1e-12)) == pytest.approx(
        told, abs=5e-5
    )
