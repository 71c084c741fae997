"""The day of surgery: one signed step suspends the patch, ends the care of the eye as it was, and asks for new documents."""

from datetime import date, timedelta

import pytest
from sqlalchemy import Engine

from schedules.feed_style import FeedStyle
from service.actions import links
from service.clock import StoppedClock
from service.db import reading, writing
from service.facts import Child, Role
from service.facts_of_care import SignedOperation
from service.store import children, operations, outbox, signed
from shared.vocabulary import Laterality, OpticalStatus, Phase
from tests.people import NOW, TODAY, TestClinic
from tests.service.pages import forms_of, send, submit
from tests.service.signing import sign_two_hours
from tests.service.typed import BOTH_EYES, REFRACTED, TRIAL_LENS

SECONDARY_LENS = {"operation": "secondary-lens", "eye": "left", "on": "2026-03-02", "note": "lens put in"}


def sign_operation(browser, child: Child, **typed: str):
    """As a person does: look at what follows, then sign that very page."""
    address = f"/children/{child.public_id}/operation"
    looked = submit(browser, address, step="look", **typed)
    form = next((f for f in forms_of(looked.text) if "seen" in f.values), None)
    return looked if form is None else send(browser, form, address, step="sign")


def record(engine: Engine, child: Child) -> tuple[Child, list[SignedOperation]]:
    with reading(engine) as session:
        fresh = children.child(session, child.clinic_id, child.public_id)
        return fresh, operations.operations(session, fresh)


def test_one_step_suspends_the_patch_bars_the_old_lens_and_asks_for_new_documents(
    signed_in, baby: Child, clinic: TestClinic, engine: Engine, clock: StoppedClock
) -> None:
    optometrist, clinician = signed_in(Role.OPTOMETRIST), signed_in(Role.CLINICIAN)
    page, address = f"/children/{baby.public_id}", f"/children/{baby.public_id}/operation"
    clock.at = NOW - timedelta(days=7)
    visit = submit(optometrist, f"{page}/visits/new", **TRIAL_LENS, on="2026-02-23").headers["location"]
    assert submit(optometrist, f"{visit}/correction", step="sign").status_code == 303
    sign_two_hours(engine, clinic, baby, date(2026, 2, 23), date(2026, 4, 20))
    clock.at = NOW
    with writing(engine) as session:
        links.issue(session, clinic.staff[Role.ORTHOPTIST], baby, caregiver="Aunt", style=FeedStyle("time"), now=NOW)
    looked = submit(clinician, address, step="look", **SECONDARY_LENS).text
    assert "Revision 1 is suspended" in looked and "pseudophakic" in looked and "contact lens measured on 23 Feb 2026" in looked
    assert sign_operation(clinician, baby, **SECONDARY_LENS).status_code == 303
    fresh, (operation,) = record(engine, baby)
    assert fresh.status(Laterality.LEFT, TODAY) is OpticalStatus.PSEUDOPHAKIC
    assert fresh.status(Laterality.LEFT, TODAY - timedelta(days=1)) is OpticalStatus.APHAKIC, "the days before stay as they were"
    assert operation.signed_by == "clinician of one"
    with reading(engine) as session:
        newest = signed.regimens(session, baby)[-1]
        assert newest.regimen.phase is Phase.PAUSE and newest.regimen.review_on == date(2026, 3, 9)
        assert ("plan-paused", "unreached") in outbox.states(session, baby)
    shown = clinician.get(page).text
    assert "its earlier corrections no longer hold" in shown and "patching stays suspended" in shown
    assert "None signed yet. Record a visit" in shown, "the barred lens is not shown as in force"
    old = submit(optometrist, f"{visit}/correction", step="sign")
    assert old.status_code == 422 and "operated on" in old.text, "nor can it be signed again from before the operation"
    new = submit(optometrist, f"{page}/visits/new", left_refraction_sphere="-1.00", left_refraction_vertex_distance_mm="12").headers["location"]
    assert submit(optometrist, f"{new}/correction", step="sign", kind="spectacles", vertex_distance_mm="12").status_code == 303
    sign_two_hours(engine, clinic, fresh, TODAY, date(2026, 3, 30))
    done = clinician.get(page).text
    assert "no longer hold" not in done and "stays suspended" not in done


def test_a_pause_that_runs_out_gives_the_old_plan_no_second_life(signed_in, baby: Child, clinic: TestClinic, engine: Engine, clock: StoppedClock) -> None:
    sign_two_hours(engine, clinic, baby, TODAY, date(2026, 4, 20))
    assert sign_operation(signed_in(Role.CLINICIAN), baby, **SECONDARY_LENS, review_on="2026-03-05").status_code == 303
    clock.at = NOW + timedelta(days=10)
    page = signed_in(Role.CLINICIAN).get(f"/children/{baby.public_id}").text
    assert "Nothing is prescribed today" in page and "patching stays suspended" in page


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"operation": "cataract-removed"}, "recorded as “aphakic”"),
        ({"eye": ""}, "Which eye was operated on?"),
        ({"eye": "right"}, "recorded as “phakic”"),
        ({"on": "2026-03-03"}, "lies in the future"),
        ({"on": "2025-10-01"}, "not after the child"),
        ({"on": "2025-12-04"}, "already changed on 4 Dec 2025"),
        ({"on": "someday"}, "is not a date"),
        ({"operation": "glaucoma-surgery", "eye": ""}, "Which eye was operated on?"),
        ({"operation": "other", "note": ""}, "which operation it was"),
        ({"operation": "magic"}, "not one of the choices"),
    ],
)
def test_an_operation_that_cannot_be_is_refused_where_it_stands(signed_in, baby: Child, engine: Engine, typed: dict[str, str], words: str) -> None:
    answer = sign_operation(signed_in(Role.CLINICIAN), baby, **{**SECONDARY_LENS, **typed})
    assert answer.status_code == 422 and words in answer.text and typed.get("note", "lens put in") in answer.text
    assert record(engine, baby)[1] == []


def test_only_who_the_clinic_says_signs_an_operation(signed_in, baby: Child, engine: Engine) -> None:
    for role in Role:
        if role is not Role.CLINICIAN:
            looked = submit(signed_in(role), f"/children/{baby.public_id}/operation", step="look", **SECONDARY_LENS)
            assert "Your role may look at this" in looked.text
            assert sign_operation(signed_in(role), baby, **SECONDARY_LENS).status_code == 403
    assert record(engine, baby)[1] == []


def test_the_same_operation_twice_is_one_and_a_changed_page_is_shown_again(signed_in, baby: Child, clinic: TestClinic, engine: Engine) -> None:
    browser, address = signed_in(Role.CLINICIAN), f"/children/{baby.public_id}/operation"
    form = next(f for f in forms_of(submit(browser, address, step="look", **SECONDARY_LENS).text) if "seen" in f.values)
    sign_two_hours(engine, clinic, baby, TODAY, date(2026, 4, 20))
    late = send(browser, form, address, step="sign", review_on="2026-03-09")
    assert late.status_code == 422 and "changed since it was shown" in late.text
    form = next(f for f in forms_of(late.text) if "seen" in f.values)
    assert [send(browser, form, address, step="sign").status_code for _ in range(2)] == [303, 303]
    assert len(record(engine, baby)[1]) == 1


def test_a_plan_that_is_going_on_wants_the_day_until_which_it_is_suspended(signed_in, sam: Child, clinic: TestClinic, engine: Engine) -> None:
    sign_two_hours(engine, clinic, sam, TODAY, date(2026, 4, 20))
    answer = sign_operation(signed_in(Role.CLINICIAN), sam, operation="squint-surgery", on="2026-03-02", review_on="")
    assert answer.status_code == 422 and "until which day" in answer.text


def test_squint_surgery_pauses_and_begins_the_comparison_anew(signed_in, sam: Child, clinic: TestClinic, engine: Engine, clock: StoppedClock) -> None:
    browser, page = signed_in(Role.CLINICIAN), f"/children/{sam.public_id}"
    submit(browser, f"{page}/visits/new", **BOTH_EYES)
    sign_two_hours(engine, clinic, sam, TODAY, date(2026, 4, 20))
    clock.at = NOW + timedelta(days=14)
    browser = signed_in(Role.CLINICIAN)
    assert sign_operation(browser, sam, operation="squint-surgery", on="2026-03-16", review_on="2026-03-23").status_code == 303
    clock.at = NOW + timedelta(days=28)
    browser = signed_in(Role.CLINICIAN)
    submit(browser, f"{page}/visits/new", **BOTH_EYES | {"first_left_acuity": "6/12"}, on="2026-03-30")
    assert "Amblyopic eye" in browser.get(page).text and "since 2 Mar 2026" not in browser.get(f"{page}/review").text
    clock.at = NOW + timedelta(days=42)
    browser = signed_in(Role.CLINICIAN)
    submit(browser, f"{page}/visits/new", **BOTH_EYES | {"first_left_acuity": "6/9"}, on="2026-04-13")
    assert "since 30 Mar 2026" in browser.get(f"{page}/review").text


def test_an_operation_that_leaves_the_optics_suspends_the_patch_and_bars_nothing(signed_in, baby: Child, clinic: TestClinic, engine: Engine) -> None:
    sign_two_hours(engine, clinic, baby, TODAY, date(2026, 4, 20))
    typed = {"operation": "membrane-cleared", "eye": "left", "on": "2026-03-02"}
    assert sign_operation(signed_in(Role.CLINICIAN), baby, **typed).status_code == 303
    fresh, (operation,) = record(engine, baby)
    assert operation.eye is Laterality.LEFT and fresh.statuses == baby.statuses
    with reading(engine) as session:
        assert signed.regimens(session, baby)[-1].regimen.phase is Phase.PAUSE


def test_an_operation_that_changes_nothing_else_can_be_signed_from_its_page(signed_in, baby: Child, engine: Engine) -> None:
    typed = {"operation": "membrane-cleared", "eye": "left", "on": "2026-03-02"}
    assert "Sign the operation" in submit(signed_in(Role.CLINICIAN), f"/children/{baby.public_id}/operation", step="look", **typed).text
    assert sign_operation(signed_in(Role.CLINICIAN), baby, **typed).status_code == 303
    assert len(record(engine, baby)[1]) == 1


def test_an_eye_that_is_gone_is_neither_corrected_nor_is_the_other_covered(signed_in, sam: Child, engine: Engine) -> None:
    browser, page = signed_in(Role.CLINICIAN), f"/children/{sam.public_id}"
    visit = submit(browser, f"{page}/visits/new", **REFRACTED).headers["location"]
    assert sign_operation(browser, sam, operation="eye-removed", eye="right", on="2026-03-02").status_code == 303
    fresh, _ = record(engine, sam)
    assert fresh.status(Laterality.RIGHT, TODAY) is OpticalStatus.ABSENT
    assert (
        "There is no right eye to correct" in browser.get(f"{visit}/correction").text
        or "no right eye" in submit(browser, f"{visit}/correction", step="sign").text
    )
    own = {"dose": "own", "own_hours": "2", "own_reason": "x", "phase": "occlusion"}
    only = submit(browser, f"{page}/occlusion", step="look", covered_eye="left", covered_reason="x", covered_confirmed="on", **own)
    assert only.status_code == 422 and "is the only one this child has" in only.text
    gone = submit(browser, f"{page}/occlusion", step="look", covered_eye="right", **own)
    assert gone.status_code == 422 and "no right eye to cover" in gone.text
    assert "it is not covered" in browser.get(f"{page}/occlusion").text


def test_a_child_registered_with_one_eye_has_one(signed_in, engine: Engine, clinic: TestClinic) -> None:
    browser = signed_in(Role.RECEPTION)
    typed = {"reference": "T-9", "short_name": "Uno", "born_on": "2024-01-01", "aetiology": "deprivation", "amblyopic_eye": "left"}
    answer = submit(browser, "/children/new", **typed, right_status="absent", left_status="phakic")
    with reading(engine) as session:
        child = children.child(session, clinic.clinic_id, answer.headers["location"].rsplit("/", 1)[1])
    assert child.status(Laterality.RIGHT, TODAY) is OpticalStatus.ABSENT
