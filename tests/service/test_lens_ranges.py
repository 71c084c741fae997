"""A clinic's own lens ranges: who keeps them, from when they hold, and what stays as it was."""

from datetime import date

from sqlalchemy import Engine

from service.db import reading
from service.facts import Role
from service.store import lens_ranges
from tests.people import TODAY, TestClinic
from tests.service.lens_pages import RANGE, enter_range
from tests.service.pages import forms_of, send, submit


def newest(engine: Engine, clinic: TestClinic) -> str:
    with reading(engine) as session:
        return max(lens_ranges.ranges(session, clinic.clinic_id), key=lambda r: r.number).public_id


def steps_on(engine: Engine, clinic: TestClinic, day: date) -> list[tuple[float, ...]]:
    with reading(engine) as session:
        return [tuple(s.step for s in r.lens_range.spans) for r in lens_ranges.in_force(session, clinic.clinic_id, day)]


def test_a_range_is_entered_and_shown_with_what_was_understood(signed_in) -> None:
    browser = signed_in(Role.ADMINISTRATOR)
    assert "built-in one" in browser.get("/lens-ranges").text
    assert enter_range(browser).headers["location"] == "/lens-ranges"
    page = browser.get("/lens-ranges").text
    # 21 powers by halves and, of 20, 23, 26, 29, 32, four more (counted by hand)
    assert "25 powers, from +10.00 D to +32.00 D" in page and "7.4; 7.6" in page and "silicone elastomer" in page and "worn overnight too" in page
    assert "built-in one" not in page


def test_what_cannot_be_is_told_where_it_stands_and_what_was_typed_is_kept(signed_in, engine: Engine, clinic: TestClinic) -> None:
    browser = signed_in(Role.OPTOMETRIST)
    answer = enter_range(browser, name="", powers="10 to 20 by 0.3; 50 sideways", base_curves_mm="75", diameters_mm="wide", from_on="2026-02-30")
    assert answer.status_code == 422 and [form.values["powers"] for form in forms_of(answer.text) if "powers" in form.values] == [
        "10 to 20 by 0.3; 50 sideways"
    ]
    for said in ("Please fill this in", "Steps of 0.3 D do not lead", "is not a size in mm", "is not a date"):
        assert said in answer.text
    assert "75 mm cannot be" in enter_range(browser, base_curves_mm="75").text
    assert "lies in the past" in enter_range(browser, from_on="2026-03-01").text
    assert steps_on(engine, clinic, TODAY) == []


def test_a_change_holds_from_its_day_and_the_end_from_its_own(signed_in, engine: Engine, clinic: TestClinic) -> None:
    browser = signed_in(Role.OPTOMETRIST)
    enter_range(browser)
    first = newest(engine, clinic)
    assert submit(browser, f"/lens-ranges/{first}", "powers", powers="+10 to +32 by 1", from_on="2026-04-01", step="change").status_code == 303
    assert submit(browser, f"/lens-ranges/{newest(engine, clinic)}", "ends_on", ends_on="2026-06-01", step="end").status_code == 303
    assert [steps_on(engine, clinic, day) for day in (date(2026, 3, 1), TODAY, date(2026, 3, 31), date(2026, 4, 1), date(2026, 5, 31), date(2026, 6, 1))] == [
        [],
        [(0.5, 3.0)],
        [(0.5, 3.0)],
        [(1.0,)],
        [(1.0,)],
        [],
    ]
    page = browser.get("/lens-ranges").text
    assert "in force" in page and "begins then" in page and "ends then" in page


def test_a_slip_is_mended_on_its_own_day(signed_in, engine: Engine, clinic: TestClinic) -> None:
    browser = signed_in(Role.OPTOMETRIST)
    enter_range(browser)
    submit(browser, f"/lens-ranges/{newest(engine, clinic)}", "powers", powers="+10 to +32 by 2", step="change")
    assert steps_on(engine, clinic, TODAY) == [(2.0,)]


def test_nobody_overwrites_what_somebody_else_entered_meanwhile(signed_in, engine: Engine, clinic: TestClinic) -> None:
    browser, other = signed_in(Role.OPTOMETRIST), signed_in(Role.ADMINISTRATOR)
    enter_range(browser)
    first = newest(engine, clinic)
    submit(browser, f"/lens-ranges/{first}", "powers", powers="+10 to +32 by 2", step="change")
    late = submit(other, f"/lens-ranges/{first}", "powers", powers="+10 to +32 by 1", step="change")
    assert late.status_code == 409 and "Somebody else" in late.text and "+10 to +32 by 1" in late.text
    assert "is a range already" in enter_range(other, name="TESTHAM silicone").text
    assert steps_on(engine, clinic, TODAY) == [(2.0,)]


def test_two_taps_enter_one_range(signed_in, engine: Engine, clinic: TestClinic) -> None:
    browser = signed_in(Role.OPTOMETRIST)
    form = next(f for f in forms_of(browser.get("/lens-ranges/new").text) if "powers" in f.values)
    assert [send(browser, form, "/lens-ranges/new", **RANGE).status_code for _ in range(2)] == [303, 303]
    with reading(engine) as session:
        assert len(lens_ranges.ranges(session, clinic.clinic_id)) == 1


def test_administrator_and_optometrist_keep_them_and_no_other_clinic_sees_them(signed_in, engine: Engine, clinic, other_clinic) -> None:
    enter_range(signed_in(Role.OPTOMETRIST))
    first = newest(engine, clinic)
    for role in (Role.ORTHOPTIST, Role.CLINICIAN, Role.RECEPTION):
        browser = signed_in(role)
        page = browser.get("/lens-ranges").text
        assert "Testham silicone" in page and "Change or end" not in page
        token = forms_of(page)[0].values["form_token"]
        for address in ("/lens-ranges/new", f"/lens-ranges/{first}"):
            assert browser.get(address).status_code == 403
            assert browser.post(address, data={"form_token": token, "from_on": "2026-03-02", **RANGE}).status_code == 403
    foreign = signed_in(Role.OPTOMETRIST, other_clinic)
    assert "Testham silicone" not in foreign.get("/lens-ranges").text and foreign.get(f"/lens-ranges/{first}").status_code == 404
    assert steps_on(engine, clinic, TODAY) == [(0.5, 3.0)]
