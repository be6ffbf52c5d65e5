"""Colours keep the contrast that WCAG 2.2 asks for, on screen, in the dark and in print."""

import pytest

from quizsvc.figures.palette import DARK, GROUNDS, LIGHT, PRINT, TEXT_INKS, contrast, stylesheet
from quizsvc.figures.scene import Ink

PALETTES = {"light": LIGHT, "dark": DARK, "print": PRINT}


@pytest.mark.parametrize("name", PALETTES)
def test_every_ink_but_none_has_a_colour(name):
    assert set(PALETTES[name]) == set(Ink) - {Ink.NONE}


@pytest.mark.parametrize("ink", TEXT_INKS)
@pytest.mark.parametrize("ground", GROUNDS)
@pytest.mark.parametrize("name", PALETTES)
def test_words_stand_out_from_their_ground(name, ground, ink):
    palette = PALETTES[name]

    assert contrast(palette[ink], palette[ground]) >= 4.5


@pytest.mark.parametrize("ink", TEXT_INKS)
@pytest.mark.parametrize("name", PALETTES)
def test_lines_that_carry_meaning_stand_out_from_the_darkest_ground(name, ink):
    palette = PALETTES[name]

    assert contrast(palette[ink], palette[Ink.SHADE]) >= 3


def test_contrast_agrees_with_a_published_pair():
    # WCAG technique G18 and many checkers: #767676 on white is the lightest grey at 4.54:1.
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.005)


def test_the_stylesheet_recolours_lines_and_fills_of_every_ink():
    rules = stylesheet(DARK, "figure svg")

    assert f"figure svg .s-line{{stroke:{DARK[Ink.LINE]}}}" in rules
    assert f"figure svg .f-metal{{fill:{DARK[Ink.METAL]}}}" in rules
