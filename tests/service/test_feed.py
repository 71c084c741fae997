"""The feed as calendar programs fetch it: what they may rely on, and what they must never see."""

import logging
import re
from concurrent.futures import ThreadPoolExecutor
from datetime import date, timedelta
from email.utils import format_datetime, parsedate_to_datetime

import icalendar
import pytest
from sqlalchemy import Engine
from starlette.testclient import TestClient

from schedules.feed_style import FeedStyle
from service.actions import links
from service.clock import StoppedClock
from service.db import reading, writing
from service.facts import Child, Role
from service.store import outbox
from tests.people import NOW, TODAY, TestClinic, register, schoolchild
from tests.service.pages import forms_of, send
from tests.service.signing import sign_two_hours


@pytest.fixture
def child(engine: Engine, clinic: TestClinic) -> Child:
    child = register(engine, clinic, schoolchild(), NOW - timedelta(days=20))
    sign_two_hours(engine, clinic, child, TODAY - timedelta(days=7), TODAY + timedelta(days=7))
    return child


def issue(engine: Engine, clinic: TestClinic, child: Child, label: str = "time") -> links.NewLink:
    with writing(engine) as session:
        return links.issue(session, clinic.staff[Role.ORTHOPTIST], child, caregiver="Mother", style=FeedStyle(label, alarm_minutes=480), now=NOW)


@pytest.fixture
def link(engine: Engine, clinic: TestClinic, child: Child) -> links.NewLink:
    return issue(engine, clinic, child)


@pytest.fixture
def address(link: links.NewLink) -> str:
    return f"/feed/{link.feed_token}/plan.ics"


def events(body: bytes) -> dict[date, str]:
    return {e.decoded("dtstart"): str(e["summary"]) for e in icalendar.Calendar.from_ical(body).walk("VEVENT")}


def test_the_days_to_the_review_then_a_neutral_end(visitor: TestClient, address: str) -> None:
    answer = visitor.get(address)
    assert answer.status_code == 200 and answer.headers["content-type"] == "text/calendar; charset=utf-8"
    found = events(answer.content)
    assert found == {TODAY + timedelta(days=n): "time 2 h" for n in range(-7, 7)} | {TODAY + timedelta(days=7): "time: plan ends"}


def test_nothing_in_it_tells_whose_it_is(visitor: TestClient, address: str) -> None:
    text = visitor.get(address).text.replace("\r\n ", "")
    for word in (
        "Sam",
        "T-2",
        "left",
        "right",
        "eye",
        "clinic of",
        "amblyop",
        "patch",
        "Mother",
        "Testham",
        "RRULE",
        "VTODO",
        "CANCELLED",
        "ORGANIZER",
        "ATTENDEE",
    ):
        assert word.lower() not in text.lower().replace("clinic.example", ""), word


def test_the_same_facts_are_the_same_bytes_and_a_304(visitor: TestClient, address: str, clock: StoppedClock) -> None:
    first = visitor.get(address)
    clock.at += timedelta(hours=3)
    again = visitor.get(address)
    assert again.content == first.content and again.headers["etag"] == first.headers["etag"]
    conditional = visitor.get(address, headers={"If-None-Match": first.headers["etag"]})
    assert conditional.status_code == 304 and conditional.content == b"" and conditional.headers["etag"] == first.headers["etag"]
    assert visitor.get(address, headers={"If-Modified-Since": first.headers["last-modified"]}).status_code == 304
    old = {"If-None-Match": '"other"', "If-Modified-Since": first.headers["last-modified"]}
    assert visitor.get(address, headers=old).status_code == 200, "the tag decides alone"


def test_head_answers_as_get_does_and_other_methods_are_refused(visitor: TestClient, address: str) -> None:
    got, headed = visitor.get(address), visitor.head(address)
    assert headed.status_code == 200 and headed.content == b""
    for name in ("etag", "last-modified", "content-type", "content-length", "cache-control", "content-disposition"):
        assert headed.headers[name] == got.headers[name], name
    assert visitor.put(address).status_code == visitor.request("PROPFIND", address).status_code == 405


def test_the_headers_keep_the_address_secret(visitor: TestClient, address: str) -> None:
    headers = visitor.get(address).headers
    assert headers["referrer-policy"] == "no-referrer" and headers["x-robots-tag"] == "noindex"
    assert headers["cache-control"] == "private, no-cache" and headers["x-content-type-options"] == "nosniff"
    assert headers["content-disposition"] == 'inline; filename="plan.ics"'


def test_a_client_that_revalidates_by_date_alone_sees_a_day_that_is_gone(
    visitor: TestClient, address: str, engine: Engine, clinic: TestClinic, child: Child, signed_in, clock: StoppedClock
) -> None:
    before = visitor.get(address)
    stop(signed_in(Role.ORTHOPTIST), child)
    after = visitor.get(address, headers={"If-Modified-Since": before.headers["last-modified"]})
    assert after.status_code == 200, "although the clock has not moved"
    assert parsedate_to_datetime(after.headers["last-modified"]) > parsedate_to_datetime(before.headers["last-modified"])
    assert max(events(after.content)) == TODAY - timedelta(days=1)


def stop(browser: TestClient, child: Child, **typed: str) -> None:
    address = f"/children/{child.public_id}/review"
    form = next(f for f in forms_of(browser.get(address).text) if "submission_key" in f.values)
    answer = send(browser, form, address, **({"reason": "resolved", "step": "stop"} | typed))
    assert answer.status_code == 303, answer.text


def test_a_stop_reaches_page_feed_and_outbox_at_once(visitor: TestClient, address: str, link: links.NewLink, engine: Engine, child: Child, signed_in) -> None:
    stop(signed_in(Role.ORTHOPTIST), child)
    assert "The patch has ended" in visitor.get(f"/family/{link.page_token}").text
    assert all(on < TODAY for on in events(visitor.get(address).content))
    with reading(engine) as session:
        assert outbox.states(session, child)[-1] == ("plan-stopped", "unreached")


def test_a_pause_reaches_page_feed_and_outbox_and_past_days_stay(
    visitor: TestClient, address: str, link: links.NewLink, engine: Engine, child: Child, signed_in
) -> None:
    stop(signed_in(Role.ORTHOPTIST), child, step="pause", reason="fellow eye", review_on=str(TODAY + timedelta(days=10)))
    assert "Pause: no patch today" in visitor.get(f"/family/{link.page_token}").text
    found = events(visitor.get(address).content)
    assert {on for on, title in found.items() if title == "time 2 h"} == {TODAY - timedelta(days=n) for n in range(1, 8)}
    with reading(engine) as session:
        assert outbox.states(session, child)[-1] == ("plan-paused", "unreached")


def test_resigning_keeps_the_events_and_raises_only_what_changed(visitor: TestClient, address: str, engine: Engine, clinic: TestClinic, child: Child) -> None:
    before = {e.decoded("dtstart"): e for e in icalendar.Calendar.from_ical(visitor.get(address).content).walk("VEVENT")}
    sign_two_hours(engine, clinic, child, TODAY + timedelta(days=3), TODAY + timedelta(days=7), minutes=180)
    after = {e.decoded("dtstart"): e for e in icalendar.Calendar.from_ical(visitor.get(address).content).walk("VEVENT")}
    for on, event in after.items():
        changed = TODAY + timedelta(days=3) <= on < TODAY + timedelta(days=7)
        assert event["uid"] == before[on]["uid"]
        assert event["sequence"] == before[on]["sequence"] + changed
        assert (event.decoded("last-modified") > before[on].decoded("last-modified")) is changed


def test_many_phones_at_once_are_promised_the_same(visitor: TestClient, address: str, engine: Engine, clinic: TestClinic, child: Child) -> None:
    visitor.get(address)
    sign_two_hours(engine, clinic, child, TODAY + timedelta(days=1), TODAY + timedelta(days=7), minutes=60)
    with ThreadPoolExecutor(6) as pool:
        answers = list(pool.map(lambda _: visitor.get(address), range(12)))
    assert len({(a.status_code, a.content, a.headers["etag"], a.headers["last-modified"]) for a in answers}) == 1
    sequences = {int(e["sequence"]) for e in icalendar.Calendar.from_ical(answers[0].content).walk("VEVENT")}
    assert sequences == {0, 1}, "a change counts once however many asked"


def test_every_worker_dead_the_end_still_holds(visitor: TestClient, address: str, link: links.NewLink, clock: StoppedClock) -> None:
    visitor.get(address)
    clock.at += timedelta(days=7)
    assert max(events(visitor.get(address).content)) == TODAY + timedelta(days=7)
    assert "Nothing is planned" in visitor.get(f"/family/{link.page_token}").text


def test_unknown_404_and_revoked_closed_then_gone(visitor: TestClient, address: str, signed_in, child: Child, clock: StoppedClock) -> None:
    assert visitor.get("/feed/odf_unknown/plan.ics").status_code == 404
    browser = signed_in(Role.ORTHOPTIST)
    close = next(f for f in forms_of(browser.get(f"/children/{child.public_id}/links").text) if f.action.endswith("/close"))
    send(browser, close, "")
    closed = visitor.get(address)
    assert closed.status_code == 200 and events(closed.content) == {TODAY: "Calendar closed"}
    clock.at += timedelta(days=13, hours=23)
    assert visitor.get(address).status_code == 200
    clock.at += timedelta(hours=1)
    assert visitor.get(address).status_code == 410


@pytest.mark.parametrize("label", ["a;b,c", "x\\n;y", "Zeit für dich – ein sehr langer und ganz und gar"[:30], 'q"uote:'])
def test_a_label_cannot_break_the_feed(visitor: TestClient, engine: Engine, clinic: TestClinic, child: Child, label: str) -> None:
    body = visitor.get(f"/feed/{issue(engine, clinic, child, label).feed_token}/plan.ics").content
    assert set(events(body).values()) == {f"{label} 2 h", f"{label}: plan ends"}
    assert all(len(line) <= 75 for line in body.split(b"\r\n")) and b"\n" not in body.replace(b"\r\n", b"")


def test_a_token_has_a_budget_of_its_own(visitor: TestClient, engine: Engine, clinic: TestClinic, child: Child, address: str, clock: StoppedClock) -> None:
    for _ in range(120):
        assert visitor.get(address).status_code == 200
    over = visitor.get(address)
    assert over.status_code == 429 and 0 < int(over.headers["retry-after"]) <= 3601
    assert visitor.get(f"/feed/{issue(engine, clinic, child).feed_token}/plan.ics").status_code == 200
    clock.at += timedelta(hours=1)
    assert visitor.get(address).status_code == 200


def test_the_clinic_sees_what_fetched_and_when(visitor: TestClient, address: str, signed_in, child: Child) -> None:
    visitor.get(address, headers={"User-Agent": "iOS/26.1 dataaccessd/1.0"})
    page = signed_in(Role.ORTHOPTIST).get(f"/children/{child.public_id}/links").text
    assert "iPhone or iPad calendar" in page and "2 Mar 2026" in page


def test_no_log_ever_holds_a_secret(visitor: TestClient, address: str, link: links.NewLink, caplog: pytest.LogCaptureFixture, signed_in) -> None:
    with caplog.at_level(logging.DEBUG):
        browser = signed_in(Role.ORTHOPTIST)
        family = f"/family/{link.page_token}"
        unknown = ("/feed/odf_secret_unknown/plan.ics", "/family/odp_secret_unknown", "/day/x/2026-03-02/secret", "/family/odp_secret_unknown/calendar")
        for path in (address, family, f"{family}/calendar", *unknown):
            visitor.get(path)
            browser.get(path)
        move = next(f for f in forms_of(visitor.get(f"{family}/calendar").text) if f.action.endswith("/address"))
        moved = send(visitor, move, "")
        newer = re.search(r"odf_[\w-]{43}", moved.text)
        assert newer
        visitor.get(f"/feed/{newer[0]}/plan.ics")
        visitor.get(address)
    # every log but that of the client, which is the test's own and names what it asks for
    logged = "\n".join(f"{r.getMessage()} {r.args}" for r in caplog.records if not r.name.startswith("httpx"))
    assert "/feed/{token}/plan.ics" in logged and "/family/{token}" in logged
    for secret in (link.feed_token, link.page_token, newer[0], "secret"):
        assert secret not in logged


def test_an_older_or_unreadable_date_gets_the_feed(visitor: TestClient, address: str) -> None:
    for sent in ("nonsense", "", "Mon, 02 Mar 99999999999 09:00:00 GMT", format_datetime(NOW - timedelta(days=1), usegmt=True)):
        assert visitor.get(address, headers={"If-Modified-Since": sent}).status_code == 200
