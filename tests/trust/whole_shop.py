"""A shop in which every route has something to show, beside another shop that must not see it."""

from __future__ import annotations

import io
from dataclasses import dataclass, replace
from datetime import timedelta
from pathlib import Path

import numpy as np
from certifying import TERMS, Crew, certify, make_crew, publish_scheme, room_of, with_changes
from classroom import BLANK, WRITTEN, save
from paper.printed_sheets import filled, photographed, printed
from PIL import Image
from sqlalchemy import text
from workshop import NOON, Workshop, hashed_password, open_house, stock
from written_items import CHOICE, WRONG, approved, decided, put, saved, with_bank, with_key

from quizsvc.items.model import Kind
from quizsvc.rules.actors import Actor, Role
from quizsvc.rules.assignments import Form, Terms
from quizsvc.rules.job_needs import JobNeeds, TopicNeed
from quizsvc.rules.reviewing import Deed
from quizsvc.services import (
    calendar_feed,
    edit_sheets,
    import_report,
    invite,
    practise,
    shop_jobs,
    studies_due,
)
from quizsvc.services.assigning import drafting, giving_out, questions
from quizsvc.services.assigning.drafting import Audience
from quizsvc.services.certifying import panels, schemes, sign_off
from quizsvc.services.on_paper import documents, printed_items, printing, sheet_pictures
from quizsvc.services.on_paper.documents import Document
from quizsvc.services.people import NewPerson, enrol
from quizsvc.services.pictures import SentPicture, keep_picture
from quizsvc.services.shown import Given
from quizsvc.services.sitting import beginning
from quizsvc.sheets.loading import shipped_sheets

LATER = NOON + timedelta(hours=3)
ASKED_AT = NOON + timedelta(hours=6)  # the application's clock
# Who asks: the shop's own people, and those of the other shop. Ana is the learner to whom offers
# and sittings belong; Ida leads her class, Iris leads nobody.
OWN = {"L": "ana", "l": "ben", "I": "ida", "i": "iris", "M": "max", "A": "ada"}
OTHERS = {"L": "oda", "I": "oli", "M": "oma", "A": "olaf"}
PICTURED = {
    "id": "pictured",
    "kind": "one choice",
    "topic": "signals",
    "level": "recall",
    "prompt": "What colour has the field in this picture, looked at in daylight?",
    "reference": "common practice, no source",
    "options": [
        {"text": "Grey", "correct": True, "rationale": "All three channels are equally strong."},
        {"text": "Blue", "rationale": "No channel stands out from the others."},
        {"text": "Pink", "rationale": "Red is as weak as the other channels."},
    ],
}
WITHDRAWN = PICTURED | {
    "id": "gone",
    "topic": "cooling",
    "caution": "Hot coolant and hot parts scald: let them cool, and follow the maker's steps.",
    "prompt": "Which part holds coolant back until an engine is warm?",
    "options": [
        {"text": "Thermostat", "correct": True, "rationale": "Its wax melts and opens it."},
        {"text": "Radiator", "rationale": "Heat leaves there, nothing is held back."},
        {"text": "Impeller", "rationale": "Turning, it moves what comes to it."},
    ],
}
GONE = "bank:ours/gone"
SENTINEL = "Zwiebelturm"  # in words that only those who keep a thing may read


@dataclass(frozen=True)
class WholeShop:
    """The closed house's folder, and what the addresses of its routes are filled with."""

    folder: Path
    values: dict[str, dict[str, object]]  # by endpoint, or "" for all others


def furnish(folder: Path, address: str = "") -> WholeShop:
    house = open_house(address or _address(folder), folder, upgrade=True)
    shop_id, people = stock(house, folder)
    workshop = Workshop(house, shop_id, people)
    _more_people(workshop)
    crew = make_crew(workshop)
    values = _things(crew)
    house.close()
    return WholeShop(folder, values)


def reopened(folder: Path, address: str = ""):
    return open_house(address or _address(folder), folder)


def _address(folder: Path) -> str:
    return f"sqlite:///{folder / 'quizsvc.sqlite3'}"


def _more_people(workshop: Workshop) -> None:
    other = workshop.people["oda"].shop_id
    wanted = [("ada", workshop.shop_id, Role.ADMINISTRATOR), ("oli", other, Role.INSTRUCTOR)]
    wanted += [("oma", other, Role.MANAGER), ("olaf", other, Role.ADMINISTRATOR)]
    with workshop.house.write() as connection:
        for name, shop, role in wanted:
            new = NewPerson(name.title(), name, hashed_password(), {role})
            person_id = enrol(connection, None, shop, new, now=NOON)
            workshop.people[name] = Actor(person_id, name.title(), shop, frozenset({role}))


def _things(crew: Crew) -> dict[str, dict[str, object]]:
    house, ana, ada = crew.house, crew.ana, crew.workshop.people["ada"]
    with house.read() as connection:
        room = connection.scalar(text("SELECT max(id) FROM training_class"))
    _answered_often(crew)
    written = _written(crew)
    home, sitting = _homework(crew, room)
    offer = put(house, ana, LATER, saying=PICTURED["prompt"], topic="signals")
    printed_id = _printed(crew, room)
    form, decision, certificate, sign_off_token, begun = _certified(crew)
    wanted = invite.Wanted("Somebody", Role.LEARNER)
    job = shop_jobs.keep(
        house, crew.max, None, "Check timing", "", JobNeeds((TopicNeed("safety", 0.5),)), now=LATER
    )
    bench, judged, imported = _bench_offer(crew), _judged_scheme(crew), _import(crew)
    joining = invite.invite(house, ada, wanted, now=LATER)
    with house.read() as connection:
        invitation = connection.scalar(text("SELECT max(id) FROM invitation"))
        scheme = connection.scalar(text("SELECT min(id) FROM scheme"))
    return {
        "": {
            "person_id": ana.person_id,
            "class_id": room,
            "assignment_id": home,
            "invitation_id": invitation,
            "shop_id": ana.shop_id,
            "job_id": job,
            "test_id": printed_id,
            "copy": 1,
            "question": 1,
            "what": Document.KEY.value,
            "idea": "first-pin-counted",
            "item_ref": "bank:workshop/first-step",
            "family_id": "next-to-fire",
            "sheet_id": "ours",
            "number": 6,  # the question with a picture
            "place": 1,
            "form_id": form,
            "decision_id": decision,
            "scheme_id": scheme,
            "version": 1,
            "name": "key-1",
            **written,
        },
        "admin.change": {"deed": "rename"},
        "admin.change_class": {"deed": "put"},
        "admin.join": {"token": joining},
        "admin.use": {"token": joining},
        "bench.item_motion": {"token": bench},
        "bench.item_state": {"token": bench},
        "bank.work": {"job_id": imported},
        "bank.write_import": {"job_id": imported},
        "certificates": {"token": certificate, "version_id": _draft_scheme(crew)},
        "certificates.judge": {"version_id": judged},
        "certificates.estimate": {"version_id": judged},
        "certificates.confirm_sign_off": {"token": sign_off_token},
        "certificates.hand_in": {"token": begun},
        "certificates.sign_off_page": {"token": begun},
        "certificates.sign_off_picture": {"token": sign_off_token, "picture_id": 1},
        "classroom": {"token": sitting},
        "classroom.add": {"assignment_id": _draft_assignment(crew, room)},
        "classroom.feed": {"token": calendar_feed.new_feed(house, ana, now=LATER)},
        "classroom.run": {"deed": "pause"},
        "classroom.run_one": {"deed": "close"},
        "practise": {"token": offer},
        "static": {"filename": "css/tokens.css"},
        "verifying": {"token": certificate},
    }


def _answered_often(crew: Crew) -> None:
    """Answer every written item, so that there is something to study."""
    for _ in range(12):
        token = practise.put_next(crew.house, crew.ana, topic="safety", now=NOON)
        practise.answer(crew.house, crew.ana, token, Given(choices=(1,)), now=NOON)
    studies_due.study_due(crew.house, now=LATER, least=1)


def _homework(crew: Crew, room: int) -> tuple[int, str]:
    terms = replace(BLANK["home"], shuffled=False)
    home = drafting.draft(crew.house, crew.ida, terms, Audience(room), now=NOON)
    for ref in (*(f"bank:workshop/{item}" for item in WRITTEN), "bank:ours/pictured"):
        questions.add_bank_item(crew.house, crew.ida, home, item_ref=ref)
    giving_out.issue(crew.house, crew.ida, home, now=NOON)
    token = beginning.begin(crew.house, crew.ana, home, place="desk", now=LATER)
    save(room_of(crew), crew.ana, token, 1, Given(choices=(1,)), now=LATER)
    return home, token


def _draft_assignment(crew: Crew, room: int) -> int:
    terms = Terms("To be built", Form.HOMEWORK, NOON, None)
    return drafting.draft(crew.house, crew.ida, terms, Audience(room), now=LATER)


def _written(crew: Crew) -> dict[str, object]:
    """Make a bank with an item corrected once, its answers marked again, and a sheet."""
    house, ida, ina = crew.house, crew.ida, crew.ina
    bank = with_bank(house, ida, NOON)
    item = approved(house, ida, ina, NOON)
    wrong = with_key(CHOICE, WRONG)
    what = saved(house, ina, LATER, wrong, item_id=item.item_id, based_on=item.version)
    decided(house, ina, item.item_id, Deed.SENT, what.version, LATER)
    why = {"words": "The key was wrong.", "mark_again": True}
    remark = decided(house, ida, item.item_id, Deed.APPROVED, what.version, LATER, **why)
    content = shipped_sheets()["demo-inline-four"].model_dump(mode="json", exclude_none=True)
    content |= {"id": "ours", "title": f"Our own engine ({SENTINEL}, invented)", "note": ""}
    draft = edit_sheets.Draft(content, note="First.", publish=True)
    edit_sheets.save(house, ida, draft, now=LATER)
    content["valves"]["events"]["ivo_btdc"] += 4.0
    again = edit_sheets.Draft(content, 1, "Read again.", publish=True)
    edit_sheets.save(house, ida, again, sheet_id="ours", now=LATER)
    file = keep_picture(house, ida, grey_picture(), now=NOON)
    pictured = PICTURED | {"picture": file, "picture_alt": grey_picture().alt}
    approved(house, ida, ina, NOON, pictured)
    gone = approved(house, ida, ina, NOON, WITHDRAWN)
    decided(house, ida, gone.item_id, Deed.WITHDRAWN, gone.version, LATER, words="Out of date.")
    return {"bank_id": bank, "item_id": item.item_id, "remark_id": remark, "file": file}


def grey_picture() -> SentPicture:
    out = io.BytesIO()
    Image.new("RGB", (40, 30), "grey").save(out, "PNG")
    return SentPicture("grey", out.getvalue(), "A grey field and nothing more on it.")


def _printed(crew: Crew, room: int) -> int:
    """Print a test, and read one photograph of its first sheet."""
    terms = Terms("On paper", Form.HOMEWORK, NOON, None)
    assignment = drafting.draft(crew.house, crew.ida, terms, Audience(room), now=LATER)
    for item in ("first-step", "several"):
        ref = f"bank:workshop/{item}"
        questions.add_bank_item(crew.house, crew.ida, assignment, item_ref=ref)
    made = printing.print_test(crew.house, crew.ida, assignment, variants=1, now=LATER)
    pdf = documents.document(crew.house, crew.ida, made, Document.ANSWERS)
    with crew.house.read() as connection:
        items = printed_items.items_shown(connection, made, 1)
    assert {item.kind for _, item in items} <= {Kind.ONE_CHOICE, Kind.SEVERAL_CHOICES}
    chance = np.random.default_rng(4)
    marks = {1: "A"}
    photo = photographed(
        filled(printed(pdf), printed_items.options_of(items), marks, chance), chance
    )
    (read,) = sheet_pictures.read_pictures(crew.house, crew.ida, [("photo", photo)], now=LATER)
    assert read.well, read.says
    return made


def _certified(crew: Crew) -> tuple[int, int, str, str, str]:
    version = publish_scheme(crew, TERMS)
    form = certify(crew, version, crew.ana, now=LATER)
    token = sign_off.begin(crew.house, crew.ida, version, "chain", crew.ana.person_id, now=LATER)
    shot = [grey_picture().content]
    sign_off.hand_in(crew.house, crew.ida, token, {1, 2}, "seen", shot, now=LATER)
    begun = sign_off.begin(crew.house, crew.ida, version, "chain", crew.ben.person_id, now=LATER)
    with crew.house.read() as connection:
        decision = connection.scalar(text("SELECT max(id) FROM decision"))
        certificate = connection.scalar(text("SELECT max(token) FROM certificate"))
    return form, decision, certificate, token, begun


def _draft_scheme(crew: Crew) -> int:
    return schemes.draft(crew.house, crew.ina, with_changes(title="To be made"), now=LATER)


def _judged_scheme(crew: Crew) -> int:
    version = schemes.draft(crew.house, crew.max, with_changes(title="To be judged"), now=LATER)
    judges = frozenset({crew.ida.person_id, crew.ina.person_id})
    panels.open_panel(crew.house, crew.max, version, judges, now=LATER)
    return version


def _bench_offer(crew: Crew) -> str:
    for _ in range(300):
        token = practise.put_next(crew.house, crew.ana, topic="valves", now=LATER)
        item = practise.open_offer(crew.house, crew.ana, token, now=LATER)
        if item.bench is not None:
            return token
    raise AssertionError("no bench item came")


def _import(crew: Crew) -> int:
    content = (Path(__file__).parents[1] / "web" / "bank-of-every-kind.toml").read_bytes()
    content = content.replace(b'\nid = "', b'\nid = "x-', 1)
    return import_report.ask_for_report(
        crew.house, crew.ida, file="bank.toml", content=content, now=LATER
    )
