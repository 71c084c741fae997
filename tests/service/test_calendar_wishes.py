"""How a person wants their calendar: its style, alarms and words change, the dose and the entries' names never."""

from datetime import timedelta

import pytest
from icalendar import Calendar
from sqlalchemy import Engine
from starlette.testclient import TestClient

from service.actions import links as actions
from service.db import reading, writing
from service.facts import Child, Role
from service.store import links
from tests.people import NOW, TODAY, TestClinic, register, schoolchild
from tests.service.pages import forms_of, note
from tests.service.signing import sign_two_hours


@pytest.fixture
def sam(engine: Engine, clinic: TestClinic) -> Child:
    child = register(engine, clinic, schoolchild(), NOW - timedelta(days=20))
    sign_two_hours(engine, clinic, child, TODAY - timedelta(days=14), TODAY + timedelta(days=14))
    return child


@pytest.fixture
def addresses(engine: Engine, clinic: TestClinic, sam: Child) -> tuple[str, str]:
    with writing(engine) as session:
        link = actions.issue(session, clinic.staff[Role.ORTHOPTIST], sam, caregiver="Mother", label="time", alarm_minutes=None, now=NOW)
    return f"/feed/{link.feed_token}/plan.ics", f"/family/{link.page_token}"


WISH = {"label": "blue time", "style": "all-day", "alarm_hour": "", "session_alarm_minutes": "", "care": "", "visits": "", "done": ""}


def wish(visitor: TestClient, phone: str, **typed: str):
    form = next(f for f in forms_of(visitor.get(f"{phone}/calendar").text) if "label" in f.values)
    values = {**form.values, **WISH, **typed}
    return visitor.post(f"{phone}/calendar", data={k: v for k, v in values.items() if v})


def events(visitor: TestClient, feed: str) -> list:
    answer = visitor.get(feed)
    assert answer.status_code == 200
    return list(Calendar.from_ical(answer.content).walk("VEVENT"))


def days(found: list) -> list:
    return [e for e in found if "ends" not in str(e["SUMMARY"])]


def test_the_family_names_it_and_sets_alarms_and_every_entry_keeps_its_uid(visitor: TestClient, addresses) -> None:
    feed, phone = addresses
    before = {str(e["UID"]): (int(e["SEQUENCE"]), e["LAST-MODIFIED"].dt) for e in events(visitor, feed)}
    assert wish(visitor, phone, alarm_hour="7").status_code == 303
    after = events(visitor, feed)
    assert {str(e["UID"]) for e in after} == before.keys()
    for e in days(after):
        sequence, modified = before[str(e["UID"])]
        assert int(e["SEQUENCE"]) == sequence + 1 and e["LAST-MODIFIED"].dt > modified
        assert str(e["SUMMARY"]).startswith("blue time") and e.walk("VALARM")[0]["TRIGGER"].dt == timedelta(hours=7)


def test_a_style_of_sessions_without_a_known_day_still_shows_every_day_whole(visitor: TestClient, addresses) -> None:
    feed, phone = addresses
    whole = [(str(e["UID"]), e["DTSTART"].dt) for e in events(visitor, feed)]
    assert wish(visitor, phone, style="sessions").status_code == 303
    assert [(str(e["UID"]), e["DTSTART"].dt) for e in events(visitor, feed)] == whole, "no hour is lost because nobody told of the day"


def test_a_day_is_shown_as_done_only_where_that_was_wished(visitor: TestClient, addresses) -> None:
    feed, phone = addresses
    assert note(visitor, phone, how="all").status_code == 303
    assert not any("done" in str(e["SUMMARY"]) for e in events(visitor, feed))
    assert wish(visitor, phone, done="yes").status_code == 303
    assert [e["DTSTART"].dt for e in events(visitor, feed) if "done" in str(e["SUMMARY"])] == [TODAY]


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"label": "Sam time"}, "leave the child"),
        ({"label": ""}, "fill this in"),
        ({"alarm_hour": "25"}, "cannot be"),
        ({"session_alarm_minutes": "soon"}, "is not a number"),
    ],
)
def test_a_wish_that_cannot_be_is_refused_in_words_and_kept(visitor: TestClient, addresses, typed: dict[str, str], said: str) -> None:
    _, phone = addresses
    answer = wish(visitor, phone, **typed)
    assert answer.status_code == 422 and said in answer.text
    assert all(f'value="{value}"' in answer.text for value in typed.values() if value)


def test_no_other_link_and_no_guess_opens_it(visitor: TestClient, addresses, engine: Engine, sam: Child, clinic: TestClinic) -> None:
    feed, phone = addresses
    assert visitor.get(f"{phone}x/calendar").status_code == 404
    assert visitor.get(feed.replace("/plan.ics", "/calendar")).status_code == 404
    assert visitor.post(f"{phone}/calendar", data=WISH).status_code == 403, "a form of another page is refused"
    with reading(engine) as session:
        assert all(s.label == "time" for s in links.subscriptions(session, sam.id))
