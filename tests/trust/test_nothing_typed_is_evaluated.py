"""No pattern and no template from a person is evaluated: what is typed comes back as typed.

First the source: every place that could make text into a pattern, a template or a statement takes
one of ours, or stands in a list with the reason why it may. Then the pages: a text that every such
language would understand goes through every field for words and every search.
"""

from __future__ import annotations

import ast
import re
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urlencode

import pytest
from page_forms import PageForm
from senders import Sender, sending_for
from valid_forms import Sending
from visitors import address_of, values_for

import quizsvc

ROOT = Path(quizsvc.__file__).parent
PATTERNS = {
    "compile",
    "match",
    "search",
    "fullmatch",
    "sub",
    "subn",
    "findall",
    "finditer",
    "split",
}
EVALUATING = {"eval", "exec", "compile", "__import__"}
TEMPLATES = {"render_template_string", "from_string", "Template", "safe_substitute", "substitute"}
STATEMENTS = {"literal_column", "exec_driver_sql", "DDL"}
MOST = 20  # fields of a form that are tried one by one
# Module, and what is given there that is no constant: why that is not a person's.
ALLOWED = {
    ("cli/main.py", "module"): "of the table of commands above it",
    ("items/family.py", "f'{families.__name__}.{module.name}'"): "modules found in our package",
    (
        "items/misconception.py",
        "f'{misconceptions.__name__}.{module.name}'",
    ): "modules found in our package",
    ("items/bank_check/safety.py", "raised_by"): "of the rules in the same module",
    ("items/bank_check/safety.py", "spoken_of"): "of the rules in the same module",
    ("services/person_record.py", "_DEEDS[lack]"): "a sentence of the table above it",
    (
        "store/cards.py",
        "f'DELETE FROM item_search WHERE {gone}'",
    ): "our own words, values are bound",
    ("store/cards.py", "f'INSERT INTO item_search {put}'"): "our own words, values are bound",
    (
        "store/migrations/versions/0003_authoring.py",
        "f'INSERT INTO item_search {put}'",
    ): "our own words, no value in it",
    (
        "web/bank/fields.py",
        "f'{row}-(\\\\d{{1,2}})-(?!id|check)\\\\w+'",
    ): "names of rows of the form, from a table of ours",
    ("web/practise/forms.py", "f'{name}-(\\\\d{{1,3}})'"): "place or partner, said by the caller",
}

# What a template engine, a format string, a shell, Markdown, HTML, a spreadsheet and a regular
# expression would each make something else of. The product of the two numbers is told by nobody.
PRODUCT = str(1_234_321 * 3)
SUM = "1234321*3"
TYPED = f"={SUM} {{{{{SUM}}}}} ${{{SUM}}} {{0.__class__}} %(x)s *zq* (a+)+$ <zz\"'>"
OTHERS = f"{{%print({SUM})%}} #{{{SUM}}} <%={SUM}%> [zq](javascript:zq) \\1 <zz\"'>"
RAW = "<zz\"'>"
TOLD = re.compile(rf"{PRODUCT}|&lt;class |<class |href=\"javascript|built-in method")


def constant(node: ast.expr) -> bool:
    """Return whether an expression is a text of ours: written there, or a constant's name."""
    match node:
        case ast.Constant():
            return True
        case ast.Name(id=name) | ast.Attribute(attr=name):
            return name.strip("_").isupper()
        case ast.BinOp(left=left, right=right):
            return constant(left) and constant(right)
        case ast.JoinedStr(values=parts):
            return all(constant(part) for part in parts)
        case ast.FormattedValue(value=value):
            return constant(value)
    return False


def evaluated(tree: ast.AST) -> Iterator[ast.expr]:
    """Yield what is given to something that reads it as a pattern, template, or program."""
    statements = {"text"} if imports_text_of_sql(tree) else set()
    for node in ast.walk(tree):
        match node:
            case ast.Call(func=ast.Name(id=name), args=[given, *_]) if name in (
                EVALUATING | TEMPLATES | STATEMENTS | {"import_module"} | statements
            ):
                yield given
            case ast.Call(func=ast.Attribute(value=ast.Name(id="re"), attr=name), args=[given, *_]):
                if name in PATTERNS:
                    yield given
            case ast.Call(func=ast.Attribute(value=sentence, attr="format" | "format_map")):
                yield sentence
            case ast.Call(func=ast.Attribute(value=ast.Name(id="sa"), attr="text"), args=[given]):
                yield given
            case ast.Call(func=ast.Attribute(attr=name), args=[given, *_]):
                if name in TEMPLATES | STATEMENTS:
                    yield given
            case ast.BinOp(left=sentence, op=ast.Mod(), right=ast.Tuple() | ast.Dict()):
                yield sentence


def imports_text_of_sql(tree: ast.AST) -> bool:
    return any(
        isinstance(node, ast.ImportFrom)
        and node.module == "sqlalchemy"
        and any(one.name == "text" for one in node.names)
        for node in ast.walk(tree)
    )


def found_in_the_source() -> set[tuple[str, str]]:
    return {
        (str(path.relative_to(ROOT)), ast.unparse(given))
        for path in sorted(ROOT.rglob("*.py"))
        for given in evaluated(ast.parse(path.read_text(encoding="utf-8")))
        if not constant(given)
    }


def test_the_source_evaluates_no_text_but_its_own(say):
    found = found_in_the_source()

    say(f"nothing typed is evaluated: {len(found)} places take a text that is no constant")
    assert found - ALLOWED.keys() == set(), "make it a constant, or say here why it may be"
    assert ALLOWED.keys() - found == set(), "these are there no more"


@pytest.mark.parametrize(
    "line",
    [
        "eval(typed)",
        "re.compile(typed)",
        "re.sub(f'a{typed}', '', x)",
        "typed.format(1)",
        "typed % (1,)",
        "flask.render_template_string(typed)",
        "environment.from_string(typed)",
        "from sqlalchemy import text; connection.execute(text(f'SELECT {typed}'))",
        "connection.exec_driver_sql(typed)",
        "Template(typed)",
    ],
)
def test_each_way_to_evaluate_a_text_is_seen(line):
    assert [one for one in evaluated(ast.parse(line)) if not constant(one)]


def test_every_search_for_a_part_of_a_text_takes_wildcards_as_they_are():
    """LIKE knows % and _; whoever asks for a part lets SQLAlchemy escape them."""
    unescaped = [
        (path.name, ast.unparse(node))
        for path in sorted(ROOT.rglob("*.py"))
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute)
        if node.func.attr in {"like", "ilike", "contains", "icontains"}
        if not any(one.arg in {"autoescape", "escape"} for one in node.keywords)
    ]

    assert unescaped == []


def test_no_template_leaves_words_unescaped():
    templates = sorted((ROOT / "web" / "templates").rglob("*.html"))
    unescaped = [
        path.name
        for path in templates
        if re.search(r"\|\s*safe\b|autoescape\s+false|\|\s*map\(['\"]safe", path.read_text())
    ]

    assert len(templates) > 50
    assert unescaped == []


def words_of(form: PageForm | None) -> list[str]:
    """Return the fields that may hold words: what holds a number on the page can't."""
    if form is None:
        return []
    shown = dict(form.fields)
    names = [name for name in form.texts if not re.search(r"\d", shown.get(name, ""))]
    return sorted(names, key=lambda name: not shown.get(name))


def pages_about(premises, endpoint: str) -> list[str]:
    """Return the addresses of all pages of a route's place."""
    place = endpoint.partition(".")[0]
    rules = [one for one in premises.app.url_map.iter_rules() if "GET" in one.methods]
    near = [one for one in rules if one.endpoint.partition(".")[0] == place]
    values = premises.shop.values
    return [address_of(premises.app, one, values_for(one, values)) for one in near]


def wrong_in(answer) -> list[str]:
    """Return what in an answer was evaluated, or came back as markup."""
    if not answer.mimetype.startswith(("text/", "application/json")):
        return []
    found = TOLD.findall(answer.text)
    return found + ([RAW] if answer.mimetype == "text/html" and RAW in answer.text else [])


class Typist:
    """Types the text into a form's fields, and looks at what comes back and at pages near by."""

    def __init__(self, premises, forms) -> None:
        self.premises, self.sender = premises, Sender(premises, forms)
        self.fields, self.pages, self.taken = 0, 0, Counter()
        self.wrong: list[tuple[str, str, list[str]]] = []

    def type_into(self, endpoint: str) -> None:
        sending = sending_for(endpoint, self.sender.forms)
        names = words_of(self.sender.form_of(endpoint, sending))
        self.fields += len(names)
        if names and not self.taken_with(endpoint, sending, TYPED, names):
            names = [
                one for one in names[:MOST] if self.taken_with(endpoint, sending, TYPED, [one])
            ]
        for typed in (TYPED, OTHERS) if names else ():
            answer = self.taken_with(endpoint, sending, typed, names)
            if answer is not None:
                self.taken[endpoint] += len(names)
                self.look_around(endpoint, sending, answer)

    def taken_with(self, endpoint: str, sending: Sending, typed: str, names: list[str]):
        """Return the answer if the form is taken with this typed into these fields, else None."""
        request = self.sender.request(endpoint, sending, self.sender.begin(sending))
        request.fields.update(dict.fromkeys(names, typed))
        answer = request.ask()
        self.look(endpoint, str(names), answer)
        return answer if answer.status_code in {200, 302} else None

    def look_around(self, endpoint: str, sending: Sending, answer) -> None:
        visitor = self.premises.visitors[sending.who]
        pages = {answer.location} if answer.location else set()
        for page in pages | set(pages_about(self.premises, endpoint)):
            self.look(endpoint, page, visitor.ask("GET", page))

    def look(self, endpoint: str, where: str, answer) -> None:
        self.pages += 1
        found = wrong_in(answer)
        if found or answer.status_code >= 500:
            self.wrong.append((endpoint, where, found or [str(answer.status_code)]))


def test_what_is_typed_into_any_field_comes_back_as_typed(premises, forms, say):
    typist = Typist(premises, forms)
    for endpoint in sorted(typist.sender.rules):
        if sending_for(endpoint, forms):
            typist.type_into(endpoint)
    premises.put_back()

    say(
        f"nothing typed is evaluated: {typist.fields} fields for words, "
        f"{typist.taken.total()} times taken, {typist.pages} pages looked at"
    )
    assert typist.wrong == []
    assert len(typist.taken) > 20
    assert typist.taken.total() > 60


# Who searches where, for what is there, and how a line found is known.
BY_NAME = [
    ("M", "/people/", "an", r'href="/people/\d+"'),
    ("M", "/shop/", "an", r'href="/shop/people/\d+'),
]
WILDCARDS = ["%", "_", "%an%", "_n_", "an%", "*", "a*", "?", "[a-z]", ".*", "^a", "(a+)+$", "\\"]
LANGUAGES = ['"', "'", '"an', "NEAR(a b)", "words:an", "-an", "a:*", "a & b", "!a", "{{7}}", "^a"]


def lines_found(premises, who: str, page: str, words: str, line: str) -> list[str]:
    answer = premises.visitors[who].ask("GET", f"{page}?{urlencode({'words': words})}")
    assert answer.status_code == 200, (words, answer.text)
    return re.findall(line, answer.text)


@pytest.mark.parametrize(("who", "page", "known", "line"), BY_NAME)
def test_a_search_for_a_part_of_a_name_reads_no_pattern(premises, who, page, known, line):
    found = {words: lines_found(premises, who, page, words, line) for words in (*WILDCARDS, known)}

    assert found.pop(known), "it finds what is there"
    assert {words: lines for words, lines in found.items() if lines} == {}


def test_a_search_for_items_reads_no_pattern_and_no_language(premises):
    """Whatever is not a word parts words: the same is found without it."""
    line = r'entries__words" href="/bank/items/\d+"'

    def found(words: str) -> list[str]:
        return lines_found(premises, "I", "/bank/", words, line)

    for words in ("thermo*stat", "th?rmostat", "th_rmostat", "coo%lant", '"coolant', "coolant*)"):
        assert found(words) == found(re.sub(r"[\W_]+", " ", words)), words
    for words in (*WILDCARDS, *LANGUAGES):
        found(words)
    assert found("coolant")
    for language in ("coolant NOT thermostat", "coolant OR thermostat", "coolant -thermostat"):
        words = re.findall(r"\w+", language.casefold())
        assert found(language) == found(" ".join(words)), language
        assert set(found(language)) == set(found(" ".join(reversed(words)))), language
