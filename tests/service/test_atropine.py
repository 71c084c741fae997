"""Drops of atropine: signed by a prescriber alone, into the fellow eye alone, by a published schedule alone, and plain to the family."""

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import pytest
from sqlalchemy import Engine
from starlette.testclient import TestClient

from schedules.feed_style import FeedStyle
from service.actions import atropine, links
from service.clock import StoppedClock
from service.db import reading, writing
from service.errors import NotAllowedError
from service.facts import Child, Role, SignedKind
from service.store import people, signed
from service.views import case
from shared.treatment.protocol_words import Pattern
from shared.vocabulary import Laterality, Phase
from tests.people import NOW, TODAY, TestClinic
from tests.service.calling import made, make
from tests.service.pages import forms_of, new_visit, send, submit
from tests.service.signing import sign_two_hours
from tests.service.typed import BOTH_EYES

MODERATE = BOTH_EYES | {"first_left_acuity": "6/15"}
SEVERE = BOTH_EYES | {"first_left_acuity": "6/60"}
WEEKEND = {"rule": "atropine-weekend", "drop_eye": "right", "review_on": "2026-04-06"}


def address(child: Child) -> str:
    return f"/children/{child.public_id}/atropine"


def sign_drops(browser: TestClient, child: Child, **typed: str) -> Any:
    """As a person does: look at the dates, then sign that very page."""
    looked = submit(browser, address(child), step="look", **WEEKEND | typed)
    form = next((f for f in forms_of(looked.text) if "seen" in f.values), None)
    return looked if form is None else send(browser, form, address(child), step="sign", cautions_read="yes")


def newest(engine: Engine, child: Child):
    with reading(engine) as session:
        found = signed.regimens(session, child)
        return found[-1] if found else None


@pytest.fixture
def measured(signed_in: Callable[..., TestClient], sam: Child) -> Child:
    assert submit(signed_in(Role.ORTHOPTIST), new_visit(sam), **MODERATE).status_code == 303
    return sam


def test_a_prescriber_signs_a_published_schedule_and_the_family_reads_it_in_plain_words(
    signed_in, measured: Child, clinic: TestClinic, engine: Engine, visitor: TestClient, clock: StoppedClock
) -> None:
    clinician = signed_in(Role.CLINICIAN)
    looked = submit(clinician, address(measured), step="look", **WEEKEND).text
    assert "RIGHT eye has the drop" in looked and "on Saturday and Sunday" in looked and "7 March" in looked
    assert sign_drops(clinician, measured).headers["location"].endswith("signed=yes")
    found = newest(engine, measured)
    r = found.regimen
    assert (r.phase, r.doses, r.covered_eye, r.review_on) == (Phase.ATROPINE, (), None, date(2026, 4, 6))
    assert r.drops and (r.drops.eye, r.drops.pattern) == (Laterality.RIGHT, Pattern.WEEKEND)
    assert found.signed_by == "clinician of one" and found.content["schedule"]["rule"] == "atropine-weekend"
    review = clinician.get(f"/children/{measured.public_id}/review").text
    assert "atropine, one drop in the right eye on Saturday and Sunday" in review and "Drops: go on or change" in review
    assert "look at both eyes, then go on with the drops" in review
    assert "atropine drops" in clinician.get("/").text
    with writing(engine) as session:
        link = links.issue(session, clinic.staff[Role.ORTHOPTIST], measured, caregiver="Aunt", style=FeedStyle("time"), now=NOW)
    family, monday = f"/family/{link.page_token}", visitor.get(f"/family/{link.page_token}").text
    assert "No drop today. No patch." in monday and "RIGHT eye has the drop" in monday and "How did it go?" not in monday
    clock.at = NOW + timedelta(days=5)
    saturday = visitor.get(family).text
    assert "One drop today. No patch." in saturday and "give no more drops and call at once" in saturday
    feed = visitor.get(f"/feed/{link.feed_token}/plan.ics").text
    assert feed.count("SUMMARY:care") == 9 and "drop" not in feed.casefold() and "RIGHT" not in feed, "the weekends of the next four weeks, and a neutral title"
    clock.at = NOW + timedelta(weeks=5)
    over = visitor.get(family).text
    assert "Nothing is planned" in over and "No drops any more" in over, "it ends like every plan"
    assert "No drops any more" not in monday + saturday


def test_drops_go_on_past_a_review_that_slips_for_a_week_at_most_and_within_the_trial(signed_in, measured: Child, engine: Engine) -> None:
    clinician = signed_in(Role.CLINICIAN)
    assert "between 0 and 7 days" in submit(clinician, address(measured), step="look", **WEEKEND, grace_days="8").text
    at_its_end = submit(clinician, address(measured), step="look", **WEEKEND | {"review_on": str(TODAY + timedelta(weeks=18))}, grace_days="1")
    assert "the length of the trial" in at_its_end.text and "up to 0 days here" in at_its_end.text, "the trial of weekend drops ran for eighteen weeks"
    assert sign_drops(clinician, measured, grace_days="6").status_code == 303
    r = newest(engine, measured).regimen
    assert r.drop_on(date(2026, 4, 11)) and not r.drop_on(date(2026, 4, 12))


@pytest.mark.parametrize("role", [Role.ORTHOPTIST, Role.OPTOMETRIST, Role.ADMINISTRATOR, Role.RECEPTION])
def test_nobody_else_signs_drops_until_the_clinic_says_so(signed_in, call, measured: Child, engine: Engine, role: Role) -> None:
    form = next(f for f in forms_of(submit(signed_in(Role.CLINICIAN), address(measured), step="look", **WEEKEND).text) if "seen" in f.values)
    page = signed_in(role).get(address(measured)).text
    assert "Your role may look at this, not sign it." in page
    assert submit(signed_in(role), address(measured), step="sign", **WEEKEND, seen=form.values["seen"], cautions_read="yes").status_code == 403
    order = {"rule": "atropine-weekend", "start_on": str(TODAY), "review_on": "2026-04-06", "drop_eye": "right"}
    refused = make(call(role), f"/api/children/{measured.public_id}/atropine", order | {"seen": form.values["seen"], "cautions_read": True})
    assert refused.status_code == 403 and newest(engine, measured) is None


def test_the_deed_itself_asks_for_the_right(measured: Child, clinic: TestClinic, engine: Engine) -> None:
    draft = atropine.DropDraft("atropine-weekend", TODAY, date(2026, 4, 6), Laterality.RIGHT, "", False, cautions_read=True)
    with writing(engine) as session, pytest.raises(NotAllowedError):
        atropine.sign(session, clinic.staff[Role.ORTHOPTIST], measured, lambda: case.load(session, measured, NOW).drop_facts(), draft, "", NOW)


def test_the_right_is_a_row_of_the_clinics(signed_in, measured: Child, clinic: TestClinic, engine: Engine) -> None:
    with writing(engine) as session:
        people.grant(session, clinic.clinic_id, Role.ORTHOPTIST, SignedKind.ATROPINE)
    assert sign_drops(signed_in(Role.ORTHOPTIST), measured).status_code == 303


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"drop_eye": "left"}, "the amblyopic one"),
        ({"drop_eye": ""}, "Which eye has the drop?"),
        ({"rule": "atropine-weekend-severe"}, "one of the published schedules"),
        ({"rule": "four drops an hour"}, "one of the published schedules"),
        ({"review_on": "2026-07-07"}, "The trial of this schedule ran no longer"),
        ({"start_on": "2026-03-01"}, "has passed"),
    ],
)
def test_what_was_not_published_is_refused(signed_in, measured: Child, engine: Engine, typed: dict[str, str], said: str) -> None:
    refused = sign_drops(signed_in(Role.CLINICIAN), measured, **typed)
    assert refused.status_code == 422 and said in refused.text
    assert newest(engine, measured) is None


def test_the_trials_last_day_is_still_inside(signed_in, measured: Child) -> None:
    assert sign_drops(signed_in(Role.CLINICIAN), measured, review_on="2026-07-06").status_code == 303


def test_cautions_are_read_first(signed_in, measured: Child, engine: Engine) -> None:
    browser = signed_in(Role.CLINICIAN)
    form = next(f for f in forms_of(submit(browser, address(measured), step="look", **WEEKEND).text) if "seen" in f.values)
    assert send(browser, form, address(measured), step="sign").status_code == 422
    assert newest(engine, measured) is None


def test_a_severe_eye_wants_a_reason_and_a_second_confirmation(signed_in, sam: Child, engine: Engine) -> None:
    submit(signed_in(Role.ORTHOPTIST), new_visit(sam), **SEVERE)
    browser, severe = signed_in(Role.CLINICIAN), {"rule": "atropine-weekend-severe"}
    assert "Please say why" in sign_drops(browser, sam, **severe).text
    assert "Please confirm it" in sign_drops(browser, sam, **severe, reason="the patch is torn off").text
    assert newest(engine, sam) is None
    assert sign_drops(browser, sam, **severe, reason="the patch is torn off", confirmed="yes").status_code == 303
    assert newest(engine, sam).content["reason"] == "the patch is torn off"


def test_an_eye_nobody_has_measured_wants_them_too(signed_in, sam: Child) -> None:
    browser = signed_in(Role.CLINICIAN)
    assert "is not known" in browser.get(address(sam)).text
    assert sign_drops(browser, sam).status_code == 422
    assert sign_drops(browser, sam, reason="not testable today", confirmed="yes").status_code == 303


def test_an_infant_and_an_operated_eye_are_offered_nothing(signed_in, call, baby: Child) -> None:
    page = signed_in(Role.CLINICIAN).get(address(baby)).text
    assert "No published schedule" in page and "phakic eyes" in page
    answer = call(Role.CLINICIAN).get(f"/api/children/{baby.public_id}/atropine-schedules").json()
    assert answer["schedules"] == [] and "phakic eyes" in answer["reason"]


def test_signed_from_an_old_page_nothing_happens(signed_in, measured: Child, clinic: TestClinic, engine: Engine) -> None:
    browser = signed_in(Role.CLINICIAN)
    form = next(f for f in forms_of(submit(browser, address(measured), step="look", **WEEKEND).text) if "seen" in f.values)
    sign_two_hours(engine, clinic, measured, TODAY, TODAY + timedelta(weeks=4))
    late = send(browser, form, address(measured), step="sign", cautions_read="yes")
    assert late.status_code == 422 and "has changed since it was shown" in late.text
    assert newest(engine, measured).regimen.phase is Phase.OCCLUSION


def test_a_stop_ends_the_drops(signed_in, call, measured: Child, engine: Engine, clock: StoppedClock) -> None:
    sign_drops(signed_in(Role.CLINICIAN), measured)
    clock.at = NOW + timedelta(days=3)
    made(call(Role.ORTHOPTIST), f"/api/children/{measured.public_id}/stop", {"reason": "flushed"})
    assert "Drops: go on or change" not in signed_in(Role.CLINICIAN).get(f"/children/{measured.public_id}/review").text
    with reading(engine) as session:
        revisions = signed.revisions(signed.regimens(session, measured))
    assert [r.phase for r in revisions] == [Phase.ATROPINE, Phase.STOP]


def test_by_the_api_it_is_the_same_deed(call, measured: Child, engine: Engine) -> None:
    api, child = call(Role.CLINICIAN), f"/api/children/{measured.public_id}"
    offered = api.get(f"{child}/atropine-schedules").json()
    assert [(s["rule"], s["pattern"], s["review_in_weeks"]) for s in offered["schedules"]] == [
        ("atropine-daily", "daily", 5),
        ("atropine-weekend", "weekend", 5),
    ]
    order = {"rule": "atropine-daily", "start_on": "2026-03-02", "review_on": "2026-04-06", "drop_eye": "right"}
    preview = api.post(f"{child}/atropine-preview", json=order).json()
    assert len(preview["drop_days"]) == 35 and preview["may_sign"] and preview["regimen"]["drops"] == {"eye": "right", "pattern": "daily"}
    answer = made(api, f"{child}/atropine", order | {"seen": preview["digest"], "cautions_read": True})
    assert answer["phase"] == "atropine" and newest(engine, measured).regimen.drops.pattern is Pattern.DAILY
    wrong = make(api, f"{child}/atropine", order | {"seen": preview["digest"], "cautions_read": True, "drop_eye": "left"})
    assert wrong.status_code == 422 and wrong.json()["field"] == "drop_eye"
