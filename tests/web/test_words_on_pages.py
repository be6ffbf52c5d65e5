"""How numbers, sentences and answers are written."""

import pytest

from quizsvc.items.model import Step
from quizsvc.web import words


@pytest.mark.parametrize(
    ("step", "shown"),
    [
        (Step("Cam angle of one tooth", 10.0, "°"), "10°"),
        (Step("The rod reaches up", 136.4332996, "mm"), "136.4\N{NO-BREAK SPACE}mm"),
        (Step("Below the other", -3.25, "mm"), "−3.25\N{NO-BREAK SPACE}mm"),
        (Step("Belt force", 153552935.4, "N"), "153552935\N{NO-BREAK SPACE}N"),
        (Step("Look at it"), ""),
        (Step("Drop: 186 − 140.2 = 45.8 mm.", 45.819, "mm"), ""),
        (Step("In all: 4-5-6.", (4, 5, 6)), ""),
        (Step("In all", (4, 5, 6)), "4, 5, 6"),
        (Step("It lies in: intake.", "intake"), ""),
        (Step("Counted 32, specified 33: 1 pin too few.", -1), ""),
        (Step("Pins missing", -1, "pins"), "−1\N{NO-BREAK SPACE}pins"),
    ],
)
def test_a_step_shows_its_number_unless_its_text_states_it(step, shown):
    assert words.step_value(step) == shown


def test_a_firing_order_is_not_broken_across_lines_and_html_stays_words():
    shown = words.unbroken("<b>fires</b> 1-3-4-2")

    assert shown == '&lt;b&gt;fires&lt;/b&gt; <span class="unbroken">1-3-4-2</span>'


def test_a_prompt_may_be_emphasised_but_holds_no_html():
    shown = words.prompt("Turn **twice** <script>1</script>")

    assert "<strong>twice</strong>" in shown
    assert "<script" not in shown


@pytest.mark.parametrize(
    ("prompt", "told", "asked"),
    [
        ("It stands. How far? Answer in mm.", "It stands.", "How far? Answer in mm."),
        ("Drain it. Put the work in order.", "Drain it.", "Put the work in order."),
        ("Which is it?", "", "Which is it?"),
        (
            "It stands. On the bench, refit it. 0 off.",
            "It stands.",
            "On the bench, refit it. 0 off.",
        ),
    ],
)
def test_what_is_asked_stands_out_from_what_is_told(prompt, told, asked):
    assert words.prompt(prompt) == f'<p>{told} <span class="asked">{asked}</span></p>'


def test_a_prompt_that_plainly_asks_nothing_is_left_whole():
    assert words.prompt("The chain is off.") == "<p>The chain is off.</p>\n"


def test_a_prompt_that_ends_in_a_list_is_left_whole():
    assert 'class="asked"' not in words.prompt("Which?\n\n- one\n- two")


def test_the_parts_of_an_answer_are_told_apart():
    assert words.parts("drain, then fill") == ["drain", "fill"]
    assert words.parts("Arm: chain; Chain: sprocket") == ["Arm: chain", "Chain: sprocket"]


def test_broken_rules_are_told_one_by_one():
    said = "“A” comes before “B”: it is hot. “B” comes before “C”: it is cold."

    assert len(words.reasons(said)) == 2
    assert words.reasons("") == []


def test_letters_and_shares():
    assert words.letter(1) + words.letter(26) == "AZ"
    assert words.percent(0.456) == "46\N{NO-BREAK SPACE}%"
