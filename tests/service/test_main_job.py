"""The main job from a measured child to a reviewed one, through the pages."""

from datetime import date, timedelta

import pytest
from sqlalchemy import Engine

from service.clock import StoppedClock
from service.db import reading
from service.facts import Child, Role
from service.store import children, signed
from shared.vocabulary import Laterality
from tests.people import TODAY, TestClinic
from tests.service.pages import forms_of, send, submit
from tests.service.signing import sign_two_hours
from tests.service.typed import BOTH_EYES, TRIAL_LENS


def signed_regimens(engine: Engine, child: Child):
    with reading(engine) as session:
        return signed.regimens(session, child)


def test_a_contact_lens_from_a_trial_lens_is_worked_out_shown_and_signed(signed_in, baby: Child, engine: Engine) -> None:
    orthoptist, optometrist = signed_in(Role.ORTHOPTIST), signed_in(Role.OPTOMETRIST)
    visit = submit(orthoptist, f"/children/{baby.public_id}/visits/new", **TRIAL_LENS).headers["location"]
    page = optometrist.get(f"{visit}/correction").text
    # trial +29.00, over-refraction +2.50 -1.00 x 180 at 12 mm: each meridian to the cornea, 2.5/(1-0.03) = 2.577 and 1.5/(1-0.018) = 1.527,
    # spherical equivalent 29 + 2.052 = 31.052, with +2.00 for near 33.052 (contact-lens arithmetic, worked out by hand)
    assert "+33.052 D" in page and "+2.577 D" in page and "+33.00 D" in page
    assert "Your role may work this out, not sign it" in orthoptist.get(f"{visit}/correction").text
    refused = submit(orthoptist, f"{visit}/correction", step="sign")
    assert refused.status_code == 403
    assert submit(optometrist, f"{visit}/correction", step="sign").status_code == 303
    with reading(engine) as session:
        (document,) = signed.corrections(session, children.child(session, baby.clinic_id, baby.public_id))
    assert document.content["eyes"]["left"]["power"] == 33.0 and document.signed_by == "optometrist of one"
    assert "+33.00 D" in orthoptist.get(f"/children/{baby.public_id}").text


def test_a_visit_without_a_refraction_says_so_calmly(signed_in, sam: Child) -> None:
    browser = signed_in(Role.OPTOMETRIST)
    visit = submit(browser, f"/children/{sam.public_id}/visits/new", **BOTH_EYES).headers["location"]
    first = browser.get(f"{visit}/correction")
    assert first.status_code == 200 and "nothing to work out" in first.text and "another look" not in first.text
    assert submit(browser, f"{visit}/correction", step="sign").status_code == 422


def test_spectacles_from_a_gross_refraction(signed_in, sam: Child) -> None:
    browser = signed_in(Role.OPTOMETRIST)
    typed = {"left_refraction_sphere": "+5.5", "left_refraction_kind": "gross", "left_working_distance_cm": "50", "left_refraction_vertex_distance_mm": "12"}
    visit = submit(browser, f"/children/{sam.public_id}/visits/new", **typed).headers["location"]
    page = browser.get(f"{visit}/correction").text
    # 50 cm takes off 1/0.5 m = 2.00 D (vergence, by definition): +3.50 at the same vertex distance
    assert "+3.50 D sphere" in page


def test_the_infants_dose_rises_by_completed_month_and_each_step_is_signed(signed_in, baby: Child, engine: Engine) -> None:
    browser = signed_in(Role.ORTHOPTIST)
    address = f"/children/{baby.public_id}/occlusion"
    page = browser.get(address).text
    assert "5 h a day" in page and "the child's RIGHT eye" in page
    looked = submit(browser, address, step="look", review_on="2026-04-27")
    assert looked.status_code == 200
    form = next(f for f in forms_of(looked.text) if "seen" in f.values)
    answer = send(browser, form, address, step="sign", cautions_read="on")
    assert answer.status_code == 303
    (one,) = signed_regimens(engine, baby)
    # born on 2 October: six completed months on 2 April
    assert [(d.from_on, d.minutes) for d in one.regimen.doses] == [(TODAY, 300), (date(2026, 4, 2), 360)]
    assert one.regimen.covered_eye is Laterality.RIGHT and one.signed_by == "orthoptist of one"
    assert one.content["proposal"]["finding"]["sources"]


def test_what_is_signed_is_what_was_seen(signed_in, baby: Child, engine: Engine) -> None:
    browser = signed_in(Role.ORTHOPTIST)
    address = f"/children/{baby.public_id}/occlusion"
    unseen = submit(browser, address, step="sign", cautions_read="on", review_on="2026-04-27")
    assert unseen.status_code == 422 and "changed since it was shown" in unseen.text and "26 Apr 2026" in unseen.text
    unread = submit(browser, address, step="sign")
    assert unread.status_code == 422 and "read the cautions" in unread.text
    assert signed_regimens(engine, baby) == []


def test_of_two_signers_the_second_is_told_and_supersedes_nothing_unseen(signed_in, baby: Child, engine: Engine) -> None:
    one, two = signed_in(Role.ORTHOPTIST), signed_in(Role.CLINICIAN)
    address = f"/children/{baby.public_id}/occlusion"
    of_one, of_two = (next(f for f in forms_of(b.get(address).text) if "seen" in f.values) for b in (one, two))
    assert send(one, of_one, address, step="sign", cautions_read="on").status_code == 303
    late = send(two, of_two, address, step="sign", cautions_read="on")
    assert late.status_code == 422 and "changed since it was shown" in late.text
    assert len(signed_regimens(engine, baby)) == 1


def test_a_correction_is_signed_as_it_was_seen(signed_in, baby: Child, engine: Engine) -> None:
    orthoptist, optometrist = signed_in(Role.ORTHOPTIST), signed_in(Role.OPTOMETRIST)
    visit = submit(orthoptist, f"/children/{baby.public_id}/visits/new", **TRIAL_LENS).headers["location"]
    form = next(f for f in forms_of(optometrist.get(f"{visit}/correction").text) if "seen" in f.values)
    assert submit(orthoptist, f"{visit}/correct", "version", left_trial_lens_dioptres="+20", reason="wrong box").status_code == 303
    late = send(optometrist, form, f"{visit}/correction", step="sign")
    assert late.status_code == 422 and "changed since it was shown" in late.text and "+24.00 D" in late.text
    other = send(optometrist, form, f"{visit}/correction", step="sign", left_near="4")
    assert other.status_code == 422, "nor with an order that was never worked out"
    with reading(engine) as session:
        assert signed.corrections(session, baby) == []


def test_the_review_of_a_child_who_was_never_seen_says_to_examine_first(signed_in, engine: Engine, clinic: TestClinic, sam: Child) -> None:
    browser = signed_in(Role.ORTHOPTIST)
    review, new = f"/children/{sam.public_id}/review", f"/children/{sam.public_id}/visits/new"
    sign_two_hours(engine, clinic, sam, date(2026, 2, 2), date(2026, 4, 13))
    unseen = browser.get(review).text
    assert "Examine first" in unseen and "decision=continue" not in unseen and new in unseen
    assert submit(browser, new, **BOTH_EYES).status_code == 303
    seen = browser.get(review).text
    assert "Examine first" not in seen and "decision=continue" in seen and "Proposed:" in seen


def test_a_pause_and_then_a_stop_from_the_same_page_are_two_deeds(signed_in, sam: Child, engine: Engine) -> None:
    browser = signed_in(Role.ORTHOPTIST)
    address = f"/children/{sam.public_id}/review"
    form = next(f for f in forms_of(browser.get(address).text) if "submission_key" in f.values)
    pause = {"step": "pause", "reason": "ill", "review_on": "2026-03-20"}
    assert [send(browser, form, address, **pause).status_code for _ in range(2)] == [303, 303]
    assert send(browser, form, address, step="stop", reason="ill").status_code == 303
    assert [s.regimen.phase for s in signed_regimens(engine, sam)] == ["pause", "stop"]


@pytest.mark.parametrize("typed", [{"review_on": "9999-12-31"}, {"start_on": "9999-01-01"}, {"start_on": "0001-01-01"}])
def test_an_absurd_year_is_refused_in_words(signed_in, baby: Child, typed: dict[str, str]) -> None:
    answer = submit(signed_in(Role.ORTHOPTIST), f"/children/{baby.public_id}/occlusion", step="look", **typed)
    assert answer.status_code == 422 and "is not a date" in answer.text


def test_pressure_of_the_other_eye_does_not_do(signed_in, baby: Child) -> None:
    browser = signed_in(Role.ORTHOPTIST)
    page = f"/children/{baby.public_id}"
    submit(browser, f"{page}/visits/new", on="2026-03-01", right_pressure_mmhg="14")
    assert "Pressure of the left eye: none recorded" in browser.get(page).text
    submit(browser, f"{page}/visits/new", left_pressure_mmhg="14")
    assert "Pressure of the left eye: none recorded" not in browser.get(page).text


def test_to_continue_keeps_the_signers_own_dose_and_to_taper_is_never_the_full_one(signed_in, sam: Child, engine: Engine, clinic: TestClinic) -> None:
    sign_two_hours(engine, clinic, sam, TODAY, TODAY + timedelta(days=20), minutes=420)
    browser = signed_in(Role.ORTHOPTIST)
    address = f"/children/{sam.public_id}/occlusion"
    assert "Sign 7 h a day until" in browser.get(f"{address}?decision=continue").text
    assert "Sign 2 h a day until" in browser.get(f"{address}?decision=taper").text, "from six hours or more down to two (ATS2C, as read)"


def test_the_button_speaks_every_step_of_the_dose(signed_in, baby: Child) -> None:
    page = submit(signed_in(Role.ORTHOPTIST), f"/children/{baby.public_id}/occlusion", step="look", review_on="2026-04-27").text
    assert "Sign 5 h, then 6 h a day until 27 Apr 2026" in page


def test_no_patch_against_a_proposal_needs_its_reason_and_no_time_is_no_occlusion(signed_in, baby: Child) -> None:
    browser = signed_in(Role.ORTHOPTIST)
    address = f"/children/{baby.public_id}/occlusion"
    without = submit(browser, address, step="look", phase="refractive-adaptation")
    assert without.status_code == 422 and "please say why" in without.text
    assert submit(browser, address, step="look", phase="refractive-adaptation", own_reason="skin").status_code == 200
    nothing = submit(browser, address, step="look", dose="own", own_hours="0", own_reason="x")
    assert nothing.status_code == 422 and "An occlusion of no time is none" in nothing.text


def test_a_plan_that_covers_the_eye_now_called_amblyopic_is_shouted_about(signed_in, sam: Child, engine: Engine, clinic: TestClinic) -> None:
    sign_two_hours(engine, clinic, sam, TODAY, TODAY + timedelta(days=20))
    browser = signed_in(Role.ORTHOPTIST)
    page = f"/children/{sam.public_id}"
    assert "covers the eye that is now recorded" not in browser.get(page).text
    assert submit(browser, f"{page}/particulars", "version", amblyopic_eye="right").status_code == 303
    assert "covers the eye that is now recorded" in browser.get(page).text


def test_covering_the_operated_eye_asks_for_a_reason_and_a_second_yes(signed_in, baby: Child, engine: Engine) -> None:
    browser = signed_in(Role.ORTHOPTIST)
    address = f"/children/{baby.public_id}/occlusion"
    asked = submit(browser, address, step="look", covered_eye="left")
    assert asked.status_code == 422 and "please say why" in asked.text
    asked = send(browser, next(f for f in forms_of(asked.text) if "covered_reason" in f.values), address, step="look", covered_reason="fellow eye fell behind")
    assert asked.status_code == 422 and "please confirm" in asked.text
    seen = send(browser, next(f for f in forms_of(asked.text) if "covered_reason" in f.values), address, step="look", covered_confirmed="on")
    assert seen.status_code == 200
    last = next(f for f in forms_of(seen.text) if "seen" in f.values)
    assert send(browser, last, address, step="sign", cautions_read="on").status_code == 303
    (one,) = signed_regimens(engine, baby)
    assert one.regimen.covered_eye is Laterality.LEFT and one.content["covered_reason"] == "fellow eye fell behind"


def test_where_no_dose_is_published_a_dose_of_ones_own_needs_its_reason(signed_in, sam: Child, engine: Engine) -> None:
    browser = signed_in(Role.ORTHOPTIST)
    address = f"/children/{sam.public_id}/occlusion"
    page = browser.get(address).text
    assert "Not enough is known" in page, "no acuity yet: the rules were not asked"
    without = submit(browser, address, step="look", own_hours="3")
    assert without.status_code == 422 and "needs a reason" in without.text
    assert submit(browser, address, step="look", own_hours="25").status_code == 422
    looked = submit(browser, address, step="look", own_hours="3", own_reason="our protocol")
    answer = send(browser, next(f for f in forms_of(looked.text) if "seen" in f.values), address, step="sign", cautions_read="on")
    assert answer.status_code == 303
    (one,) = signed_regimens(engine, sam)
    assert one.regimen.doses[0].minutes == 180 and one.content["own_reason"] == "our protocol"


def test_glasses_first_then_two_hours(signed_in, sam: Child) -> None:
    browser = signed_in(Role.ORTHOPTIST)
    submit(browser, f"/children/{sam.public_id}/visits/new", **BOTH_EYES)
    address = f"/children/{sam.public_id}/occlusion"
    assert "No patch yet" in submit(browser, address, step="look", adaptation_weeks="3").text
    assert "2 h a day" in submit(browser, address, step="look", adaptation_weeks="18", phase="occlusion", dose="proposed").text


def test_an_optometrist_may_look_at_the_plan_but_not_sign_it(signed_in, baby: Child) -> None:
    browser = signed_in(Role.OPTOMETRIST)
    address = f"/children/{baby.public_id}/occlusion"
    assert "Your role may look at this, not sign it" in browser.get(address).text
    assert submit(browser, address, step="sign", cautions_read="on").status_code == 403


def test_a_later_revision_supersedes_and_past_days_stay(signed_in, sam: Child, engine: Engine, clock: StoppedClock) -> None:
    browser = signed_in(Role.ORTHOPTIST)
    address = f"/children/{sam.public_id}/occlusion"

    def sign(**typed: str) -> None:
        looked = submit(browser, address, step="look", dose="own", own_reason="ours", **typed)
        assert looked.status_code == 200, looked.text
        assert send(browser, next(f for f in forms_of(looked.text) if "seen" in f.values), address, step="sign", cautions_read="on").status_code == 303

    sign(own_hours="2", review_on="2026-03-30")
    clock.at += timedelta(hours=8)
    clock.at += timedelta(days=7)
    browser = signed_in(Role.ORTHOPTIST)
    sign(own_hours="4", review_on="2026-04-06")
    revisions = signed.revisions(signed_regimens(engine, sam))
    from schedules.regimen import prescribed_minutes

    assert [r.number for r in revisions] == [1, 2]
    assert prescribed_minutes(revisions, TODAY + timedelta(days=6)) == 120
    assert prescribed_minutes(revisions, TODAY + timedelta(days=7)) == 240
    refused = submit(browser, address, step="look", dose="own", own_hours="4", own_reason="ours", start_on=str(TODAY))
    assert refused.status_code == 422 and "past days stay as they were" in refused.text


def test_a_calendar_title_never_holds_the_childs_name(signed_in, sam: Child) -> None:
    answer = submit(signed_in(Role.ORTHOPTIST), f"/children/{sam.public_id}/links", "caregiver", caregiver="Mother", label="SAM's time")
    assert answer.status_code == 422 and "leave the child" in answer.text


def test_a_link_is_shown_once(signed_in, sam: Child) -> None:
    browser = signed_in(Role.ORTHOPTIST)
    address = f"/children/{sam.public_id}/links"
    form = next(f for f in forms_of(browser.get(address).text) if "caregiver" in f.values)
    made = send(browser, form, address, caregiver="Mother, phone")
    assert made.status_code == 200 and "https://clinic.example/feed/odf_" in made.text and "webcal://clinic.example/feed/odf_" in made.text
    assert "https://clinic.example/family/odp_" in made.text and made.headers["cache-control"] == "no-store"
    assert "odf_" not in browser.get(address).text and "Mother, phone" in browser.get(address).text
    again = send(browser, form, address, caregiver="Mother, phone")
    assert again.status_code == 422 and "shown once" in again.text and "odf_" not in again.text


def test_working_it_out_again_from_other_facts_renews_phase_review_and_dose(signed_in, sam: Child) -> None:
    browser, address = signed_in(Role.ORTHOPTIST), f"/children/{sam.public_id}/occlusion"
    submit(browser, f"/children/{sam.public_id}/visits/new", **BOTH_EYES)
    first = submit(browser, address, step="facts", adaptation_weeks="0")
    form = next(f for f in forms_of(first.text) if "phase" in f.values)
    assert form.values["phase"] == "refractive-adaptation"
    again = send(browser, form, address, step="facts", adaptation_weeks="20")
    form = next(f for f in forms_of(again.text) if "phase" in f.values)
    assert form.values["phase"] == "occlusion" and form.values["dose"] == "proposed"
    wrong = send(browser, form, address, step="facts", adaptation_weeks="many")
    assert wrong.status_code == 422 and "is not a number" in wrong.text and 'value="many"' in wrong.text


def test_a_signature_says_so_and_older_revisions_are_marked(signed_in, sam: Child, engine: Engine, clinic: TestClinic) -> None:
    sign_two_hours(engine, clinic, sam, TODAY, TODAY + timedelta(days=20))
    browser, address = signed_in(Role.ORTHOPTIST), f"/children/{sam.public_id}/occlusion"
    form = next(f for f in forms_of(submit(browser, address, step="look", dose="own", own_hours="3", own_reason="x").text) if "seen" in f.values)
    answer = send(browser, form, address, step="sign", cautions_read="on")
    assert "Signed." in browser.get(answer.headers["location"]).text
    table = browser.get(f"/children/{sam.public_id}/review").text
    assert "<td>2</td><td>in force</td>" in table and "<td>1</td><td>superseded</td>" in table
