"""`quizsvc bank export` and `quizsvc bank import` as a person calls them."""

import pytest
from click.testing import CliRunner
from items.bank_texts import CHOICE, EVERY_KIND, HEAD
from qti_packages import CHOICE_BODY, foreign_item, foreign_package, picture

from quizsvc.cli.main import quizsvc
from quizsvc.items.banks.loading import SHIPPED, load_bank


@pytest.fixture
def call():
    return lambda *words: CliRunner().invoke(quizsvc, ["bank", *[str(word) for word in words]])


@pytest.fixture
def bank(tmp_path):
    (tmp_path / "media").mkdir()
    (tmp_path / "media" / "wheels.png").write_bytes(picture())
    path = tmp_path / "sound.toml"
    path.write_text(EVERY_KIND, encoding="utf-8")
    return path


def test_a_bank_goes_to_qti_and_comes_back_equal_with_its_pictures(call, bank, tmp_path):
    out, into = tmp_path / "out.zip", tmp_path / "back" / "again.toml"
    into.parent.mkdir()

    exported = call("export", bank, "--to", "qti", out)
    imported = call("import", out, "--into", into)

    assert exported.output == f"6 items in {out}.\n"
    assert imported.output == f"6 of 6 items in {into}.\n"
    assert load_bank(into).written == load_bank(bank).written
    assert (into.parent / "media" / "wheels.png").read_bytes() == picture()


def test_a_shipped_bank_goes_out_with_the_shipped_pictures_and_passes_the_check(call, tmp_path):
    out, into = tmp_path / "out.zip", tmp_path / "again.toml"

    call("export", SHIPPED / "tensioners.toml", "--to", "qti", out)
    call("import", out, "--into", into)
    checked = call("check", into)

    assert checked.exit_code == 0, checked.output


def test_csv_tells_what_it_leaves_out_and_comes_back(call, bank, tmp_path):
    out, into = tmp_path / "out.csv", tmp_path / "again.toml"

    exported = call("export", bank, "--to", "csv", out)
    imported = call("import", out, "--into", into)

    assert "two-blades: left out: the item: an item of" in exported.output
    assert exported.output.endswith(f"2 items in {out}, 4 left out.\n")
    assert imported.exit_code == 0
    assert load_bank(into).written.items == load_bank(bank).written.items[:2]


def test_a_foreign_package_is_told_item_by_item(call, tmp_path):
    package, into = tmp_path / "foreign.zip", tmp_path / "again.toml"
    essay = '<qti-extended-text-interaction response-identifier="RESPONSE"/>'
    package.write_bytes(
        foreign_package(foreign_item(CHOICE_BODY), foreign_item(essay, identifier="essay"))
    )

    result = call("import", package, "--into", into, "--topic", "wear", "--author", "Ann")

    assert "essay: left out: its interaction is of the kind 'extended-text':" in result.output
    assert result.output.endswith(f"1 of 2 items in {into}; notes: 1 left out, 1 filled in.\n")
    assert load_bank(into).author == "Ann"
    assert load_bank(into).written.items[0].topic == "wear"


def test_nothing_that_is_there_is_written_over(call, bank, tmp_path):
    out = tmp_path / "out.zip"
    call("export", bank, "--to", "qti", out)
    before = bank.read_bytes()

    over_bank = call("import", out, "--into", bank)
    (bank.parent / "media" / "wheels.png").write_bytes(picture(size=(5, 5)))
    over_picture = call("import", out, "--into", tmp_path / "new.toml")

    assert (over_bank.exit_code, over_picture.exit_code) == (1, 1)
    assert "there already" in over_bank.output
    assert "another picture" in over_picture.output
    assert bank.read_bytes() == before
    assert not (tmp_path / "new.toml").exists()


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("no.zip", b"no zip", "zip archive"),
        ("no.csv", b"a,b\n", "does not name the columns"),
        ("none.zip", foreign_package(foreign_item("<p>?</p>")), "none of its 1 item"),
    ],
)
def test_what_can_t_be_read_is_told_in_one_line(call, tmp_path, name, content, said):
    (tmp_path / name).write_bytes(content)

    result = call("import", tmp_path / name, "--into", tmp_path / "x.toml")

    assert result.exit_code == 1
    assert said in result.output.splitlines()[-1]
    assert not (tmp_path / "x.toml").exists()


def test_files_and_folders_that_are_not_there_are_named(call, tmp_path):
    (tmp_path / "b.toml").write_text(HEAD + CHOICE, encoding="utf-8")

    missing = call("import", tmp_path / "gone.zip", "--into", tmp_path / "x.toml")
    nowhere = call("export", tmp_path / "b.toml", "--to", "qti", tmp_path / "no" / "x.zip")

    assert "can't be read" in missing.output
    assert "can't be written" in nowhere.output
