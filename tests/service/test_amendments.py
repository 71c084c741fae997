"""Small signed changes: a treatment break that ends, a telephone extension that happens once, a revision still to come that is seen."""

from datetime import date, timedelta

import pytest
from sqlalchemy import Engine

from schedules.feed_style import FeedStyle
from schedules.regimen import prescribed_minutes
from service.actions import links
from service.clock import StoppedClock
from service.db import reading, writing
from service.facts import Child, Role, SignedKind
from service.store import people, signed
from service.views import case
from shared.treatment.dose import DatedDose
from shared.treatment.protocol_words import Pattern
from tests.people import NOW, TODAY, TestClinic
from tests.service.pages import forms_of, send, submit
from tests.service.signing import sign_two_hours

REVIEW = date(2026, 3, 30)
BREAK = {"step": "break", "from_on": "2026-03-04", "until_on": "2026-03-10", "break_reason": "chickenpox"}


def prescribed(engine: Engine, child: Child, first_on: date, days: int) -> list[int]:
    with reading(engine) as session:
        revisions = signed.revisions(signed.regimens(session, child))
    return [prescribed_minutes(revisions, first_on + timedelta(days=n)) for n in range(days)]


def numbers(engine: Engine, child: Child) -> list[int]:
    with reading(engine) as session:
        return [s.regimen.number for s in signed.regimens(session, child)]


def test_a_break_is_dated_ends_by_itself_and_leaves_the_review_where_it_was(signed_in, sam: Child, clinic: TestClinic, engine: Engine) -> None:
    sign_two_hours(engine, clinic, sam, TODAY, REVIEW)
    browser = signed_in(Role.ORTHOPTIST)
    assert submit(browser, f"/children/{sam.public_id}/review", "from_on", **BREAK).status_code == 303
    # 2 and 3 March as signed, none on 4 to 9 March, again from 10 to 29 March, and the review ends it on the 30th
    assert prescribed(engine, sam, TODAY, 29) == [120, 120, *[0] * 6, *[120] * 20, 0]
    page = browser.get(f"/children/{sam.public_id}").text
    assert "still to come: revision 2, from" in page and "chickenpox" in browser.get(f"/children/{sam.public_id}/review").text


def test_during_a_break_the_staffs_pages_say_so_and_show_no_covered_eye(signed_in, sam: Child, clinic: TestClinic, engine: Engine, clock: StoppedClock) -> None:
    sign_two_hours(engine, clinic, sam, TODAY, REVIEW)
    submit(signed_in(Role.ORTHOPTIST), f"/children/{sam.public_id}/review", "from_on", **BREAK)
    for days, during in ((1, False), (2, True), (7, True), (8, False)):
        clock.at = NOW + timedelta(days=days)
        browser = signed_in(Role.ORTHOPTIST)
        child, caseload = browser.get(f"/children/{sam.public_id}").text, browser.get("/").text
        assert ("no patch today; from" in child and "10 Mar 2026" in child) is during
        assert ("<svg" in child) is not during, "the face shows an eye that is covered today"
        assert ("break; patch again from" in caseload) is during


def test_the_familys_page_says_when_the_patch_begins_again(signed_in, visitor, sam: Child, clinic: TestClinic, engine: Engine, clock: StoppedClock) -> None:
    sign_two_hours(engine, clinic, sam, TODAY, REVIEW)
    with writing(engine) as session:
        link = links.issue(session, clinic.staff[Role.ORTHOPTIST], sam, caregiver="Mother", style=FeedStyle("time"), now=NOW)
    submit(signed_in(Role.ORTHOPTIST), f"/children/{sam.public_id}/review", "from_on", **BREAK)
    clock.at = NOW + timedelta(days=3)
    during = visitor.get(f"/family/{link.page_token}").text
    assert "A break: no patch today." in during and "Tuesday 10 March" in during
    clock.at = NOW + timedelta(days=8)
    assert "2 hours" in visitor.get(f"/family/{link.page_token}").text


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"from_on": "2026-03-01"}, "has passed"),
        ({"until_on": "2026-03-04"}, "A break ends after"),
        ({"until_on": "2026-03-30"}, "For a longer one sign a pause"),
        ({"from_on": "2026-04-02", "until_on": "2026-04-03"}, "No plan is in force on 2 Apr 2026"),
        ({"break_reason": ""}, "Please fill this in"),
        ({"until_on": "soon"}, "is not a date"),
    ],
)
def test_a_break_that_cannot_be_is_refused(signed_in, sam: Child, clinic: TestClinic, engine: Engine, typed: dict[str, str], words: str) -> None:
    sign_two_hours(engine, clinic, sam, TODAY, REVIEW)
    answer = submit(signed_in(Role.ORTHOPTIST), f"/children/{sam.public_id}/review", "from_on", **BREAK | typed)
    assert answer.status_code == 422 and words in answer.text
    assert numbers(engine, sam) == [1]


def test_a_break_never_takes_the_place_of_a_revision_still_to_come(signed_in, sam: Child, clinic: TestClinic, engine: Engine) -> None:
    sign_two_hours(engine, clinic, sam, TODAY, REVIEW)
    browser, address = signed_in(Role.ORTHOPTIST), f"/children/{sam.public_id}/review"
    submit(browser, address, "from_on", **BREAK | {"from_on": "2026-03-15", "until_on": "2026-03-18"})
    answer = submit(browser, address, "from_on", **BREAK)
    assert answer.status_code == 422 and "Revision 2, from 15 Mar 2026, is signed already" in answer.text
    again = submit(browser, f"/children/{sam.public_id}/occlusion", step="look", dose="own", own_hours="3", own_reason="x").text
    assert "takes the place of revision 2" in again, "and a whole new regimen says so before it is signed"


def extend(browser, child: Child, until: str):
    return submit(browser, f"/children/{child.public_id}/review", "extend_to", step="extend", extend_to=until, extend_reason="snow; spoke with the mother")


def test_an_extension_carries_the_last_days_minutes_on_once(signed_in, sam: Child, clinic: TestClinic, engine: Engine, clock: StoppedClock) -> None:
    sign_two_hours(engine, clinic, sam, TODAY, REVIEW)
    clock.at = NOW + timedelta(days=24)
    browser = signed_in(Role.ORTHOPTIST)
    assert extend(browser, sam, "2026-04-08").status_code == 303
    assert prescribed(engine, sam, date(2026, 3, 29), 11) == [*[120] * 10, 0]
    clock.at = NOW + timedelta(days=30)
    browser = signed_in(Role.ORTHOPTIST)
    page = browser.get(f"/children/{sam.public_id}/review").text
    assert 'name="extend_to"' not in page and "snow; spoke with the mother" in page
    form = {"form_token": "", "step": "extend", "extend_to": "2026-04-12", "extend_reason": "x"}
    answer = submit(browser, f"/children/{sam.public_id}/review", **form | {"form_token": token(page)})
    assert answer.status_code == 422 and "already extended once" in answer.text
    assert numbers(engine, sam) == [1, 2]


def token(page: str) -> str:
    return page.split('name="form_token" value="', 1)[1].split('"', 1)[0]


@pytest.mark.parametrize(("until", "words"), [("2026-04-14", "An extension ends between 31 Mar 2026 and 13 Apr 2026"), ("2026-03-30", "An extension ends")])
def test_an_extension_is_short(signed_in, sam: Child, clinic: TestClinic, engine: Engine, until: str, words: str) -> None:
    sign_two_hours(engine, clinic, sam, TODAY, REVIEW)
    answer = extend(signed_in(Role.ORTHOPTIST), sam, until)
    assert answer.status_code == 422 and words in answer.text


def test_an_infants_extension_is_shorter(signed_in, baby: Child, clinic: TestClinic, engine: Engine) -> None:
    sign_two_hours(engine, clinic, baby, TODAY, REVIEW)
    browser = signed_in(Role.ORTHOPTIST)
    assert extend(browser, baby, "2026-04-07").status_code == 422
    assert extend(browser, baby, "2026-04-06").status_code == 303


def test_reception_never_extends_whatever_the_clinic_wrote(signed_in, sam: Child, clinic: TestClinic, engine: Engine) -> None:
    sign_two_hours(engine, clinic, sam, TODAY, REVIEW)
    with writing(engine) as session:
        people.grant(session, clinic.clinic_id, Role.RECEPTION, SignedKind.OCCLUSION)
    assert extend(signed_in(Role.RECEPTION), sam, "2026-04-06").status_code == 403
    assert numbers(engine, sam) == [1]


def test_what_ended_long_ago_is_not_carried_on_unseen(signed_in, sam: Child, clinic: TestClinic, engine: Engine, clock: StoppedClock) -> None:
    sign_two_hours(engine, clinic, sam, TODAY, REVIEW)
    clock.at = NOW + timedelta(days=28 + 15)
    assert 'name="extend_to"' not in signed_in(Role.ORTHOPTIST).get(f"/children/{sam.public_id}/review").text
    clock.at = NOW + timedelta(days=28 + 3)
    assert extend(signed_in(Role.ORTHOPTIST), sam, "2026-04-10").status_code == 303
    assert prescribed(engine, sam, date(2026, 3, 30), 12) == [0, 0, 0, *[120] * 8, 0], "the days between stay without a plan: they have passed"


def test_a_dose_on_six_days_keeps_its_day_off_in_dates_feed_wear_and_after_a_break(
    signed_in, sam: Child, clinic: TestClinic, engine: Engine, clock: StoppedClock, visitor
) -> None:
    orthoptist, address = signed_in(Role.ORTHOPTIST), f"/children/{sam.public_id}/occlusion"
    own = {"dose": "own", "own_hours": "10", "own_reason": "six days", "own_pattern": "six-days-a-week", "phase": "occlusion", "review_on": "2026-03-30"}
    looked = submit(orthoptist, address, step="look", **own)
    assert "10 h (six days a week)" in looked.text and "In all 240.0 h" in looked.text
    form = next(f for f in forms_of(looked.text) if "seen" in f.values)
    changed = send(orthoptist, form, address, step="sign", cautions_read="yes", own_pattern="daily")
    assert "has changed since it was shown" in changed.text, "the days are part of what was seen"
    assert send(orthoptist, form, address, step="sign", cautions_read="yes").status_code == 303
    with writing(engine) as session:
        link = links.issue(session, clinic.staff[Role.ORTHOPTIST], sam, caregiver="Aunt", style=FeedStyle("time"), now=NOW)
    clock.at = NOW + timedelta(days=6)  # the seventh day
    orthoptist = signed_in(Role.ORTHOPTIST)
    family = visitor.get(f"/family/{link.page_token}").text
    assert "A day off: no patch today." in family and "a day off" in family
    assert "a day off" in orthoptist.get(f"/children/{sam.public_id}").text and "a day off" in orthoptist.get("/").text
    assert "DTSTART;VALUE=DATE:20260307" in (feed := visitor.get(f"/feed/{link.feed_token}/plan.ics").text) and "DATE:20260308" not in feed.replace(
        "DTEND;VALUE=DATE:20260308", ""
    )
    with reading(engine) as session:
        known = case.load(session, sam, clock.at + timedelta(days=1))
    found = known.adherence(TODAY, TODAY + timedelta(days=7))
    assert (found.prescribed_minutes, found.days_prescribed, found.days_unknown) == (6 * 600, 6, 6)
    assert known.weeks_on_dose() == 1, "a day off ends no dose"
    taken = BREAK | {"from_on": "2026-03-10", "until_on": "2026-03-12"}
    assert submit(orthoptist, f"/children/{sam.public_id}/review", "from_on", **taken).status_code == 303
    with reading(engine) as session:
        doses = signed.regimens(session, sam)[-1].regimen.doses
    assert doses == (DatedDose(date(2026, 3, 10), 0), DatedDose(date(2026, 3, 12), 600, Pattern.SIX_DAYS_A_WEEK))
