"""What is typed to sign in."""

from __future__ import annotations

from flask_wtf import FlaskForm
from wtforms import PasswordField, StringField
from wtforms.validators import InputRequired, Length

LONGEST_NAME = 200
LONGEST_PASSWORD = 1000


class SignInForm(FlaskForm):  # type: ignore[misc]
    name = StringField(
        "Sign-in name",
        [InputRequired("Type your sign-in name."), Length(max=LONGEST_NAME)],
    )
    password = PasswordField(
        "Password",
        [InputRequired("Type your password."), Length(max=LONGEST_PASSWORD)],
    )
