"""Prompts as safe HTML and as plain words."""

import pytest

from quizsvc.items.markdown import plain_words, render_prompt


@pytest.mark.parametrize(
    ("written", "shown"),
    [
        ("Turn *slowly*, **forwards**.", "<em>slowly</em>, <strong>forwards</strong>"),
        ("- one\n- two", "<li>one</li>"),
        ("1. one\n2. two", "<ol>"),
        ("| a | b |\n|---|---|\n| 1 | 2 |", "<td>1</td>"),
        ("`M8`", "<code>M8</code>"),
    ],
)
def test_the_kept_marks_are_rendered(written, shown):
    assert shown in render_prompt(written)


@pytest.mark.parametrize(
    "attack",
    [
        "<script>alert(1)</script>",
        "<img src=x onerror=alert(1)>",
        "[press](javascript:alert(1))",
        "![x](https://example.invalid/x.png)",
        "<https://example.invalid>",
        '<p onclick="x()">y</p>',
        "# heading",
        "> quotation",
        "```\ncode\n```",
    ],
)
def test_nothing_that_acts_or_leads_away_is_rendered(attack):
    html = render_prompt(attack)

    for part in ("<script", "<img", "<a ", "href", "<h1", "<blockquote", "<pre", "<p on"):
        assert part not in html


def test_plain_words_leave_the_marks_out():
    assert plain_words("Turn *it*\nby **hand**.\n\n- a\n- b") == "Turn it by hand. a b"
