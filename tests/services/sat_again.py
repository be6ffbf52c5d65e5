"""Tests that ask an item whose key turns out to be wrong, and the correction of that key."""

from __future__ import annotations

from datetime import timedelta

from certifying import Crew, make_crew, publish_scheme, room_of, sign_off_task, with_changes
from classroom import BLANK, right_given, save
from workshop import NOON
from written_items import CHOICE, QUESTION, RIGHT, WRONG, approved, decided, saved, with_key
from written_items import with_bank as make_bank

from quizsvc.rules.assignments import Terms
from quizsvc.rules.reviewing import Deed
from quizsvc.rules.schemes import BlueprintRow
from quizsvc.rules.tests_again import Remedy
from quizsvc.services import review
from quizsvc.services.assigning import drafting, giving_out, questions
from quizsvc.services.assigning.drafting import Audience
from quizsvc.services.certifying import admitting, deciding
from quizsvc.services.shown import Given
from quizsvc.services.sitting import beginning, closing, question_pages
from quizsvc.services.tests_again import doing, planning
from quizsvc.services.tests_again.doing import Wanted
from quizsvc.store import candidate_forms, classes, sitting_items, sittings

REF = "bank:ours/arm-held"
BLUEPRINT = (
    BlueprintRow("safety", "apply", 1),  # of which there is just our own item
    BlueprintRow("safety", "recall", 1),
    BlueprintRow("cooling", "recall", 1),
    BlueprintRow("procedure", "apply", 1),
)
WHY = "The key named the dangerous way."
FIRST_KEY, CORRECTED = WRONG, RIGHT  # what the key says at first, and once it is put right


def crew_with_item(workshop) -> tuple[Crew, int]:
    """Return people, and the item that Ida wrote and Iris approved with a wrong key."""
    crew = make_crew(workshop)
    make_bank(crew.house, crew.ida, NOON)
    faulty = with_key(CHOICE, FIRST_KEY)
    what = approved(crew.house, crew.ida, workshop.people["iris"], NOON, faulty)
    return crew, what.item_id


def give_out(crew: Crew, terms: Terms = BLANK["test"]) -> int:
    """Give the class a test of our own item and one of the workshop's."""
    house, ida = crew.house, crew.ida
    with house.read() as connection:
        (group,) = classes.classes_of_shop(connection, ida.shop_id)
    test = drafting.draft(house, ida, terms, Audience(group.id), now=NOON)
    for ref in (REF, "bank:workshop/first-step"):
        questions.add_bank_item(house, ida, test, item_ref=ref)
    giving_out.issue(house, ida, test, now=NOON)
    return test


def sit(crew, test, actor, words, *, others_wrong=0, hand_in=True, now=NOON) -> str:
    """Sit a test: this option of our own item, and so many of the others left out."""
    house = crew.house
    token = beginning.begin(house, actor, test, place="desk", now=now)
    with house.read() as connection:
        sitting = sittings.find_sitting(connection, token)
        numbers = [one.number for one in sitting_items.items_of(connection, sitting.id)]
    later = now + timedelta(minutes=5)
    for number in numbers:
        shown = question_pages.page(house, actor, token, number=number, place="desk", now=now)
        if shown.item.prompt == QUESTION:
            chosen = next(one.number for one in shown.item.options if one.text == words)
            save(room_of(crew), actor, token, number, Given(choices=(chosen,)), now=later)
        elif others_wrong:
            others_wrong -= 1
        else:
            given = right_given(room_of(crew), token, number)
            save(room_of(crew), actor, token, number, given, now=later)
    if hand_in:
        closing.hand_in(house, actor, token, now=later)
    return token


def scheme_that_asks_it(crew) -> int:
    """Publish a scheme of four questions of which three are needed; one is our own item."""
    return publish_scheme(crew, with_changes(blueprint=BLUEPRINT))


def sit_for_certificate(crew, version, candidate, words, *, certify, now=NOON) -> int:
    """Let a candidate get two of the other three right; Max decides. Return the form."""
    form_id = admitting.admit(crew.house, crew.ida, version, candidate.person_id, now=now)
    with crew.house.read() as connection:
        form = candidate_forms.find_form(connection, form_id)
    sit(crew, form.assignment_id, candidate, words, others_wrong=1, now=now)
    sign_off_task(crew, version, candidate, now=now)
    reason = "" if certify else "Below the cut."
    later = now + timedelta(hours=1)
    deciding.decide(crew.house, crew.max, form_id, certify=certify, reason=reason, now=later)
    return form_id


def correct_key(crew, item_id, right, now, *, mark_answers=False):
    """Give the item another key: Iris writes, Ida approves. Answers stay unless asked."""
    house, iris = crew.house, crew.workshop.people["iris"]
    newest = review.item_page(house, crew.ida, item_id).newest.version
    data = with_key(CHOICE, right)
    what = saved(house, iris, now, data, item_id=item_id, based_on=newest)
    decided(house, iris, item_id, Deed.SENT, what.version, now)
    decided(
        house, crew.ida, item_id, Deed.APPROVED, what.version, now,
        words="The key was wrong.", mark_again=mark_answers,
    )  # fmt: skip


def plan(crew, item_id, actor=None):
    return planning.plan_of(crew.house, actor or crew.ida, item_id)


def mark(crew, item_id, now, *, remedy=Remedy.MARKED_AGAIN, by=None, why=WHY, seen=None):
    """Do what the plan of now says."""
    actor = by or crew.ida
    looked_at = seen or plan(crew, item_id, actor).seen
    return doing.mark_again(crew.house, actor, item_id, Wanted(remedy, why, looked_at), now=now)
