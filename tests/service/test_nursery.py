"""A nursery's or school's link: what it shows, what it can note, when it ends, and what it never tells."""

import logging
import re
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from sqlalchemy import Engine
from starlette.testclient import TestClient

from schedules.adherence import counted, day_wear
from schedules.day import ClockDay, Stay, Weekday, Window
from schedules.feed_style import FeedStyle
from schedules.planner import plan_day
from schedules.routine import ResolvedDay
from service.actions import links
from service.clock import StoppedClock
from service.db import reading, writing
from service.facts import Child, Role
from service.store import wear as wear_store
from service.views import nursery
from tests.people import NOW, TODAY, TestClinic, register, schoolchild
from tests.service.pages import forms_of, note, send, submit, taking, wear_form
from tests.service.signing import sign_two_hours

UNTIL = TODAY + timedelta(days=10)


@pytest.fixture
def child(engine: Engine, clinic: TestClinic) -> Child:
    child = register(engine, clinic, schoolchild(), NOW - timedelta(days=20))
    sign_two_hours(engine, clinic, child, TODAY - timedelta(days=14), TODAY + timedelta(days=14))
    return child


@pytest.fixture
def home(engine: Engine, clinic: TestClinic, child: Child) -> str:
    """The address of a caregiver's page."""
    with writing(engine) as session:
        made = links.issue(session, clinic.staff[Role.ORTHOPTIST], child, caregiver="Mother", style=FeedStyle("time"), now=NOW)
    return f"/family/{made.page_token}"


@pytest.fixture
def give(signed_in, child: Child) -> Callable[..., Any]:
    def post(**typed: object) -> Any:
        usual = {"place": "Nursery, blue group", "label": "blue time", "until_on": UNTIL}
        return submit(signed_in(Role.RECEPTION), f"/children/{child.public_id}/nursery-links", "until_on", **usual | typed)

    return post


@pytest.fixture
def page(give) -> str:
    card = give()
    assert card.status_code == 200 and card.headers["cache-control"] == "no-store"
    return address_on(card.text)


def address_on(card: str) -> str:
    found = re.search(r"https://clinic\.example(/nursery/odn_[\w-]{43})<", card)
    assert found
    return found[1]


@pytest.fixture
def worn(engine: Engine, child: Child) -> Callable[[], list[tuple[int, str]]]:
    """What counts for today: minutes, and by what kind of recorder."""

    def of() -> list[tuple[int, str]]:
        with reading(engine) as session:
            found = wear_store.entries(session, child.id, TODAY, TODAY + timedelta(days=1))
        assert day_wear(found, TODAY).received_minutes == sum(e.minutes for e in counted(found) if e.correction_worn is not False)
        return sorted((e.minutes, e.recorded_by.partition(":")[0]) for e in counted(found))

    return of


def test_it_shows_today_the_eye_and_when_to_take_the_patch_off_and_nothing_else_of_the_child(visitor: TestClient, page: str, home: str) -> None:
    note(visitor, f"{home}?day={TODAY - timedelta(days=1)}", how="some", minutes="37")
    note(visitor, home, how="some", minutes="41")
    answer = visitor.get(page)
    html = answer.text
    assert answer.headers["cache-control"] == "no-store"
    for shown in ("blue time", "2 hours", "RIGHT eye is covered", "red or sore", "when the child sleeps", "01632 960 001"):
        assert shown in html
    for hidden in ("Sam", "T-2", "amblyop", "aniso", "37 minutes", "41 minutes", "day=", "Mother", "review", "Nursery, blue group"):
        assert hidden not in html


def test_what_is_noted_there_adds_to_what_a_home_noted_and_is_changed_there_alone(visitor: TestClient, page: str, home: str, worn) -> None:
    note(visitor, home, how="some", minutes="30")
    assert note(visitor, page, how="some", minutes="45").status_code == 303
    assert worn() == [(30, "link"), (45, "nursery")]
    assert note(visitor, page, how="all").status_code == 303
    assert worn() == [(30, "link"), (120, "nursery")]
    assert "2 hours" in visitor.get(home).text
    assert note(visitor, page, how="none", reason="skin", correction_worn="").status_code == 303
    assert worn() == [(0, "nursery"), (30, "link")]


def test_it_takes_back_its_own_notes_and_no_homes(visitor: TestClient, page: str, home: str, worn) -> None:
    note(visitor, home, how="some", minutes="30")
    note(visitor, page, how="some", minutes="45")
    html = visitor.get(page).text
    at_home = re.search(r'name="entry" value="([\w-]+)"', visitor.get(home).text)
    own = re.search(r'name="entry" value="([\w-]+)"', html)
    assert at_home and own and at_home[1] != own[1]
    values = {k: v for k, v in wear_form(html).values.items() if k in ("form_token", "submission_key")}
    assert visitor.post(f"{page}/undo", data=values | {"entry": at_home[1]}).status_code == 404
    assert worn() == [(30, "link"), (45, "nursery")]
    assert visitor.post(f"{page}/undo", data=values | {"entry": own[1]}).status_code == 303
    assert worn() == [(30, "link")]


def test_two_taps_are_one_and_a_day_holds_no_more_than_a_day(visitor: TestClient, page: str, home: str, worn) -> None:
    form = wear_form(visitor.get(page).text)
    for _ in range(2):
        assert send(visitor, form, page, how="some", minutes="45", correction_worn="yes").status_code == 303
    assert worn() == [(45, "nursery")]
    note(visitor, home, how="some", minutes="1000", more="add")
    assert note(visitor, page, how="some", minutes="500").status_code == 422
    assert (45, "nursery") in worn()


@pytest.mark.parametrize(
    "typed",
    [
        {"how": "some", "minutes": "0"},
        {"how": "some", "minutes": "nan"},
        {"how": "some", "minutes": "1e9"},
        {"how": "some", "minutes": "7.5"},
        {"how": "some", "minutes": ""},
        {"how": "none", "reason": ""},
        {"how": "none", "reason": "bored"},
        {"how": "sideways"},
        {"how": "all", "correction_worn": ""},
        {"how": "all", "on": "2026-03-03"},
        {"how": "all", "on": "soon"},
    ],
)
def test_what_cannot_be_is_refused_beside_the_field(visitor: TestClient, page: str, worn, typed: dict[str, str]) -> None:
    answer = note(visitor, page, **typed)
    assert answer.status_code == 422 and "error-summary" in answer.text
    assert worn() == []


def test_a_page_left_open_overnight_notes_nothing_for_the_next_day(visitor: TestClient, page: str, clock: StoppedClock, worn) -> None:
    form = wear_form(visitor.get(page).text)
    clock.at = NOW + timedelta(days=1)
    assert send(visitor, form, page, how="all", correction_worn="yes").status_code == 422
    assert worn() == []


def test_looking_notes_nothing_and_a_forged_form_is_refused(visitor: TestClient, page: str, worn) -> None:
    for method in ("GET", "HEAD"):
        visitor.request(method, page)
    assert visitor.get(f"{page}/wear").status_code == 405
    assert visitor.post(f"{page}/wear", data={"how": "all", "on": str(TODAY), "correction_worn": "yes"}).status_code == 403
    assert worn() == []


def test_it_ends_with_its_last_day_in_the_childs_own_zone_and_at_once_when_closed(
    visitor: TestClient, give, signed_in, child: Child, clock: StoppedClock
) -> None:
    page = address_on(give().text)
    last_minute = datetime.combine(UNTIL, datetime.max.time(), ZoneInfo("Europe/Lisbon")).astimezone(UTC)
    clock.at = last_minute
    assert visitor.get(page).status_code == 200
    clock.at = last_minute + timedelta(seconds=1)
    assert visitor.get(page).status_code == 404
    assert visitor.get(page).text == visitor.get("/nursery/odn_" + "x" * 43).text, "unknown and over look alike"
    clock.at = NOW
    form = wear_form(visitor.get(page).text)
    staff = signed_in(Role.ORTHOPTIST)
    closing = next(f for f in forms_of(staff.get(f"/children/{child.public_id}/nursery-links").text) if f.action.endswith("/close"))
    assert send(staff, closing, closing.action).status_code == 303
    assert visitor.get(page).status_code == 404
    assert send(visitor, form, page, how="all", correction_worn="yes").status_code == 404


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"label": "Sam's time"}, "label"),
        ({"label": ""}, "label"),
        ({"place": ""}, "place"),
        ({"place": "x" * 61}, "place"),
        ({"until_on": ""}, "until_on"),
        ({"until_on": TODAY - timedelta(days=1)}, "until_on"),
        ({"until_on": TODAY + timedelta(weeks=26, days=1)}, "until_on"),
        ({"until_on": "9999-12-31"}, "until_on"),
    ],
)
def test_a_card_that_would_tell_too_much_or_last_too_long_is_refused(give, typed: dict[str, object], field: str) -> None:
    answer = give(**typed)
    assert answer.status_code == 422 and f'id="{field}-error"' in answer.text and "/nursery/odn_" not in answer.text


def test_a_card_is_shown_once_and_is_made_by_the_childs_own_clinic(give, signed_in, child: Child, other_clinic: TestClinic) -> None:
    address = f"/children/{child.public_id}/nursery-links"
    staff = signed_in(Role.ORTHOPTIST)
    typed = {"place": "School", "label": "time", "until_on": str(UNTIL)}
    form = taking(staff.get(address).text, "until_on")
    assert send(staff, form, address, **typed).status_code == 200
    again = send(staff, form, address, **typed)
    assert again.status_code == 422 and again.text.count("School</bdi>") == 1
    assert "odn_" not in staff.get(address).text
    stranger = signed_in(Role.ORTHOPTIST, other_clinic)
    assert stranger.get(address).status_code == 404
    assert send(stranger, form, address, **typed).status_code in (403, 404)


def test_the_card_says_until_when_its_hours_hold(give, engine: Engine, clinic: TestClinic, child: Child) -> None:
    card = give().text
    assert "2 hours in a day" in card and "Thursday 12 March" in card, "the link's last day"
    sign_two_hours(engine, clinic, child, TODAY + timedelta(days=5), TODAY + timedelta(days=30), minutes=180)
    card = give(place="Other").text
    assert "2 hours in a day" in card and "Friday 6 March" in card, "the day before more is signed"


ROUTINE = {"wake_minutes": 7 * 60, "sleep_minutes": 19 * 60, "most_sessions": 2, "shortest_session_minutes": 30}


@pytest.mark.parametrize(("patches", "shown"), [(True, "2 hours"), (False, "No patch here today.")])
def test_with_a_routine_it_shows_what_falls_to_the_place(
    visitor: TestClient, page: str, monkeypatch: pytest.MonkeyPatch, patches: bool, shown: str, worn
) -> None:
    stay = Stay(9 * 60, 15 * 60, patches)
    day = ClockDay(Weekday.MONDAY, nursery=(stay,), preferred=(Window(9 * 60, 11 * 60),) if patches else (), **ROUTINE)
    resolved = ResolvedDay(TODAY, ZoneInfo("Europe/Lisbon"), day)
    monkeypatch.setattr(nursery, "planned_day", lambda c, on: plan_day(120, resolved))
    html = visitor.get(page).text
    assert shown in html and ("09:00–11:00" in html) is patches
    if not patches:
        assert "/wear" not in html


def test_the_secret_stands_in_no_log(visitor: TestClient, page: str, caplog: pytest.LogCaptureFixture) -> None:
    caplog.set_level(logging.DEBUG)
    note(visitor, page, how="all")
    logged = "\n".join(record.getMessage() for record in caplog.records)
    secret = page.removeprefix("/nursery/")
    ours = "\n".join(r.getMessage() for r in caplog.records if r.name.startswith("occlusion_dose"))
    assert "/nursery/{token}" in logged and secret not in ours


def test_a_program_gives_and_closes_the_same_link_and_reads_who_noted(call, child: Child, visitor: TestClient, engine: Engine) -> None:
    api, links_of = call(Role.ORTHOPTIST), f"/api/children/{child.public_id}/nursery-links"
    body, key = {"place": "School", "label": "time", "until_on": str(UNTIL)}, {"Idempotency-Key": "a"}
    made = api.post(links_of, json=body, headers=key)
    assert made.status_code == 201 and api.post(links_of, json=body, headers=key).content == made.content, "a lost answer can be asked for"
    page = made.json()["page"].removeprefix("https://clinic.example")
    assert note(visitor, page, how="all").status_code == 303
    entry = api.get(f"/api/children/{child.public_id}/wear").json()["items"][0]
    assert (entry["recorded_by"], entry["recorder_id"]) == ("nursery", made.json()["id"])
    with engine.connect() as connection:
        kept = "".join(str(row) for table in ("submission", "nursery_link", "audit") for row in connection.exec_driver_sql(f"SELECT * FROM {table}").all())
    assert page.split("/")[2] not in kept
    named = api.post(links_of, json=body | {"label": "SAM's time"}, headers={"Idempotency-Key": "b"})
    late = api.post(links_of, json=body | {"until_on": "2027-01-01"}, headers={"Idempotency-Key": "c"})
    assert [(a.status_code, a.json()["field"]) for a in (named, late)] == [(422, "label"), (422, "until_on")]
    assert api.post(f"{links_of}/{made.json()['id']}/close").status_code == 204
    assert visitor.get(page).status_code == 404 and api.get(links_of).json()["items"][0]["revoked_at"]
