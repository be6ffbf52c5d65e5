"""Nothing a browser gets before the answer depends on the key, or tells it.

Proof by swapping: the same item is shown twice, the second time with everything hidden in it
changed (key, which option is right, wrong ideas, reasons, steps, family); all that comes over
the wire must be the same to the byte. Then a search for what is hidden, word by word.
"""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterator
from dataclasses import dataclass, replace
from statistics import median
from time import perf_counter

import pytest
from flask.testing import FlaskClient
from scipy.stats import chisquare, mannwhitneyu
from sqlalchemy import text
from visitors import Visitor, visitors_of
from whole_shop import ASKED_AT, LATER, SENTINEL, reopened

from quizsvc.errors import QuizsvcError
from quizsvc.items.family import all_families, draw_item
from quizsvc.items.misconception import all_misconceptions
from quizsvc.items.model import Item, Key, Kind, Step
from quizsvc.rules.actors import Actor, Role
from quizsvc.rules.assignments import Feedback, Form, Terms
from quizsvc.services import practise
from quizsvc.services.assigning import drafting, giving_out, questions
from quizsvc.services.assigning.drafting import Audience
from quizsvc.services.house import House
from quizsvc.services.next_item import Chosen
from quizsvc.services.recipes import Recipe
from quizsvc.services.sheets import keep_shipped_sheets
from quizsvc.services.sitting import beginning, question_pages, saving_answers
from quizsvc.services.sitting.frozen_items import thaw
from quizsvc.sheets.loading import shipped_sheets
from quizsvc.store import shown_items, sitting_items, sittings
from quizsvc.web.app import create_app

ENGINES = ("demo-inline-four", "demo-vee-six", "demo-vee-eight", "demo-inline-three")
SEED = 7_654_321_000
LEAST_P = 0.001  # seeds are fixed, so that this is the same in every run


@dataclass
class Room:
    house: House
    ana: Visitor  # practises
    ben: Visitor  # sits tests; what is asked there, practice does not show him
    actors: dict[str, Actor]
    class_id: int


@pytest.fixture(scope="module")
def room(furnished_shop, tmp_path_factory) -> Iterator[Room]:
    folder = tmp_path_factory.mktemp("leaks")
    shutil.copytree(furnished_shop.folder, folder, dirs_exist_ok=True)
    house = reopened(folder)
    app = create_app(house, clock=lambda: ASKED_AT, overrides={"RATELIMIT_ENABLED": False})
    app.test_client_class = FlaskClient
    with house.write() as connection:
        keep_shipped_sheets(connection, house.settings.question_banks / "engines", now=LATER)
        rows = connection.execute(text("SELECT id, name FROM person")).all()
        class_id = connection.scalar(text("SELECT min(id) FROM training_class"))
        shop_id = connection.scalar(text("SELECT min(id) FROM shop"))
    ids = {name.lower(): key for key, name in rows}
    actors = {
        "ana": Actor(ids["ana"], "Ana", shop_id, frozenset({Role.LEARNER})),
        "ben": Actor(ids["ben"], "Ben", shop_id, frozenset({Role.LEARNER})),
        "ida": Actor(ids["ida"], "Ida", shop_id, frozenset({Role.INSTRUCTOR})),
    }
    visitors = visitors_of(app)
    yield Room(house, visitors["L"], visitors["l"], actors, class_id)
    house.close()


def drawn(kind: Kind | None = None) -> Iterator[tuple[str, str, Kind, Item]]:
    """Draw every family in every kind it has, on the first engine that has what it asks about."""
    sheets = shipped_sheets()
    for family in all_families().values():
        for one in family.kinds:
            if kind not in {None, one}:
                continue
            for engine in ENGINES:
                try:
                    item = draw_item(family, sheets[engine], SEED, level=family.levels[0], kind=one)
                except QuizsvcError:
                    continue
                yield family.id, engine, one, item
                break
            else:
                raise AssertionError(f"{family.id} asks {one} on no engine")


def put_before(room: Room, item: Item, engine: str) -> str:
    """Offer the item to Ana and return its token."""
    with room.house.write() as connection:
        revision = connection.scalar(
            text("SELECT max(id) FROM sheet_revision WHERE sheet_id = :id"), {"id": engine}
        )
        recipe = Recipe(
            item.family, item.version, item.level, item.kind, SEED, sheet_revision_id=revision
        )
        chosen = Chosen(recipe, item, "")
        return practise.offer(connection, room.actors["ana"], chosen, now=LATER)


def with_other_secrets(item: Item) -> Item:
    """Return an item that looks the same and whose hidden parts are all others."""
    right = [option.correct for option in item.options]
    turned = right[1:] + right[:1]
    options = tuple(
        replace(
            option,
            correct=correct,
            value=option.value if option in item.shown_options else SENTINEL,
            misconception=f"{SENTINEL}-{number}",
            rationale=f"{SENTINEL}: {number}.",
        )
        for number, (option, correct) in enumerate(zip(item.options, turned, strict=True))
    )
    key = Key(
        value=-98765.4321,
        tolerance=0.123456,
        sequence=tuple(reversed(item.key.sequence)),
        before=((SENTINEL, SENTINEL, SENTINEL),),
        pairs=tuple((left, SENTINEL) for left, _ in item.key.pairs),
        areas=tuple(item.places[:1]) if item.key.areas != item.places[:1] else item.places[1:2],
    )
    return replace(
        item,
        key=key,
        options=options,
        steps=(Step(SENTINEL, 98765.4321, SENTINEL),),
        family=SENTINEL,
        reference=SENTINEL,
        solution_figure=never_drawn,
    )


def never_drawn() -> None:
    raise AssertionError("the solution was drawn before the answer")


def over_the_wire(ana: Visitor, paths: list[str], posts: dict[str, dict[str, object]]) -> list[str]:
    """Return all answers whole, headers too, without what differs from request to request."""
    asked = [("GET", path, None) for path in paths]
    asked += [("POST", path, fields) for path, fields in posts.items()]
    return [_plain(ana.ask(method, path, fields)) for method, path, fields in asked]


def _plain(answer) -> str:
    headers = {name: one for name, one in answer.headers.items() if name not in CHANGING}
    body = answer.get_data().decode("utf-8", "backslashreplace")
    body = re.sub(r'(name="(?:csrf_token|key)"[^>]*value=)"[^"]*"', r'\1""', body)
    return f"{answer.status_code} {headers}\n{body}"


CHANGING = ("X-Request-Id", "Set-Cookie", "Content-Length")  # the length is that of the body


def practice_paths(token: str, kind: Kind) -> tuple[list[str], dict[str, dict[str, object]]]:
    at = f"/practise/items/{token}"
    paths = [at, f"{at}?topic=marks", f"{at}/outcome", f"{at}/picture"]
    if kind is Kind.BENCH:
        paths += [f"/bench/items/{token}/{one}" for one in ("state", "motion")]
    bad = {"number": "x", "choice": "x", "place": "x", "place-1": "x", "partner-1": "x"}
    return paths, {at: bad}


def test_no_byte_before_the_answer_depends_on_the_key(room, monkeypatch, say):
    fetched, swapped = 0, []

    def drawn_with_other_secrets(*given, real=practise.draw_offered) -> Item:
        swapped.append(with_other_secrets(real(*given)))
        return swapped[-1]

    for family, engine, kind, item in drawn():
        token = put_before(room, item, engine)
        paths, posts = practice_paths(token, kind)
        first = over_the_wire(room.ana, paths, posts)
        with monkeypatch.context() as patched:
            patched.setattr(practise, "draw_offered", drawn_with_other_secrets)
            second = over_the_wire(room.ana, paths, posts)

        fetched += len(first)
        assert swapped.pop(), (family, kind)
        assert first[0].startswith("200"), (family, kind)
        assert second == first, (family, kind)

    say(f"leaks: {fetched} answers to practice compared to the byte")


def test_no_word_before_the_answer_is_one_that_is_hidden(room):
    titles = {idea.id: idea.title for idea in all_misconceptions().values()}
    for family, engine, kind, item in drawn():
        token = put_before(room, item, engine)
        paths, posts = practice_paths(token, kind)
        said = "\n".join(over_the_wire(room.ana, paths, posts))
        ideas = {option.misconception for option in item.options} - {""}
        hidden = {str(SEED), *ideas, *(titles[one] for one in ideas)}
        hidden |= {option.rationale for option in item.options} - {""}
        hidden |= {step.text for step in item.steps if len(step.text) > 20}
        if "-" in family:
            hidden.add(family)

        assert not {one for one in hidden if one in said}, (family, kind)
        assert not re.search(r"correct|misconception|rationale|tolerance|seed", said), family


def test_answers_before_the_submission_are_kept_by_nobody(room):
    for _, engine, kind, item in drawn(Kind.ONE_CHOICE):
        paths, _ = practice_paths(put_before(room, item, engine), kind)
        for path in paths:
            headers = room.ana.ask("GET", path).headers
            assert headers["Cache-Control"] == "no-store"
            assert not {"ETag", "Last-Modified", "Expires"} & set(headers.keys())


def sat(room: Room, feedback: Feedback, form: Form, minutes: int | None) -> str:
    """Give every family out in one assignment and begin it; return the sitting's token."""
    ida, house = room.actors["ida"], room.house
    terms = Terms("Everything", form, LATER, None, minutes=minutes, feedback=feedback)
    made = drafting.draft(house, ida, terms, Audience(room.class_id), now=LATER)
    seen = set()
    for family, engine, _, item in drawn():
        if family not in seen:
            seen.add(family)
            fields = {"family_id": family, "sheet": engine, "level": item.level}
            questions.add_family(house, ida, made, **fields)
    for entry in ("first-step", "several", "percent", "order", "match"):
        questions.add_bank_item(house, ida, made, item_ref=f"bank:workshop/{entry}")
    giving_out.issue(house, ida, made, now=LATER)
    place = room.ben.cookies.partition("place=")[2]
    assert place
    return beginning.begin(house, room.actors["ben"], made, place=place, now=ASKED_AT)


SITTINGS = [(Feedback.ON_RELEASE, Form.TIMED_TEST, 90), (Feedback.AT_END, Form.HOMEWORK, None)]


@pytest.mark.parametrize(("feedback", "form", "minutes"), SITTINGS)
def test_no_byte_of_a_sitting_depends_on_the_key(room, monkeypatch, say, feedback, form, minutes):
    token = sat(room, feedback, form, minutes)
    with room.house.read() as connection:
        sitting = sittings.find_sitting(connection, token)
        numbers = [one.number for one in sitting_items.items_of(connection, sitting.id)]
    at = f"/classroom/sittings/{token}"
    paths = [f"{at}/{number}" for number in numbers]
    paths += [f"{at}/{number}/picture" for number in numbers[:3]]
    paths += [f"{at}/{one}" for one in ("hand-in", "review", "left")]
    paths += ["/classroom/", "/practise/history", "/shop/record"]
    first = over_the_wire(room.ben, paths, {})
    swapped = []

    def thawed_with_other_secrets(kept: str, real=thaw) -> Item:
        swapped.append(with_other_secrets(real(kept)))
        return swapped[-1]

    for module in (question_pages, saving_answers):
        monkeypatch.setattr(module, "thaw", thawed_with_other_secrets)

    assert over_the_wire(room.ben, paths, {}) == first
    assert len(swapped) >= len(numbers)
    said = "\n".join(first)
    assert not [idea for idea in all_misconceptions() if idea in said]
    assert not re.search(r"correct|misconception|rationale|tolerance", said)
    say(f"leaks: {len(first)} answers of a sitting compared to the byte")


def test_the_right_option_stands_at_every_place_equally_often():
    sheets, counts = shipped_sheets(), {3: [0] * 3, 4: [0] * 4, 5: [0] * 5}
    for family in all_families().values():
        for seed in range(40) if Kind.ONE_CHOICE in family.kinds else ():
            for engine in ENGINES:
                try:
                    item = draw_item(family, sheets[engine], seed, kind=Kind.ONE_CHOICE)
                except QuizsvcError:
                    continue
                right = [option.correct for option in item.options].index(True)
                if len(item.options) in counts:
                    counts[len(item.options)][right] += 1
                break

    assert sum(map(sum, counts.values())) > 1500
    for shown in counts.values():
        if sum(shown) > 50:
            assert chisquare(shown).pvalue > LEAST_P, counts


def test_every_way_to_answer_looks_alike_on_the_page(room):
    """Rows of options differ in nothing but their number, letter and words."""
    for family, engine, _, item in drawn(Kind.ONE_CHOICE):
        token = put_before(room, item, engine)
        page = room.ana.ask("GET", f"/practise/items/{token}").text
        rows = re.findall(r"<li>\s*<label class=\"option\">.*?</li>", page, re.DOTALL)
        bare = {
            re.sub(r'value="\d+"|id="answer"|(?<=>)[^<]+(?=<)|data-[xy]="[^"]*"|\s', "", row)
            for row in rows
        }
        assert len(rows) == len(item.options), family
        assert len(bare) == 1, family


def test_the_size_of_an_answer_is_that_of_any_other(room, say):
    """Right or wrong, what comes back to an answer is a way to the outcome of the same length."""
    sizes: dict[bool, list[int]] = {True: [], False: []}
    times: dict[bool, list[float]] = {True: [], False: []}
    for turn, (_, engine, _, item) in enumerate([*drawn(Kind.ONE_CHOICE)] * 2):
        want = turn % 2 == 0
        number = [option.correct for option in item.options].index(want) + 1
        token = put_before(room, item, engine)
        begun = perf_counter()
        answer = room.ana.ask("POST", f"/practise/items/{token}", {"choice": str(number)})
        times[want].append(1000 * (perf_counter() - begun))
        headers = str([pair for pair in answer.headers if pair[0] not in CHANGING])
        assert answer.status_code == 302
        sizes[want].append(len(headers) + len(answer.data))

    assert set(sizes[True]) == set(sizes[False])
    assert len(set(sizes[True])) == 1
    p = mannwhitneyu(times[True], times[False]).pvalue
    # Told, not judged: a busy machine decides over times.
    say(
        f"leaks: right {median(times[True]):.2f} ms, wrong {median(times[False]):.2f} ms, "
        f"Mann-Whitney p = {p:.2f}, {len(times[True])} each"
    )


def test_the_size_of_a_save_is_that_of_any_other(room):
    token = sat(room, Feedback.ON_RELEASE, Form.TIMED_TEST, 90)
    with room.house.read() as connection:
        sitting = sittings.find_sitting(connection, token)
        stored = sitting_items.items_of(connection, sitting.id)
        items = {
            one.number: thaw(shown_items.content_of(connection, one.shown_hash)) for one in stored
        }
    said: dict[bool, set[str]] = {True: set(), False: set()}
    for sequence, want in enumerate((True, False), 1):
        for number, item in items.items():
            if item.kind is Kind.ONE_CHOICE:
                right = [option.correct for option in item.options].index(want) + 1
                answer = _autosave(room.ben, token, number, right, sequence)
                assert answer.status_code == 200, answer.text
                said[want].add(re.sub(r'"answered":\d+|"at":"[^"]*"', "", answer.text.strip()))

    plain = {re.sub(r'"sequence":\d', "", one) for one in said[True]}
    assert plain == {re.sub(r'"sequence":\d', "", one) for one in said[False]}
    assert len(plain) == 1


def _autosave(ben: Visitor, token: str, number: int, choice: int, sequence: int):
    fields = {
        "csrf_token": ben.token,
        "choice": str(choice),
        "sequence": str(sequence),
        "key": f"key-of-a-leak-test-{number}-{sequence}",
    }
    headers = {"Cookie": ben.cookies, "Accept": "application/json"}
    return ben.client.post(f"/classroom/sittings/{token}/{number}", data=fields, headers=headers)
