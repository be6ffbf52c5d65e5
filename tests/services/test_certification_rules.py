"""Schemes, forms, sign-offs, decisions and certificates: what they keep to."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import timedelta

import pytest
from certifying import (
    CHECKLIST,
    TERMS,
    certify,
    publish_scheme,
    publish_version,
    sign_off_task,
    sit_written,
)
from workshop import NOON

from quizsvc.errors import ConflictError, InputError
from quizsvc.rules.certificate_life import CertificateDeed, CertificateState, months_after
from quizsvc.rules.schemes import BlueprintRow
from quizsvc.services.assigning import giving_out
from quizsvc.services.certifying import (
    admitting,
    appeals,
    cases,
    certificate_pages,
    deciding,
    form_supply,
    holders,
    kept_forms,
    revoking,
    schemes,
    shown_credentials,
    sign_off,
)
from quizsvc.services.watching import results
from quizsvc.store import candidate_forms

LATER = NOON + timedelta(hours=2)
pytestmark = pytest.mark.parametrize("workshop", ["sqlite"], indirect=True)


def form_of(crew, form_id):
    with crew.house.read() as connection:
        return candidate_forms.find_form(connection, form_id), candidate_forms.items_of(
            connection, form_id
        )


def test_a_blueprint_that_cannot_be_met_says_what_is_missing(crew):
    wanting = replace(TERMS, blueprint=(BlueprintRow("cooling", "diagnose", 3),))
    version = schemes.draft(crew.house, crew.ida, wanting, now=NOON)

    found = form_supply.supply(crew.house, crew.ida, version, now=NOON)

    assert "3 more of cooling, diagnose" in found.problem
    assert [(cell.wanted, cell.there) for cell in found.missing] == [(3, 0)]


def test_every_form_lies_within_the_stated_tolerance_and_can_be_built_again(crew):
    version = publish_scheme(crew)

    form_id = admitting.admit(crew.house, crew.ida, version, crew.ana.person_id, now=NOON)

    form, items = form_of(crew, form_id)
    targets = json.loads(form.built)["targets"]
    assert abs(form.expected - targets["expected"]) <= targets["expected_tolerance"] + 1e-9
    assert abs(form.information - targets["information"]) <= targets["information_tolerance"] + 1e-9
    families = [one.item_ref for one in items]
    assert len(set(families)) == len(families) == TERMS.counted
    assert kept_forms.rebuilt(crew.house, crew.max, form_id)[1]


def test_trial_questions_count_for_nothing(crew):
    tried = replace(
        TERMS,
        blueprint=(BlueprintRow("chain", "apply", 2), BlueprintRow("safety", "recall", 1)),
        pilot_items=("bank:workshop/percent",),
        pilots=1,
    )
    version = publish_scheme(crew, tried)

    form_id = sit_written(crew, version, crew.ana)

    case = cases.case(crew.house, crew.max, form_id, now=LATER)
    assert (case.report.points, case.report.out_of, case.pilots) == (3, 3, 1)
    _, items = form_of(crew, form_id)
    assert [one.item_ref for one in items if one.pilot] == ["bank:workshop/percent"]


def test_a_change_makes_a_new_version_and_certificates_keep_theirs(crew):
    first = publish_scheme(crew)
    certify(crew, first, crew.ana)
    second = schemes.new_version(crew.house, crew.ida, first, now=LATER)
    schemes.change(crew.house, crew.ida, second, replace(TERMS, valid_months=6))
    publish_version(crew, second)

    (line,) = certificate_pages.own(crew.house, crew.ana, now=LATER)

    assert line.version == 1
    assert line.valid_until == months_after(line.issued_at, 24)
    with pytest.raises(ConflictError, match="replaced"):
        admitting.admit(crew.house, crew.ida, first, crew.ben.person_id, now=LATER)
    with pytest.raises(ConflictError, match="stays as it is"):
        schemes.change(crew.house, crew.ida, second, TERMS)


def publish_wide(crew, **changes):
    """A scheme of families alone: its tries bring new numbers, and no question is used up."""
    families = (BlueprintRow("chain", "apply", 3),)
    return publish_scheme(crew, replace(TERMS, title="Wide", blueprint=families, **changes))


def test_between_tries_the_waiting_time_has_to_pass(crew):
    version = publish_wide(crew, tries=2)
    sit_written(crew, version, crew.ana, right=False)

    with pytest.raises(ConflictError, match="waiting time"):
        admitting.admit(crew.house, crew.ida, version, crew.ana.person_id, now=LATER)

    later = NOON + timedelta(days=15)
    second = sit_written(crew, version, crew.ana, right=False, now=later)
    assert form_of(crew, second)[0].nth == 2


def test_hand_written_questions_seen_before_do_not_come_again(crew):
    version = publish_scheme(crew)
    sit_written(crew, version, crew.ana, right=False)

    # The workshop's bank holds just one question for each of these rows.
    with pytest.raises(InputError, match="1 more of safety, recall"):
        admitting.admit(
            crew.house, crew.ida, version, crew.ana.person_id, now=NOON + timedelta(days=15)
        )


def test_after_the_last_try_there_is_none(crew):
    version = publish_wide(crew, tries=1)
    sit_written(crew, version, crew.ana, right=False)

    with pytest.raises(ConflictError, match="no try left"):
        admitting.admit(
            crew.house, crew.ida, version, crew.ana.person_id, now=NOON + timedelta(days=60)
        )


def test_one_critical_step_missed_fails_the_task(crew):
    version = publish_scheme(crew)
    token = sign_off.begin(crew.house, crew.ida, version, "chain", crew.ana.person_id, now=NOON)

    passed = sign_off.hand_in(crew.house, crew.ida, token, {1, 3}, "", now=NOON)

    assert not passed
    page = sign_off.look(crew.house, crew.ida, token)
    assert page.missed == ("Crankshaft turned by hand, two turns",)


def test_where_two_persons_are_asked_one_is_not_enough(crew):
    version = publish_scheme(crew, replace(TERMS, tasks=(replace(CHECKLIST, two_persons=True),)))
    form_id = sit_written(crew, version, crew.ana)
    token = sign_off_task(crew, version, crew.ana)
    assert "“Replace a timing chain” is not signed off" in missing(crew, form_id)

    sign_off.confirm(crew.house, crew.ina, token, now=LATER)

    assert missing(crew, form_id) == ()


def missing(crew, form_id):
    return cases.case(crew.house, crew.max, form_id, now=LATER).missing


def test_a_score_below_the_cut_is_not_certified_whoever_decides(crew):
    version = publish_scheme(crew)
    form_id = sit_written(crew, version, crew.ana, right=False)
    sign_off_task(crew, version, crew.ana)

    with pytest.raises(ConflictError, match="0 points are fewer than the 4 needed"):
        deciding.decide(crew.house, crew.max, form_id, certify=True, reason="", now=LATER)

    assert deciding.decide(crew.house, crew.max, form_id, certify=False, reason="", now=LATER)


def test_a_question_declared_void_changes_the_score_and_the_decision_is_made_anew(crew):
    version = publish_scheme(crew)
    form_id = certify(crew, version, crew.ana)
    form, _ = form_of(crew, form_id)
    results.void(crew.house, crew.ida, form.assignment_id, 1, "The picture was wrong.", now=LATER)

    case = cases.case(crew.house, crew.max, form_id, now=LATER)
    assert case.changed
    assert (case.report.points, case.report.out_of, case.void) == (5, 5, 1)
    deciding.decide(crew.house, crew.max, form_id, certify=True, reason="Marked anew.", now=LATER)

    after = cases.case(crew.house, crew.max, form_id, now=LATER)
    assert not after.changed
    assert [one.state.value for one in after.earlier] == ["replaced"]
    assert len(certificate_pages.own(crew.house, crew.ana, now=LATER)) == 1


def test_an_appeal_is_answered_by_somebody_who_did_not_decide(crew):
    version = publish_scheme(crew)
    form_id = sit_written(crew, version, crew.ana, right=False)
    deciding.decide(crew.house, crew.max, form_id, certify=False, reason="", now=LATER)
    (result,) = appeals.own_results(crew.house, crew.ana, now=LATER)
    appeals.appeal(crew.house, crew.ana, result.decision.id, "The room was noisy.", now=LATER)

    with pytest.raises(PermissionError, match="whoever decided"):
        appeals.answer_appeal(
            crew.house, crew.max, result.decision.id, upheld=True, answer="Yes.", now=LATER
        )
    appeals.answer_appeal(
        crew.house, crew.ina, result.decision.id, upheld=True, answer="It was.", now=LATER
    )

    (after,) = appeals.own_results(crew.house, crew.ana, now=LATER)
    assert after.appeal.upheld
    with pytest.raises(ConflictError):
        appeals.appeal(crew.house, crew.ana, result.decision.id, "Once more, please.", now=LATER)


def test_suspension_shows_at_once_everywhere_and_ends_again(crew):
    certify(crew, publish_scheme(crew), crew.ana)
    (line,) = certificate_pages.own(crew.house, crew.ana, now=LATER)
    text = certificate_pages.credential_file(
        crew.house, crew.ana, line.token, signed_token=True, now=LATER
    )

    def do(deed):
        revoking.do(crew.house, crew.max, line.token, deed, "A complaint.", now=LATER)
        return shown_credentials.check_file(crew.house, text, now=LATER).valid

    assert not do(CertificateDeed.SUSPENDED)
    with crew.house.read() as connection:
        assert holders.valid_certificates(connection, crew.ana.shop_id, now=LATER) == ()
    assert do(CertificateDeed.REINSTATED)


def test_renewal_opens_before_the_end_and_counts_on_from_it(crew):
    version = publish_scheme(crew)
    certify(crew, version, crew.ana)
    (first,) = certificate_pages.own(crew.house, crew.ana, now=LATER)
    with pytest.raises(ConflictError, match="no renewal yet"):
        admitting.admit(crew.house, crew.ida, version, crew.ana.person_id, now=LATER)

    soon = first.valid_until - timedelta(days=30)
    wide = first.valid_until + timedelta(days=1)
    assert certificate_pages.own(crew.house, crew.ana, now=soon)[0].renewable
    assert (
        certificate_pages.own(crew.house, crew.ana, now=wide)[0].state is CertificateState.EXPIRED
    )


def test_renewed_in_time_the_new_certificate_runs_from_the_old_ones_end(crew):
    version = publish_wide(crew)
    certify(crew, version, crew.ana)
    (first,) = certificate_pages.own(crew.house, crew.ana, now=LATER)
    soon = first.valid_until - timedelta(days=30)

    certify(crew, version, crew.ana, now=soon)

    second = certificate_pages.own(crew.house, crew.ana, now=soon + timedelta(days=1))[0]
    assert second.valid_until == months_after(first.valid_until, 24)


def test_a_prerequisite_has_to_be_held(crew):
    base = publish_scheme(crew)
    scheme_id = schemes.listed(crew.house, crew.max)[0].scheme_id
    wide = replace(
        TERMS,
        title="Advanced",
        blueprint=(BlueprintRow("chain", "apply", 3),),
        needs_schemes=(scheme_id,),
    )
    advanced = publish_scheme(crew, wide)

    with pytest.raises(ConflictError, match="no valid certificate that this scheme asks for"):
        admitting.admit(crew.house, crew.ida, advanced, crew.ana.person_id, now=NOON)

    certify(crew, base, crew.ana)
    assert admitting.admit(crew.house, crew.ida, advanced, crew.ana.person_id, now=LATER)


def test_a_prerequisite_that_was_lost_meanwhile_stops_the_decision(crew):
    base = publish_scheme(crew)
    scheme_id = schemes.listed(crew.house, crew.max)[0].scheme_id
    certify(crew, base, crew.ana)
    advanced = publish_wide(crew, needs_schemes=(scheme_id,))
    form_id = sit_written(crew, advanced, crew.ana, now=LATER)
    sign_off_task(crew, advanced, crew.ana, now=LATER)
    (held,) = certificate_pages.own(crew.house, crew.ana, now=LATER)

    revoking.do(
        crew.house, crew.max, held.token, CertificateDeed.SUSPENDED, "A complaint.", now=LATER
    )

    with pytest.raises(ConflictError, match="no valid certificate of “Timing chains"):
        deciding.decide(crew.house, crew.max, form_id, certify=True, reason="", now=LATER)


def test_a_test_withdrawn_before_it_was_begun_uses_up_no_try(crew):
    version = publish_wide(crew, tries=1)
    first = admitting.admit(crew.house, crew.ida, version, crew.ana.person_id, now=NOON)
    with pytest.raises(ConflictError, match="under way"):
        admitting.admit(crew.house, crew.ida, version, crew.ana.person_id, now=NOON)

    giving_out.withdraw(crew.house, crew.ida, form_of(crew, first)[0].assignment_id, now=NOON)

    assert admitting.admit(crew.house, crew.ida, version, crew.ana.person_id, now=NOON) > first
