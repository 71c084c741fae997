"""Care beside patching: what a clinic asks, what its staff say of a child, and the dated items that clinic and family see."""

from datetime import date, timedelta
from typing import Any

import pytest
from sqlalchemy import Engine
from starlette.testclient import TestClient

from schedules.adherence import Span
from schedules.care_words import CareItem, CareKind
from schedules.feed_style import FeedStyle
from service.actions import links
from service.actions.feed import day_address
from service.clock import StoppedClock
from service.db import reading, writing
from service.facts import Child, Role
from service.i18n import words
from service.settings import Settings
from service.store import care_sets, children
from service.views import case
from service.views.care import care_items_of, overdue_of
from service.views.family_care import week_of_care
from shared.vocabulary import Laterality, OpticalStatus
from tests.people import NOW, TODAY, TestClinic
from tests.service.calling import made, make
from tests.service.lens_pages import enter_range, ledger, signed_lens, visit_of
from tests.service.pages import forms_of, send, submit
from tests.service.signing import sign_two_hours
from tests.service.test_operations import sign_operation

LINE = {"kind": "drops", "eye": "left", "start_on": "2026-03-02", "last_on": "2026-03-12", "times_a_day": "4", "words": "the drops with the pink cap"}
SET = {"first_correction_days": "5", "stitches_from_days": "6", "stitches_until_days": "9", "refraction_months": "4"}
LOOKED_AT = {
    "left_refraction_sphere": "+18",
    "left_refraction_vertex_distance_mm": "12",
    "left_pressure_mmhg": "14",
    "left_stitches_in": "no",
}


def page_of(child: Child) -> str:
    return f"/children/{child.public_id}/care"


def say(browser: TestClient, child: Child, having: str, **typed: str) -> Any:
    steps = {"words": "line", "ends_on": "end-line", "patches_left": "patches", "implant_on": "secondary-lens", "wear_schedule": "lens-wear"}
    return submit(browser, page_of(child), having, step=steps[having], **typed)


def known(engine: Engine, child: Child, clock: StoppedClock) -> case.Case:
    with reading(engine) as session:
        return case.load(session, children.child(session, child.clinic_id, child.public_id), clock.at)


def dated(engine: Engine, child: Child, clock: StoppedClock, kind: CareKind, days: int = 400) -> list[CareItem]:
    c = known(engine, child, clock)
    return [i for i in care_items_of(c, Span(c.today, c.today + timedelta(days=days))) if i.kind is kind]


def late(engine: Engine, child: Child, clock: StoppedClock) -> set[CareKind]:
    return {i.kind for i in overdue_of(known(engine, child, clock))}


@pytest.fixture
def family(engine: Engine, clinic: TestClinic, baby: Child) -> str:
    with writing(engine) as session:
        made_link = links.issue(session, clinic.staff[Role.ORTHOPTIST], baby, caregiver="Aunt", style=FeedStyle("time"), now=NOW)
    return f"/family/{made_link.page_token}"


def test_a_clinic_keeps_its_own_care_set_from_a_day_on(signed_in, engine: Engine, clinic: TestClinic) -> None:
    browser = signed_in(Role.ADMINISTRATOR)
    assert "this clinic has settled nothing" in browser.get("/care-sets").text
    typed = SET | {"asked-shield": None, "words-lens-clean": "Rub it well.", "schedule_1": "liu-2019", "schedule_2": "", "from_on": "2026-03-10"}
    assert submit(browser, "/care-sets", "seen", **typed).headers["location"] == "/care-sets"
    page = signed_in(Role.RECEPTION).get("/care-sets").text
    for said in ("first glasses or lens within 5 days", "Guangzhou (Liu 2019); else every 4 months", "not asked for: shield", "Rub it well.", "begins then"):
        assert said in page, said
    assert "this clinic has settled nothing" in page, "until its day"
    again = submit(browser, "/care-sets", "seen", together_days="3")
    assert again.status_code == 303
    with reading(engine) as session:
        (later, now) = (s for s in reversed(care_sets.in_turn(session, clinic.clinic_id)))
    assert (later.from_on, later.first_correction_days, later.together_days) == (date(2026, 3, 10), 5, 14)
    assert (now.from_on, now.first_correction_days, now.together_days, now.kinds_off) == (TODAY, 5, 3, frozenset({CareKind.SHIELD}))


def test_a_care_set_that_cannot_be_is_refused_beside_its_field(signed_in, engine: Engine, clinic: TestClinic) -> None:
    browser = signed_in(Role.ADMINISTRATOR)
    for typed, said in (
        ({"first_correction_days": "0"}, "between 1 and 60 days"),
        ({"asked-pressure-check": ""}, "a care set cannot leave them out"),
        ({"refraction_months": "1.5"}, "A whole number"),
        ({"stitches_from_days": "20"}, "Stitches are looked at from day 20 on; until 14 cannot be"),
        ({"schedule_1": "liu-2019", "schedule_2": "liu-2019"}, "named twice"),
        ({"from_on": "2026-03-01"}, "lies in the past"),
        ({"words-drops": "x" * 201}, "At most 200 characters"),
    ):
        answer = submit(browser, "/care-sets", "seen", **typed)
        assert answer.status_code == 422 and said in answer.text, typed
    assert "<details open>" in answer.text, "what is amiss is in sight"
    early = next(f for f in forms_of(browser.get("/care-sets").text) if "seen" in f.values)
    assert send(browser, early, "/care-sets").status_code == 303
    late_answer = send(browser, early, "/care-sets", together_days="2")
    assert late_answer.status_code == 409 and "Somebody else" in late_answer.text
    with reading(engine) as session:
        assert [v.number for v in care_sets.versions(session, clinic.clinic_id)] == [1]


def test_the_administrator_alone_keeps_the_set_and_no_other_clinic_sees_it(signed_in, call, other_clinic) -> None:
    api = call(Role.ADMINISTRATOR)
    body = {"from_on": str(TODAY), "seen": 0, "first_correction_days": 5, "stitches_from_days": 6, "stitches_until_days": 9, "refraction_schedules": []}
    body |= {"refraction_months": 4, "spare_order_days": 14, "patch_order_days": 7, "together_days": 14, "words": {"drops": "as the surgeon says"}}
    first = made(api, "/api/care-sets", body)
    assert (first["number"], first["kinds_off"], first["words"]) == (1, [], {"drops": "as the surgeon says"})
    assert make(api, "/api/care-sets", body).status_code == 409
    wrong = make(api, "/api/care-sets", body | {"seen": 1, "together_days": 22})
    assert wrong.status_code == 422 and wrong.json()["field"] == "together_days"
    for role in (Role.ORTHOPTIST, Role.OPTOMETRIST, Role.CLINICIAN, Role.RECEPTION):
        browser = signed_in(role)
        token = forms_of(browser.get("/care-sets").text)[0].values["form_token"]
        assert browser.post("/care-sets", data={"form_token": token, **SET}).status_code == 403
        assert make(call(role), "/api/care-sets", body | {"seen": 1}).status_code == 403
    assert "as the surgeon says" not in signed_in(Role.ADMINISTRATOR, other_clinic).get("/care-sets").text
    assert call(Role.ADMINISTRATOR, other_clinic).get(f"/api/care-sets/{first['id']}").status_code == 404


def test_the_surgeons_sheet_reaches_the_family_and_ends_when_it_is_said(
    signed_in, visitor: TestClient, engine: Engine, baby: Child, family: str, clock: StoppedClock
) -> None:
    browser = signed_in(Role.ORTHOPTIST)
    assert say(browser, baby, "words", **LINE).status_code == 303
    shield = {"kind": "shield", "words": "the clear shield", "times_a_day": "1", "start_on": "2026-03-04"}
    assert say(browser, baby, "words", **LINE | shield).status_code == 303
    page = browser.get(page_of(baby)).text
    assert "daily, 2 Mar 2026 to 12 Mar 2026" in page and "the drops with the pink cap" in page
    html = visitor.get(family).text
    every_day, by_date = html.split("the next seven days", 1)[1].split("</ul>", 1)
    assert "the drops with the pink cap – times today: 4" in every_day and "the clear shield" not in every_day
    assert by_date.count("the clear shield – times today: 1") == 5, "from Wednesday to Sunday"
    assert say(browser, baby, "ends_on", line="1", ends_on="2026-03-05").status_code == 303
    assert {i.on for i in dated(engine, baby, clock, CareKind.DROPS)} == {date(2026, 3, n) for n in (2, 3, 4)}
    assert say(browser, baby, "ends_on", line="2", ends_on="2026-03-04").status_code == 303
    assert dated(engine, baby, clock, CareKind.SHIELD) == [], "it never began"
    assert "ends on 5 Mar 2026" in browser.get(page_of(baby)).text, "who said what stays"


def test_a_sheet_that_cannot_be_is_refused_and_nothing_of_the_past_is_changed(signed_in, engine: Engine, baby: Child, clock: StoppedClock) -> None:
    browser = signed_in(Role.CLINICIAN)
    for typed, said in (
        ({"start_on": "2026-03-01"}, "lies in the past"),
        ({"last_on": "2026-03-01"}, "must come after the start"),
        ({"times_a_day": "25"}, "cannot be"),
        ({"times_a_day": "1.5"}, "A whole number"),
        ({"words": ""}, "Please fill this in"),
        ({"kind": "patch-stock"}, "is for drops and the shield"),
        ({"last_on": "9999-12-31"}, "is not a date"),
        ({"last_on": ""}, "Please give a date"),
    ):
        answer = say(browser, baby, "words", **LINE | typed)
        assert answer.status_code == 422 and said in answer.text, typed
    say(browser, baby, "words", **LINE)
    for typed, status in (
        ({"line": "1", "ends_on": "2026-03-01"}, 422),
        ({"line": "1", "ends_on": "2026-03-13"}, 422),
        ({"line": "7", "ends_on": "2026-03-05"}, 404),
    ):
        assert say(browser, baby, "ends_on", **typed).status_code == status, typed
    assert len(dated(engine, baby, clock, CareKind.DROPS)) == 11
    assert browser.post(page_of(baby), data=forms_of(browser.get(page_of(baby)).text)[1].values | {"step": "other"}).status_code == 403


def test_patches_are_asked_for_until_they_are_counted_anew(
    signed_in, visitor: TestClient, engine: Engine, clinic: TestClinic, baby: Child, family: str, clock: StoppedClock
) -> None:
    sign_two_hours(engine, clinic, baby, TODAY, TODAY + timedelta(weeks=8))
    browser = signed_in(Role.RECEPTION)
    assert say(browser, baby, "patches_left", patches_left="10", patches_a_day="1").status_code == 303
    assert [i.on for i in dated(engine, baby, clock, CareKind.PATCH_STOCK)] == [date(2026, 3, 5)], "seven days before the eleventh"
    clock.at = NOW + timedelta(days=6)
    asked = "by the count, the ones you have last until 11 Mar 2026"
    assert asked in visitor.get(family).text and "stock of patches" not in signed_in(Role.RECEPTION).get("/").text
    assert say(signed_in(Role.RECEPTION), baby, "patches_left", patches_left="60", patches_a_day="1").status_code == 303
    assert asked not in visitor.get(family).text
    assert say(signed_in(Role.RECEPTION), baby, "patches_left", patches_left="-1", patches_a_day="9").status_code == 422


def test_a_family_counts_its_own_patches(
    signed_in, call, visitor: TestClient, engine: Engine, clinic: TestClinic, baby: Child, family: str, clock: StoppedClock
) -> None:
    sign_two_hours(engine, clinic, baby, TODAY, TODAY + timedelta(weeks=8))
    mine = f"{family}/patches"
    assert mine in visitor.get(family).text and visitor.get(mine).headers["cache-control"] == "no-store"
    for typed in ({"patches_left": "-1"}, {"patches_left": "2.5"}, {"patches_left": ""}, {"patches_a_day": "0"}, {"patches_left": "many"}):
        assert submit(visitor, mine, "patches_left", **{"patches_left": "10", "patches_a_day": "1"} | typed).status_code == 422, typed
    form = next(f for f in forms_of(visitor.get(mine).text) if "patches_left" in f.values)
    typed = {"patches_left": "10", "patches_a_day": "1"}
    assert [send(visitor, form, mine, **typed).headers["location"] for _ in range(2)] == [family] * 2
    assert visitor.post(mine, data=form.values | typed | {"form_token": "x"}).status_code == 403
    assert [i.on for i in dated(engine, baby, clock, CareKind.PATCH_STOCK)] == [date(2026, 3, 5)], "seven days before the eleventh"
    (entry,) = known(engine, baby, clock).care_record.entries
    assert entry.by_family and entry.recorded_by in signed_in(Role.RECEPTION).get(page_of(baby)).text.split("the family (")[1]
    assert 'value="1"' in visitor.get(mine).text and "Last counted on" in visitor.get(mine).text
    (told,) = call(Role.RECEPTION).get(f"/api/children/{baby.public_id}/care-entries").json()["items"]
    assert (told["by_family"], told["patches_left"]) == (True, 10)
    assert visitor.get("/family/nobody/patches").status_code == 404


def test_a_lens_comes_out_by_what_was_said_of_it_and_a_lost_one_is_worn_no_longer(signed_in, engine: Engine, baby: Child, clock: StoppedClock) -> None:
    browser = signed_in(Role.OPTOMETRIST)
    enter_range(browser, powers="+10 to +35 by 0.5")
    signed_lens(browser, engine, baby)
    assert dated(engine, baby, clock, CareKind.LENS_OUT) == [] and "nothing is said of taking it out" in browser.get(page_of(baby)).text
    assert len(dated(engine, baby, clock, CareKind.CORRECTION_ON, days=7)) == 7
    refused = say(browser, baby, "wear_schedule", wear_schedule="overnight")
    assert refused.status_code == 422 and "comes out within its labelled limit" in refused.text
    assert say(browser, baby, "wear_schedule", wear_schedule="overnight", out_every_days="7", replace_every_days="90").status_code == 303
    assert [i.on for i in dated(engine, baby, clock, CareKind.LENS_OUT, days=20)] == [date(2026, 3, 9), date(2026, 3, 16)]
    with reading(engine) as session:
        (the_ninth,) = [
            d.texts for d in week_of_care(case.load(session, baby, NOW + timedelta(days=2)), {}, words("en")).days if d.on == TODAY + timedelta(days=7)
        ]
    assert ["Take the lens out" in the_ninth[0], "clean the lens" in the_ninth[1]] == [True, True], "in the order in which it is done"
    assert [i.on for i in dated(engine, baby, clock, CareKind.LENS_REPLACE, days=100)] == [date(2026, 5, 31)]
    (power,) = dated(engine, baby, clock, CareKind.POWER_OUT_OF_DATE)
    assert power.on > TODAY and power.status == "derived"
    lenses = f"/children/{baby.public_id}/lenses"
    submit(browser, lenses, "count")
    for state in ("arrived", "in-use"):
        submit(browser, f"{lenses}/{ledger(engine, baby)[0].public_id}", "on", state=state)
    clock.at = NOW + timedelta(days=3)
    browser = signed_in(Role.OPTOMETRIST)
    assert dated(engine, baby, clock, CareKind.SPARE_LENS, days=1) == [], "it was asked for on the ledger's day"
    assert len(dated(engine, baby, clock, CareKind.CORRECTION_ON, days=7)) == 7
    submit(browser, f"{lenses}/{ledger(engine, baby)[0].public_id}", "on", state="lost", on="2026-03-05")
    assert dated(engine, baby, clock, CareKind.CORRECTION_ON, days=7) == [] == dated(engine, baby, clock, CareKind.LENS_OUT)


def test_what_was_not_looked_at_stands_on_the_caseload_until_it_is(signed_in, engine: Engine, baby: Child, clock: StoppedClock) -> None:
    browser = signed_in(Role.CLINICIAN)
    assert late(engine, baby, clock) == {CareKind.FIRST_CORRECTION, CareKind.STITCH_CHECK, CareKind.REFRACTION_CHECK}
    caseload = browser.get("/").text
    assert "stitch check, left eye, due 18 Dec 2025" in caseload and "refraction check, left eye, due 4 Jan 2026" in caseload
    assert "first correction" not in caseload and "pressure check" not in caseload, "said elsewhere on the line; not due yet"
    visit_of(browser, baby, **LOOKED_AT)
    assert late(engine, baby, clock) == {CareKind.FIRST_CORRECTION}
    assert [i.on for i in dated(engine, baby, clock, CareKind.PRESSURE_CHECK, days=100)] == [date(2026, 6, 2)], "three months after this one"
    assert "Overdue" not in browser.get("/").text
    page = browser.get(page_of(baby)).text
    assert (
        "met on 2 Mar 2026" in page and "Overdue by 81 days" in page and "First correction of the left eye within 7 days after surgery on 4 Dec 2025." in page
    )
    assert "Weakley" in page and "from memory" in page, "each says what it rests on"


def test_a_trip_puts_together_what_comes_close(signed_in, engine: Engine, baby: Child) -> None:
    browser = signed_in(Role.RECEPTION)
    trips = browser.get(page_of(baby)).text.split("Trips that would do", 1)[1].split("</ol>")[0]
    first = trips.split("<li>")[1]
    assert "2 Mar 2026" in first and all(what in first for what in ("stitch check", "refraction check", "pressure check, left eye"))
    for on, journey in (("2026-03-11", "2 Mar 2026"), ("2026-03-03", "3 Mar 2026")):
        submit(browser, f"/children/{baby.public_id}/bookings", "on", kind="review", on=on)
        first = browser.get(page_of(baby)).text.split("Trips that would do", 1)[1].split("<li>")[1]
        assert journey in first and "stitch check" in first and "pressure check" in first, "a booked day that is next anyway is waited for"
    assert "booked visit" in first


def test_pressure_is_watched_when_every_plan_is_over(signed_in, engine: Engine, clinic: TestClinic, baby: Child, clock: StoppedClock) -> None:
    sign_two_hours(engine, clinic, baby, TODAY, TODAY + timedelta(weeks=8))
    clock.at = NOW + timedelta(weeks=9)
    ended = dated(engine, baby, clock, CareKind.PRESSURE_CHECK)
    assert known(engine, baby, clock).current is None and ended
    for years in (3, 9, 15):
        clock.at = NOW.replace(year=NOW.year + years)
        assert CareKind.PRESSURE_CHECK in late(engine, baby, clock), "nobody has measured it since"
        assert dated(engine, baby, clock, CareKind.PRESSURE_CHECK), years
        assert "Pressure of the left eye due" in signed_in(Role.CLINICIAN).get(page_of(baby)).text


def test_surgery_asks_for_what_follows_it_and_ends_what_was_planned(signed_in, engine: Engine, baby: Child, clock: StoppedClock) -> None:
    browser = signed_in(Role.CLINICIAN)
    visit_of(browser, baby, **LOOKED_AT)
    assert say(browser, baby, "implant_on", implant_eye="right", implant_on="2028-01-10").status_code == 422, "it has its own lens"
    assert say(browser, baby, "implant_on", implant_eye="left", implant_on="2026-03-20").status_code == 303
    assert [i.on for i in dated(engine, baby, clock, CareKind.SECONDARY_LENS)] == [date(2026, 3, 20)]
    assert say(browser, baby, "implant_on", implant_eye="left", implant_on="").status_code == 303
    assert dated(engine, baby, clock, CareKind.SECONDARY_LENS) == []
    clock.at = NOW + timedelta(days=30)
    browser = signed_in(Role.CLINICIAN)
    sign_operation(browser, baby, operation="secondary-lens", eye="left", on="2026-04-01", note="lens put in")
    c = known(engine, baby, clock)
    assert c.child.status(Laterality.LEFT, c.today) is OpticalStatus.PSEUDOPHAKIC
    (stitches,) = dated(engine, baby, clock, CareKind.STITCH_CHECK)
    (first,) = dated(engine, baby, clock, CareKind.FIRST_CORRECTION)
    assert (stitches.on, stitches.latest_on, first.on) == (date(2026, 4, 8), date(2026, 4, 15), date(2026, 4, 8))


def test_a_membrane_that_was_cleared_asks_for_stitches_only_where_some_were_seen(
    signed_in, engine: Engine, clinic: TestClinic, baby: Child, clock: StoppedClock
) -> None:
    sign_two_hours(engine, clinic, baby, TODAY, TODAY + timedelta(weeks=8))
    browser = signed_in(Role.CLINICIAN)
    assert sign_operation(browser, baby, operation="membrane-cleared", eye="left", on=str(TODAY), note="cleared").status_code == 303
    assert dated(engine, baby, clock, CareKind.STITCH_CHECK) == []
    visit_of(browser, baby, left_stitches_in="yes", on=str(TODAY))
    assert [i.on for i in dated(engine, baby, clock, CareKind.STITCH_CHECK)] == [TODAY + timedelta(days=7)]


def test_the_familys_page_is_plain_and_a_calendar_entrys_page_shows_none_of_it(
    signed_in, visitor: TestClient, engine: Engine, clinic: TestClinic, baby: Child, family: str, settings: Settings
) -> None:
    html = visitor.get(family).text
    assert "The pressure of the left eye is measured: for life, also when all is well." in html
    assert "overdue" not in html.lower() and "Stitches of" not in html and "common practice" not in html
    with reading(engine) as session:
        (subscription,) = case.load(session, baby, NOW).subscriptions
    one_day = visitor.get(day_address(settings, subscription, TODAY))
    assert one_day.status_code == 200 and "is measured" not in one_day.text


@pytest.mark.parametrize("role", [Role.RECEPTION, Role.ADMINISTRATOR])
def test_who_does_not_examine_counts_patches_and_no_more(signed_in, call, baby: Child, role: Role) -> None:
    browser, api = signed_in(role), call(role)
    page = browser.get(page_of(baby)).text
    token = forms_of(page)[0].values["form_token"]
    assert "The surgeon" not in page and browser.post(page_of(baby), data={"form_token": token, "step": "line", **LINE}).status_code == 403
    line = {"kind": "drops", "start_on": str(TODAY), "end_on": "2026-03-05", "times_a_day": 4, "words": "drops"}
    assert make(api, f"/api/children/{baby.public_id}/sheet-lines", line).status_code == 403
    assert make(api, f"/api/children/{baby.public_id}/patch-counts", {"patches_left": 3, "patches_a_day": 1}).status_code == 201


def test_the_api_says_what_the_pages_say_and_another_clinic_sees_nothing(call, signed_in, baby: Child, other_clinic) -> None:
    api, here = call(Role.CLINICIAN), f"/api/children/{baby.public_id}"
    line = made(api, f"{here}/sheet-lines", {"kind": "shield", "start_on": str(TODAY), "end_on": "2026-03-05", "times_a_day": 1, "words": "at night"})
    assert api.get(f"{here}/care-entries/{line['id']}").json() == line and line["line"] == 1
    made(api, f"{here}/sheet-line-ends", {"line": 1, "end_on": "2026-03-03"})
    for what, body, field in (
        ("sheet-lines", {"kind": "visit", "start_on": str(TODAY), "end_on": "2026-03-05", "times_a_day": 1, "words": "x"}, "kind"),
        ("patch-counts", {"patches_left": 10_001, "patches_a_day": 1}, "patches_left"),
        ("secondary-lens-dates", {"eye": "right", "on": "2027-01-01"}, "eye"),
        ("lens-wear", {"correction_id": "x", "eye": "left", "wear_schedule": "daily", "out_every_days": 3}, "out_every_days"),
    ):
        refused = make(api, f"{here}/{what}", body)
        assert refused.status_code == 422 and refused.json()["field"] == field, what
    care = api.get(f"{here}/care").json()
    assert [i["on"] for i in care["ahead"] if i["kind"] == "shield"] == [str(TODAY)]
    assert {i["kind"] for i in care["overdue"]} == {"first-correction", "stitch-check", "refraction-check"}
    assert care["trips"][0]["on"] == str(TODAY)
    assert "at night" in signed_in(Role.ORTHOPTIST).get(page_of(baby)).text
    foreign = call(Role.CLINICIAN, other_clinic)
    for address in ("care", "care-entries", f"care-entries/{line['id']}"):
        assert foreign.get(f"{here}/{address}").status_code == 404
    assert signed_in(Role.CLINICIAN, other_clinic).get(page_of(baby)).status_code == 404
