"""What a family makes of its calendar: settings, another address, sessions, visits and care; and how closed clients ask for it."""

import re
import zoneinfo
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import date, datetime, timedelta
from email.utils import parsedate_to_datetime
from pathlib import Path

import icalendar
import pytest
from sqlalchemy import Engine
from starlette.testclient import TestClient

from schedules.care_sets import CareSet
from schedules.care_words import CareKind
from schedules.feed_style import FeedStyle
from schedules.household import Household
from schedules.routine import DayOff, Routine
from service.actions import bookings, care, care_sets, households, links
from service.clock import StoppedClock, zone_rules
from service.db import writing
from service.facts import Child, Role
from service.store import households as told
from shared.vocabulary import BookingKind
from tests.people import NOW, TODAY, TestClinic, register, schoolchild
from tests.schedules.days import week
from tests.service.pages import forms_of, note, send, submit
from tests.service.signing import sign_two_hours

DAY = timedelta(days=1)


@pytest.fixture
def child(engine: Engine, clinic: TestClinic) -> Child:
    child = register(engine, clinic, schoolchild(), NOW - timedelta(days=20))
    sign_two_hours(engine, clinic, child, TODAY - 7 * DAY, TODAY + 7 * DAY)
    return child


@pytest.fixture
def link(engine: Engine, clinic: TestClinic, child: Child) -> links.NewLink:
    with writing(engine) as session:
        return links.issue(session, clinic.staff[Role.ORTHOPTIST], child, caregiver="Mother", style=FeedStyle("time"), now=NOW)


@pytest.fixture
def feed(visitor: TestClient, link: links.NewLink) -> Callable[[], list[icalendar.Event]]:
    def fetch() -> list[icalendar.Event]:
        answer = visitor.get(f"/feed/{link.feed_token}/plan.ics")
        assert answer.status_code == 200
        return list(icalendar.Calendar.from_ical(answer.content).events)

    return fetch


def titles(events: list[icalendar.Event], on: date) -> list[str]:
    return [str(e["summary"]) for e in events if day_of(e) == on]


def day_of(event: icalendar.Event) -> date:
    start = event.decoded("dtstart")
    return start.date() if isinstance(start, datetime) else start


def tell(engine: Engine, clinic: TestClinic, child: Child, change: Callable[[Household], Household], seen: int = 0) -> None:
    with writing(engine) as session:
        households.enter(session, clinic.staff[Role.ORTHOPTIST], child, seen, change, NOW)


def settle(browser: TestClient, address: str, **typed: object):
    return submit(browser, address, "shown", **typed)


def test_a_family_chooses_and_its_calendar_follows_under_the_same_uids(visitor: TestClient, link: links.NewLink, feed, engine, clinic, child) -> None:
    """Awake by `tests.schedules.days.week`; in Lisbon the clock is that of UTC until 29 March."""
    tell(engine, clinic, child, lambda h: replace(h, routine=Routine((week(TODAY),))))
    before = feed()
    address = f"/family/{link.page_token}/calendar"
    typed = {"shown": "both", "word": "Blue", "alarm_minutes": "07:30", "session_alarm_minutes": "10", "colour": "navy"}
    assert settle(visitor, address, **typed).status_code == 303
    after = feed()
    whole = [e for e in after if not isinstance(e.decoded("dtstart"), datetime)]
    sessions = [e for e in after if isinstance(e.decoded("dtstart"), datetime)]
    assert {day_of(e): str(e["uid"]) for e in whole} == {day_of(e): str(e["uid"]) for e in before}
    assert titles(whole, TODAY) == ["Blue: time 2 h"]
    assert {day_of(e) for e in sessions} == {TODAY + n * DAY for n in range(7)}, "what is past was told of no times, and the plan ends"
    for event in sessions:
        assert re.search(rb"DTSTART:\d{8}T\d{6}Z", event.to_ical())
        assert event.alarms.times[0].trigger == event.decoded("dtstart") - timedelta(minutes=10)
    assert sum((e.decoded("dtend") - e.decoded("dtstart")).seconds for e in sessions if day_of(e) == TODAY) == 2 * 3600
    page = visitor.get(address).text
    assert 'value="07:30"' in page
    assert "Blue: time 2 h" in page
    assert settle(visitor, address, shown="all-day", word="", alarm_minutes="", colour="teal").status_code == 303
    assert [(e["uid"], e["summary"]) for e in feed()] == [(e["uid"], e["summary"]) for e in before]


def test_clinic_family_and_api_settle_the_same_thing(visitor: TestClient, link: links.NewLink, child: Child, signed_in, call) -> None:
    by_api = call(Role.RECEPTION)
    list_address = f"/api/children/{child.public_id}/links"
    style = {"label": "time", "word": "Blue", "shown": "sessions", "alarm_minutes": 450, "session_alarm_minutes": 0, "care": ["lens"], "done_shown": True}
    style |= {"colour": "olive", "language": "en"}
    answers = []
    typed = {k: v for k, v in style.items() if k not in ("care", "alarm_minutes", "done_shown")}
    typed |= {"alarm_minutes": "7:30", "care_visits": None, "care_drops": None, "care_lens": "yes", "done_shown": "yes"}
    for browser, address in (
        (visitor, f"/family/{link.page_token}/calendar"),
        (signed_in(Role.RECEPTION), f"/children/{child.public_id}/links/{link.subscription.public_id}"),
    ):
        assert settle(browser, address, **typed).status_code == 303
        answers.append(by_api.get(list_address).json()["items"][0]["calendar"])
        assert (
            settle(browser, address, **dict.fromkeys(typed, "") | {"label": "time", "shown": "all-day", "colour": "teal", "language": "en"}).status_code == 303
        )
    answers.append(by_api.put(f"{list_address}/{link.subscription.public_id}/calendar", json=style).json()["calendar"])
    assert answers == [style] * 3


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ({"word": "sam's"}, "leave the child&#39;s name out"),
        ({"label": "Time for Sam"}, "leave the child&#39;s name out"),
        ({"label": ""}, "Please fill this in"),
        ({"alarm_minutes": "24:00"}, "is not a time"),
        ({"session_alarm_minutes": "121"}, "between 0 and 120 minutes"),
        ({"session_alarm_minutes": "1.5"}, "Whole minutes"),
        ({"shown": "weekly"}, "is not one of the choices"),
        ({"word": "x" * 21}, "At most 20 characters"),
    ],
)
def test_what_cannot_be_stands_beside_its_field_and_nothing_changes(visitor: TestClient, link: links.NewLink, feed, typed, says: str) -> None:
    before = feed()
    answer = settle(visitor, f"/family/{link.page_token}/calendar", **typed)
    assert answer.status_code == 422
    assert says in answer.text
    assert feed() == before


def test_nobody_else_settles_a_calendar(visitor: TestClient, link: links.NewLink, child: Child, other_clinic: TestClinic, signed_in, call) -> None:
    address = f"/children/{child.public_id}/links/{link.subscription.public_id}"
    assert signed_in(Role.ORTHOPTIST, other_clinic).get(address).status_code == 404
    assert visitor.get("/family/odp_unknown/calendar").status_code == 404
    assert visitor.post(f"/family/{link.page_token}/calendar", data={"label": "x", "form_token": "guessed"}).status_code == 403
    assert visitor.post(f"/family/{link.page_token}/calendar/address", data={"form_token": "guessed"}).status_code == 403
    assert call(Role.RECEPTION, other_clinic).put(f"/api{address}/calendar", json={"label": "x"}).status_code == 404
    browser = signed_in(Role.RECEPTION)
    close = next(f for f in forms_of(browser.get(f"/children/{child.public_id}/links").text) if f.action.endswith("/close"))
    send(browser, close, "")
    assert browser.get(address).status_code == 404


@pytest.mark.parametrize("by", ["family", "clinic"])
def test_another_address_takes_the_place_of_the_first(by: str, visitor, link, child: Child, signed_in, feed, clock: StoppedClock) -> None:
    before = visitor.get(f"/feed/{link.feed_token}/plan.ics")
    days = feed()
    browser = visitor if by == "family" else signed_in(Role.RECEPTION)
    address = f"/family/{link.page_token}/calendar" if by == "family" else f"/children/{child.public_id}/links/{link.subscription.public_id}"
    form = next(f for f in forms_of(browser.get(address).text) if f.action.endswith("/address"))
    made = send(browser, form, "")
    assert made.status_code == 200
    assert made.headers["cache-control"] == "no-store"
    new = next(a for a in made.text.split('"') if a.startswith("https://clinic.example/feed/"))
    again = send(browser, form, "")
    assert again.status_code == 409
    assert "/feed/" not in again.text, "a second tap makes no third address"
    assert [(e["uid"], e["summary"]) for e in icalendar.Calendar.from_ical(visitor.get(new).content).events] == [(e["uid"], e["summary"]) for e in days]
    old = visitor.get(f"/feed/{link.feed_token}/plan.ics", headers={"If-Modified-Since": before.headers["last-modified"]})
    assert old.status_code == 200, "a client that asks by date alone sees that it moved"
    assert parsedate_to_datetime(old.headers["last-modified"]) > parsedate_to_datetime(before.headers["last-modified"])
    assert [str(e["summary"]) for e in feed()] == ["Please subscribe again"]
    clock.at += timedelta(days=13)
    assert visitor.get(f"/feed/{link.feed_token}/plan.ics", headers={"If-None-Match": old.headers["etag"]}).status_code == 304, "always the same bytes"
    clock.at += DAY
    assert visitor.get(f"/feed/{link.feed_token}/plan.ics").status_code == 410
    assert visitor.get(new).status_code == 200


def test_a_given_up_address_is_nobodys_last_fetch(visitor: TestClient, link: links.NewLink, engine: Engine, clinic: TestClinic, child: Child, call) -> None:
    with writing(engine) as session:
        links.rotate(session, clinic.staff[Role.RECEPTION], child, link.subscription.public_id, NOW)
    visitor.get(f"/feed/{link.feed_token}/plan.ics", headers={"User-Agent": "iOS/26.1 dataaccessd/1.0"})
    assert call(Role.RECEPTION).get(f"/api/children/{child.public_id}/links").json()["items"][0]["fetched_at"] is None


def test_the_days_move_sessions_from_today_on_and_no_past_event(feed, visitor, link, engine: Engine, clinic: TestClinic, child: Child, clock) -> None:
    tell(engine, clinic, child, lambda h: replace(h, routine=Routine((week(TODAY),))))
    settle(visitor, f"/family/{link.page_token}/calendar", shown="sessions")
    first = {str(e["uid"]): e for e in feed()}
    clock.at += 3 * DAY
    late = week(TODAY + 3 * DAY, wake_minutes=9 * 60)
    with writing(engine) as session:
        newest = told.newest(session, child)
        ill = DayOff(TODAY + 5 * DAY, TODAY + 5 * DAY, "ill")
        changed = replace(newest.household, routine=Routine((*newest.household.routine.weeks, late)), days_off=(ill,))
        households.enter(session, clinic.staff[Role.ORTHOPTIST], child, newest.number, lambda _: changed, clock.at)
    second = {str(e["uid"]): e for e in feed()}
    past = {uid for uid, e in first.items() if day_of(e) < TODAY + 3 * DAY}
    assert past
    assert all(second[uid] == first[uid] for uid in past)
    assert {day_of(e) for uid, e in first.items() if uid not in second} == {TODAY + 5 * DAY}
    moved = [uid for uid, e in second.items() if uid in first and e.decoded("dtstart") != first[uid].decoded("dtstart")]
    assert moved
    assert all(second[uid]["sequence"] == first[uid]["sequence"] + 1 for uid in moved)


@pytest.fixture
def another_edition(tmp_path: Path) -> Iterator[Callable[[], None]]:
    """Lets the child's zone keep Berlin's hours, as a new edition of the rules would; afterwards everything is as it was."""
    known = zoneinfo.TZPATH

    def forget() -> None:
        zone_rules.cache_clear()
        zoneinfo.ZoneInfo.clear_cache()

    def begin() -> None:
        berlin = next(place for place in (Path(p) / "Europe/Berlin" for p in known) if place.is_file())
        (tmp_path / "Europe").mkdir()
        (tmp_path / "Europe/Lisbon").write_bytes(berlin.read_bytes())
        (tmp_path / "tzdata.zi").write_text("# version of tomorrow\n")
        zoneinfo.reset_tzpath([str(tmp_path), *known])
        forget()

    yield begin
    zoneinfo.reset_tzpath(known)
    forget()


def test_a_new_edition_of_the_zones_rules_moves_what_is_to_come_and_no_past_event(
    another_edition, feed, visitor, link, engine: Engine, clinic: TestClinic, child: Child, clock: StoppedClock
) -> None:
    tell(engine, clinic, child, lambda h: replace(h, routine=Routine((week(TODAY),))))
    settle(visitor, f"/family/{link.page_token}/calendar", shown="sessions")
    feed()
    clock.at += 3 * DAY
    first = {str(e["uid"]): e for e in feed()}
    another_edition()
    second = {str(e["uid"]): e for e in feed()}
    assert second.keys() == first.keys()
    moved = {uid: e.decoded("dtstart") - first[uid].decoded("dtstart") for uid, e in second.items() if e != first[uid]}
    sessions = {uid for uid, e in first.items() if isinstance(e.decoded("dtstart"), datetime)}
    assert set(moved) == {uid for uid in sessions if day_of(first[uid]) >= TODAY + 3 * DAY} != sessions
    assert set(moved.values()) == {timedelta(hours=-1)}


def test_a_booked_visit_and_care_stand_in_it_neutral_and_the_days_link_says_more(
    visitor: TestClient, feed, link, engine: Engine, clinic: TestClinic, child: Child
) -> None:
    staff = clinic.staff[Role.CLINICIAN]
    with writing(engine) as session:
        bookings.book(session, staff, child, BookingKind.REVIEW, TODAY + 10 * DAY, "", NOW)
        care.enter_line(session, staff, child, care.NewLine(CareKind.DROPS, None, TODAY, TODAY + 3 * DAY, 4, "yellow top"), NOW)
    events = feed()
    assert titles(events, TODAY + 10 * DAY) == ["visit"], "after the plan's end too"
    assert titles(events, TODAY) == ["care", "time 2 h"]
    assert not any(word in e.to_ical().decode() for e in events for word in ("yellow", "drops", "review"))
    shown = next(e for e in events if e["summary"] == "care")
    page = visitor.get(str(shown["url"]).removeprefix("https://clinic.example")).text
    assert "yellow top" in page
    assert "last seven days" not in page
    settle(visitor, f"/family/{link.page_token}/calendar", care_visits=None, care_drops=None)
    assert {str(e["summary"]) for e in feed()} == {"time 2 h", "time: plan ends"}


def test_a_clinics_new_care_set_reaches_calendars_at_once(feed, engine: Engine, clinic: TestClinic, child: Child) -> None:
    with writing(engine) as session:
        care.enter_line(session, clinic.staff[Role.CLINICIAN], child, care.NewLine(CareKind.DROPS, None, TODAY, TODAY + 3 * DAY, 4, "x"), NOW)
    assert "care" in titles(feed(), TODAY + DAY)
    none_asked = CareSet(from_on=TODAY + DAY, kinds_off=frozenset({CareKind.DROPS}))
    with writing(engine) as session:
        care_sets.enter(session, clinic.staff[Role.ADMINISTRATOR], none_asked, 0, TODAY + DAY, TODAY, NOW)
    assert "care" in titles(feed(), TODAY)
    assert "care" not in titles(feed(), TODAY + DAY)


def test_a_noted_day_reads_done_only_where_the_family_wants_it(visitor: TestClient, feed, link: links.NewLink) -> None:
    note(visitor, f"/family/{link.page_token}", how="all")
    assert titles(feed(), TODAY) == ["time 2 h"]
    settle(visitor, f"/family/{link.page_token}/calendar", done_shown="yes")
    assert titles(feed(), TODAY) == ["time 2 h, done"]
    assert titles(feed(), TODAY - DAY) == ["time 2 h"]


@pytest.mark.parametrize(
    "headers",
    [
        {"User-Agent": "Google-Calendar-Importer"},
        {"User-Agent": "ICSx5/2.2 (ical4j) okhttp/4.12", "Accept": "text/calendar, text/plain;q=0.8, */*;q=0.5", "Accept-Encoding": "gzip"},
        {"User-Agent": "iOS/26.1 (23B85) dataaccessd/1.0", "Accept": "*/*"},
        {"User-Agent": "Microsoft Office Outlook", "Accept": "text/html"},
    ],
    ids=["without Accept", "both validators", "by date alone", "asks for HTML"],
)
def test_clients_that_cannot_run_here_are_answered_as_they_ask(
    headers: dict[str, str], visitor: TestClient, link: links.NewLink, engine, clinic, child
) -> None:
    """How they ask: aaronpk/Meetable issue 138, bitfireAT/icsx5 at 537f835, jsenecal/netbox-notices pull 68; observed, never promised."""
    address = f"/feed/{link.feed_token}/plan.ics"
    del visitor.headers["accept"]
    first = visitor.get(address, headers=headers)
    assert first.status_code == 200
    assert first.headers["content-type"] == "text/calendar; charset=utf-8"
    by_both = {"If-None-Match": first.headers["etag"], "If-Modified-Since": first.headers["last-modified"]}
    asked = {k: v for k, v in by_both.items() if "dataaccessd" not in headers["User-Agent"] or k == "If-Modified-Since"}
    assert visitor.get(address, headers=headers | asked).status_code == 304
    sign_two_hours(engine, clinic, child, TODAY + DAY, TODAY + 3 * DAY)
    after = visitor.get(address, headers=headers | asked)
    assert after.status_code == 200, "days are gone, although the clock stands"


def test_nothing_tells_a_calendar_service_to_stay_away(visitor: TestClient) -> None:
    """Google's importer obeys robots.txt (hasadna/Open-Knesset pull 260)."""
    assert visitor.get("/robots.txt").status_code == 404
