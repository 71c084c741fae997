"""A caregiver's timer, as a phone without a script uses it: started, stopped, forgotten, asked about naps, thrown away; and what a device sends later."""

from datetime import date, timedelta

import pytest
from sqlalchemy import Engine
from starlette.testclient import TestClient

from schedules.adherence import day_wear
from schedules.feed_style import FeedStyle
from service.actions import links
from service.clock import StoppedClock
from service.db import reading, writing
from service.facts import Child, Role
from service.store import wear
from tests.people import NOW, TODAY, TestClinic
from tests.service.pages import PageForm, forms_of, send, submit, taking
from tests.service.signing import sign_two_hours

MINUTE = timedelta(minutes=1)
JSON = {"Accept": "application/json"}


@pytest.fixture
def home(engine: Engine, clinic: TestClinic, sam: Child) -> str:
    sign_two_hours(engine, clinic, sam, TODAY, date(2026, 3, 30))
    return link(engine, clinic, sam, "Mother")


def link(engine: Engine, clinic: TestClinic, child: Child, caregiver: str, *, sees_others: bool = True) -> str:
    with writing(engine) as session:
        staff = clinic.staff[Role.ORTHOPTIST]
        made = links.issue(session, staff, child, caregiver=caregiver, style=FeedStyle("time"), now=NOW)
        if not sees_others:
            links.set_sees_others(session, staff, child, made.subscription.public_id, False, NOW)
    return f"/family/{made.page_token}"


def worn(engine: Engine, child: Child, on: date = TODAY) -> tuple[int, int]:
    with reading(engine) as session:
        found = day_wear(wear.entries(session, child.id, on, on + timedelta(days=1)), on)
    return found.received_minutes, found.without_correction_minutes


def start(visitor: TestClient, home: str) -> None:
    form = next(f for f in forms(visitor, home) if f.action.endswith("/timer"))
    assert send(visitor, form, home + "/timer", step="start").status_code == 303


def forms(visitor: TestClient, home: str) -> list[PageForm]:
    return forms_of(visitor.get(home).text)


def stop(visitor: TestClient, home: str, **typed: str):
    return submit_to_timer(visitor, home, step="stop", **{"correction_worn": "yes"} | typed)


def submit_to_timer(visitor: TestClient, home: str, **typed: str):
    return send(visitor, taking(visitor.get(home).text, "until"), home + "/timer", **typed)


def test_a_timer_survives_the_page_and_notes_what_it_measured(visitor: TestClient, home: str, sam: Child, engine: Engine, clock: StoppedClock) -> None:
    start(visitor, home)
    clock.at = NOW + 95 * MINUTE
    page = visitor.get(home).text
    assert "1 h 35 min" in page and "since 09:00" in page and "How did it go?" not in page.split('<template id="after-timer">')[0]
    start_again = {"form_token": taking(page, "until").values["form_token"], "step": "start"}
    assert visitor.post(home + "/timer", data=start_again).status_code == 303, "a second tap starts no second timer"
    assert stop(visitor, home, correction_worn="").status_code == 422
    assert worn(engine, sam) == (0, 0)
    assert stop(visitor, home).status_code == 303
    assert worn(engine, sam) == (95, 0)
    page = visitor.get(home).text
    assert "09:00–10:35: 1 hour 35 minutes" in page and "Undo" in page and "Patch on: start" in page


def test_what_was_just_noted_is_undone_by_one_tap_for_ten_minutes(visitor: TestClient, home: str, sam: Child, engine: Engine, clock: StoppedClock) -> None:
    start(visitor, home)
    clock.at = NOW + 30 * MINUTE
    stop(visitor, home)
    clock.at += 10 * MINUTE
    assert "Undo" in visitor.get(home).text
    clock.at += MINUTE
    late = visitor.get(home).text
    assert "Undo" not in late and "Take back" in late, "and for seven days by the list"
    clock.at -= MINUTE
    assert send(visitor, taking(visitor.get(home).text, "entry"), home + "/undo").status_code == 303
    assert worn(engine, sam) == (0, 0)


def test_a_forgotten_timer_is_capped_and_asked_about(visitor: TestClient, home: str, sam: Child, engine: Engine, clock: StoppedClock) -> None:
    start(visitor, home)
    clock.at = NOW + timedelta(hours=9)
    page = visitor.get(home).text
    assert "Until when was the patch on?" in page and 'value="12:00"' in page, "two hours were signed, and an hour more is believed"
    refused = stop(visitor, home, until="")
    assert refused.status_code == 422 and "has run since 09:00" in refused.text
    assert stop(visitor, home, until="23:00").status_code == 422, "later than now"
    assert stop(visitor, home, until="08:00").status_code == 422, "before the start"
    assert stop(visitor, home, until="11:10").status_code == 303
    assert worn(engine, sam) == (130, 0)


def test_one_left_running_overnight_is_asked_about_the_next_day(visitor: TestClient, home: str, sam: Child, engine: Engine, clock: StoppedClock) -> None:
    start(visitor, home)
    clock.at = NOW + timedelta(days=1)
    assert stop(visitor, home, until="10:00").status_code == 303
    assert worn(engine, sam) == (60, 0) and worn(engine, sam, TODAY + timedelta(days=1)) == (0, 0)


def test_a_nap_inside_is_asked_about(visitor: TestClient, home: str, sam: Child, engine: Engine, clock: StoppedClock) -> None:
    week = {f"weekday_{n}": "yes" for n in range(7)}
    assert submit(visitor, f"{home}/routine", "wake", step="days", **week, wake="7:00", sleep="19:30", naps="10:00-10:30").status_code == 303
    start(visitor, home)
    clock.at = NOW + timedelta(hours=2)
    page = visitor.get(home).text
    assert "Was the patch off during the nap (10:00–10:30)?" in page
    asked = stop(visitor, home)
    assert asked.status_code == 422 and "A nap lies in this time" in asked.text
    assert stop(visitor, home, naps_off="yes").status_code == 303
    assert worn(engine, sam) == (90, 0)


def test_a_timer_can_be_thrown_away(visitor: TestClient, home: str, sam: Child, engine: Engine, clock: StoppedClock) -> None:
    start(visitor, home)
    clock.at = NOW + timedelta(hours=1)
    assert send(visitor, taking(visitor.get(home).text, "timer_key"), home + "/timer", step="discard").status_code == 303
    assert worn(engine, sam) == (0, 0) and "Patch on: start" in visitor.get(home).text


def test_minutes_that_stand_without_times_are_asked_about_first(visitor: TestClient, home: str, sam: Child, engine: Engine, clock: StoppedClock) -> None:
    form = next(f for f in forms(visitor, home) if f.action.endswith("/wear"))
    assert send(visitor, form, home + "/wear", how="all", correction_worn="yes").status_code == 303
    start(visitor, home)
    clock.at = NOW + timedelta(hours=1)
    asked = stop(visitor, home)
    assert asked.status_code == 409 and "more, or instead" in asked.text
    assert stop(visitor, home, more="correct").status_code == 303
    assert worn(engine, sam) == (60, 0)


def test_two_adults_with_a_timer_each_give_the_hour_once(
    visitor: TestClient, home: str, sam: Child, engine: Engine, clinic: TestClinic, clock: StoppedClock
) -> None:
    other = link(engine, clinic, sam, "Father")
    start(visitor, home)
    clock.at = NOW + 30 * MINUTE
    start(visitor, other)
    clock.at = NOW + 60 * MINUTE
    stop(visitor, home)
    clock.at = NOW + 90 * MINUTE
    stop(visitor, other)
    assert worn(engine, sam) == (90, 0)


def test_who_does_not_see_the_others_has_no_sign_of_them_and_the_dose_counts_both(
    visitor: TestClient, home: str, sam: Child, engine: Engine, clinic: TestClinic, clock: StoppedClock
) -> None:
    apart = link(engine, clinic, sam, "Father", sees_others=False)
    untouched = visitor.get(apart).text
    form = next(f for f in forms(visitor, home) if f.action.endswith("/wear"))
    assert send(visitor, form, home + "/wear", how="some", minutes="70", correction_worn="yes").status_code == 303
    strip = lambda page: page.split('name="submission_key"')[0]  # noqa: E731
    assert strip(visitor.get(apart).text) == strip(untouched) and "1 hour 10" not in visitor.get(apart).text
    form = next(f for f in forms(visitor, apart) if f.action.endswith("/wear"))
    assert send(visitor, form, apart + "/wear", how="some", minutes="1440", correction_worn="yes").status_code == 303, "not even a refusal speaks"
    assert worn(engine, sam) == (1440, 0), "and no day has more than a day"
    with reading(engine) as session:
        (theirs,) = [e for e in wear.entries(session, sam.id, TODAY, TODAY + timedelta(days=1)) if e.minutes == 70]
    taken = visitor.post(apart + "/undo", data={**form.values, "entry": theirs.key})
    assert taken.status_code == 404


def queued(visitor: TestClient, home: str, where: str, sent_at: str, **fields: str):
    form_token = next(f for f in forms(visitor, home) if "form_token" in f.values).values["form_token"]
    data = {"form_token": form_token, "submission_key": "key-of-the-device", **fields}
    return visitor.post(f"{home}/{where}", data=data, headers=JSON | {"X-Sent-At": sent_at})


def test_a_device_that_waited_sends_its_own_times_and_its_wrong_clock_moves_none(
    visitor: TestClient, home: str, sam: Child, engine: Engine, clock: StoppedClock
) -> None:
    clock.at = NOW + timedelta(hours=3)
    fields = {"step": "stop", "timer_key": "k1", "correction_worn": "yes"}
    # the device's clock is two hours ahead: it says 11:00 to 11:40, and 14:00 at the sending, when it is 12:00
    times = {"started_at": "2026-03-02T11:00:00Z", "tapped_at": "2026-03-02T11:40:00Z"}
    for _ in range(2):
        told = queued(visitor, home, "timer", "2026-03-02T14:00:00+00:00", **fields, **times)
        assert told.status_code == 200 and told.json() == {"state": "noted", "message": "", "asks": [], "see": f"{home}?day=2026-03-02&noted=yes"}
    assert worn(engine, sam) == (40, 0), "and the same again notes nothing more"
    with reading(engine) as session:
        (entry,) = wear.entries(session, sam.id, TODAY, TODAY + timedelta(days=1))
    assert f"{entry.started_at:%H:%M}" == "09:00"


def test_a_device_is_told_what_waits_for_an_answer_and_what_cannot_be(visitor: TestClient, home: str, sam: Child, engine: Engine, clock: StoppedClock) -> None:
    sent = NOW.isoformat()
    said = {"on": str(TODAY), "how": "some", "minutes": "30", "correction_worn": "yes"}
    assert queued(visitor, home, "wear", sent, **said).json()["state"] == "noted"
    again = queued(visitor, home, "wear", sent, **said)
    assert again.json()["state"] == "noted", "sent twice, noted once"
    ask = queued(visitor, home, "wear", sent, **said | {"minutes": "20"})
    assert ask.status_code == 409 and ask.json()["state"] == "ask" and ask.json()["asks"] == ["more"]
    assert queued(visitor, home, "wear", sent, **said | {"minutes": "20", "more": "add"}).json()["state"] == "noted"
    future = queued(visitor, home, "wear", sent, **said | {"on": str(TODAY + timedelta(days=1))})
    assert future.status_code == 422 and future.json()["message"] == "That day has not come yet."
    long = queued(visitor, home, "wear", sent, **said | {"minutes": "1500"})
    assert long.status_code == 422 and "1500" in long.json()["message"]
    nap = queued(visitor, home, "timer", sent, step="stop", timer_key="k2", correction_worn="yes")
    assert nap.status_code == 422 and "never reached the clinic" in nap.json()["message"]
    assert worn(engine, sam) == (50, 0)


@pytest.mark.parametrize("at", ["2026-02-20T09:00:00Z", "2026-03-02T15:00:00Z", "9999-12-31T23:59:59Z", "0001-01-01T00:00:00+14:00"])
def test_a_time_that_cannot_be_meant_starts_no_timer_and_is_answered_in_words(visitor: TestClient, home: str, sam: Child, engine: Engine, at: str) -> None:
    """More than a week ago, to come, and two that no arithmetic of dates holds."""
    sent = NOW.isoformat()
    started = queued(visitor, home, "timer", sent, step="start", timer_key="k1", started_at=at)
    stopped = queued(visitor, home, "timer", sent, step="stop", timer_key="k1", started_at=at, tapped_at=at, correction_worn="yes")
    for told in (started, stopped):
        assert told.status_code == 422 and told.json()["state"] == "refused" and "note the minutes yourself" in told.json()["message"]
    assert "Patch on: start" in visitor.get(home).text and worn(engine, sam) == (0, 0)


@pytest.mark.parametrize("where", ["wear", "timer", "undo"])
def test_a_phone_that_opens_the_address_of_a_form_again_comes_back_to_today(visitor: TestClient, home: str, where: str) -> None:
    again = visitor.get(f"{home}/{where}")
    assert again.status_code == 303 and again.headers["location"] == home


def test_the_week_is_flowers_with_a_petal_for_each_half_hour(visitor: TestClient, home: str, clock: StoppedClock) -> None:
    start(visitor, home)
    clock.at = NOW + 60 * MINUTE
    stop(visitor, home)
    page = visitor.get(f"{home}/week").text
    assert page.count('class="petal') == 7 * 4 and page.count("petal worn") == 2, "two hours a day; an hour worn"
    assert "Mon: 2 hours, 1 hour noted" in page and "to come" in page and "%" not in page.split("<main")[1].split("</main>")[0]
    assert "the week before" not in page, "nothing was planned before"
    for elsewhere in ("1900-01-01", "2199-12-31", "x"):
        assert visitor.get(f"{home}/week?of={elsewhere}").status_code == 200


def test_a_phone_is_given_what_it_keeps_and_nothing_of_another_link(visitor: TestClient, home: str) -> None:
    manifest = visitor.get(f"{home}/app.webmanifest")
    assert manifest.headers["content-type"].startswith("application/manifest+json") and manifest.json()["start_url"] == manifest.json()["scope"] == home
    assert "Sam" not in manifest.text
    worker = visitor.get(f"{home}/worker.js")
    assert worker.headers["service-worker-allowed"] == home and worker.headers["content-type"].startswith("text/javascript")
    for part in ("signs", "week", "more", "app.webmanifest", "worker.js"):
        assert visitor.get(f"/family/odp_unknown/{part}").status_code == 404


def test_a_form_sent_as_it_is_by_a_phone_with_a_wrong_clock_means_the_day_it_was_tapped(visitor: TestClient, home: str, sam: Child, engine: Engine) -> None:
    form = next(f for f in forms(visitor, home) if f.action.endswith("/wear"))
    ahead = "2026-11-26T09:00:00+00:00"
    sent = {"on": "", "how": "some", "minutes": "30", "correction_worn": "yes", "said_at": ahead, "sent_at": ahead}
    assert send(visitor, form, home + "/wear", **sent).status_code == 303
    assert worn(engine, sam) == (30, 0)
