"""A clinic's own table for near: who keeps it, from when it holds, and where it is used."""

from datetime import date, timedelta

from sqlalchemy import Engine

from service.db import reading
from service.facts import Child, Role
from service.store import near_tables
from tests.people import TODAY, TestClinic
from tests.service.lens_pages import visit_of
from tests.service.pages import forms_of, send, submit, taking
from tests.service.typed import TRIAL_LENS

OWN = {"near_rows": "0: 3; 12: 1,5; 30: 0", "author": "protocol of Testham"}


def in_force(engine: Engine, clinic: TestClinic, day: date) -> str:
    with reading(engine) as session:
        return near_tables.in_force(session, clinic.clinic_id, day).typed


def test_what_is_built_in_is_shown_until_a_clinic_settles_its_own(signed_in, engine: Engine, clinic: TestClinic) -> None:
    browser = signed_in(Role.OPTOMETRIST)
    page = browser.get("/near-tables").text
    assert "this clinic has settled nothing" in page and "+2.00 D" in page and "from memory" in page
    assert submit(browser, "/near-tables", "near_rows", **OWN).headers["location"] == "/near-tables"
    page = browser.get("/near-tables").text
    assert "this clinic has settled nothing" not in page and "protocol of Testham" in page and "from 12 months on +1.50 D" in page
    assert in_force(engine, clinic, TODAY) == "0: 3; 12: 1.5; 30: 0"
    assert in_force(engine, clinic, TODAY - timedelta(days=1)) == "0: 2; 24: 0"


def test_a_change_holds_from_its_day_and_an_empty_table_is_the_built_in_one(signed_in, engine: Engine, clinic: TestClinic) -> None:
    browser = signed_in(Role.ADMINISTRATOR)
    submit(browser, "/near-tables", "near_rows", **OWN)
    assert submit(browser, "/near-tables", "near_rows", near_rows="", author="", from_on="2026-06-01").status_code == 303
    assert in_force(engine, clinic, date(2026, 5, 31)) == "0: 3; 12: 1.5; 30: 0"
    assert in_force(engine, clinic, date(2026, 6, 1)) == "0: 2; 24: 0"
    page = browser.get("/near-tables").text
    assert "in force" in page and "begins then" in page


def test_what_cannot_be_is_told_where_it_stands(signed_in, engine: Engine, clinic: TestClinic) -> None:
    browser = signed_in(Role.OPTOMETRIST)
    for typed, said in (
        ({"near_rows": "12 months"}, "is no row"),
        ({"near_rows": "3: 2"}, "Ages must rise from 0 months"),
        ({"near_rows": "0: 9"}, "for near cannot be"),
        ({"author": ""}, "whose table this is"),
        ({"from_on": "2026-03-01"}, "lies in the past"),
    ):
        answer = submit(browser, "/near-tables", "near_rows", **OWN | typed)
        assert answer.status_code == 422 and said in answer.text, typed
    assert in_force(engine, clinic, TODAY) == "0: 2; 24: 0"


def test_nobody_overwrites_what_somebody_else_settled_meanwhile_and_two_taps_settle_once(signed_in, engine: Engine, clinic: TestClinic) -> None:
    browser, other = signed_in(Role.OPTOMETRIST), signed_in(Role.ADMINISTRATOR)
    early = taking(other.get("/near-tables").text, "near_rows")
    form = taking(browser.get("/near-tables").text, "near_rows")
    assert [send(browser, form, "/near-tables", **OWN).status_code for _ in range(2)] == [303, 303]
    late = send(other, early, "/near-tables", **OWN | {"near_rows": "0: 1"})
    assert late.status_code == 409 and "Somebody else" in late.text
    assert in_force(engine, clinic, TODAY) == "0: 3; 12: 1.5; 30: 0"
    assert send(other, taking(late.text, "near_rows"), "/near-tables").status_code == 303
    assert in_force(engine, clinic, TODAY) == "0: 1"


def test_administrator_and_optometrist_keep_them_and_no_other_clinic_sees_them(signed_in, call, engine: Engine, clinic, other_clinic) -> None:
    submit(signed_in(Role.OPTOMETRIST), "/near-tables", "near_rows", **OWN)
    for role in (Role.ORTHOPTIST, Role.CLINICIAN, Role.RECEPTION):
        browser = signed_in(role)
        page = browser.get("/near-tables").text
        assert "protocol of Testham" in page and "Change it" not in page
        assert browser.post("/near-tables", data={"form_token": forms_of(page)[0].values["form_token"], "from_on": "2026-03-02", **OWN}).status_code == 403
        body = {"from_on": "2026-03-10", "seen": 1}
        assert call(role).post("/api/near-tables", json=body, headers={"Idempotency-Key": role.value}).status_code == 403
    assert "protocol of Testham" not in signed_in(Role.OPTOMETRIST, other_clinic).get("/near-tables").text
    found = call(Role.CLINICIAN).get("/api/near-tables").json()["items"]
    assert [each["author"] for each in found] == ["protocol of Testham"]
    assert call(Role.CLINICIAN, other_clinic).get(f"/api/near-tables/{found[0]['id']}").status_code == 404


def test_the_api_refuses_by_the_names_of_its_body(call) -> None:
    api = call(Role.ADMINISTRATOR)
    body = {"from_on": "2026-03-10", "near_rows": [{"from_month": 0, "dioptres": 2.5}], "author": "own", "seen": 0}
    for n, (wrong, field) in enumerate(
        (({"author": ""}, "author"), ({"near_rows": [{"from_month": 2, "dioptres": 2.5}]}, "near_rows"), ({"from_on": "2020-01-01"}, "from_on"))
    ):
        answer = api.post("/api/near-tables", json=body | wrong, headers={"Idempotency-Key": f"k{n}"})
        assert (answer.status_code, answer.json()["field"]) == (422, field)
    assert api.post("/api/near-tables", json=body | {"seen": 1}, headers={"Idempotency-Key": "late"}).status_code == 409
    assert api.post("/api/near-tables", json=body, headers={"Idempotency-Key": "first"}).status_code == 201


def test_the_clinics_own_table_stands_on_the_correction_page_with_its_author(signed_in, baby: Child) -> None:
    submit(signed_in(Role.ADMINISTRATOR), "/near-tables", "near_rows", **OWN)
    browser = signed_in(Role.OPTOMETRIST)
    visit = visit_of(browser, baby, **TRIAL_LENS)
    page = browser.get(f"{visit}/correction").text
    assert "protocol of Testham" in page
    assert any(form.values.get("left_near") == "3" or form.values.get("right_near") == "3" for form in forms_of(page))
