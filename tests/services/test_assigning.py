"""What an assignment asks: the same numbers or own ones, proposals, what stays once given out."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from at_the_desk import begin, minutes
from classroom import BLANK, give_out, save
from workshop import NOON

from quizsvc.errors import ConflictError, InputError
from quizsvc.services.assigning import drafting, giving_out, questions
from quizsvc.services.assigning import pages as assignment_pages
from quizsvc.services.shown import Given
from quizsvc.services.sitting import closing, question_pages


def test_all_the_same_numbers_or_own_ones(room):
    def shown(*, own: bool) -> list[set[str]]:
        terms = replace(BLANK["test"], own_numbers=own, title=f"own {own}")
        made = drafting.draft(
            room.house, room.ida, terms, drafting.Audience(room.class_id), now=NOON
        )
        for family in ("piston-drop", "displacement", "chain-length"):
            questions.add_family(
                room.house, room.ida, made, family_id=family, sheet="demo-inline-four", level=None
            )
        giving_out.issue(room.house, room.ida, made, now=NOON)
        prompts = []
        for actor in (room.ana, room.ben):
            token = begin(room, actor, made)
            pages = [
                question_pages.page(room.house, actor, token, number=n, place="desk", now=NOON)
                for n in (1, 2, 3)
            ]
            prompts.append({page.item.prompt for page in pages})
        return prompts

    alike, own = shown(own=False), shown(own=True)

    assert alike[0] == alike[1]
    assert own[0] != own[1]


def test_proposals_follow_a_blueprint_and_what_the_class_gets_wrong(room):
    made = drafting.draft(
        room.house, room.ida, BLANK["home"], drafting.Audience(room.class_id), now=NOON
    )
    questions.add_by_blueprint(
        room.house, room.ida, made, {"cycle": 2, "marks": 1, "wear": 0}, sheet="demo-inline-four"
    )
    topics = [
        one.topic_title for one in assignment_pages.look(room.house, room.ida, made).questions
    ]
    assert topics == ["Strokes and firing order"] * 2 + ["Timing marks"]
    with pytest.raises(InputError, match="answered nothing"):
        questions.add_by_mistakes(room.house, room.ida, made, count=2, sheet=None, now=NOON)

    wrong = give_out(room, replace(BLANK["home"], title="wrong"), ("percent",))
    for actor in (room.ana, room.ben):
        token = begin(room, actor, wrong)
        save(room, actor, token, 1, Given(number="99"), now=minutes(1))
        closing.hand_in(room.house, actor, token, now=minutes(2))
    questions.add_by_mistakes(room.house, room.ida, made, count=2, sheet=None, now=minutes(3))

    added = assignment_pages.look(room.house, room.ida, made).questions[3:]
    assert [one.topic_title for one in added] == ["Chains and belts"] * 2


def test_what_is_given_out_keeps_its_questions(room, test_id):
    with pytest.raises(ConflictError, match="given out"):
        questions.remove(room.house, room.ida, test_id, 1)
    with pytest.raises(ConflictError, match="stay as they are"):
        drafting.change(
            room.house,
            room.ida,
            test_id,
            replace(BLANK["test"], minutes=60),
            drafting.Audience(room.class_id),
            now=NOON,
        )
    later = replace(BLANK["test"], due_at=NOON + timedelta(days=1), title="Renamed")
    drafting.change(
        room.house, room.ida, test_id, later, drafting.Audience(room.class_id), now=NOON
    )
    assert assignment_pages.look(room.house, room.ida, test_id).terms == later
