"""The shop's own engine sheet: published twice, a draft beside, answers resting on the first."""

from datetime import UTC, datetime

from quizsvc.config import settings_from
from quizsvc.demo.keeping import ensure_demo
from quizsvc.demo.own_sheet import ENGINE
from quizsvc.rules.actors import Role
from quizsvc.services import accounts, sheet_changes, sheet_pages
from quizsvc.services.house import House

NOW = datetime(2026, 3, 2, 12, tzinfo=UTC)


def test_the_shops_own_sheet_has_a_history_that_touches_people(tmp_path):
    settings = settings_from({"QUIZSVC_INSTANCE": str(tmp_path)})
    made = ensure_demo(settings, learners=3, fresh=False, now=NOW, progress=lambda *_: None)
    house = House.open(settings)
    name = made.sign_ins[Role.INSTRUCTOR.value][1]
    token = accounts.sign_in(house, name, made.password, now=NOW, source="test")
    instructor = accounts.actor_for_token(house, token, now=NOW)

    page = sheet_pages.sheet_page(house, instructor, ENGINE)
    between = sheet_changes.compare(house, instructor, ENGINE, 1, 2)
    house.close()

    assert [(row.revision, row.state.value) for row in page.revisions] == [
        (3, "draft"), (2, "published"), (1, "published"),
    ]  # fmt: skip
    assert page.row.invented
    assert [one.where for one in between.differences] == ["Intake opens before TDC"]
    assert between.people
