"""A family's days: told by the clinic or by the family, tried before they are saved, seen in the plan; the dose and the past stay as they were."""

from datetime import date, timedelta
from typing import Any

import pytest
from sqlalchemy import Engine
from starlette.testclient import TestClient

from schedules.feed_style import FeedStyle
from schedules.household import Household
from service.actions import households as actions
from service.actions import links
from service.clock import StoppedClock
from service.db import reading, writing
from service.facts import Child, Role
from service.store import children
from service.views import case
from service.views.planned import planned_day
from tests.people import NOW, TODAY, TestClinic
from tests.service.calling import made, make
from tests.service.pages import forms_of, send, submit
from tests.service.signing import sign_two_hours

ALL_WEEK = {f"weekday_{n}": "yes" for n in range(7)}
NO_DAY: dict[str, None] = dict.fromkeys(ALL_WEEK)
DAY = {"wake": "7:00", "sleep": "19:30", "naps": "13:00-14:30", "nursery_other": "8:30-12:00", "unwelcome": "17:30-18:00 dinner; 18:00-18:30 bath"}


def page_of(child: Child) -> str:
    return f"/children/{child.public_id}/household"


def tell(browser: TestClient, address: str, **typed: Any) -> Any:
    return submit(browser, address, "wake", step="days", **ALL_WEEK, **DAY | typed)


def known(engine: Engine, child: Child, clock: StoppedClock) -> case.Case:
    with reading(engine) as session:
        return case.load(session, children.child(session, child.clinic_id, child.public_id), clock.at)


def spans(c: case.Case, on: date) -> list[tuple[str, int]]:
    return [(f"{s.start_at:%H:%M}", s.minutes) for s in planned_day(c, on).sessions]


def day(n: int) -> date:
    return TODAY + timedelta(days=n)


@pytest.fixture
def signed(engine: Engine, clinic: TestClinic, sam: Child) -> Child:
    sign_two_hours(engine, clinic, sam, TODAY, day(60))
    return sam


@pytest.fixture
def link(engine: Engine, clinic: TestClinic, sam: Child) -> links.NewLink:
    return issue(engine, clinic, sam, "Aunt")


def issue(engine: Engine, clinic: TestClinic, child: Child, caregiver: str) -> links.NewLink:
    with writing(engine) as session:
        return links.issue(session, clinic.staff[Role.ORTHOPTIST], child, caregiver=caregiver, style=FeedStyle("time"), now=NOW)


def test_days_are_tried_and_only_then_saved_and_sessions_lie_in_them(signed_in, engine: Engine, clock: StoppedClock, signed: Child) -> None:
    browser = signed_in(Role.ORTHOPTIST)
    assert "Tried, not saved" not in browser.get(page_of(signed)).text
    tried = submit(browser, page_of(signed), "wake", step="try", **ALL_WEEK, **DAY)
    assert tried.status_code == 200 and "Tried, not saved" in tried.text and "14:30–16:30" in tried.text
    assert planned_day(known(engine, signed, clock), TODAY).all_day_minutes == 120, "nothing was saved: the amount for the whole day"
    assert tell(browser, page_of(signed)).headers["location"] == page_of(signed)
    assert spans(known(engine, signed, clock), TODAY) == [("14:30", 120)]
    assert "14:30–16:30" in browser.get(page_of(signed)).text
    for on in ("1900-01-01", "2199-12-31", "soon"):
        assert browser.get(page_of(signed), params={"day": on}).status_code == 200, on


def test_what_does_not_fit_is_said_to_clinic_review_and_family_unless_the_clinic_switched_the_rule_off(
    signed_in, visitor: TestClient, engine: Engine, clock: StoppedClock, signed: Child, link: links.NewLink
) -> None:
    browser = signed_in(Role.ORTHOPTIST)
    tell(browser, page_of(signed), unwelcome="14:30-18:00 visits; 18:00-19:00 bath")
    assert planned_day(known(engine, signed, clock), TODAY).minutes == 120, "early, and before nursery"
    tell(browser, page_of(signed), unwelcome="7:00-8:30 breakfast; 14:30-18:00 visits; 18:30-19:00 bath", gap_before_bed="30")
    c = known(engine, signed, clock)
    held = planned_day(c, TODAY)
    assert held.minutes < 120 and held.finding
    assert "do not fit" in browser.get(page_of(signed)).text
    review = browser.get(f"/children/{signed.public_id}/review").text
    assert "do not fit into the day as the family described it" in review and "also:" in review
    assert "please tell the clinic" in visitor.get(f"/family/{link.page_token}/routine").text
    administrator = signed_in(Role.ADMINISTRATOR)
    submit(administrator, "/rules", "reason", **{"on_day-too-short": "", "reason": "we ring every family"})
    assert "do not fit into the day" not in browser.get(f"/children/{signed.public_id}/review").text


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"sleep": "6:00"}, "sleep at 06:00 comes before waking at 07:00"),
        ({"naps": "6:00-7:30"}, "Monday: 06:00 to 07:30 lies outside the day"),
        ({"naps": "13:00-14:00, 13:30-15:00"}, "overlap"),
        ({"naps": "lunch"}, "is no stretch of time"),
        ({"naps": "13:00-14:00 in the car"}, "Times alone"),
        ({"unwelcome": "17:00-18:00"}, "Say in a few words"),
        ({"wake": "seven"}, "is no time of day"),
        ({"wake": ""}, "Please fill this in."),
        ({"wake": "7:02"}, "Monday: 07:02 is no time of this day. Give 00:00 to 24:00 in steps of five minutes"),
        ({"sleep": "99:00"}, "is no time of this day"),
        ({"most_sessions": "0"}, "cannot be"),
        ({"shortest_session": "31"}, "cannot be"),
        ({"gap_before_bed": "1.5"}, "A whole number"),
        ({"from_on": "2026-03-01"}, "lies in the past"),
        ({"until_on": "2026-03-01"}, "lies before the first"),
        ({"from_on": "soon"}, "is not a date"),
        (NO_DAY, "Tick the days"),
        ({"weekday_0": None}, "tick all seven first"),
    ],
)
def test_a_day_that_cannot_be_is_refused_beside_its_field(signed_in, engine: Engine, clock: StoppedClock, signed: Child, typed: Any, said: str) -> None:
    browser = signed_in(Role.RECEPTION)
    answer = submit(browser, page_of(signed), "wake", **{"step": "days"} | ALL_WEEK | DAY | typed)
    assert answer.status_code == 422 and said in answer.text
    assert known(engine, signed, clock).told is None
    assert submit(browser, page_of(signed), "wake", **{"step": "try"} | ALL_WEEK | DAY | typed).status_code == 422


def test_a_day_without_room_for_a_session_is_taken_and_said(signed_in, signed: Child) -> None:
    browser = signed_in(Role.ORTHOPTIST)
    assert tell(browser, page_of(signed), nursery_other="7:00-19:00", unwelcome="").status_code == 303
    assert "there is no room for a single session" in browser.get(page_of(signed)).text


def test_days_off_journeys_and_holidays_move_no_other_day(signed_in, engine: Engine, clock: StoppedClock, signed: Child) -> None:
    browser = signed_in(Role.RECEPTION)
    tell(browser, page_of(signed))
    before = {n: planned_day(known(engine, signed, clock), day(n)) for n in range(20)}
    submit(browser, page_of(signed), "off_words", step="off", off_from_on=day(3), off_words="a cold")
    submit(browser, page_of(signed), "journey_zone", step="journey", journey_from_on=day(5), journey_until_on=day(6), journey_zone="Asia/Tokyo")
    submit(browser, page_of(signed), "wake", step="days", **ALL_WEEK, **DAY | {"naps": "", "from_on": day(8), "until_on": day(9)})
    after = {n: planned_day(known(engine, signed, clock), day(n)) for n in range(20)}
    assert {n for n in before if before[n] != after[n]} == {3, 5, 6, 8, 9}
    assert after[3].minutes == 0 and str(after[5].sessions[0].start_at.tzinfo) == "Asia/Tokyo"
    zones = submit(browser, page_of(signed), "journey_zone", step="journey", journey_from_on=day(12), journey_until_on=day(12), journey_zone="Mars/Base")
    assert zones.status_code == 422 and "is no time zone" in zones.text
    same_days = submit(browser, page_of(signed), "journey_zone", step="journey", journey_from_on=day(6), journey_until_on=day(7), journey_zone="Asia/Tokyo")
    assert same_days.status_code == 422
    past = submit(browser, page_of(signed), "off_words", step="off", off_from_on=day(-1), off_words="a cold")
    assert past.status_code == 422 and "lies in the past" in past.text
    page = browser.get(page_of(signed)).text
    for key in (f"off:{day(3)}:", f"journey:{day(5)}:", f"holiday:{day(8)}:"):
        assert key in page
        assert send(browser, next(f for f in forms_of(page) if f.values.get("remove") == key), page_of(signed), step="remove").status_code == 303
        page = browser.get(page_of(signed)).text
    assert {n: planned_day(known(engine, signed, clock), day(n)) for n in range(20)} == before


def test_a_day_off_that_has_begun_ends_and_stays_in_the_past(signed_in, engine: Engine, clock: StoppedClock, signed: Child) -> None:
    submit(signed_in(Role.RECEPTION), page_of(signed), "off_words", step="off", off_from_on=day(0), off_until_on=day(9), off_words="a cold")
    clock.at = NOW + timedelta(days=2)
    browser = signed_in(Role.RECEPTION)
    ending = next(f for f in forms_of(browser.get(page_of(signed)).text) if "remove" in f.values)
    assert send(browser, ending, page_of(signed), step="remove").status_code == 303
    assert [planned_day(known(engine, signed, clock), day(n)).minutes for n in range(4)] == [0, 0, 120, 120]


def test_two_homes_by_turns_each_with_its_own_days(
    signed_in, engine: Engine, clinic: TestClinic, clock: StoppedClock, signed: Child, link: links.NewLink, visitor: TestClient
) -> None:
    other = issue(engine, clinic, signed, "Grandfather")
    one, two = link.subscription.public_id, other.subscription.public_id
    browser = signed_in(Role.ORTHOPTIST)
    tell(browser, page_of(signed))
    turns = {f"with_{n}": one if n < 4 else two for n in range(7)}
    assert submit(browser, page_of(signed), "anchor_on", step="rotation", **turns).status_code == 303
    unfinished = submit(browser, page_of(signed), "anchor_on", step="rotation", **turns | {"with_2": ""}, anchor_on=day(7))
    assert unfinished.status_code == 422 and "who has the child" in unfinished.text
    mine = f"/family/{other.page_token}/routine"
    assert submit(visitor, mine, "wake", step="days", **ALL_WEEK, wake="8:00", sleep="20:00", naps="", nursery_other="", unwelcome="").status_code == 303
    c = known(engine, signed, clock)
    assert [spans(c, day(n))[0][0] for n in range(8)] == ["14:30"] * 4 + ["08:00"] * 3 + ["14:30"], "the grandfather's days are his own"
    assert submit(browser, page_of(signed), "swap_on", step="swap", swap_on=day(1), swap_with=two).status_code == 303
    c = known(engine, signed, clock)
    assert [spans(c, day(n))[0][0] for n in range(3)] == ["14:30", "08:00", "14:30"]
    stranger = submit(browser, page_of(signed), "swap_on", step="swap", swap_on=day(1), swap_with="nobody")
    assert stranger.status_code == 422 and "without a home" in stranger.text


def test_a_family_tells_its_own_hours_and_what_the_clinic_entered_beside_them_stays(
    signed_in, visitor: TestClient, engine: Engine, clock: StoppedClock, signed: Child, link: links.NewLink
) -> None:
    tell(signed_in(Role.ORTHOPTIST), page_of(signed), preferred="15:00-16:00", most_sessions="5", activities="16:00-17:00 swimming")
    mine = f"/family/{link.page_token}/routine"
    shown = visitor.get(mine)
    assert shown.headers["cache-control"] == "no-store" and 'value="13:00-14:30"' in shown.text
    answer = submit(visitor, mine, "wake", step="days", naps="12:30-13:00", **NO_DAY | {"weekday_2": "yes"}, from_on=day(2))
    assert answer.headers["location"] == f"{mine}?saved=yes"
    c = known(engine, signed, clock)
    days = c.household.routine.weeks[-1].days
    assert [len({(w.start_minutes, w.end_minutes) for w in d.naps} & {(750, 780)}) for d in days] == [0, 0, 1, 0, 0, 0, 0]  # type: ignore[union-attr]
    assert {(d.most_sessions, d.preferred[0].start_minutes, d.activities[0].words) for d in days} == {(5, 900, "swimming")}  # type: ignore[union-attr]
    assert c.told and c.told.by_family and c.told.entered_by == "Aunt"
    assert planned_day(c, day(2)).minutes == 120, "the dose is not the family's"
    asleep = submit(visitor, mine, "wake", step="days", sleep="15:00", from_on=day(2))
    assert asleep.status_code == 422 and "lies outside the day" in asleep.text
    off = submit(visitor, mine, "off_words", step="off", off_from_on=day(1), off_words="sore skin")
    assert off.status_code == 303 and planned_day(known(engine, signed, clock), day(1)).minutes == 0
    assert submit(visitor, mine, "off_words", step="off", off_from_on=day(-1), off_words="sore skin").status_code == 422
    forged = next(f for f in forms_of(visitor.get(mine).text) if "off_words" in f.values)
    assert visitor.post(mine, data=forged.values | {"step": "off", "form_token": "x"}).status_code == 403
    assert visitor.post(mine, data=forged.values | {"step": "swap"}).status_code == 403, "what only the clinic enters"
    assert visitor.get("/family/nobody/routine").status_code == 404


def test_two_who_change_the_days_at_once_do_not_overwrite_each_other(
    signed_in, visitor: TestClient, engine: Engine, clock: StoppedClock, signed: Child, link: links.NewLink
) -> None:
    mine = f"/family/{link.page_token}/routine"
    seen_early = next(f for f in forms_of(visitor.get(mine).text) if "off_words" in f.values)
    browser = signed_in(Role.ORTHOPTIST)
    clinic_early = next(f for f in forms_of(browser.get(page_of(signed)).text) if "off_words" in f.values)
    tell(browser, page_of(signed))
    answers = [
        send(visitor, seen_early, mine, step="off", off_from_on=day(1), off_words="ill"),
        send(browser, clinic_early, page_of(signed), step="off", off_from_on=day(1), off_words="ill"),
    ]
    assert [a.status_code for a in answers] == [409, 409] and all("Somebody else" in a.text for a in answers)
    told = known(engine, signed, clock).told
    assert told and told.number == 1 and not told.household.days_off
    again = next(f for f in forms_of(browser.get(page_of(signed)).text) if "off_words" in f.values)
    twice = [send(browser, again, page_of(signed), step="off", off_from_on=day(1), off_words="ill").status_code for _ in range(2)]
    assert twice == [303, 303] and (told := known(engine, signed, clock).told) and told.number == 2, "one tap, sent twice"


def test_past_days_keep_their_sessions_and_a_move_of_the_household_keeps_past_zones(
    signed_in, engine: Engine, clock: StoppedClock, clinic: TestClinic, signed: Child
) -> None:
    tell(signed_in(Role.ORTHOPTIST), page_of(signed))
    before = [planned_day(known(engine, signed, clock), day(n)) for n in range(5)]
    clock.at = NOW + timedelta(days=5)
    browser = signed_in(Role.ORTHOPTIST)
    tell(browser, page_of(signed), from_on=day(5), wake="9:00", nursery_other="", naps="")
    submit(browser, f"/children/{signed.public_id}/particulars", "short_name", time_zone="Asia/Tokyo")
    c = known(engine, signed, clock)
    assert [planned_day(c, day(n)) for n in range(5)] == before
    assert spans(c, day(6))[0][0] == "09:00" and str(planned_day(c, day(7)).sessions[0].start_at.tzinfo) == "Asia/Tokyo"

    def backdated(household: Household) -> Household:
        return household.__class__(household.born_on, household.time_zone, household.routine.__class__(()), moves=household.moves)

    with pytest.raises(ValueError, match="lies in the past"), writing(engine) as session:
        child = children.child(session, signed.clinic_id, signed.public_id)
        actions.enter(session, clinic.staff[Role.ORTHOPTIST], child, 2, backdated, clock.at)


def test_an_infants_day_is_its_stretches_awake_and_they_feed_the_share_of_waking_hours(
    signed_in, engine: Engine, clock: StoppedClock, clinic: TestClinic, baby: Child
) -> None:
    browser = signed_in(Role.ORTHOPTIST)
    asked = f"/children/{baby.public_id}/occlusion"
    assert "Waking hours</dt>" not in browser.get(asked).text
    submit(browser, page_of(baby), "wake", step="days", **ALL_WEEK, awake_stretches="150, 150, 180, 150")
    assert "<dt>Waking hours</dt><dd><bdi>10.5 h</bdi>" in browser.get(asked).text
    typed = submit(browser, asked, "waking_hours", step="facts", waking_hours="12")
    assert "<dt>Waking hours</dt><dd><bdi>12 h</bdi>" in typed.text, "what is typed wins"
    sign_two_hours(engine, clinic, baby, TODAY, day(20))
    assert planned_day(known(engine, baby, clock), TODAY).all_day_minutes == 120
    refused = submit(browser, page_of(baby), "wake", step="days", **ALL_WEEK, awake_stretches="all morning")
    assert refused.status_code == 422 and "Minutes of each stretch" in refused.text
    submit(browser, page_of(baby), "wake", step="days", **ALL_WEEK, **DAY, awake_stretches="", clock_for_infant="yes")
    assert spans(known(engine, baby, clock), TODAY) == [("14:30", 120)]


def test_the_api_tells_a_whole_household_and_refuses_by_field(call, other_clinic: TestClinic, signed: Child, link: links.NewLink) -> None:
    api, address = call(Role.RECEPTION), f"/api/children/{signed.public_id}/households"
    of_day = {"wake_minutes": 420, "sleep_minutes": 1170, "most_sessions": 3, "shortest_session_minutes": 30}
    week = {"from_on": str(TODAY), "days": [of_day | {"day": n} for n in range(7)]}
    body = {"seen": 0, "routine": {"weeks": [week]}}
    first = made(api, address, body)
    assert (first["number"], first["by_family"], first["routine"]["weeks"][0]["days"][6]["day"]) == (1, False, 6)
    assert make(api, address, body).status_code == 409
    one_home = [{"caregiver": link.subscription.public_id, "routine": {"weeks": [week]}}]
    holiday = {"first_on": str(day(2)), "last_on": str(day(3)), "days": [{"day": str(day(2)), "awake_stretches": [90, 100]}]}
    second = made(api, address, body | {"seen": 1, "routine": {"weeks": [week], "holidays": [holiday]}, "homes": one_home})
    assert second["routine"]["holidays"][0]["days"][0] == {"day": str(day(2)), "awake_stretches": [90, 100]}
    planned = api.get(address.replace("households", "planned-days"), params={"from_on": str(day(1))}).json()
    assert [(p["on"], p["minutes"], p["all_day_minutes"], len(p["sessions"])) for p in planned[:2]] == [(str(day(1)), 120, 0, 1), (str(day(2)), 120, 120, 0)]
    for wrong, field in (
        ({"routine": {"weeks": [week | {"from_on": "2026-03-01"}]}}, "from_on"),
        ({"routine": {"weeks": [week | {"days": week["days"][:6]}]}}, "days"),
        ({"routine": {"weeks": [week | {"days": [of_day | {"day": 7}] * 7}]}}, "day"),
        ({"routine": {"weeks": [week]}, "homes": [{"caregiver": "nobody"}]}, "homes"),
        ({"routine": {"weeks": [week]}, "journeys": [{"first_on": str(TODAY), "last_on": str(TODAY), "time_zone": "Mars/Base"}]}, "time_zone"),
        ({"routine": {"weeks": [week]}, "days_off": [{"first_on": "2026-02-27", "last_on": str(TODAY), "words": "ill"}]}, "from_on"),
    ):
        answer = make(api, address, {"seen": 2} | wrong)
        assert (answer.status_code, answer.json()["field"]) == (422, field), answer.text
    assert call(Role.RECEPTION, other_clinic).get(address).status_code == 404


def test_no_other_clinic_finds_the_days_and_a_form_without_its_version_is_refused(signed_in, other_clinic: TestClinic, signed: Child) -> None:
    assert signed_in(Role.ORTHOPTIST, other_clinic).get(page_of(signed)).status_code == 404
    browser = signed_in(Role.ORTHOPTIST)
    form = next(f for f in forms_of(browser.get(page_of(signed)).text) if "off_words" in f.values)
    for typed in ({"step": "off", "seen": "x", "off_from_on": str(TODAY), "off_words": "ill"}, {"step": "fly"}, {"step": "remove", "remove": "off:x:"}):
        assert send(browser, form, page_of(signed), **typed).status_code == 403
