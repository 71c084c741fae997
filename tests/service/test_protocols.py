"""A clinic's own protocols: kept by the administrator, shown beside what is published and never as published, chosen by the signer."""

from datetime import date
from typing import Any

from sqlalchemy import Engine
from starlette.testclient import TestClient

from service.db import reading
from service.facts import Child, Role
from service.store import clinic_protocols, signed
from shared.treatment.dose import DatedDose
from shared.treatment.protocol_words import Pattern
from tests.people import TODAY, TestClinic, infant, register
from tests.service.calling import made, make
from tests.service.pages import forms_of, send, submit

OURS = {
    "name": "Late cataract",
    "author": "Head orthoptist",
    "reference": "Ward book, page 3",
    "aetiology": "deprivation",
    "from_month": "3",
    "below_month": "60",
    "hours": "3.5",
    "pattern": "six-days-a-week",
    "review_weeks": "6",
    "near_work": "Play at the table.",
}
BODY = {k: v for k, v in OURS.items() if k != "hours"} | {"from_month": 3, "below_month": 60, "minutes": 210, "review_weeks": 6, "from_on": str(TODAY)}


def enter(browser: TestClient, **typed: str) -> Any:
    return submit(browser, "/protocols/new", "author", **OURS | typed)


def newest(engine: Engine, clinic: TestClinic) -> str:
    with reading(engine) as session:
        return max(clinic_protocols.protocols(session, clinic.clinic_id), key=lambda p: p.number).public_id


def on(engine: Engine, clinic: TestClinic, day: date) -> list[int | None]:
    with reading(engine) as session:
        return [p.protocol.minutes for p in clinic_protocols.in_force(session, clinic.clinic_id, day)]


def late_baby(engine: Engine, clinic: TestClinic) -> Child:
    """Five months old and operated in the first month, before the infant rule's children were: no dose is published."""
    return register(engine, clinic, infant(surgery_on=date(2025, 10, 20)))


def test_it_is_entered_and_shown_with_its_author(signed_in, engine: Engine, clinic: TestClinic) -> None:
    browser = signed_in(Role.ADMINISTRATOR)
    assert "None is entered." in browser.get("/protocols").text
    assert enter(browser).headers["location"] == "/protocols"
    page = signed_in(Role.RECEPTION).get("/protocols").text
    for said in (
        "Late cataract",
        "Head orthoptist",
        "Ward book, page 3",
        "3 h 30 a day, six days a week",
        "deprivation, from 3 months to under 60 months",
        "in force",
    ):
        assert said in page, said


def test_what_is_amiss_is_told_beside_its_field(signed_in, engine: Engine, clinic: TestClinic) -> None:
    browser = signed_in(Role.ADMINISTRATOR)
    empty = enter(browser, author="", reference="", from_month="2.5", review_weeks="40")
    assert empty.status_code == 422 and empty.text.count("Please fill this in") >= 2
    assert "A whole number, please." in empty.text and "between 1 and 26 weeks" in empty.text
    assert "Give either minutes a day or a share" in enter(browser, waking_percent="50").text
    assert "choose both, or neither" in enter(browser, severity="severe").text
    assert "lies in the past" in enter(browser, from_on="2026-03-01").text
    assert on(engine, clinic, TODAY) == []


def test_a_change_holds_from_its_day_and_the_end_from_its_own(signed_in, engine: Engine, clinic: TestClinic) -> None:
    browser = signed_in(Role.ADMINISTRATOR)
    enter(browser)
    assert submit(browser, f"/protocols/{newest(engine, clinic)}", "author", hours="4", from_on="2026-04-01", step="change").status_code == 303
    assert submit(browser, f"/protocols/{newest(engine, clinic)}", "ends_on", ends_on="2026-06-01", step="end").status_code == 303
    assert [on(engine, clinic, day) for day in (date(2026, 3, 1), TODAY, date(2026, 3, 31), date(2026, 4, 1), date(2026, 5, 31), date(2026, 6, 1))] == [
        [],
        [210],
        [210],
        [240],
        [240],
        [],
    ]


def test_nobody_overwrites_another_and_a_name_is_given_once(signed_in, engine: Engine, clinic: TestClinic) -> None:
    browser = signed_in(Role.ADMINISTRATOR)
    enter(browser)
    first = newest(engine, clinic)
    submit(browser, f"/protocols/{first}", "author", hours="4", step="change")
    late = submit(browser, f"/protocols/{first}", "author", hours="5", step="change")
    assert late.status_code == 409 and "Somebody else" in late.text
    assert "is a protocol already" in enter(browser, name="LATE cataract").text


def test_only_the_administrator_keeps_them_and_no_other_clinic_sees_them(signed_in, call, engine: Engine, clinic, other_clinic, baby: Child) -> None:
    enter(signed_in(Role.ADMINISTRATOR))
    first = newest(engine, clinic)
    for role in (Role.ORTHOPTIST, Role.OPTOMETRIST, Role.CLINICIAN, Role.RECEPTION):
        browser = signed_in(role)
        token = forms_of(browser.get("/protocols").text)[0].values["form_token"]
        for address in ("/protocols/new", f"/protocols/{first}"):
            assert browser.get(address).status_code == 403
            assert browser.post(address, data={"form_token": token, "from_on": "2026-03-02", **OURS}).status_code == 403
        assert make(call(role), "/api/protocols", BODY | {"name": "another"}).status_code == 403
    foreign = signed_in(Role.ADMINISTRATOR, other_clinic)
    assert "Late cataract" not in foreign.get("/protocols").text and foreign.get(f"/protocols/{first}").status_code == 404
    assert call(Role.ADMINISTRATOR, other_clinic).get(f"/api/protocols/{first}").status_code == 404


def test_where_no_dose_is_published_the_clinics_may_be_signed_without_typing_one(signed_in, engine: Engine, clinic: TestClinic) -> None:
    child, browser = late_baby(engine, clinic), signed_in(Role.ORTHOPTIST)
    enter(signed_in(Role.ADMINISTRATOR))
    address, key = f"/children/{child.public_id}/occlusion", newest(engine, clinic)
    page = browser.get(address).text
    assert "No published dose" in page and "The clinic's protocol “Late cataract” (Head orthoptist)".replace("'", "&#39;") in page
    assert "3 h 30 a day, six days a week" in page and "Not published: the clinic answers for them." in page and "Play at the table." in page
    looked = submit(browser, address, step="look", dose=f"protocol-{key}", review_on="2026-04-13")
    form = next(f for f in forms_of(looked.text) if "seen" in f.values)
    assert send(browser, form, address, step="sign", cautions_read="yes").status_code == 303
    with reading(engine) as session:
        (document,) = signed.regimens(session, child)
    assert document.regimen.doses == (DatedDose(TODAY, 210, Pattern.SIX_DAYS_A_WEEK),)
    assert document.content["clinic_protocol"]["author"] == "Head orthoptist" and document.content["clinic_protocol"]["status"] == "common-practice"
    assert "no_published_dose" in document.content and "own_minutes" not in document.content


def test_beside_a_published_dose_it_stands_apart(signed_in, call, engine: Engine, clinic: TestClinic, baby: Child) -> None:
    enter(signed_in(Role.ADMINISTRATOR))
    api = call(Role.ORTHOPTIST)
    proposal = api.get(f"/api/children/{baby.public_id}/regimen-proposal").json()
    assert (proposal["minutes_per_day"], proposal["rule"]) == (300, "infant-by-completed-month") and "Late cataract" not in str(proposal)
    (own,) = api.get(f"/api/children/{baby.public_id}/clinic-protocols").json()
    assert (own["minutes_a_day"], own["status"], own["protocol"]["author"]) == (210, "common-practice", "Head orthoptist")


def test_one_that_is_over_or_for_other_children_is_not_signed(call, signed_in, engine: Engine, clinic: TestClinic, baby: Child, sam: Child) -> None:
    administrator, api = signed_in(Role.ADMINISTRATOR), call(Role.ORTHOPTIST)
    enter(administrator)
    key = newest(engine, clinic)
    order = {
        "phase": "occlusion",
        "start_on": str(TODAY),
        "review_on": "2026-04-13",
        "covered_eye": "right",
        "missing_correction": "hold-and-ring",
        "protocol_id": key,
    }
    preview = api.post(f"/api/children/{baby.public_id}/regimen-preview", json=order)
    assert preview.json()["regimen"]["doses"] == [{"from_on": "2026-03-02", "minutes": 210, "pattern": "six-days-a-week", "weekdays": []}]
    both = api.post(f"/api/children/{baby.public_id}/regimen-preview", json=order | {"own_minutes": 60, "own_reason": "x"})
    assert both.status_code == 422 and both.json()["field"] == "own_minutes"
    assert api.post(f"/api/children/{sam.public_id}/regimen-preview", json=order).status_code == 422
    submit(administrator, f"/protocols/{key}", "ends_on", ends_on=str(TODAY), step="end")
    ended = make(api, f"/api/children/{baby.public_id}/regimens", order | {"seen": preview.json()["digest"], "cautions_read": True})
    assert ended.status_code == 422, "what was seen is no longer in force"


def test_by_the_api_it_is_the_same_deed(call, engine: Engine, clinic: TestClinic) -> None:
    api = call(Role.ADMINISTRATOR)
    first = made(api, "/api/protocols", BODY)
    changed = made(api, f"/api/protocols/{first['id']}/change", {k: v for k, v in BODY.items() if k != "name"} | {"minutes": None, "waking_percent": 40})
    assert (changed["number"], changed["minutes"], changed["waking_percent"]) == (2, None, 40)
    made(api, f"/api/protocols/{changed['id']}/end", {"from_on": "2026-05-01"})
    assert [p["number"] for p in api.get("/api/protocols").json()["items"]] == [1, 2, 3]
    assert make(api, f"/api/protocols/{first['id']}/end", {"from_on": "2026-05-01"}).status_code == 409
    wrong = make(api, "/api/protocols", BODY | {"name": "x", "severity": "severe"})
    assert wrong.status_code == 422 and wrong.json()["field"] == "severity"
