"""What a caregiver can do with a link: see the plan, note wear, take it back; and what a link can never do."""

import re
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from datetime import date, timedelta

import pytest
from sqlalchemy import Engine
from starlette.testclient import TestClient

from schedules.adherence import day_wear
from schedules.feed_style import FeedStyle
from service.actions import links, wear
from service.actions.feed import day_address
from service.clock import StoppedClock
from service.db import reading, writing
from service.facts import Child, Role
from service.settings import Settings
from service.store import wear as wear_store
from tests.people import NOW, TODAY, TestClinic, register, schoolchild
from tests.service.pages import forms_of, note, send, wear_form
from tests.service.signing import sign_two_hours


@pytest.fixture
def child(engine: Engine, clinic: TestClinic) -> Child:
    child = register(engine, clinic, schoolchild(), NOW - timedelta(days=20))
    sign_two_hours(engine, clinic, child, TODAY - timedelta(days=14), TODAY + timedelta(days=14))
    return child


@pytest.fixture
def link(engine: Engine, clinic: TestClinic, child: Child) -> links.NewLink:
    with writing(engine) as session:
        return links.issue(session, clinic.staff[Role.ORTHOPTIST], child, caregiver="Mother", style=FeedStyle("time"), now=NOW)


@pytest.fixture
def page(link: links.NewLink) -> str:
    return f"/family/{link.page_token}"


@pytest.fixture
def worn(engine: Engine, child: Child) -> Callable[[date], object]:
    def of(day: date) -> object:
        with reading(engine) as session:
            return day_wear(wear_store.entries(session, child.id, day, day + timedelta(days=1)), day)

    return of


def test_today_says_in_words_how_long_and_which_eye(visitor: TestClient, page: str) -> None:
    html = visitor.get(page).text
    assert "2 h" in html and "RIGHT" in html and "Baby" not in html and "Sam" not in html


def test_all_some_and_none_are_noted(visitor: TestClient, page: str, worn) -> None:
    assert note(visitor, page, how="all").status_code == 303
    assert worn(TODAY).received_minutes == 120
    yesterday = TODAY - timedelta(days=1)
    assert note(visitor, f"{page}?day={yesterday}", how="some", minutes="45").status_code == 303
    assert worn(yesterday).received_minutes == 45
    before = TODAY - timedelta(days=2)
    assert note(visitor, f"{page}?day={before}", how="none", reason="refused", correction_worn="").status_code == 303
    assert worn(before).nothing_worn
    assert worn(TODAY - timedelta(days=3)).how_known == "unknown"


@pytest.mark.parametrize(("typed", "tapped", "minutes"), [({"how": "all"}, "2 hours", 120), ({"how": "some", "minutes": "75"}, "1 hour 15 minutes", 75)])
@pytest.mark.parametrize("answer", ["yes", "no"])
def test_hours_count_only_once_it_is_said_whether_the_glasses_were_on(
    visitor: TestClient, page: str, worn, typed: dict[str, str], tapped: str, minutes: int, answer: str
) -> None:
    asked = note(visitor, page, correction_worn="", **typed)
    assert asked.status_code == 422 and worn(TODAY).how_known == "unknown"
    question = wear_form(asked.text)
    assert f"<strong>{tapped}</strong>" in asked.text and question.values["how"] == typed["how"], "what was tapped is kept, and said"
    assert 'id="correction_worn-error"' in asked.text and 'class="face"' in asked.text
    assert send(visitor, question, page, correction_worn=answer).status_code == 303
    received = minutes if answer == "yes" else 0
    assert (worn(TODAY).received_minutes, worn(TODAY).without_correction_minutes) == (received, minutes - received)


def test_an_entry_from_before_the_question_had_to_be_answered_counts_as_it_did(visitor: TestClient, page: str, worn, engine: Engine, child: Child) -> None:
    with writing(engine) as session:
        wear_store.add_entry(
            session, child, "link:old", client_key="old", local_on=TODAY, minutes=50, reason=None, correction_worn=None, replaces=None, withdrawn=False, now=NOW
        )
    assert (worn(TODAY).received_minutes, worn(TODAY).without_correction_minutes) == (50, 0)
    assert "50 minutes" in visitor.get(page).text


def test_the_question_whether_to_add_repeats_what_was_tapped(visitor: TestClient, page: str) -> None:
    note(visitor, page, how="all")
    for typed, says in (
        ({"how": "all"}, "2 hours"),
        ({"how": "some", "minutes": "1"}, "1 minute"),
        ({"how": "some", "minutes": "61", "correction_worn": "no"}, "1 hour 1 minute, without the glasses or lens"),
        ({"how": "none", "reason": "ill"}, "no patch (was ill)"),
    ):
        asked = note(visitor, page, **typed)
        assert asked.status_code == 409 and f"You tapped: <strong>{says}</strong>" in asked.text


def test_the_last_seven_days_are_seven(visitor: TestClient, page: str) -> None:
    shown = visitor.get(page).text.split("The last seven days</h2>")[1]
    links_of_days = re.findall(r"\?day=([\d-]+)\"", shown.split("</section>")[0])
    assert links_of_days == [str(TODAY - timedelta(days=n)) for n in range(7)]
    assert shown.split("</svg>")[0].count("<g>") == 7


def test_hours_without_the_glasses_are_shown_apart(visitor: TestClient, page: str, worn) -> None:
    note(visitor, page, how="all", correction_worn="no")
    assert (worn(TODAY).received_minutes, worn(TODAY).without_correction_minutes) == (0, 120)
    assert "without the glasses" in visitor.get(page).text


def test_a_double_tap_or_a_retry_never_doubles(visitor: TestClient, page: str, worn) -> None:
    form = wear_form(visitor.get(page).text)
    assert [send(visitor, form, page, how="all", correction_worn="yes").status_code for _ in range(3)] == [303, 303, 303]
    assert worn(TODAY).received_minutes == 120


def test_two_phones_at_the_same_moment_never_double_a_day(visitor: TestClient, page: str, worn) -> None:
    forms = [wear_form(visitor.get(page).text) for _ in range(4)]
    with ThreadPoolExecutor(4) as pool:
        answers = list(pool.map(lambda form: send(visitor, form, page, how="all", correction_worn="yes").status_code, forms))
    assert sorted(answers) == [303, 409, 409, 409] and worn(TODAY).received_minutes == 120


def test_another_answer_from_an_old_page_is_another_answer(visitor: TestClient, page: str, worn) -> None:
    form = wear_form(visitor.get(page).text)
    assert send(visitor, form, page, how="all", correction_worn="yes").status_code == 303
    other = send(visitor, form, page, how="none", reason="ill")
    assert other.status_code == 409 and worn(TODAY).received_minutes == 120, "asked, not swallowed"


def test_a_tap_taken_back_and_sent_again_from_an_old_page_says_so(visitor: TestClient, page: str, worn) -> None:
    form = wear_form(visitor.get(page).text)
    send(visitor, form, page, how="all", correction_worn="yes")
    send(visitor, next(f for f in forms_of(visitor.get(page).text) if f.action.endswith("/undo")), page)
    again = send(visitor, form, page, how="all", correction_worn="yes")
    assert again.status_code == 409 and "taken back" in again.text and worn(TODAY).how_known == "unknown"
    fresh = wear_form(again.text)
    assert send(visitor, fresh, page, how="all", correction_worn="yes").status_code == 303 and worn(TODAY).received_minutes == 120


def test_a_second_all_of_it_asks_whether_to_add_or_to_change(visitor: TestClient, page: str, worn) -> None:
    note(visitor, page, how="some", minutes="30")
    asked = note(visitor, page, how="all")
    assert asked.status_code == 409 and worn(TODAY).received_minutes == 30
    question = wear_form(asked.text)
    assert send(visitor, question, page, more="correct").status_code == 303
    assert worn(TODAY).received_minutes == 120
    question = wear_form(note(visitor, page, how="some", minutes="15").text)
    assert send(visitor, question, page, more="add").status_code == 303
    assert worn(TODAY).received_minutes == 135
    question = wear_form(note(visitor, page, how="none", reason="ill").text)
    assert send(visitor, question, page, more="correct").status_code == 303
    assert worn(TODAY).received_minutes == 0


def test_an_entry_is_taken_back_by_a_further_one_and_both_stay(visitor: TestClient, page: str, worn, engine: Engine, child: Child) -> None:
    note(visitor, page, how="all")
    undo = next(f for f in forms_of(visitor.get(page).text) if f.action.endswith("/undo"))
    assert send(visitor, undo, page).status_code == 303
    assert send(visitor, undo, page).status_code == 303, "a second undo changes nothing"
    assert worn(TODAY).how_known == "unknown"
    with reading(engine) as session:
        assert len(wear_store.entries(session, child.id, TODAY, TODAY + timedelta(days=1))) == 2
    assert note(visitor, page, how="some", minutes="20").status_code == 303
    assert worn(TODAY).received_minutes == 20


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ({"how": "some", "minutes": "1500"}, "1500 minutes cannot be; between 1 and 1440 minutes would"),
        ({"how": "some", "minutes": "two hours"}, "is not a number"),
        ({"how": "some", "minutes": "1.5"}, "Whole minutes"),
        ({"how": "some", "minutes": ""}, "How many minutes"),
        ({"how": "none"}, "What got in the way"),
        ({"how": "all", "on": str(TODAY + timedelta(days=1))}, "has not come yet"),
        ({"how": "all", "on": str(TODAY - timedelta(days=8))}, "up to a week back"),
    ],
)
def test_what_cannot_be_is_answered_in_plain_words(visitor: TestClient, page: str, worn, typed: dict[str, str], says: str) -> None:
    answer = note(visitor, page, **typed)
    assert answer.status_code == 422 and says in answer.text
    assert 'class="face"' in answer.text and "RIGHT" in answer.text, "which eye stays in sight"
    assert worn(TODAY).how_known == "unknown"


def test_looking_records_nothing(visitor: TestClient, page: str, link: links.NewLink, engine: Engine, settings: Settings, child: Child) -> None:
    day = day_address(settings, link.subscription, TODAY).removeprefix(settings.public_url)
    for address in (page, f"{page}?day={TODAY}&how=all&noted=yes", f"{page}/wear", f"{page}/undo", day, f"{day}/wear"):
        visitor.get(address)
        visitor.head(address)
    with reading(engine) as session:
        assert wear_store.entries(session, child.id, child.born_on, TODAY + timedelta(days=1)) == []


def test_a_calendar_entrys_link_logs_its_day_and_no_other(
    visitor: TestClient, page: str, link: links.NewLink, settings: Settings, worn, clock: StoppedClock
) -> None:
    yesterday = TODAY - timedelta(days=1)
    address = day_address(settings, link.subscription, yesterday).removeprefix(settings.public_url)
    note(visitor, page, how="all")
    html = visitor.get(address).text
    assert "The last seven days" not in html and "Noted for this day" not in html, "no history"
    assert note(visitor, address, how="all", on=str(TODAY - timedelta(days=2))).status_code == 303
    assert worn(yesterday).received_minutes == 120 and worn(TODAY - timedelta(days=2)).how_known == "unknown"
    todays = next(f for f in forms_of(visitor.get(page).text) if f.action.endswith("/undo")).values["entry"]
    undo = next(f for f in forms_of(visitor.get(address).text) if f.action.endswith("/undo"))
    assert send(visitor, undo, address, entry=todays).status_code == 404
    assert visitor.get(address[:-1] + ("0" if address[-1] != "0" else "1")).status_code == 404
    assert visitor.get(address.replace(str(yesterday), str(TODAY))).status_code == 404
    clock.at += timedelta(days=wear.DAYS_BACK)
    assert visitor.get(address).status_code == 404, "seven days after its day it is closed"


def test_an_unknown_and_a_revoked_link_answer_with_the_same_bytes(
    visitor: TestClient, page: str, link: links.NewLink, signed_in, child: Child, settings: Settings
) -> None:
    browser = signed_in(Role.ORTHOPTIST)
    day = day_address(settings, link.subscription, TODAY).removeprefix(settings.public_url)
    close = next(f for f in forms_of(browser.get(f"/children/{child.public_id}/links").text) if f.action.endswith("/close"))
    assert send(browser, close, "").status_code == 303
    answers = [visitor.get(page), visitor.get("/family/odp_unknown"), visitor.get(day), visitor.get("/no/such/page")]
    assert {a.status_code for a in answers} == {404} and len({a.content for a in answers}) == 1


def test_with_the_plan_over_nothing_is_asked_for(visitor: TestClient, page: str, clock: StoppedClock) -> None:
    clock.at += timedelta(days=14)
    html = visitor.get(page).text
    assert "Nothing is planned" in html and "2 h" not in html.split("The last seven days")[0]
