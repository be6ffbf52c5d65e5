"""What is said after something was done to an item, and about work in the background."""

from __future__ import annotations

import json

from quizsvc.rules.reviewing import Deed
from quizsvc.services.authored import Saved
from quizsvc.services.background import JobRow, JobState

_DONE = {
    Deed.SENT: "It is in review now; another instructor approves it or gives it back.",
    Deed.RETURNED: "It is a draft again; its author reads what you said.",
    Deed.APPROVED: "It is approved; practice offers it from now on.",
    Deed.WITHDRAWN: "It is withdrawn; nobody is offered it any more.",
    Deed.COMMENTED: "Your comment stands in the history.",
}


def done(deed: Deed) -> str:
    return _DONE[deed]


def saved(what: Saved) -> str:
    """Say what became of a save, and whether somebody else saved meanwhile."""
    if what.unchanged:
        return "Nothing differs from the version that is there, so no new one was made."
    if what.overtook is None:
        return f"Saved as version {what.version}, a draft."
    other = what.overtook
    return (
        f"{other.author or 'Somebody'} saved version {other.version} while you were writing. "
        f"Both are kept: yours is version {what.version}. Compare them below, and send the one "
        "to review that is to stand."
    )


def written(job: JobRow) -> dict[str, object] | None:
    """Return what an import wrote, once it is done."""
    if job.kind != "bank import" or job.state is not JobState.DONE:
        return None
    result: dict[str, object] = json.loads(job.result)
    return result


_FIELDS = {"picture_alt": "what is seen on the picture", "prompt": "question", "id": "id"}


def field_words(field: str) -> str:
    """Return a field as people call it, with a capital.

    >>> field_words("option 1 text"), field_words("")
    ('Option 1 text', 'The item')
    """
    words = _FIELDS.get(field, field.replace("_", " ")) or "the item"
    return words[:1].upper() + words[1:]


def deed_words(deed: Deed) -> str:
    """Return a deed as a heading of the history."""
    return deed.value[:1].upper() + deed.value[1:]
