"""Whatever numbers a sheet states, the check says what is wrong; it never breaks down itself."""

from typing import Any

from hypothesis import assume, given, settings
from hypothesis import strategies as st
from pydantic import ValidationError
from valid_sheets import SHIPPED, shipped

from quizsvc.sheets.check import check_sheet
from quizsvc.sheets.computed import computed_values
from quizsvc.sheets.references import reference_problems
from quizsvc.sheets.schema import EngineSheet

Place = tuple[str | int, ...]


def number_places(content: Any, place: Place = ()) -> list[Place]:
    if isinstance(content, dict):
        members = list(content.items())
    elif isinstance(content, list):
        members = list(enumerate(content))
    else:
        return [place] if type(content) in {int, float} else []
    return [found for key, value in members for found in number_places(value, (*place, key))]


CONTENTS = {name: shipped(name).model_dump(mode="json") for name in SHIPPED}
PLACES = [(name, place) for name in SHIPPED for place in number_places(CONTENTS[name])]


def changed(content: Any, place: Place, value: float) -> Any:
    if not place:
        return type_like(content, value)
    copy = dict(content) if isinstance(content, dict) else list(content)
    copy[place[0]] = changed(content[place[0]], place[1:], value)
    return copy


def type_like(old: float, value: float) -> float:
    return round(value) if isinstance(old, int) else value


@given(st.sampled_from(PLACES), st.floats(-800, 800), st.data())
@settings(max_examples=80, deadline=None)
def test_one_number_changed_to_anything(where, value, data):
    name, place = where
    content = changed(CONTENTS[name], place, value)
    if data.draw(st.booleans()):
        other = data.draw(st.sampled_from([p for n, p in PLACES if n == name]))
        content = changed(content, other, data.draw(st.floats(-50, 50)))
    try:
        sheet = EngineSheet.model_validate(content)
    except ValidationError:
        assume(False)
    assume(not reference_problems(sheet))

    findings, figures = check_sheet(sheet), computed_values(sheet)

    assert all(finding.message and finding.remedy for finding in findings)
    assert all(figure.value == figure.value for figure in figures)
