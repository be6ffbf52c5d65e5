"""What is typed to sign in, and to prove anew who one is."""

from __future__ import annotations

from collections.abc import Mapping

from flask_wtf import FlaskForm
from wtforms import PasswordField, StringField
from wtforms.validators import InputRequired, Length

from quizsvc.services.typed_codes import TypedCode

LONGEST_NAME = 200
LONGEST_PASSWORD = 1000
LONGEST_CODE = 100


class SignInForm(FlaskForm):  # type: ignore[misc]
    name = StringField(
        "Sign-in name",
        [InputRequired("Type your sign-in name."), Length(max=LONGEST_NAME)],
    )
    password = PasswordField(
        "Password",
        [InputRequired("Type your password."), Length(max=LONGEST_PASSWORD)],
    )


def typed_code(fields: Mapping[str, str]) -> TypedCode:
    """Return the code typed, of the app or a recovery code, cut off where none goes on."""
    return TypedCode(
        fields.get("code", "")[:LONGEST_CODE], fields.get("recovery", "")[:LONGEST_CODE]
    )
