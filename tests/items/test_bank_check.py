"""`quizsvc bank check`: each finding proven by a bank that is broken in just that way."""

import pytest
from bank_texts import CHOICE, EVERY_KIND, HEAD, MATCH, NUMBER, ORDER, POINT, SEVERAL
from PIL import Image

from quizsvc.errors import InputError
from quizsvc.items.bank_check.checking import check_path
from quizsvc.items.bank_check.safety import HAZARDS, hazards_in


@pytest.fixture
def checked(tmp_path):
    """Return a function that checks the text of a bank beside a folder with one picture."""
    media = tmp_path / "media"
    media.mkdir()
    Image.new("RGB", (160, 100), "white").save(media / "wheels.png")

    def check(text):
        (tmp_path / "bank.toml").write_text(text, encoding="utf-8")
        return check_path(tmp_path / "bank.toml").faults

    return check


def the_one(faults, check):
    (fault,) = [fault for fault in faults if fault.check == check]
    return fault


def test_a_sound_bank_of_every_kind_has_no_findings(checked):
    assert checked(EVERY_KIND) == ()


def test_a_right_option_that_is_clearly_the_longest_is_found(checked):
    longer = "It is renewed, the leak is mended, wheels and covers are cleaned of all their oil"

    text = HEAD + CHOICE.replace("It is renewed and the leak is mended", longer)

    fault = the_one(checked(text), "giveaway-length")

    assert longer in text.splitlines()[fault.line - 1]
    assert fault.field == "option 1 text"
    assert "clearly the longest (81 against 41)" in fault.problem
    assert "Shorten it" in fault.remedy


def test_right_options_of_several_that_are_clearly_longer_are_found(checked):
    text = SEVERAL.replace("Its face is cleaned", "Its face is cleaned of what old sealant left")
    text = text.replace("Its gasket is renewed", "Its gasket is renewed if it was pressed once")

    assert the_one(checked(HEAD + text), "giveaway-length")


def item_of_lengths(number, right, wrong):
    """Return an item whose right option and each wrong one have so many characters."""
    subject = ("belt", "chain", "guide", "pump", "seal", "shaft", "valve", "cover")[number]
    texts = [
        f"{subject} {letter}".ljust(right if letter == "a" else wrong, "x") for letter in "abcd"
    ]
    options = "".join(
        f'  {{ text = "{text}", correct = {"true" if text == texts[0] else "false"}, '
        f'rationale = "Because of the {subject}, as one sees." }},\n'
        for text in texts
    )
    head, _, _ = CHOICE.partition("options = [")
    head = head.replace("belt-wet", subject).replace(
        "A dry belt is found wet with engine oil", subject
    )
    return f"{head}options = [\n{options}]\n".replace(
        "What is done with it", f"{subject} or {subject}"
    )


@pytest.mark.parametrize(("word", "right", "wrong"), [("longest", 34, 30), ("shortest", 30, 34)])
def test_a_bank_whose_right_options_are_mostly_of_one_length_is_found(checked, word, right, wrong):
    alike = [item_of_lengths(number, right, wrong) for number in range(4)]
    others = [item_of_lengths(number, wrong, wrong) for number in range(4, 8)]

    fault = the_one(checked(HEAD + "".join(alike + others)), "giveaway-length")

    assert (fault.field, fault.value) == ("items", "4 of 8")
    assert f"the {word} " in fault.problem


@pytest.mark.parametrize(
    ("article", "right", "odd"),
    [
        ("an", "oiled part that is put aside for now", "washed part that is dried and used"),
        ("a", "new part of just the same kind as before", "old part that is turned round and used"),
    ],
)
def test_an_article_that_fits_only_some_options_is_found(checked, article, right, odd):
    text = CHOICE.replace("What is done with it?", f"What goes on is {article}:")
    text = text.replace("It is renewed and the leak is mended", right)
    text = text.replace("It is washed with solvent and dried", odd)

    fault = the_one(checked(HEAD + text), "giveaway-grammar")

    assert f"ends with '{article}'" in fault.problem


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ("It is renewed and the leak is mended.", "alone ends with a full stop"),
        ("it is renewed and the leak is mended", "alone begins without a capital"),
    ],
)
def test_a_right_option_that_alone_is_written_differently_is_found(checked, changed, said):
    text = HEAD + CHOICE.replace("It is renewed and the leak is mended", changed)

    assert said in the_one(checked(text), "giveaway-grammar").problem


@pytest.mark.parametrize(
    "words", ["All of the above are needed", "None of these would help", "Both of them are done"]
)
def test_an_option_that_speaks_of_the_others_is_found(checked, words):
    text = HEAD + CHOICE.replace("It is fitted again the other way round", words)

    assert the_one(checked(text), "giveaway-catch-all").field == "option 3 text"


def test_absolutes_that_stand_only_in_wrong_options_are_found(checked):
    text = CHOICE.replace("It is washed with solvent", "It is always washed with solvent")
    text = text.replace("It is fitted again the other", "It is never fitted the other")

    assert the_one(checked(HEAD + text), "giveaway-absolutes").value == "always, never"
    firm = text.replace("It is renewed and", "It is always renewed and")
    assert checked(HEAD + firm) == ()


def test_an_item_that_nearly_repeats_another_is_found_with_where_the_other_stands(checked):
    again = CHOICE.replace("belt-wet", "belt-oily").replace("A dry belt", "One dry belt")

    fault = the_one(checked(HEAD + CHOICE + again), "near-duplicate")

    assert fault.item == "belt-oily"
    assert "those of belt-wet" in fault.problem
    assert "bank.toml:10" in fault.problem


def test_near_duplicates_are_found_across_the_files_of_a_folder(tmp_path):
    (tmp_path / "a.toml").write_text(HEAD + CHOICE, encoding="utf-8")
    (tmp_path / "b.toml").write_text((HEAD + CHOICE).replace("sound", "other", 1), encoding="utf-8")

    report = check_path(tmp_path)

    assert [(fault.check, fault.file[-6:]) for fault in report.faults] == [
        ("near-duplicate", "b.toml")
    ]
    assert (report.banks, report.items) == (2, 2)


def test_two_banks_of_one_id_in_a_folder_are_found(tmp_path):
    (tmp_path / "a.toml").write_text(HEAD + CHOICE, encoding="utf-8")
    (tmp_path / "b.toml").write_text(HEAD + ORDER, encoding="utf-8")

    assert [fault.check for fault in check_path(tmp_path).faults] == ["key-id"]


@pytest.mark.parametrize(
    ("text", "good", "field"),
    [
        (CHOICE, "Solvent carries the oil into the fabric.", "option 2 rationale"),
        (CHOICE, "Oil swells rubber that was made to run dry.", "option 1 rationale"),
        (NUMBER, "The blades lie on one another: 0.25 + 0.15.", "answer rationale"),
        (NUMBER, "The difference of the blades was taken.", "expected 1 rationale"),
        (ORDER, "Dirt under the cover makes it leak.", "before 1 why"),
        (MATCH, "Its thickness is known.", "pair 1 rationale"),
        (POINT, "It has the smaller diameter.", "place 1 rationale"),
    ],
)
@pytest.mark.parametrize("instead", ["", "Wrong."])
def test_a_reason_that_is_missing_or_says_nothing_is_found(checked, text, good, field, instead):
    fault = the_one(checked(HEAD + text.replace(good, instead)), "no-rationale")

    assert fault.field == field
    assert fault.remedy.startswith("Say ")


def test_a_named_misconception_serves_as_a_wrong_options_reason(checked):
    text = CHOICE.replace(
        'rationale = "Solvent carries the oil into the fabric."',
        'misconception = "all-belts-stand-oil"',
    )

    assert checked(HEAD + text) == ()


@pytest.mark.parametrize(
    ("words", "hazard"),
    [
        ("the tensioner pin is pulled", "spring"),
        ("a spring tensioner's locking bolt comes out", "spring"),
        ("the plunger is pressed back", "spring"),
        ("the engine is hot", "heat"),
        ("coolant is let out", "heat"),
        ("the car is on a lift", "lifting"),
        ("the engine is jacked up", "lifting"),
        ("the battery stays in", "battery"),
        ("high-voltage cables cross the cover", "battery"),
        ("the crank is rotated", "rotation"),
        ("you turn the engine by its bolt", "rotation"),
        ("it runs at idling speed", "rotation"),
        ("it is an interference engine", "interference"),
        ("a valve may touch a piston", "interference"),
    ],
)
def test_a_hazard_without_a_caution_is_found_and_one_that_speaks_of_it_suffices(
    checked, words, hazard
):
    text = HEAD + CHOICE.replace("What is done with it?", f"And {words}. What is done with it?")

    fault = next(f for f in checked(text) if f.check == "no-caution" and hazard in f.problem)
    assert fault.remedy.startswith("Add a caution that says ")

    said = " ".join(h.say for h in HAZARDS)
    warned = text.replace('level = "apply"', f'level = "apply"\ncaution = "Mind {said}."')
    assert checked(warned) == ()


def test_a_caution_about_something_else_does_not_suffice(checked):
    text = CHOICE.replace('level = "apply"', 'level = "apply"\ncautions = ["spring"]')
    text = text.replace("A dry belt", "On a hot engine a dry belt")

    assert "heat" in the_one(checked(HEAD + text), "no-caution").problem


@pytest.mark.parametrize(
    "words",
    ["full valve lift", "maximum lift of the cam", "the turn of the year", "a crank sprocket"],
)
def test_words_of_the_trade_that_are_no_hazard_raise_none(words):
    assert hazards_in(words) == ()


@pytest.mark.parametrize(
    ("good", "bad", "check", "said"),
    [
        ('"wheels.png"', '"none.png"', "picture-file", "no such file"),
        (
            "Two wheels side by side, one of them small and the other large.",
            "",
            "picture-text",
            "no text that says what is seen",
        ),
        (
            "one of them small and the other large",
            "and the larger one stands on the right",
            "picture-text",
            "holds the right answer",
        ),
        ("at = [120.0, 50.0]", "at = [180.0, 50.0]", "picture-file", "outside the picture"),
    ],
)
def test_a_picture_that_is_missing_or_has_no_text_is_found(checked, good, bad, check, said):
    assert said in the_one(checked((HEAD + POINT).replace(good, bad)), check).problem


def test_a_text_for_a_picture_that_is_not_named_is_found(checked):
    text = HEAD + CHOICE.replace('level = "apply"', 'level = "apply"\npicture_alt = "A belt."')

    assert the_one(checked(text), "picture").field == "picture_alt"


def test_a_script_that_calls_itself_a_picture_is_found(checked, tmp_path):
    (tmp_path / "media" / "wheels.png").write_text("<svg onload='x()'/>", encoding="utf-8")

    assert "no picture that can be read" in the_one(checked(HEAD + POINT), "picture-file").problem


def test_a_picture_of_too_many_pixels_is_found_without_unpacking_it(checked, tmp_path):
    Image.new("1", (9000, 7000)).save(tmp_path / "media" / "wheels.png")

    assert "9000 × 7000 pixels" in the_one(checked(HEAD + POINT), "picture-file").problem


@pytest.mark.parametrize(
    ("good", "bad", "said"),
    [
        ("What is done with it?", "And so on. " * 40 + "What now?", "the prompt has"),
        (
            "What is done with it?",
            "What is done with it " + "and with the next one " * 8 + "?",
            "a sentence has",
        ),
        ("A dry belt is found wet with engine oil. What is done with it?", "What?", "understood"),
        (
            "It is fitted again the other way round",
            "It is fitted again " + "and again " * 13,
            "it has",
        ),
    ],
)
def test_a_text_that_nobody_reads_to_its_end_is_found(checked, good, bad, said):
    faults = checked((HEAD + CHOICE).replace(good, bad))

    assert said in the_one(faults, "unreadable").problem


@pytest.mark.parametrize("mark", ["<b>wet</b>", "![wet](x.png)", "[wet](page)", "```wet```"])
def test_marks_that_a_prompt_does_not_show_are_found(checked, mark):
    assert the_one(checked((HEAD + CHOICE).replace("found wet", f"found {mark}")), "markup")


def test_a_matter_of_style_can_be_kept_with_a_reason(checked):
    longer = "It is renewed, the leak is mended, wheels and covers are cleaned of all their oil"
    text = CHOICE.replace("It is renewed and the leak is mended", longer)
    kept = '\naccepted = [{ check = "giveaway-length", because = "names three parts" }]'

    assert checked(HEAD + text.replace('level = "apply"', f'level = "apply"{kept}')) == ()


@pytest.mark.parametrize("check", ["no-rationale", "no-caution", "picture-text", "key-two"])
def test_what_makes_an_item_wrong_or_unsafe_cannot_be_accepted(checked, check):
    kept = f'\naccepted = [{{ check = "{check}", because = "in a hurry" }}]'
    text = CHOICE.replace('level = "apply"', f'level = "apply"{kept}')

    assert the_one(checked(HEAD + text), "accepted").problem == "this can't be accepted."


def test_an_acceptance_of_nothing_is_found(checked):
    kept = '\naccepted = [{ check = "giveaway-length", because = "was long once" }]'
    text = CHOICE.replace('level = "apply"', f'level = "apply"{kept}')

    assert "nothing of the kind" in the_one(checked(HEAD + text), "accepted").problem


def test_a_folder_without_banks_and_a_path_that_is_not_there_are_named(tmp_path):
    with pytest.raises(InputError, match=r"no \*\.toml file"):
        check_path(tmp_path)
    with pytest.raises(InputError, match="can't be read"):
        check_path(tmp_path / "nowhere.toml")


def test_thousands_of_items_are_checked_against_each_other(tmp_path):
    # Words drawn apart, so that no two are alike but the last, which repeats the first.
    items = [
        CHOICE.replace("belt-wet", f"item-{n}")
        .replace(
            "A dry belt is found wet with engine oil. What is done with it?",
            " ".join(f"w{(n * 31 + k * k * 7) % 9973}" for k in range(9)) + "?",
        )
        .replace("It is renewed and the leak is mended", f"It is part {n} of heap {n * 3} on {n}")
        for n in range(2000)
    ]
    (tmp_path / "many.toml").write_text(
        HEAD + "".join(items) + items[0].replace("item-0", "item-last"), encoding="utf-8"
    )

    alike = [f for f in check_path(tmp_path).faults if f.check == "near-duplicate"]

    assert "item-last" in {fault.item for fault in alike}
    assert len(alike) < 20
