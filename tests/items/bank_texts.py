"""Bank files for tests: one sound bank, to be broken in just one way."""

HEAD = """\
schema_version = 1
id = "sound"
title = "A sound bank"
author = "Test"
caution_first = "The maker's information comes first."

[cautions]
spring = "Hold the spring before its lock comes out."
"""

CHOICE = """
[[items]]
id = "belt-wet"
topic = "wear"
level = "apply"
kind = "one choice"
prompt = "A dry belt is found wet with engine oil. What is done with it?"
reference = "common practice, no source"
options = [
  { text = "It is renewed and the leak is mended", correct = true, rationale = "Oil swells rubber that was made to run dry." },
  { text = "It is washed with solvent and dried", rationale = "Solvent carries the oil into the fabric." },
  { text = "It is fitted again the other way round", rationale = "Its rubber is swollen on both sides alike." },
  { text = "It is tightened a little more than before", rationale = "Tension does nothing against swollen rubber." },
]
"""  # noqa: E501 - TOML keeps an inline table on one line

SEVERAL = """
[[items]]
id = "covers-clean"
topic = "procedure"
level = "recall"
kind = "several choices"
prompt = "Which of these belong to the work on a cover before it is fitted?"
reference = "common practice, no source"
options = [
  { text = "Its face is cleaned", correct = true, rationale = "Old sealant keeps the faces apart." },
  { text = "Its gasket is renewed", correct = true, rationale = "A gasket takes a set when pressed." },
  { text = "Its paint is polished", rationale = "Paint on the outside seals nothing." },
]
"""  # noqa: E501 - TOML keeps an inline table on one line

NUMBER = """
[[items]]
id = "two-blades"
topic = "fasteners"
level = "recall"
kind = "number"
prompt = "A gap just takes blades of 0.25 and 0.15 mm together. How wide is it?"
reference = "arithmetic"
answer = { value = 0.4, tolerance = 0.005, unit = "mm", decimals = 2, quantity = "gap_mm", rationale = "The blades lie on one another: 0.25 + 0.15." }
expected = [
  { value = 0.1, rationale = "The difference of the blades was taken." },
]
"""  # noqa: E501 - TOML keeps an inline table on one line

ORDER = """
[[items]]
id = "cover-order"
topic = "procedure"
level = "apply"
kind = "order"
prompt = "A cover with a gasket goes on. Put the steps in order."
reference = "common practice, no source"
sequence = [
  { id = "clean", text = "Clean the face" },
  { id = "gasket", text = "Seat the gasket" },
  { id = "bolts", text = "Tighten the bolts" },
]
before = [
  { first = "clean", later = "bolts", why = "Dirt under the cover makes it leak." },
  { first = "gasket", later = "bolts", why = "The gasket can't be put in afterwards." },
]
"""

MATCH = """
[[items]]
id = "tools-match"
topic = "procedure"
level = "recall"
kind = "match"
prompt = "Match each tool with what it measures."
reference = "common practice, no source"
pairs = [
  { left = "Feeler blade", right = "A gap", rationale = "Its thickness is known." },
  { left = "Dial gauge", right = "A travel", rationale = "Its pointer follows a pin." },
  { left = "Caliper", right = "A length", rationale = "Its jaws lie against both ends." },
]
others = ["A torque"]
"""

POINT = """
[[items]]
id = "wheel-point"
topic = "procedure"
level = "recall"
kind = "point on a figure"
prompt = "Point to the larger one of the two wheels."
reference = "invented for tests"
picture = "wheels.png"
picture_alt = "Two wheels side by side, one of them small and the other large."
places = [
  { name = "on the left", at = [40.0, 50.0], radius = 20.0, rationale = "It has the smaller diameter." },
  { name = "on the right", at = [120.0, 50.0], radius = 30.0, correct = true, rationale = "It has the larger diameter." },
]
"""  # noqa: E501 - TOML keeps an inline table on one line

EVERY_KIND = HEAD + CHOICE + SEVERAL + NUMBER + ORDER + MATCH + POINT
