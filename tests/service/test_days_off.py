"""A day off that a family told of: no page, paper or entry asks for a patch on it, and the clinic hears of it."""

from datetime import timedelta

import pytest
from sqlalchemy import Engine
from starlette.testclient import TestClient

from schedules.feed_style import FeedStyle
from service.actions import links
from service.clock import StoppedClock
from service.db import writing
from service.facts import Child, Role
from tests.people import NOW, TODAY, TestClinic
from tests.service.pages import forms_of, note, send, submit
from tests.service.signing import sign_two_hours


@pytest.fixture
def signed(engine: Engine, clinic: TestClinic, sam: Child) -> Child:
    sign_two_hours(engine, clinic, sam, TODAY, TODAY + timedelta(days=60))
    return sam


@pytest.fixture
def home(engine: Engine, clinic: TestClinic, signed: Child) -> str:
    with writing(engine) as session:
        made = links.issue(session, clinic.staff[Role.ORTHOPTIST], signed, caregiver="Aunt", style=FeedStyle("time"), now=NOW)
    return f"/family/{made.page_token}"


def off(browser: TestClient, home: str, until: int = 0) -> None:
    last_on = TODAY + timedelta(days=until)
    assert submit(browser, f"{home}/routine", "off_words", step="off", off_from_on=TODAY, off_until_on=last_on, off_words="sore skin").status_code == 303


def test_no_page_and_no_paper_asks_for_a_patch_on_a_day_off(signed_in, visitor: TestClient, signed: Child, home: str) -> None:
    assert "Cover your child" in visitor.get(home).text
    off(visitor, home, until=1)
    page = visitor.get(home).text
    assert "A day off: no patch today." in page and "Cover your child" not in page and "patch time" not in page
    assert '<span class="muted">a day off</span>' in page, "in the list of days"
    sheet = visitor.get(f"{home}/sheet").text
    assert sheet.count("a day off: no patch") == 2 and sheet.count("<strong>2 hours</strong>") == 12
    assert "a day off" in signed_in(Role.RECEPTION).get(f"/children/{signed.public_id}/sheet/entry").text


def test_what_was_worn_on_a_day_off_all_the_same_can_be_noted(visitor: TestClient, home: str) -> None:
    off(visitor, home)
    assert "If the patch was on all the same:" in visitor.get(home).text
    assert note(visitor, home, how="some", minutes="30").status_code == 303
    assert "30 minutes" in visitor.get(home).text


def test_days_off_that_are_told_again_are_longer_or_shorter_and_are_taken_back_as_one(visitor: TestClient, home: str) -> None:
    routine = f"{home}/routine"
    for until, count in ((1, 2), (4, 5), (2, 3)):
        off(visitor, home, until)
        assert visitor.get(f"{home}/sheet").text.count("a day off: no patch") == count, until
    (taken_back,) = (f for f in forms_of(visitor.get(routine).text) if "remove" in f.values)
    assert send(visitor, taken_back, routine, step="remove").status_code == 303
    assert "a day off: no patch" not in visitor.get(f"{home}/sheet").text


def test_the_days_page_says_when_the_patch_is_due(visitor: TestClient, home: str) -> None:
    week = {f"weekday_{n}": "yes" for n in range(7)}
    hours = {"wake": "7:00", "sleep": "19:30", "naps": "", "nursery_patching": "", "nursery_other": "7:00-15:00", "unwelcome": ""}
    assert submit(visitor, f"{home}/routine", "wake", step="days", **week, **hours).status_code == 303
    assert "<bdi>15:00–17:00</bdi>" in visitor.get(home).text
    submit(visitor, f"{home}/routine", "wake", step="days", **week, **hours | {"nursery_other": "7:00-18:00"})
    page = visitor.get(home).text
    assert "2 hours" in page and "please tell the clinic" in page


def test_the_review_says_how_many_unknown_days_were_told_as_off(signed_in, visitor: TestClient, signed: Child, home: str, clock: StoppedClock) -> None:
    off(visitor, home, until=2)
    clock.at += timedelta(days=4)
    review = signed_in(Role.ORTHOPTIST).get(f"/children/{signed.public_id}/review").text
    assert "(3 of them told as days off: prescribed all the same)" in review


def test_the_clinic_hears_of_days_off_and_checks_a_week_of_them(signed_in, visitor: TestClient, signed: Child, home: str) -> None:
    browser, pages = signed_in(Role.ORTHOPTIST), [f"/children/{signed.public_id}{part}" for part in ("", "/review", "/household")]
    told = "days off ahead: %s dates of the plan"
    assert all("days off ahead" not in browser.get(page).text for page in pages)
    off(visitor, home, until=1)
    assert all(told % 2 in browser.get(page).text for page in pages) and "sore skin" in browser.get(pages[1]).text
    assert "many days without the patch" not in visitor.get(f"{home}/routine").text
    assert "a day off, as the family told" in browser.get(pages[0]).text and "a day off, as the family told" in browser.get("/").text
    off(visitor, home, until=4000)
    assert all(told % 60 in browser.get(page).text for page in pages), "those of the plan, not those after it"
    assert "many days without the patch" in visitor.get(f"{home}/routine").text
    submit(signed_in(Role.ADMINISTRATOR), "/rules", "reason", **{"on_days-off-ahead": "", "reason": "we ring every family"})
    assert all("days off ahead" not in browser.get(page).text for page in pages)
