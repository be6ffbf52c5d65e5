"""Finished tests that asked an item otherwise: what would change, and doing one thing for all."""

from __future__ import annotations

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from quizsvc.errors import ConflictError, InputError, NotAllowedError, QuizsvcError
from quizsvc.rules.tests_again import Remedy, Shift
from quizsvc.services.tests_again import doing, planning
from quizsvc.services.tests_again.doing import Done, Wanted
from quizsvc.services.tests_again.planning import Plan
from quizsvc.web.access import actor, login_required
from quizsvc.web.bank.place import bank
from quizsvc.web.current import house, now


@bank.get("/items/<int:item_id>/tests")
@login_required
def tests_again(item_id: int) -> str:
    return _page(item_id)


@bank.post("/items/<int:item_id>/tests")
@login_required
def mark_tests_again(item_id: int) -> Response | tuple[str, int]:
    try:
        done = doing.mark_again(house(), actor(), item_id, _wanted(), now=now())
    except (InputError, ConflictError) as refusal:
        return _page(item_id, refusal), 422
    except NotAllowedError as refusal:
        return _page(item_id, refusal), 403
    flash(_said(done))
    return redirect(url_for("bank.tests_again", item_id=item_id))


@bank.app_template_filter()
def changes(plan: Plan, result: str, turned: str) -> str:
    """Return how many results one way would change, and how many of them cross their cut."""
    lines = plan.lines
    other = sum(
        (one.points, one.out_of) != (line.now.points, line.now.out_of)
        for line in lines
        for one in (getattr(line, result),)
    )
    crossed = [getattr(line, turned) for line in lines]
    words = [f"{other} of {len(lines)} result{'s' if len(lines) != 1 else ''} would change"]
    words += [f"{shift.value}: {crossed.count(shift)}" for shift in Shift if shift in crossed]
    return f"{', '.join(words)}."


def _wanted() -> Wanted:
    try:
        remedy = Remedy(request.form.get("remedy", ""))
    except ValueError:
        raise InputError(
            "nothing is chosen.", field="remedy", value="", remedy="Choose one of the two ways."
        ) from None
    return Wanted(remedy, request.form.get("why", ""), request.form.get("seen", ""))


def _page(item_id: int, refusal: QuizsvcError | None = None) -> str:
    plan = planning.plan_of(house(), actor(), item_id)
    return render_template("bank/tests_again.html", plan=plan, refusal=refusal, typed=request.form)


def _said(done: Done) -> str:
    sittings = f"{done.sittings} finished sitting{'s' if done.sittings != 1 else ''}"
    return f"Done for {sittings}; {done.changed} of them have another result now."
