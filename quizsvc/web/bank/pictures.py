"""Pictures for hand-written items."""

from __future__ import annotations

from io import BytesIO

from flask import Response, flash, redirect, render_template, request, send_file, url_for
from werkzeug.wrappers import Response as BaseResponse

from quizsvc.errors import InputError
from quizsvc.services import pictures as picture_service
from quizsvc.services.pictures import SentPicture
from quizsvc.web.access import actor, login_required
from quizsvc.web.bank import forms
from quizsvc.web.bank.place import bank
from quizsvc.web.current import house, now
from quizsvc.web.uploads import refuse_other_files


@bank.get("/pictures")
@login_required
def pictures() -> str:
    found = picture_service.pictures_for(house(), actor())
    return render_template("bank/pictures.html", pictures=found, refusal=None)


@bank.post("/pictures")
@login_required
def keep_picture() -> BaseResponse | tuple[str, int]:
    try:
        file = picture_service.keep_picture(house(), actor(), _sent_picture(), now=now())
    except InputError as refusal:
        found = picture_service.pictures_for(house(), actor())
        return render_template("bank/pictures.html", pictures=found, refusal=refusal), 422
    flash(f"The picture is kept as {file}.")
    return redirect(url_for("bank.pictures"))


def _sent_picture() -> SentPicture:
    refuse_other_files()
    name, content = forms.sent_file("picture")
    return SentPicture(name, content, request.form.get("alt", ""))


@bank.get("/pictures/<file>")
@login_required
def picture(file: str) -> Response:
    content = picture_service.picture_for_author(house(), actor(), file)
    return send_file(BytesIO(content), download_name=file, conditional=False)
