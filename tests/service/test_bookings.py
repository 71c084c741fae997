"""Booked visits: who moved them, and the warning when a review slips past the end of the plan."""

from datetime import date, timedelta

import pytest
from sqlalchemy import Engine

from service.clock import StoppedClock
from service.db import reading, writing
from service.facts import Child, Role
from service.store import bookings, notices, people
from shared.vocabulary import BookingState
from tests.people import NOW, TODAY, TestClinic
from tests.service.pages import forms_of, send, submit
from tests.service.signing import sign_two_hours

REVIEW = date(2026, 3, 30)


def book(browser, child: Child, on: str, **typed: str):
    return submit(browser, f"/children/{child.public_id}/bookings", "kind", on=on, **typed)


def booked(engine: Engine, child: Child):
    with reading(engine) as session:
        return bookings.bookings(session, child)


def waiting(engine: Engine, staff):
    with reading(engine) as session:
        return notices.notices(session, staff)


def change(browser, child: Child, engine: Engine, **typed: str):
    (one,) = booked(engine, child)
    return submit(browser, f"/children/{child.public_id}/bookings/{one.public_id}", "version", **typed)


def test_a_review_moved_past_the_plans_end_warns_signer_and_clinic_and_says_who_moved_it(signed_in, sam: Child, clinic: TestClinic, engine: Engine) -> None:
    sign_two_hours(engine, clinic, sam, TODAY, REVIEW)  # signed by the orthoptist
    reception = signed_in(Role.RECEPTION)
    assert book(reception, sam, "2026-03-30").status_code == 303
    assert waiting(engine, clinic.staff[Role.ORTHOPTIST]) == [], "on the last day it is in time"
    assert change(reception, sam, engine, step="move", on="2026-04-06", reason="the family is away").status_code == 303
    orthoptist, clinician = (waiting(engine, clinic.staff[r]) for r in (Role.ORTHOPTIST, Role.CLINICIAN))
    assert [n.to_signer for n in orthoptist] == [True, False] and [n.to_signer for n in clinician] == [False]
    page = signed_in(Role.ORTHOPTIST).get("/").text
    assert "booked for 6 Apr 2026, 7 days after the plan ends on 30 Mar 2026" in page and "Changed by reception of one." in page
    child = signed_in(Role.ORTHOPTIST).get(f"/children/{sam.public_id}").text
    assert "7 days after the plan ends" in child and "Next review booked for" in child
    history = signed_in(Role.CLINICIAN).get(f"/children/{sam.public_id}/bookings").text
    assert "moved from 30 Mar 2026 to 6 Apr 2026: the family is away" in history and "reception of one" in history
    assert "6 Apr 2026, 7 days after the plan ends" in history


def test_a_review_moved_forward_again_takes_its_warning_back(signed_in, sam: Child, clinic: TestClinic, engine: Engine) -> None:
    sign_two_hours(engine, clinic, sam, TODAY, REVIEW)
    browser = signed_in(Role.RECEPTION)
    book(browser, sam, "2026-04-20")
    change(browser, sam, engine, step="move", on="2026-04-10", reason="sooner")
    assert len(waiting(engine, clinic.staff[Role.CLINICIAN])) == 1, "the newest state alone"
    change(browser, sam, engine, step="move", on="2026-03-25", reason="in time")
    assert waiting(engine, clinic.staff[Role.CLINICIAN]) == []


def test_an_infants_notice_stands_first(signed_in, sam: Child, baby: Child, clinic: TestClinic, engine: Engine) -> None:
    for child in (sam, baby):
        sign_two_hours(engine, clinic, child, TODAY, REVIEW)
        book(signed_in(Role.RECEPTION), child, "2026-04-20")
    assert [n.child_name for n in waiting(engine, clinic.staff[Role.CLINICIAN])] == ["Baby", "Sam"]
    page = signed_in(Role.CLINICIAN).get("/").text
    assert page.index("Infant") < page.index("Sam")


def test_a_notice_is_seen_by_one_for_whom_it_is_and_then_gone(signed_in, sam: Child, clinic: TestClinic, engine: Engine, other_clinic: TestClinic) -> None:
    sign_two_hours(engine, clinic, sam, TODAY, REVIEW)
    book(signed_in(Role.RECEPTION), sam, "2026-04-20")
    to_signer, to_clinic = waiting(engine, clinic.staff[Role.ORTHOPTIST])
    clinician = signed_in(Role.CLINICIAN)
    form = next(f for f in forms_of(clinician.get("/").text) if f.action.endswith("/seen"))
    assert send(clinician, form, "/").status_code == 303
    assert [n.public_id for n in waiting(engine, clinic.staff[Role.ORTHOPTIST])] == [to_signer.public_id]
    for browser, notice, code in (
        (clinician, to_signer, 404),
        (signed_in(Role.CLINICIAN, other_clinic), to_clinic, 404),
        (signed_in(Role.RECEPTION), to_clinic, 403),
    ):
        own = forms_of(browser.get("/tokens").text)[0]
        own.action = f"/notices/{notice.public_id}/seen"
        assert send(browser, own, "/").status_code == code
    assert "Notices" not in signed_in(Role.RECEPTION).get("/").text


def test_a_cancelled_review_with_no_other_warns_too(signed_in, sam: Child, clinic: TestClinic, engine: Engine) -> None:
    sign_two_hours(engine, clinic, sam, TODAY, REVIEW)
    browser = signed_in(Role.RECEPTION)
    book(browser, sam, "2026-03-30")
    assert change(browser, sam, engine, step="cancelled", reason="doctor ill").status_code == 303
    assert "No review is booked before the plan ends on 30 Mar 2026. Changed by reception of one." in signed_in(Role.CLINICIAN).get("/").text


def test_was_not_brought_is_for_the_day_and_staff_alone_see_the_pathway(signed_in, sam: Child, clinic: TestClinic, engine: Engine, clock: StoppedClock) -> None:
    with writing(engine) as session:
        people.set_pathway(session, clinic.clinic_id, "Ring twice.\nThen write.")
    sign_two_hours(engine, clinic, sam, TODAY, REVIEW)
    book(signed_in(Role.RECEPTION), sam, "2026-03-20")
    early = change(signed_in(Role.RECEPTION), sam, engine, step="not-brought", reason="x")
    assert early.status_code == 422 and "still to come" in early.text
    clock.at = NOW + timedelta(days=18)
    browser = signed_in(Role.RECEPTION)
    assert change(browser, sam, engine, step="not-brought", reason="no answer by telephone").status_code == 303
    (one,) = booked(engine, sam)
    assert one.state is BookingState.NOT_BROUGHT
    page = browser.get(f"/children/{sam.public_id}/bookings").text
    assert "Ring twice." in page and "was not brought: no answer by telephone" in page
    assert "Was not brought on 20 Mar 2026" in signed_in(Role.ORTHOPTIST).get("/").text
    assert "and no review is booked: follow the clinic&#39;s own pathway" in browser.get(f"/children/{sam.public_id}").text, "it stands until the child is seen"
    again = submit(browser, f"/children/{sam.public_id}/bookings", "kind", on="2026-03-25")
    assert again.status_code == 303
    assert "the review is booked for 25 Mar 2026" in browser.get(f"/children/{sam.public_id}").text


def test_two_people_moving_one_visit_the_second_is_told(signed_in, sam: Child, engine: Engine) -> None:
    one, two = signed_in(Role.RECEPTION), signed_in(Role.ORTHOPTIST)
    book(one, sam, "2026-03-20")
    address = f"/children/{sam.public_id}/bookings/{booked(engine, sam)[0].public_id}"
    of_two = next(f for f in forms_of(two.get(address).text) if "version" in f.values)
    assert submit(one, address, "version", step="move", on="2026-03-25", reason="a").status_code == 303
    late = send(two, of_two, address, step="move", on="2026-03-27", reason="my own reason")
    assert late.status_code == 409 and "Nothing of theirs was overwritten" in late.text and "my own reason" in late.text
    assert booked(engine, sam)[0].on == date(2026, 3, 25)


def test_a_double_tap_books_once_and_a_second_booking_of_a_day_is_refused(signed_in, sam: Child, engine: Engine) -> None:
    browser, address = signed_in(Role.RECEPTION), f"/children/{sam.public_id}/bookings"
    form = next(f for f in forms_of(browser.get(address).text) if "kind" in f.values)
    assert [send(browser, form, address, on="2026-03-20").status_code for _ in range(2)] == [303, 303]
    assert len(booked(engine, sam)) == 1
    assert "booked for 20 Mar 2026 already" in book(browser, sam, "2026-03-20").text


@pytest.mark.parametrize(
    ("on", "words"), [("2026-03-01", "has passed"), ("2036-03-01", "please check the year"), ("", "Please give a date"), ("x", "not a date")]
)
def test_a_day_that_cannot_be_is_refused(signed_in, sam: Child, on: str, words: str) -> None:
    answer = book(signed_in(Role.RECEPTION), sam, on, reason="kept what was typed")
    assert answer.status_code == 422 and words in answer.text and "kept what was typed" in answer.text


def test_a_visit_that_was_made_shows_the_booking_as_kept(signed_in, sam: Child, clinic: TestClinic, engine: Engine, clock: StoppedClock) -> None:
    book(signed_in(Role.RECEPTION), sam, "2026-03-20")
    clock.at = NOW + timedelta(days=18)
    browser = signed_in(Role.ORTHOPTIST)
    assert submit(browser, f"/children/{sam.public_id}/visits/new", right_pressure_mmhg="14").status_code == 303
    assert "kept" in browser.get(f"/children/{sam.public_id}/bookings").text
    assert "No review is booked." in browser.get(f"/children/{sam.public_id}").text
