"""Practice through the pages: every kind of item, errors, double submits, history."""

import re

import pytest
from sqlalchemy import inspect, text

ONE, SEVERAL, NUMBER = "Which hand turns", "Which two are tools", "A bolt takes"
ORDER, MATCH, POINT = "Put the work in order.", "Match each part", "Where is the larger wheel"


def answers_stored(house):
    with house.read() as connection:
        return connection.scalar(text("SELECT count(*) FROM response"))


def outcome_of(client, answer):
    assert answer.status_code == 302, answer.text
    return client.get(answer.headers["Location"]).text


def places_of(client, address, name):
    """Return the lines of an order or match item: what stands on them, by number."""
    page = client.get(address).text
    lines = re.findall(
        rf'text" for="[^"]+">([^<]+)</label>\s*<select id="[^"]+" name="{name}-(\d+)"', page
    )
    return dict(lines)


def test_the_first_page_shows_every_topic_with_its_standing(lea):
    page = lea.get("/practise/").text

    assert "Strokes and firing order" in page
    assert page.count('class="standing"') == page.count('scope="row"') >= 5
    assert "Demo inline four" in page


def test_a_topic_and_an_engine_can_be_wished_for(lea):
    address = lea.put_next(topic="cycle", sheet="demo-vee-six")

    page = lea.get(address).text
    assert address.endswith("?topic=cycle&sheet=demo-vee-six")
    assert "Strokes and firing order" in page
    assert "vee six" in page


def test_a_wish_nobody_can_fulfil_is_told(lea):
    answer = lea.send("/practise/next", {"topic": "cooking"}, seen="/practise/")

    assert answer.status_code == 422
    assert "cooking" in answer.text


def test_a_right_choice_is_called_right_in_words(lea):
    address = lea.put_written(ONE)
    chosen = lea.position_of(address, "The right hand")

    page = outcome_of(lea, lea.answer(address, {"choice": chosen}))

    assert re.search(r"<h1[^>]*>.*Right</h1>", page, re.DOTALL)
    assert "telltale: right because of the test." in page
    assert "Keep fingers away from the chain." in page
    assert "invented for tests" in page
    assert "Which hand turns the crank <strong>first</strong>?" in page


def test_a_wrong_choice_shows_what_was_chosen_and_what_is_right(lea):
    address = lea.put_written(ONE)
    chosen = lea.position_of(address, "Both hands")

    page = outcome_of(lea, lea.answer(address, {"choice": chosen}))

    assert re.search(r"<h1[^>]*>.*Not right</h1>", page, re.DOTALL)
    assert "<dd>Both hands</dd>" in page
    assert "<dd>The right hand</dd>" in page
    assert "telltale: only one." in page


def test_several_choices(lea):
    address = lea.put_written(SEVERAL)
    chosen = [lea.position_of(address, words) for words in ("Spanner", "Gauge")]

    assert "Not right" not in outcome_of(lea, lea.answer(address, {"choice": chosen}))


@pytest.mark.parametrize("typed", ["12,5", " 12.5 ", "12,50", "12.5 N·m"])
def test_a_number_may_be_typed_as_people_write_it(lea, typed):
    address = lea.put_written(NUMBER)

    page = outcome_of(lea, lea.answer(address, {"number": typed}))

    assert "Not right" not in page
    assert "telltale: read it off" in page


@pytest.mark.parametrize("typed", ["", "twelve", "NaN", "1e999", "12..5", "<b>1</b>"])
def test_what_is_no_number_is_refused_and_kept_in_the_field(lea, house, typed):
    address = lea.put_written(NUMBER)

    answer = lea.answer(address, {"number": typed})

    kept = typed.replace("<", "&lt;").replace(">", "&gt;")
    assert answer.status_code == 422
    assert f'value="{kept}"' in answer.text
    assert 'role="alert"' in answer.text
    assert 'aria-invalid="true"' in answer.text
    assert "Not saved" in answer.text
    assert answers_stored(house) == 0


def test_an_order_by_numbers_alone(lea):
    address = lea.put_written(ORDER)
    lines = places_of(lea, address, "place")
    wanted = ["Drain the coolant", "Take the pump off", "Fill up again"]
    fields = {f"place-{lines[words]}": place for place, words in enumerate(wanted, 1)}

    page = outcome_of(lea, lea.answer(address, fields))

    assert "Not right" not in page


def test_a_wrong_order_is_told_which_rule_it_broke(lea):
    address = lea.put_written(ORDER)
    lines = places_of(lea, address, "place")
    wanted = ["Take the pump off", "Drain the coolant", "Fill up again"]
    fields = {f"place-{lines[words]}": place for place, words in enumerate(wanted, 1)}

    page = outcome_of(lea, lea.answer(address, fields))

    assert "Not right" in page
    assert "telltale: or it runs out." in page


def test_an_unfinished_order_is_kept_and_named(lea, house):
    address = lea.put_written(ORDER)

    answer = lea.answer(address, {"place-1": "3", "place-2": "", "place-3": "1"})

    assert answer.status_code == 422
    assert "line 2" in answer.text
    assert answer.text.count("selected") == 2
    assert answers_stored(house) == 0


def test_a_match(lea):
    address = lea.put_written(MATCH)
    lines = places_of(lea, address, "partner")
    page = lea.get(address).text
    partners = dict(re.findall(r'<option value="(\d)">(Arm|Chain|Sprocket)</option>', page))
    number = {words: position for position, words in partners.items()}
    right = {"Plunger": "Arm", "Arm": "Chain", "Chain": "Sprocket"}
    fields = {f"partner-{lines[left]}": number[right[left]] for left in right}

    assert "Not right" not in outcome_of(lea, lea.answer(address, fields))


def test_a_point_is_chosen_from_lettered_places_over_its_picture(lea):
    address = lea.put_written(POINT)
    page = lea.get(address).text
    picture = re.search(r'<img src="([^"]+)" alt="Two wheels', page)[1]
    place = lea.position_of(address, "on the right")

    with lea.get(picture) as sent:
        assert sent.mimetype == "image/png"
        assert "two-wheels" not in str(sent.headers)
        assert "ETag" not in sent.headers
    assert 'viewBox="0 0 600 300"' in page
    assert "Not right" not in outcome_of(lea, lea.answer(address, {"place": place}))


def test_nothing_chosen_is_refused(lea, house):
    for words in (ONE, SEVERAL, POINT):
        answer = lea.answer(lea.put_written(words), {})

        assert answer.status_code == 422
        assert 'role="alert"' in answer.text
    assert answers_stored(house) == 0


@pytest.mark.parametrize("choice", ["0", "5", "77", "-1", "A", "1 OR 1=1"])
def test_a_choice_that_was_not_shown_is_refused(lea, house, choice):
    answer = lea.answer(lea.put_written(ONE), {"choice": choice})

    assert answer.status_code == 422
    assert answers_stored(house) == 0


def test_a_second_submit_changes_nothing_and_says_so(lea, house, clock):
    address = lea.put_written(ONE)
    right, wrong = (lea.position_of(address, w) for w in ("The right hand", "Both hands"))
    token = lea.form_token(address)
    first = lea.post(address, data={"csrf_token": token, "choice": wrong})
    clock.pass_time(seconds=1)

    second = lea.post(address, data={"csrf_token": token, "choice": right})

    page = outcome_of(lea, second)
    assert second.headers["Location"] == first.headers["Location"]
    assert "The first answer counts" in page
    assert "<dd>Both hands</dd>" in page
    assert answers_stored(house) == 1


def test_the_first_submit_carries_no_note_of_a_second(lea):
    address = lea.put_written(ONE)

    page = outcome_of(lea, lea.answer(address, {"choice": "1"}))

    assert "The first answer counts" not in page


def test_going_back_to_an_answered_item_leads_to_its_outcome(lea):
    address = lea.put_written(ONE)
    lea.answer(address, {"choice": "1"})

    answer = lea.get(address)

    assert answer.status_code == 302
    assert "/outcome" in answer.headers["Location"]


def test_nonsense_sent_again_after_the_answer_leads_to_the_outcome(lea):
    address = lea.put_written(NUMBER)
    token = lea.form_token(address)
    lea.post(address, data={"csrf_token": token, "number": "12,5"})

    again = lea.post(address, data={"csrf_token": token, "number": "x", "place-1": ""})

    assert "/outcome" in again.headers["Location"]


def test_a_stale_page_is_told_so_and_nothing_is_lost(lea, house, clock):
    address = lea.put_written(ONE)
    token = lea.form_token(address)
    clock.pass_time(days=60)
    lea.sign_in()
    token = lea.form_token("/practise/")

    answer = lea.post(address, data={"csrf_token": token, "choice": "1"})

    assert answer.status_code == 409
    assert "nothing was counted" in answer.text
    assert answers_stored(house) == 0


def test_the_outcome_before_the_answer_is_refused(lea):
    address = lea.put_written(ONE).split("?")[0]

    answer = lea.get(f"{address}/outcome")

    assert answer.status_code == 409
    assert "telltale" not in answer.text


def test_another_persons_item_looks_like_none(app, lea):
    address = lea.put_written(ONE).split("?")[0]
    tom = app.test_client()
    tom.sign_in("tom")

    for page in ("", "/outcome", "/picture"):
        assert tom.get(address + page).status_code == 404
    assert tom.send(address, {"choice": "1"}, seen="/practise/").status_code == 404


def test_history_lists_answers_newest_first_and_by_topic(lea, clock):
    for words in (NUMBER, ORDER, ONE):
        address = lea.put_written(words)
        fields = {"choice": "1", "number": "12,5", "place-1": 1, "place-2": 2, "place-3": 3}
        lea.answer(address, fields)
        clock.pass_time(minutes=1)

    everything = lea.get("/practise/history").text
    safety = lea.get("/practise/history?topic=safety").text

    assert (
        everything.index("Which hand")
        < everything.index("Put the work")
        < everything.index("A bolt")
    )
    assert "3 answers" in everything
    assert "Put the work" not in safety
    assert "2 answers" in safety


def test_history_has_pages(lea, clock):
    for _ in range(21):
        address = lea.put_next(topic="safety")
        lea.answer(address, {"choice": "1", "number": "1"})
        clock.pass_time(minutes=1)

    first, second = lea.get("/practise/history").text, lea.get("/practise/history?page=2").text

    assert "Page 1 of 2" in first
    assert "Older" in first
    assert "Newer" in second
    assert first.count('class="log__entry"') == 20
    assert second.count('class="log__entry"') == 1


@pytest.mark.parametrize("page", ["0", "-1", "99", "1.5", "x"])
def test_a_page_of_history_that_is_not_there_is_told(lea, page):
    answer = lea.get(f"/practise/history?page={page}")

    assert answer.status_code == 422
    assert "There is no such page." in answer.text


def test_an_empty_history_says_what_to_do(lea):
    page = lea.get("/practise/history").text

    assert "No answers here yet" in page
    assert "Go to practice" in page


def test_reading_changes_nothing(lea, house):
    address = lea.put_written(ONE).split("?")[0]
    before = contents(house)

    for page in ("/", "/practise/", "/practise/history", address, f"{address}/outcome", "/sign-in"):
        lea.get(page)
        lea.head(page)

    assert contents(house) == before


def contents(house):
    with house.read() as connection:
        tables = inspect(connection).get_table_names()
        return {
            table: connection.execute(text(f'SELECT * FROM "{table}"')).all()  # noqa: S608 - own names
            for table in tables
        }
