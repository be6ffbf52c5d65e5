"""What measurement standards ask of a scheme, point by point: met by what here, or not met.

The points follow ISO/IEC 17024:2012, the NCCA Standards of 2014 and the AERA/APA/NCME Standards
of 2014. It is a self-assessment of the program and the scheme, no accreditation.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from quizsvc.rules.schemes import SchemeTerms


class Meets(StrEnum):
    MET = "met"
    PARTLY = "partly met"
    NOT_MET = "not met"


@dataclass(frozen=True, slots=True)
class Point:
    asked: str
    meets: Meets
    by: str


@dataclass(frozen=True, slots=True)
class SchemeFacts:
    """What is known of a version beside its terms."""

    judges: int  # who finished their estimates
    has_cut: bool
    scores: int  # decided on so far
    consistency: bool  # whether those scores bear an estimate


def standards_met(terms: SchemeTerms, facts: SchemeFacts) -> tuple[Point, ...]:
    """Return every point with how it is met; nothing is glossed over."""
    return (
        _job_analysis(terms),
        Point(
            "A versioned blueprint, enforced in assembly",
            Meets.MET,
            "each version keeps its terms; a form that misses a row of the blueprint is not built",
        ),
        _workflow(terms),
        *_panel(facts),
        Point(
            "Equivalent forms",
            Meets.MET,
            f"expected score of somebody at the cut within {terms.expected_tolerance:g} points, "
            f"information within {terms.information_share:.0%}, shown for each form",
        ),
        _reliability(facts),
        Point(
            "Reports with standard error and decision",
            Meets.MET,
            "each decision keeps score, its standard error, cut, borderline band and sections",
        ),
        _sittings(terms),
        Point(
            "Item security: limited exposure, a log of access",
            Meets.PARTLY,
            f"a hand-written question stands in at most {terms.most_exposed} forms a year, "
            "families bring new numbers each time; who opens an item's page is not logged",
        ),
        Point(
            "Retakes without reuse of a form",
            Meets.MET,
            f"{terms.tries} tries, {terms.wait_days} days between; hand-written questions seen "
            "before stay out, families bring new numbers",
        ),
        Point(
            "Appeals and complaints",
            Meets.PARTLY,
            "a candidate appeals on their own page, and who decided does not answer; complaints "
            "about anything else are not kept here",
        ),
        Point(
            "Records kept, and an audit trail",
            Meets.MET,
            "decisions are replaced and never changed; every step stands in the chained audit log",
        ),
        _independence(terms),
        Point(
            "Expiry, suspension, renewal, verification",
            Meets.MET,
            f"{terms.valid_months} months; renewal opens {terms.renew_from_days} days before the "
            "end; a public page, a signed credential and a status list tell how it stands",
        ),
    )


def _job_analysis(terms: SchemeTerms) -> Point:
    asked = "A job analysis linked to the topics"
    if not terms.job_analysis.strip():
        return Point(asked, Meets.NOT_MET, "no job analysis is written down in the terms")
    return Point(asked, Meets.MET, "stands in the terms, beside the blueprint")


def _workflow(terms: SchemeTerms) -> Point:
    asked = "Item workflow: author is not reviewer, history, trial questions that don't count"
    tried = (
        f"{terms.pilots} trial questions in each form count for nothing"
        if terms.pilots
        else "no trial questions are named in this version"
    )
    meets = Meets.MET if terms.pilots else Meets.PARTLY
    return Point(asked, meets, f"only approved questions and reviewed families are used; {tried}")


def _panel(facts: SchemeFacts) -> tuple[Point, Point]:
    judged = Point(
        "Records of the panel",
        Meets.MET if facts.judges else Meets.NOT_MET,
        f"estimates of {facts.judges} judges are kept, question by question"
        if facts.judges
        else "no panel has finished yet",
    )
    cut = Point(
        "A dossier of the cut score: judges, ratings, standard error, approval",
        Meets.MET if facts.has_cut else Meets.NOT_MET,
        "kept with the version, with who approved it"
        if facts.has_cut
        else "no cut score is approved yet",
    )
    return judged, cut


def _reliability(facts: SchemeFacts) -> Point:
    asked = "Reliability, standard error and decision consistency"
    if facts.consistency:
        words = f"estimated from {facts.scores} scores (KR-21, Subkoviak, Livingston-Lewis)"
        return Point(asked, Meets.MET, words)
    words = (
        "each score has its binomial standard error; a group's reliability is not estimated yet "
        f"({facts.scores} scores so far)"
    )
    return Point(asked, Meets.PARTLY, words)


def _sittings(terms: SchemeTerms) -> Point:
    asked = "Standardised sittings that can be taken up again, with accommodations"
    kept = "the server's clock, answers kept as they are given, extra minutes for a person"
    if terms.invigilated:
        return Point(asked, Meets.MET, f"{kept}; started by a code shown in the room")
    return Point(asked, Meets.PARTLY, f"{kept}; nobody watches the room in this version")


def _independence(terms: SchemeTerms) -> Point:
    asked = "The trainer does not certify their own trainees alone; confidentiality"
    if terms.independent_decision:
        words = (
            "a decision by whoever taught or assessed waits for somebody who did not; strangers "
            "see only name, scheme, dates and whether it stands"
        )
        return Point(asked, Meets.MET, words)
    words = "this version lets a candidate's own instructor decide alone"
    return Point(asked, Meets.NOT_MET, words)
