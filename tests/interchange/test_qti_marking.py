"""The exported rules of marking give what our own marking gives.

A second method: the few expressions of QTI 3.0 that exports use are evaluated here straight from
their definitions in the information model (Match, Equal, Index, Member, Lt, Gt, And, Multiple),
and the score is compared with `quizsvc.scoring.marking` over right, wrong and shuffled answers.
"""

import random

import pytest
from qti_packages import every_kind

from quizsvc.interchange.qti.interactions import place_id
from quizsvc.interchange.qti.writing import item_element
from quizsvc.items.banks.bank import bank_of
from quizsvc.items.banks.loading import shipped_banks
from quizsvc.items.banks.putting import bank_item
from quizsvc.scoring.marking import Answer, mark

BANKS = [*shipped_banks().values(), bank_of(every_kind(), "", {})]
ENTRIES = [(bank.written, entry) for bank in BANKS for entry in bank.entries]
MAYBE_ORDERED = {"ordered": list, "multiple": sorted}


def of_id(found):
    return found[1].family if isinstance(found, tuple) else None


class Processor:
    """Response processing over one answer; ``response`` is a value or a list of them."""

    def __init__(self, root, response):
        self.root, self.response = root, response
        declared = self.first("qti-response-declaration")
        self.cardinality, self.base = declared.get("cardinality"), declared.get("base-type")
        self.key = [one.text for one in declared.iter("{*}qti-value")]
        self.outcomes = {"SCORE": 0.0}

    def first(self, tag):
        return next(self.root.iter("{*}" + tag))

    def run(self):
        rules = self.first("qti-response-processing")
        if rules.get("template"):
            assert rules.get("template").endswith("/match_correct.xml")
            self.outcomes["SCORE"] = float(self.is_key())
        for rule in rules:
            self.apply(rule)
        return self.outcomes

    def apply(self, rule):
        if tag(rule) == "qti-set-outcome-value":
            self.outcomes[rule.get("identifier")] = self.value(rule[0])
            return
        assert tag(rule) == "qti-response-condition"
        for branch in rule:
            if tag(branch) == "qti-response-else" or self.value(branch[0]):
                for then in branch[1:]:
                    self.apply(then)
                return

    def is_key(self):
        if self.cardinality == "single":
            return self.response == self.key[0]
        arranged = MAYBE_ORDERED[self.cardinality]
        return arranged(self.response) == arranged(self.key)

    def value(self, one):  # noqa: C901, PLR0911 - one line for each expression
        parts = list(one)
        match tag(one):
            case "qti-variable":
                name = one.get("identifier")
                return self.response if name == "RESPONSE" else self.outcomes.get(name)
            case "qti-base-value":
                number = one.get("base-type") in {"float", "integer"}
                return float(one.text) if number else one.text
            case "qti-correct":
                return self.key[0] if self.cardinality == "single" else self.key
            case "qti-match":
                if tag(parts[1]) == "qti-correct":
                    return self.is_key()
                return self.value(parts[0]) == self.value(parts[1])
            case "qti-equal":
                tolerance = float(one.get("tolerance", "0"))
                apart = abs(float(self.value(parts[0])) - float(self.value(parts[1])))
                return apart <= tolerance + 1e-9
            case "qti-index":
                return self.value(parts[0])[int(one.get("n")) - 1]
            case "qti-lt":
                return self.value(parts[0]) < self.value(parts[1])
            case "qti-gt":
                return self.value(parts[0]) > self.value(parts[1])
            case "qti-and":
                return all(self.value(part) for part in parts)
            case "qti-member":
                return self.value(parts[0]) in self.value(parts[1])
            case "qti-multiple":
                values = [self.value(part) for part in parts]
                return [
                    v for one in values if one for v in (one if isinstance(one, list) else [one])
                ]
        raise AssertionError(tag(one))


def tag(one):
    return one.tag.rpartition("}")[2]


def answers(written, chance):  # noqa: C901, PLR0912 - one branch for each kind
    """Return answers as QTI gives them, each with the same answer as ours."""
    match written.kind:
        case "one choice":
            for i, option in enumerate(written.options):
                yield f"C{i + 1}", ("choices", [option.text])
        case "several choices":
            for _ in range(20):
                some = [i for i in range(len(written.options)) if chance.random() < 0.5] or [0]
                texts = [written.options[i].text for i in some]
                yield [f"C{i + 1}" for i in some], ("choices", texts)
            right = [i for i, option in enumerate(written.options) if option.correct]
            texts = [written.options[i].text for i in right]
            yield [f"C{i + 1}" for i in right], ("choices", texts)
        case "number":
            key, tolerance = written.answer.value, written.answer.tolerance
            tried = [key, key + tolerance, key - tolerance, key + 1.01 * tolerance + 1e-6]
            for value in [*tried, *(one.value for one in written.expected)]:
                yield value, ("number", value)
        case "order":
            things = list(written.sequence)
            for shuffle in range(40):
                if shuffle:
                    chance.shuffle(things)
                names = [f"_{t.id}" if t.id[0].isdigit() else t.id for t in things]
                yield names, ("sequence", tuple(t.text for t in things))
        case "match":
            left = [pair.left for pair in written.pairs]
            right = [pair.right for pair in written.pairs]
            for shuffle in range(20):
                order = list(range(len(left)))
                if shuffle:
                    chance.shuffle(order)
                pairs = tuple((left[i], right[j]) for i, j in enumerate(order))
                yield [f"L{i + 1} R{j + 1}" for i, j in enumerate(order)], ("pairs", pairs)
        case "point on a figure":
            for i, place in enumerate(written.places):
                yield place_id(i), ("point", place.at)


def ours(item, name, value):
    if name == "choices":
        texts = [option.text for option in item.options]
        return mark(item, Answer(choices=tuple(texts.index(one) for one in value)))
    return mark(item, Answer(**{name: value}))


@pytest.mark.parametrize("found", ENTRIES, ids=of_id)
def test_the_exported_rules_score_every_answer_as_we_do(found):
    bank, entry = found
    item, root = bank_item(entry, 3), item_element(bank, entry.written, lambda _: (900, 700))

    scores = set()
    for response, (name, value) in answers(entry.written, random.Random(5)):
        outcomes = Processor(root, response).run()
        assert (outcomes["SCORE"] == 1) is ours(item, name, value).correct
        scores.add(outcomes["SCORE"])

    assert 1.0 in scores


@pytest.mark.parametrize("found", ENTRIES, ids=of_id)
def test_the_exported_rules_give_the_reason_that_we_give(found):
    bank, entry = found
    item, root = bank_item(entry, 3), item_element(bank, entry.written, lambda _: (900, 700))
    modals = {
        one.get("identifier"): " ".join("".join(one.itertext()).split())
        for one in root.iter("{*}qti-modal-feedback")
    }

    for response, (name, value) in answers(entry.written, random.Random(6)):
        said = Processor(root, response).run().get("FEEDBACK")
        marked = ours(item, name, value)
        shown = {modals[one] for one in ([said] if isinstance(said, str) else said or [])}
        if entry.written.kind in {"one choice", "number", "point on a figure"}:
            assert shown <= {" ".join(marked.rationale.split())}
        if entry.written.kind == "order" and not marked.correct:
            assert shown
            assert any(one in marked.rationale for one in shown)
