"""Engine sheets in the browser, page by page, as a browser without script sends them."""

import html
import io
import re

import pytest

SIX = "/sheets/demo-vee-six"


@pytest.fixture
def ivo(client):
    assert client.sign_in("ivo").status_code == 302
    return client


def fields_of(page):
    """Return the fields of the form on a page as a browser would send them."""
    form = page[page.index('class="editing"') :]
    found = {
        name: html.unescape(value)
        for name, value in re.findall(r'<input [^>]*?name="([^"]+)" value="([^"]*)"', form)
    }
    select, area = (
        rf'<{tag} [^>]*?name="([^"]+)".*?>(.*?)</{tag}>' for tag in ("select", "textarea")
    )
    for name, options in re.findall(select, form, re.DOTALL):
        chosen = re.search(r"<option(?: value=\"([^\"]*)\")? selected>([^<]*)<", options)
        found[name] = (chosen[1] or chosen[2]) if chosen else ""
    for name, text in re.findall(area, form, re.DOTALL):
        found[name] = html.unescape(text)
    return found


def send(client, address, **texts):
    fields = fields_of(client.get(address).text)
    return client.post(address, data=fields | {k.replace("__", "."): v for k, v in texts.items()})


@pytest.mark.parametrize("name", ["lea", "mia"])
def test_whoever_writes_no_sheets_is_kept_out_of_every_page(client, name):
    client.sign_in(name)
    token = client.form_token("/practise/")

    for address in ("/sheets/", "/sheets/new", "/sheets/upload", SIX, f"{SIX}/edit",
                    f"{SIX}/difference", f"{SIX}/toml"):  # fmt: skip
        assert client.get(address).status_code == 403, address
    for address in ("/sheets/new", "/sheets/check", "/sheets/upload", f"{SIX}/edit",
                    f"{SIX}/publish"):  # fmt: skip
        sent = client.post(address, data={"csrf_token": token, "do": "save", "revision": "1"})
        assert sent.status_code == 403, address
    assert "/sheets/" not in client.get("/practise/").text


def test_the_list_names_every_engine_its_revision_and_build_dates(ivo):
    page = ivo.get("/sheets/").text

    assert page.count("for all build dates") == 4
    assert "shared by all shops" in page


def test_a_sheets_page_shows_figures_computed_values_fields_and_revisions(ivo):
    page = ivo.get(SIX).text

    assert page.count("<svg") >= 6
    for words in ("Compression ratio", "Slip tolerance advanced", "primary-shoe", "First issue."):
        assert words in page


def test_a_revision_that_is_not_there_is_told(ivo):
    for address in (
        f"{SIX}?revision=7",
        f"{SIX}?revision=x",
        "/sheets/nowhere",
        "/sheets/new?from=no",
    ):
        assert ivo.get(address).status_code == 404, address


def test_a_changed_number_is_published_and_its_difference_shown(ivo):
    saved = send(ivo, f"{SIX}/edit", valves__events__ivo_btdc="6", note="Card.", do="publish")

    assert saved.headers["Location"] == f"{SIX}/difference?new=2"
    page = ivo.get(saved.headers["Location"]).text
    assert "Revision 2 is published." in page
    assert re.search(r"Intake opens before TDC</th><td>−2°</td><td><strong>6°", page)
    assert "Turn to a valve event" in page
    assert "20 seeds" in page
    assert "This is a sample" in page
    assert "Nobody in your shop" in page


def test_what_cannot_be_read_stands_beside_its_field_and_all_stays_typed(ivo):
    answer = send(ivo, f"{SIX}/edit", piston__rod_mm="long <b>", note="Kept note", do="save")

    assert answer.status_code == 422
    assert 'value="long &lt;b&gt;"' in answer.text
    assert 'value="Kept note"' in answer.text
    assert "not a number we can read" in answer.text
    assert "<b>" not in answer.text
    assert re.search(r'id="piston-rod_mm"[^>]*aria-invalid="true"', answer.text)
    assert re.search(r'id="section-pistons" open', answer.text)


def test_a_finding_of_the_check_stands_beside_its_field(ivo):
    answer = send(ivo, f"{SIX}/edit", safe_position__atdc_deg="10", do="check")

    assert answer.status_code == 200
    beside = answer.text.split('id="said-safe_position-atdc_deg"')[1][:600]
    assert "Error:" in beside
    assert "1 error" in answer.text


def test_publishing_with_errors_is_refused_with_field_value_and_remedy(ivo):
    answer = send(ivo, f"{SIX}/edit", safe_position__atdc_deg="10", note="x", do="publish")

    assert answer.status_code == 422
    assert "the check finds 1 error" in answer.text.lower()
    assert "save it as a draft" in answer.text


def test_a_revision_without_a_note_is_asked_for_one(ivo):
    answer = send(ivo, f"{SIX}/edit", piston__rod_mm="151", do="save")

    assert answer.status_code == 422
    assert 'href="#note"' in answer.text


def test_rows_are_put_in_and_taken_out_without_script(ivo):
    more = send(ivo, f"{SIX}/edit", do="add fasteners")
    assert 'id="fasteners-9-torque_nm"' in more.text
    assert re.search(r'id="section-fasteners" open', more.text)

    less = send(ivo, f"{SIX}/edit", do="remove drives[1].wheels[2]")
    assert "primary-shoe" not in [
        value for name, value in fields_of(less.text).items() if name.endswith("].id")
    ]


def test_strange_deeds_are_refused_in_words(ivo):
    answer = send(ivo, f"{SIX}/edit", do="remove everything")

    assert answer.status_code == 422
    assert "Use the buttons of the page" in answer.text


def test_a_copy_becomes_a_sheet_of_its_own(ivo):
    saved = send(ivo, "/sheets/new?from=demo-inline-four", do="publish")

    assert saved.headers["Location"] == "/sheets/demo-inline-four-copy?revision=1"
    assert "your shop’s own" in ivo.get("/sheets/").text
    again = send(ivo, "/sheets/new?from=demo-inline-four", do="save")
    assert again.status_code == 409
    assert "belongs to another engine sheet" in again.text


def test_a_blank_form_is_quiet_at_first_and_says_what_is_missing_when_sent(ivo):
    blank = ivo.get("/sheets/new").text
    assert "Cannot be read" not in blank

    sent = send(ivo, "/sheets/new", title="Own engine (invented)", do="save")
    assert sent.status_code == 422
    assert "fields to fill in or mend" in sent.text
    assert 'value="Own engine (invented)"' in sent.text


def test_the_second_of_two_who_edit_is_told_and_sees_both(ivo):
    opened = fields_of(ivo.get(f"{SIX}/edit").text)
    send(ivo, f"{SIX}/edit", piston__rod_mm="151", note="First.", do="publish")

    late = opened | {"piston.rod_mm": "152", "note": "Second.", "do": "publish"}
    answer = ivo.post(f"{SIX}/edit", data=late)

    assert answer.headers["Location"] == f"{SIX}/difference?old=2&new=3"
    page = ivo.get(answer.headers["Location"]).text
    assert "Ivo Invented saved revision 2 while you were working" in page
    assert "kept as draft revision 3" in page
    assert "<td>151 mm</td><td><strong>152 mm" in page


def test_an_earlier_revision_comes_back_as_a_new_one(ivo):
    send(ivo, f"{SIX}/edit", piston__rod_mm="151", note="First.", do="publish")
    page = ivo.get(f"{SIX}?revision=1").text
    assert "Bring this revision back" in page

    fields = {"revision": "1", "note": "Measured wrongly."}
    ivo.send(f"{SIX}/publish", fields, seen=f"{SIX}?revision=1")

    assert "Revision 1 again: Measured wrongly." in ivo.get(SIX).text


def test_the_live_check_answers_with_findings_by_place_and_figures(ivo):
    fields = fields_of(ivo.get(f"{SIX}/edit").text)

    good = ivo.post("/sheets/check", data=fields | {"show": "1"}).json
    assert good["status"] == "Nothing found"
    assert "Secondary chain, bank A" in good["figures"]

    wrong = ivo.post("/sheets/check", data=fields | {"piston.rod_mm": "30"}).json
    assert "piston-rod_mm" in [one["at"] for one in wrong["said"]]

    unread = ivo.post("/sheets/check", data=fields | {"piston.rod_mm": "x"}).json
    assert unread["figures"] is None
    assert unread["said"][0]["severity"] == "cannot be read"


def test_the_live_check_needs_the_forms_token(ivo):
    assert ivo.post("/sheets/check", data={"title": "x"}).status_code == 400


def upload(client, text="", file=None, **more):
    data = {"csrf_token": client.form_token("/sheets/upload"), "text": text, "do": "save", **more}
    if file is not None:
        data["file"] = (io.BytesIO(file), "sheet.toml")
    return client.post("/sheets/upload", data=data, content_type="multipart/form-data")


def test_a_sheet_goes_out_and_comes_back_with_its_comments(ivo):
    answer = ivo.get(f"{SIX}/toml")
    assert answer.headers["Content-Disposition"].endswith('"demo-vee-six-revision-1.toml"')
    text = answer.get_data(as_text=True).replace("rod_mm = 150.0", "rod_mm = 151.0")

    saved = upload(ivo, file=text.encode(), note="Rod.")

    assert saved.headers["Location"] == f"{SIX}/difference?new=2"
    again = ivo.get(f"{SIX}/toml?revision=2").get_data(as_text=True)
    assert again.splitlines()[0] == text.splitlines()[0]
    assert "rod_mm = 151.0" in again


def test_a_syntax_error_is_shown_with_line_and_column_and_the_text_stays(ivo):
    answer = upload(ivo, 'id = "x"\ntitle = = <b>\n')

    assert answer.status_code == 422
    assert "at line 2, column 9" in answer.text
    assert "title = = &lt;b&gt;" in answer.text


def test_a_text_that_is_no_sheet_names_each_field_with_its_line(ivo):
    answer = upload(ivo, 'schema_version = 1\nid = "X y"\n')

    assert answer.status_code == 422
    assert re.search(r"Line 2: <strong>id</strong>", answer.text)
    assert "<strong>title</strong>" in answer.text


@pytest.mark.parametrize(("content", "words"), [(b"\xff\xfe\x00", "UTF-8"), (b"", "")])
def test_a_file_that_is_no_text_is_refused(ivo, content, words):
    answer = upload(ivo, file=content)

    assert answer.status_code == 422
    assert words in answer.text


def test_the_build_dates_a_revision_holds_for_are_shown(ivo):
    dates = {"built_from": "2015-01-01", "built_to": "2019-12-31"}

    send(ivo, f"{SIX}/edit", **dates, note="Early build.", do="publish")

    assert "for engines built from 2015-01-01 to 2019-12-31" in ivo.get("/sheets/").text
    backwards = {"built_from": "2020-01-01", "built_to": "2019-12-31"}
    answer = send(ivo, f"{SIX}/edit", **backwards, note="x", do="save")
    assert answer.status_code == 422
    assert "lies before built_from, 2020-01-01" in answer.text


def test_a_title_of_several_lines_or_pages_is_refused(ivo):
    for title in ("Two\nlines", "bell \x07", "x" * 201):
        answer = send(ivo, f"{SIX}/edit", title=title, note="x", do="save")

        assert answer.status_code == 422, title
        assert 'id="title"' in answer.text
