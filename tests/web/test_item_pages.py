"""The pages of hand-written items: forms without script, findings beside fields, roles."""

import re
from io import BytesIO

import pytest
from PIL import Image
from werkzeug.datastructures import FileStorage, MultiDict
from werkzeug.test import encode_multipart

from quizsvc.items.banks.loading import SHIPPED, load_banks, read_bank
from quizsvc.items.banks.rewriting import new_text, stated
from quizsvc.web.bank.fields import data_in, field_for, fields_of

SHIPPED_ITEMS = [entry for bank in load_banks(SHIPPED).values() for entry in bank.entries]
PAGES = [
    *("/bank/", "/bank/?words=hand", "/bank/new", "/bank/items/1", "/bank/items/1/edit"),
    *("/bank/pictures", "/bank/banks", "/bank/import", "/bank/write?bank=every-kind&kind=order"),
    "/bank/banks/every-kind.toml",
]
NEW = "/bank/write?bank=every-kind&kind=one+choice"
TYPED = {
    "do": "save",
    "id": "arm-held",
    "topic": "safety",
    "level": "apply",
    "prompt": "A spring tensioner comes out. What is done before its lock is off?",
    "reference": "common practice, no source",
    "caution": "Hold the spring's load; the maker's information and local rules come first.",
    "option-1-text": "Its arm is held by a tool",
    "option-1-correct": "1",
    "option-1-rationale": "Held, the load of the spring goes slowly.",
    "option-3-text": "Its arm is left to strike",
    "option-3-rationale": "The load of the spring comes free at once.",
    "option-4-text": "Its bolt is oiled well",
    "option-4-rationale": "It moves too quickly as it is, oil or not.",
}


@pytest.fixture
def ivo(client):
    """An instructor's client, signed in."""
    assert client.sign_in("ivo").status_code == 302
    return client


@pytest.fixture
def isa(app):
    """Another instructor's client, signed in."""
    other = app.test_client()
    assert other.sign_in("isa").status_code == 302
    return other


def fields_on(page):
    """Return the form's fields as a browser without script would send them."""
    form = re.search(r'<form class="sheet".*?</form>', page, re.DOTALL)[0]
    found = [
        (name, value)
        for name, value in re.findall(
            r'<input(?![^>]*type=)[^>]*name="([^"]+)" value="([^"]*)"', form
        )
    ]
    for tag in re.findall(r"<input[^>]*>", form):
        name, value = re.search(r'name="([^"]+)"', tag), re.search(r'value="([^"]*)"', tag)
        kind = re.search(r'type="(\w+)"', tag)
        if kind and (kind[1] == "hidden" or " checked" in tag):
            found.append((name[1], value[1]))
    found += re.findall(r'<textarea[^>]*name="([^"]+)"[^>]*>\n(.*?)</textarea>', form, re.DOTALL)
    for select in re.findall(r"<select.*?</select>", form, re.DOTALL):
        chosen = re.search(r'<option value="([^"]*)" selected', select)
        first = re.search(r'<option value="([^"]*)"', select)
        found.append((re.search(r'name="([^"]+)"', select)[1], (chosen or first)[1]))
    unescaped = [(name, value.replace("&#39;", "'").replace("&#34;", '"')) for name, value in found]
    return MultiDict(unescaped)


@pytest.mark.parametrize("entry", SHIPPED_ITEMS, ids=lambda entry: f"{entry.bank}/{entry.id}")
def test_an_item_typed_in_is_the_item_that_was_shown(entry):
    written = entry.written

    typed = fields_of(stated(written))
    data = data_in(typed, written.kind) | {"version": written.version}

    head = 'schema_version = 1\nid = "x"\ntitle = "x"\nauthor = "x"\n[cautions]\n'
    head += "".join(f'{name} = "{name}"\n' for name in written.cautions)
    bank, faults = read_bank(head + new_text(data))
    assert not faults
    assert bank.written.items[0] == written


@pytest.mark.parametrize("name", ["lea", "mia"])
def test_learners_and_managers_get_none_of_these_pages(client, name):
    client.sign_in(name)

    for address in PAGES:
        assert client.get(address).status_code == 403, address
    assert "/bank/" not in client.get("/practise/").text


def test_an_instructor_gets_all_of_them_from_the_head_of_the_page(ivo):
    assert 'href="/bank/"' in ivo.get("/practise/").text
    for address in PAGES:
        assert ivo.get(address).status_code == 200, address


def test_an_item_is_written_checked_and_shown_as_a_learner_sees_it(ivo):
    answer = ivo.send(NEW, TYPED | {"do": "look"}, seen=NEW)

    assert answer.status_code == 200
    assert "Nothing found" in answer.text
    assert "As a learner sees it" in answer.text
    assert answer.text.count("Its arm is held by a tool") >= 2
    assert "arm-held" not in ivo.get("/bank/?bank=every-kind").text, "a look saves nothing"

    saved = ivo.send(NEW, TYPED, seen=NEW)

    assert re.fullmatch(r"/bank/items/\d+\?version=1", saved.headers["Location"])
    assert "Saved as version 1, a draft." in ivo.get(saved.headers["Location"]).text


def test_findings_stand_beside_their_fields_and_nothing_typed_is_lost(ivo):
    typed = TYPED | {"option-3-text": "All of the above", "option-4-rationale": "", "do": "look"}

    page = ivo.send(NEW, typed, seen=NEW).text

    beside = r'id="option-2-text-found1">Options that speak of the others'
    assert re.search(beside, page), "rows move up, and the finding with them"
    assert 'id="option-3-rationale-found1"' in page
    assert 'value="All of the above"' in page
    assert 'href="#option-2-text"' in page
    assert "Keep the finding “giveaway-catch-all”, because" in page


def test_an_item_that_cannot_be_used_is_not_saved_and_says_where(ivo):
    typed = {name: value for name, value in TYPED.items() if not name.endswith("correct")}

    answer = ivo.send(NEW, typed, seen=NEW)

    assert answer.status_code == 422
    assert "no option is marked right" in answer.text
    assert 'value="Its arm is held by a tool"' in answer.text


def test_numbers_are_typed_as_people_write_them_and_words_among_them_refused(ivo):
    address = "/bank/write?bank=every-kind&kind=number"
    common = {name: TYPED[name] for name in ("id", "topic", "level", "reference", "caution")}
    typed = common | {
        "prompt": "A belt of 1000 mm has grown by 12,5 mm. How much is that in percent?",
        "answer-value": "1,25",
        "answer-tolerance": "0.005",
        "answer-unit": "%",
        "answer-decimals": "2",
        "answer-rationale": "The growth is divided by the length before.",
    }

    wrong = ivo.send(address, typed | {"answer-value": "much", "do": "save"}, seen=address)
    right = ivo.send(address, typed | {"do": "save"}, seen=address)

    assert wrong.status_code == 422
    assert 'id="answer-value-found1"' in wrong.text
    assert right.status_code == 302
    assert "1.25" in ivo.get(right.headers["Location"]).text


@pytest.mark.parametrize("item_id", range(1, 7))
def test_every_kind_of_item_is_edited_by_its_form_alone(ivo, item_id):
    address = f"/bank/items/{item_id}/edit"
    fields = fields_on(ivo.get(address).text)

    fields["reference"] = "invented once more"
    fields["do"] = "save"
    answer = ivo.post(address, data=fields)

    assert answer.headers["Location"] == f"/bank/items/{item_id}?version=2"
    found = ivo.get(f"/bank/items/{item_id}/difference?before=1&after=2").text
    assert re.findall(r"<dt>(.*?)</dt>", found) == ["Reference"]
    assert "<ins>once" in found


def test_two_people_saving_at_once_are_told_and_both_versions_are_kept(ivo, isa):
    address = "/bank/items/1/edit"
    mine, theirs = (fields_on(who.get(address).text) for who in (ivo, isa))
    theirs["level"], theirs["do"] = "apply", "save"
    mine["level"], mine["do"] = "diagnose", "save"
    isa.post(address, data=theirs)

    answer = ivo.post(address, data=mine)

    page = ivo.get(answer.headers["Location"]).text
    assert "Isa Invented saved version 2 while you were writing. Both are kept" in page
    assert "before=3&amp;after=2" in page


def test_review_asks_for_a_second_person_on_the_page_and_behind_it(ivo, isa):
    item = ivo.send(NEW, TYPED, seen=NEW).headers["Location"].partition("?")[0]
    review = f"{item}/review"
    ivo.send(review, {"deed": "sent to review", "version": "1"}, seen=item)
    own = ivo.get(item).text
    assert 'value="approved"' not in own
    assert "another instructor approves it" in own

    refused = ivo.send(review, {"deed": "approved", "version": "1"}, seen=item)
    assert refused.status_code == 403
    approved = isa.send(review, {"deed": "approved", "version": "1", "words": "Good."}, seen=item)

    assert approved.status_code == 302
    page = ivo.get(item).text
    assert "Approved by" in page
    assert "Good." in page


def test_a_comment_without_words_is_refused_where_it_was_made(ivo):
    answer = ivo.send(
        "/bank/items/1/review", {"deed": "commented", "version": "1"}, seen="/bank/items/1"
    )

    assert answer.status_code == 422
    assert "Nothing is said." in answer.text


def test_withdrawing_leads_to_the_list_of_people_concerned(ivo, app):
    lea = app.test_client()
    lea.sign_in("lea")
    address = lea.put_written("Which hand turns the crank")
    lea.answer(address, {"choice": lea.position_of(address, "Both hands")})

    answer = ivo.send(
        "/bank/items/1/review",
        {"deed": "withdrawn", "version": "1", "words": "Two are right.", "mark_again": "yes"},
        seen="/bank/items/1",
    )

    page = ivo.get(answer.headers["Location"]).text
    assert "Lea Invented" in page
    assert "Both hands" in page
    assert "no longer counts" in lea.get(f"{address.partition('?')[0]}/outcome").text


def test_a_picture_sent_in_is_shown_and_a_faulty_one_refused_with_what_to_do(ivo):
    into = BytesIO()
    Image.new("RGB", (64, 48), "white").save(into, "PNG")
    alt = "A white sheet of paper on a bench."
    token = ivo.form_token("/bank/pictures")

    good = ivo.post(
        "/bank/pictures",
        data={
            "csrf_token": token,
            "alt": alt,
            "picture": (BytesIO(into.getvalue()), "A Sheet.png"),
        },
    )
    bad = ivo.post(
        "/bank/pictures",
        data={"csrf_token": token, "alt": alt, "picture": (BytesIO(b"<svg onload=x()>"), "x.png")},
    )

    assert good.status_code == 302
    page = ivo.get("/bank/pictures").text
    file = re.search(r"/bank/pictures/(a-sheet-[0-9a-f]+\.png)", page)[1]
    sent = ivo.get(f"/bank/pictures/{file}")
    assert (sent.mimetype, sent.headers["X-Content-Type-Options"]) == ("image/png", "nosniff")
    assert bad.status_code == 422
    assert "no picture that can be read" in bad.text
    assert alt in bad.text, "what was typed is not lost"


def test_a_bank_file_is_reported_then_written(ivo):
    text = 'schema_version = 1\nid = "mine"\ntitle = "Mine"\nauthor = "me"\n'
    text += new_text(
        stated(SHIPPED_ITEMS[1].written.model_copy(update={"cautions": (), "picture": ""}))
    )
    token = ivo.form_token("/bank/import")
    sent = {"csrf_token": token, "bank": (BytesIO(text.encode()), "mine.toml")}

    work = ivo.post("/bank/import", data=sent).headers["Location"]
    report = ivo.get(work).text
    assert "Write 1 item as drafts" in report
    written = ivo.send(f"{work}/write", seen=work).headers["Location"]

    assert "1 item of 1 came in as drafts" in ivo.get(written).text
    assert ivo.get("/bank/?bank=mine").text.count('class="entries__one"') == 1


def test_a_syntax_error_in_a_bank_file_is_told_with_line_and_column(ivo):
    token = ivo.form_token("/bank/import")

    answer = ivo.post("/bank/import", data={"csrf_token": token, "pasted": 'id = "a"\nb = = 1\n'})

    assert "2, column 5" in ivo.get(answer.headers["Location"]).text


def test_a_large_file_is_taken_from_instructors_only(ivo, app):
    tom = app.test_client()
    tom.sign_in("tom")
    large = b"# " + b"x" * 1_500_000
    answers = []
    for who, seen in ((ivo, "/bank/import"), (tom, "/practise/")):
        token = who.form_token(seen)
        sent = {"csrf_token": token, "bank": FileStorage(BytesIO(large), "large.toml", "bank")}
        boundary, body = encode_multipart(sent)
        kind = f"multipart/form-data; boundary={boundary}"
        answers.append(who.post("/bank/import", data=body, content_type=kind).status_code)

    assert answers == [302, 413]


def test_export_is_sent_as_a_file(ivo):
    sent = ivo.get("/bank/banks/every-kind.toml")

    assert sent.mimetype == "application/toml"
    assert "filename=every-kind.toml" in sent.headers["Content-Disposition"]
    assert sent.text.startswith("schema_version = 1")


@pytest.mark.parametrize(
    "address",
    [
        "/bank/items/999",
        "/bank/items/1?version=9",
        "/bank/work/7",
        "/bank/pictures/..%2Fsecret.png",
        "/bank/banks/none.toml",
        "/bank/write?bank=every-kind&kind=set+the+bench",
    ],
)
def test_what_is_not_there_is_said_to_be_not_there(ivo, address):
    assert ivo.get(address).status_code == 404


def test_a_search_that_finds_nothing_says_what_to_do(ivo):
    page = ivo.get("/bank/?words=xyzzy").text

    assert "Nothing fits" in page
    assert "Show all items" in page


def test_a_finding_leads_to_its_field():
    assert field_for("before 2 why") == "before-2-why"
    assert field_for("caution 1") == "cautions"
