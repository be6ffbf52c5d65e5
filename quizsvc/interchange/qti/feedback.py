"""What a person is told after the answer: reasons, worked steps, the source.

A reason belongs to what was answered and is shown by the outcome FEEDBACK; the solution is shown
whatever was answered. Information model: ModalFeedback.
"""

from __future__ import annotations

from collections.abc import Iterator

from quizsvc.interchange.qti.names import (
    FEEDBACK,
    FIELD,
    RIGHT,
    SOLUTION,
    Element,
    element,
    own,
)
from quizsvc.items.banks.schema import (
    AnyItem,
    ChoiceItem,
    MatchItem,
    NumberItem,
    OrderItem,
    PointItem,
    WrittenStep,
)

Reason = tuple[str, str]  # identifier of what it belongs to, and the reason


def reasons(item: AnyItem) -> tuple[Reason, ...]:
    """Return the reasons that are given, each for its answer."""
    return tuple((name, text) for name, text in _all_reasons(item) if text)


def has_solution(item: AnyItem) -> bool:
    return bool(item.steps) or bool(_pair_reasons(item))


def feedback_elements(item: AnyItem) -> Iterator[Element]:
    """Return the modal feedback of an item, reasons first."""
    for identifier, text in reasons(item):
        words = element("p", text=text)
        words.set(FIELD, "rationale")
        yield _modal(FEEDBACK, identifier, words)
    if has_solution(item):
        lines = [*_pair_reasons(item), *(_step(step) for step in item.steps)]
        yield _modal(SOLUTION, SOLUTION, element("ul", *lines))


def _all_reasons(item: AnyItem) -> Iterator[Reason]:
    match item:
        case ChoiceItem(options=options):
            yield from ((f"C{i}", one.rationale) for i, one in enumerate(options, 1))
        case NumberItem(answer=answer, expected=expected):
            yield RIGHT, answer.rationale
            yield from ((f"E{i}", one.rationale) for i, one in enumerate(expected, 1))
        case OrderItem(before=rules):
            yield from ((f"R{i}", rule.why) for i, rule in enumerate(rules, 1))
        case PointItem(places=places):
            yield from ((f"P{i}", one.rationale) for i, one in enumerate(places, 1))
        case MatchItem():
            return


def _pair_reasons(item: AnyItem) -> list[Element]:
    if not isinstance(item, MatchItem):
        return []
    given = [(f"L{i}", pair.rationale) for i, pair in enumerate(item.pairs, 1)]
    return [_line("pair", text, of=name) for name, text in given if text]


def _step(step: WrittenStep) -> Element:
    value = "" if step.value is None else repr(step.value)
    return _line("step", step.text, value=value, unit=step.unit)


def _line(field: str, text: str, **values: str) -> Element:
    made = element("li", text=text)
    made.set(FIELD, field)
    return own(made, **values)


def _modal(outcome: str, identifier: str, content: Element) -> Element:
    return element(
        "qti-modal-feedback",
        element("qti-content-body", content),
        outcome_identifier=outcome,
        identifier=identifier,
        show_hide="show",
    )
