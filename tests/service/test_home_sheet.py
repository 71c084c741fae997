"""The two-week sheet for a home without a phone, typing it in when it comes back, and the page of help with calendars."""

import math
import re
from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sqlalchemy import Engine
from starlette.testclient import TestClient

from schedules.adherence import DayWear, counted, day_wear
from schedules.feed_style import FeedStyle
from schedules.planner import PlannedDay
from service.actions import links, regimens
from service.db import reading, writing
from service.facts import Child, Role
from service.store import children, signed
from service.store import wear as wear_store
from service.views import home_sheet
from shared.findings import Finding, msg
from shared.vocabulary import Laterality, MissingCorrectionRule, Phase, Status
from tests.people import NOW, TODAY, TestClinic, register, schoolchild
from tests.service.pages import note, send, submit, taking
from tests.service.signing import sign_two_hours

BEGUN = TODAY - timedelta(days=20)


@pytest.fixture
def child(engine: Engine, clinic: TestClinic) -> Child:
    child = register(engine, clinic, schoolchild(), NOW - timedelta(days=30))
    sign_two_hours(engine, clinic, child, BEGUN, TODAY + timedelta(days=5))
    return child


@pytest.fixture
def home(engine: Engine, clinic: TestClinic, child: Child) -> str:
    with writing(engine) as session:
        made = links.issue(session, clinic.staff[Role.ORTHOPTIST], child, caregiver="Mother", style=FeedStyle("blue time"), now=NOW)
    return f"/family/{made.page_token}"


@pytest.fixture
def worn(engine: Engine, child: Child) -> Callable[[date], DayWear]:
    def of(day: date) -> DayWear:
        with reading(engine) as session:
            return day_wear(wear_store.entries(session, child.id, day, day + timedelta(days=1)), day)

    return of


def rows(html: str) -> dict[str, str]:
    """What the sheet says to do, by day."""
    found = re.findall(r'<th scope="row"><bdi>([^<]+)</bdi></th>\s*<td><strong>([^<]+)</strong>', html)
    return dict(found)


def test_a_sheet_never_goes_past_what_was_signed_and_says_so_large(visitor: TestClient, home: str) -> None:
    html = visitor.get(f"{home}/sheet").text
    assert rows(html) == dict.fromkeys(("Mon 2 Mar", "Tue 3 Mar", "Wed 4 Mar", "Thu 5 Mar", "Fri 6 Mar"), "2 hours")
    assert re.search(r'<span class="sheet-end"><bdi>Friday 6 March</bdi>', html)
    assert "RIGHT eye is covered" in html and "01632 960 001" in html and "blue time" in html
    assert "Sam" not in html and "T-2" not in html


def test_a_newer_revision_carries_the_sheet_on_with_its_own_hours_and_its_own_eye(
    visitor: TestClient, home: str, engine: Engine, clinic: TestClinic, child: Child
) -> None:
    sign_two_hours(engine, clinic, child, TODAY + timedelta(days=3), TODAY + timedelta(days=40), minutes=45)
    html = visitor.get(f"{home}/sheet").text
    assert list(rows(html).values()) == ["2 hours"] * 3 + ["45 minutes"] * 11
    assert html.count('class="face"') == 1 and "Sunday 15 March" in html
    with writing(engine) as session:
        known = children.child_by_id(session, child.id)
        draft = regimens.Draft(
            phase=Phase.OCCLUSION,
            start_on=TODAY + timedelta(days=1),
            review_on=TODAY + timedelta(days=40),
            covered_eye=Laterality.LEFT,
            own_minutes=60,
            own_reason="the other eye, set by the test",
            covered_reason="set by the test",
            covered_confirmed=True,
            missing_correction=MissingCorrectionRule.GO_ON,
            cautions_read=True,
        )
        number = signed.next_number(session, known)
        seen = regimens.work_out(known, None, draft, number, TODAY).digest
        regimens.sign(session, clinic.staff[Role.ORTHOPTIST], known, lambda: None, draft, seen, NOW)
    html = visitor.get(f"{home}/sheet").text
    assert re.findall("The child.s (RIGHT|LEFT) eye is covered", html) == ["RIGHT"] + ["LEFT"] * 13, "no one face for a sheet with two"


@pytest.mark.parametrize("first", ["", "soon", "nan", "0001-01-01", "9999-12-31", "2026-03-01", "2026-03-31"])
def test_a_sheet_begins_today_unless_a_day_of_the_next_four_weeks_is_asked_for(visitor: TestClient, home: str, first: str) -> None:
    answer = visitor.get(f"{home}/sheet?first={first}&paper=foolscap")
    assert answer.status_code == 200 and next(iter(rows(answer.text))) == "Mon 2 Mar" and 'class="sheet a4"' in answer.text


def test_it_can_begin_later_and_be_of_letter_size(visitor: TestClient, home: str) -> None:
    html = visitor.get(f"{home}/sheet?first=2026-03-05&paper=letter").text
    assert list(rows(html)) == ["Thu 5 Mar", "Fri 6 Mar"] and 'class="sheet letter"' in html


def test_without_anything_signed_there_is_nothing_to_print(visitor: TestClient, home: str) -> None:
    html = visitor.get(f"{home}/sheet?first=2026-03-07").text
    assert "There is nothing to print." in html and "<table" not in html


def test_staff_print_the_same_sheet_under_the_childs_reference(signed_in, child: Child, home: str, visitor: TestClient, other_clinic: TestClinic) -> None:
    address = f"/children/{child.public_id}/sheet"
    html = signed_in(Role.RECEPTION).get(address).text
    assert rows(html) == rows(visitor.get(f"{home}/sheet").text) and "T-2" in html and "Sam" not in html
    assert signed_in(Role.RECEPTION, other_clinic).get(address).status_code == 404
    assert visitor.get(address).status_code == 303


def test_what_does_not_fit_the_day_takes_nothing_from_the_hours_on_paper(visitor: TestClient, home: str, monkeypatch: pytest.MonkeyPatch) -> None:
    short = Finding("day-too-short", msg("short"), Status.COMMON_PRACTICE, family=msg("Please tell the clinic that it does not fit."))
    monkeypatch.setattr(home_sheet, "planned_day", lambda c, on: PlannedDay(on, (), 30, short))
    html = visitor.get(f"{home}/sheet").text
    assert set(rows(html).values()) == {"2 hours"} and "Please tell the clinic that it does not fit." in html


def test_the_picture_version_has_a_face_and_two_circles_a_day_and_few_words(visitor: TestClient, home: str) -> None:
    sheet = visitor.get(f"{home}/sheet?pictures=yes").text.split('<article class="sheet a4 pictures">')[1].split("</article>")[0]
    assert sheet.count('class="face"') == 8 and sheet.count('class="strike"') == 2 and sheet.count("<path transform") == 10
    seen = re.sub(r"<title>.*?</title>|<span class=\"visually-hidden\">.*?</span>|<caption.*?</caption>|<[^>]*>", " ", sheet, flags=re.DOTALL)
    assert set(re.findall("[A-Za-z]{2,}", seen)) <= {"blue", "time", "RIGHT", "Mar", "Mon", "Tue", "Wed", "Thu", "Fri"}


@given(st.integers(1, 960))
def test_the_circles_of_a_day_are_its_minutes(minutes: int) -> None:
    """Each outline's area in sixtieths of a circle, from its own corners."""
    drawn = 0.0
    for path in home_sheet.hours_drawn(minutes):
        part = re.fullmatch(r"M0 0V-9A9 9 0 ([01]) 1 (-?[\d.]+) (-?[\d.]+)Z", path)
        if part is None:
            assert path == "M0 -9A9 9 0 1 1 0 9A9 9 0 1 1 0 -9Z", "two half circles"
            drawn += 60
            continue
        swept = math.atan2(float(part[2]), -float(part[3])) % math.tau
        assert (part[1] == "1") is (swept > math.pi + 1e-3), "the long way round where it is more than half"
        drawn += swept / math.tau * 60
    assert drawn == pytest.approx(minutes, abs=0.02)


# Typing it in


@pytest.fixture
def enter(signed_in, child: Child) -> Callable[..., Any]:
    """Fills in lines of the fourteen days up to today, each named by how many days ago it was."""

    def post(lines: dict[int, dict[str, object]], role: Role = Role.RECEPTION) -> Any:
        typed = {f"{name}-{TODAY - timedelta(days=ago)}": value for ago, line in lines.items() for name, value in line.items()}
        return submit(signed_in(role), f"/children/{child.public_id}/sheet/entry", "submission_key", **typed)

    return post


def test_a_sheet_typed_in_is_wear_like_any_other_and_names_who_typed_it(enter, worn, engine: Engine, clinic: TestClinic, child: Child) -> None:
    answer = enter({3: {"minutes": 45, "correction_worn": "yes"}, 2: {"reason": "ill"}, 1: {"minutes": 50, "correction_worn": "no"}})
    assert answer.status_code == 303 and answer.headers["location"].endswith("first=2026-02-17&noted=3")
    assert worn(TODAY - timedelta(days=3)).received_minutes == 45
    assert worn(TODAY - timedelta(days=2)).nothing_worn
    assert (worn(TODAY - timedelta(days=1)).received_minutes, worn(TODAY - timedelta(days=1)).without_correction_minutes) == (0, 50)
    assert worn(TODAY - timedelta(days=4)).how_known == "unknown", "left empty is unknown, not none"
    with reading(engine) as session:
        said = wear_store.entries(session, child.id, BEGUN, TODAY)
    assert {e.recorded_by for e in said} == {clinic.staff[Role.RECEPTION].public_id}


def test_the_same_sheet_again_changes_nothing_and_a_changed_line_alone_is_asked_about(signed_in, child: Child, worn, engine: Engine) -> None:
    staff, address = signed_in(Role.ORTHOPTIST), f"/children/{child.public_id}/sheet/entry"
    form = taking(staff.get(address).text)
    one, two = TODAY - timedelta(days=1), TODAY - timedelta(days=2)
    lines = {f"minutes-{one}": "40", f"correction_worn-{one}": "yes", f"minutes-{two}": "60", f"correction_worn-{two}": "yes"}
    for _ in range(2):
        assert send(staff, form, address, **lines).status_code == 303
    with reading(engine) as session:
        assert len(wear_store.entries(session, child.id, BEGUN, TODAY)) == 2
    changed = send(staff, form, address, **lines | {f"minutes-{one}": "50"})
    assert changed.status_code == 422 and f'id="more-{one}-error"' in changed.text and f'id="more-{two}-error"' not in changed.text
    assert worn(one).received_minutes == 40


@pytest.mark.parametrize(("answer", "minutes"), [("add", 75), ("correct", 45)])
def test_a_day_that_the_family_noted_too_asks_and_nothing_of_the_sheet_is_taken_until_it_is_answered(
    enter, visitor: TestClient, home: str, worn, answer: str, minutes: int
) -> None:
    yesterday, before = TODAY - timedelta(days=1), TODAY - timedelta(days=2)
    note(visitor, f"{home}?day={yesterday}", how="some", minutes="30")
    lines = {1: {"minutes": 45, "correction_worn": "yes"}, 2: {"minutes": 60, "correction_worn": "yes"}}
    asked = enter(lines)
    assert asked.status_code == 422 and "30 minutes" in asked.text and worn(before).how_known == "unknown"
    assert enter(lines | {1: lines[1] | {"more": answer}}).status_code == 303
    assert worn(yesterday).received_minutes == minutes and worn(before).received_minutes == 60


@pytest.mark.parametrize(
    ("line", "field"),
    [
        ({"minutes": "nan", "correction_worn": "yes"}, "minutes"),
        ({"minutes": "1441", "correction_worn": "yes"}, "minutes"),
        ({"minutes": "-5", "correction_worn": "yes"}, "minutes"),
        ({"minutes": "7.5", "correction_worn": "yes"}, "minutes"),
        ({"minutes": "60"}, "correction_worn"),
        ({"minutes": "0"}, "reason"),
        ({"minutes": "60", "reason": "ill", "correction_worn": "yes"}, "reason"),
        ({"reason": "bored"}, "reason"),
        ({"correction_worn": "yes"}, "minutes"),
        ({}, "minutes"),
    ],
)
def test_a_line_that_cannot_be_is_refused_beside_its_field(enter, worn, line: dict[str, object], field: str) -> None:
    good = {2: {"minutes": "30", "correction_worn": "yes"}} if line else {}
    answer = enter({1: line} | good)
    on = TODAY - timedelta(days=1 if line else 13)
    assert answer.status_code == 422 and f'id="{field}-{on}-error"' in answer.text
    assert worn(TODAY - timedelta(days=2)).how_known == "unknown", "all of the sheet or nothing"


def test_days_without_a_plan_cannot_be_filled_in_nor_days_to_come_nor_older_than_a_plan(signed_in, child: Child) -> None:
    staff, address = signed_in(Role.ORTHOPTIST), f"/children/{child.public_id}/sheet/entry"
    html = staff.get(f"{address}?first={BEGUN - timedelta(days=2)}").text
    asked = re.findall(r'name="minutes-([\d-]+)"', html)
    assert asked[0] == str(BEGUN) and "nothing" not in asked
    assert re.findall(r'name="minutes-([\d-]+)"', staff.get(f"{address}?first={TODAY}").text) == [str(TODAY)]
    for first in ("soon", "0001-01-01", "9999-12-31", str(TODAY + timedelta(days=1)), str(TODAY - timedelta(weeks=27))):
        assert len(re.findall(r'name="minutes-', staff.get(f"{address}?first={first}").text)) == 14
    form = taking(staff.get(address).text)
    beside = TODAY - timedelta(days=40)
    assert send(staff, form, address, **{f"minutes-{beside}": "30", f"correction_worn-{beside}": "yes"}).status_code == 422


def test_another_clinics_child_has_no_sheet(signed_in, child: Child, other_clinic: TestClinic) -> None:
    assert signed_in(Role.ORTHOPTIST, other_clinic).get(f"/children/{child.public_id}/sheet/entry").status_code == 404


def test_glasses_alone_are_typed_in_as_on_or_off(signed_in, engine: Engine, clinic: TestClinic) -> None:
    child = register(engine, clinic, schoolchild("T-9"), NOW - timedelta(days=30))
    draft = regimens.Draft(
        phase=Phase.REFRACTIVE_ADAPTATION,
        start_on=BEGUN,
        review_on=TODAY + timedelta(days=30),
        covered_eye=None,
        own_minutes=None,
        own_reason="",
        covered_reason="",
        covered_confirmed=False,
        missing_correction=MissingCorrectionRule.GO_ON,
        cautions_read=True,
    )
    with writing(engine) as session:
        seen = regimens.work_out(child, None, draft, 1, BEGUN).digest
        regimens.sign(session, clinic.staff[Role.ORTHOPTIST], child, lambda: None, draft, seen, NOW - timedelta(days=20))
    address = f"/children/{child.public_id}/sheet/entry"
    yesterday = TODAY - timedelta(days=1)
    assert submit(signed_in(Role.ORTHOPTIST), address, "submission_key", **{f"correction_worn-{yesterday}": "yes"}).status_code == 303
    with reading(engine) as session:
        said = counted(wear_store.entries(session, child.id, yesterday, TODAY))
    assert [(e.minutes, e.correction_worn) for e in said] == [(0, True)]
    assert "glasses all day" in signed_in(Role.ORTHOPTIST).get(f"/children/{child.public_id}/sheet").text


def test_help_with_calendars_is_dated_says_how_it_is_known_and_needs_no_link(visitor: TestClient) -> None:
    html = visitor.get("/help/calendars").text
    sections = re.findall(r'<section class="card stack">(.*?)</section>', html, re.DOTALL)
    programs = [s for s in sections if "When it looks for changes" in s]
    assert len(programs) >= 8 and all(("Others say so" in s) != ("We read this" in s) for s in programs)
    assert "November 2026" in html and "switch off “Remove Alarms”" in html
