"""Registering a child, correcting particulars, and who may see whom."""

from concurrent.futures import ThreadPoolExecutor
from datetime import date

import pytest
from sqlalchemy import Engine

from service.actions.children import ChangedParticulars, change
from service.db import reading, writing
from service.errors import NotAllowedError
from service.facts import Child, Role
from service.store import children
from shared.vocabulary import AmblyopicEye
from tests.people import NOW, TODAY, TestClinic, infant, register, schoolchild
from tests.service.pages import forms_of, send, submit

TYPED = {
    "reference": "A-77",
    "short_name": "Robin",
    "born_on": "2025-10-02",
    "weeks_premature": "2",
    "time_zone": "Europe/Lisbon",
    "aetiology": "deprivation",
    "amblyopic_eye": "left",
    "right_status": "phakic",
    "left_status": "aphakic",
    "left_surgery_on": "2025-12-04",
}


def test_a_child_is_registered_with_dated_status_of_each_eye(signed_in) -> None:
    browser = signed_in(Role.RECEPTION)
    answer = submit(browser, "/children/new", **TYPED)
    assert answer.status_code == 303
    page = browser.get(answer.headers["location"]).text
    assert "Robin" in page and "A-77" in page and "aphakic" in page and "4 Dec 2025" in page
    assert "Robin" in browser.get("/").text


@pytest.mark.parametrize(
    ("field", "typed", "says"),
    [
        ("born_on", "2026-03-03", "in the future"),
        ("born_on", "1980-01-01", "check the year"),
        ("born_on", "yesterday", "is not a date"),
        ("reference", "", "fill this in"),
        ("weeks_premature", "30", "cannot be"),
        ("time_zone", "Mars/Olympus", "is not a time zone"),
        ("left_surgery_on", "", "needs the date"),
        ("left_surgery_on", "2025-10-01", "not between birth and today"),
        ("right_surgery_on", "2025-12-04", "has its own lens"),
        ("aetiology", "laziness", "not one of the choices"),
    ],
)
def test_an_impossible_value_is_refused_beside_its_field_and_everything_typed_stays(signed_in, field: str, typed: str, says: str) -> None:
    browser = signed_in(Role.ORTHOPTIST)
    answer = submit(browser, "/children/new", **TYPED | {field: typed})
    assert answer.status_code == 422
    assert says in answer.text
    kept = next(f for f in forms_of(answer.text) if "submission_key" in f.values).values
    for name, value in (TYPED | {field: typed}).items():
        if name not in ("aetiology",) or name != field:
            assert kept.get(name, "") == value, name


def test_the_same_form_sent_twice_registers_once(signed_in, engine: Engine, clinic: TestClinic) -> None:
    browser = signed_in(Role.ORTHOPTIST)
    form = next(f for f in forms_of(browser.get("/children/new").text) if "submission_key" in f.values)
    first, second = send(browser, form, "/children/new", **TYPED), send(browser, form, "/children/new", **TYPED)
    assert first.headers["location"] == second.headers["location"]
    with reading(engine) as session:
        assert len(children.children(session, clinic.clinic_id, "", 10)) == 1


def test_two_taps_at_the_same_moment_register_once_and_both_are_told_where(signed_in, engine: Engine, clinic: TestClinic) -> None:
    browser = signed_in(Role.ORTHOPTIST)
    form = next(f for f in forms_of(browser.get("/children/new").text) if "submission_key" in f.values)
    with ThreadPoolExecutor(4) as pool:
        answers = list(pool.map(lambda _: send(browser, form, "/children/new", **TYPED), range(4)))
    assert {a.status_code for a in answers} == {303} and len({a.headers["location"] for a in answers}) == 1
    with reading(engine) as session:
        assert len(children.children(session, clinic.clinic_id, "", 10)) == 1


def test_a_reference_belongs_to_one_child_of_a_clinic(signed_in) -> None:
    browser = signed_in(Role.ORTHOPTIST)
    assert submit(browser, "/children/new", **TYPED).status_code == 303
    again = submit(browser, "/children/new", **TYPED)
    assert again.status_code == 422 and "already has the reference" in again.text


def test_markup_in_a_name_is_shown_as_text(signed_in) -> None:
    browser = signed_in(Role.ORTHOPTIST)
    answer = submit(browser, "/children/new", **TYPED | {"short_name": "<b>Max</b>"})
    page = browser.get(answer.headers["location"]).text
    assert "&lt;b&gt;Max&lt;/b&gt;" in page and "<b>Max" not in page


def test_each_page_of_a_child_answers_the_right_person_a_colleague_and_nobody_else(
    signed_in, visitor, engine: Engine, clinic: TestClinic, other_clinic: TestClinic
) -> None:
    child = register(engine, clinic, infant())
    for path in ("", "/particulars", "/visits/new", "/occlusion", "/review", "/links"):
        address = f"/children/{child.public_id}{path}"
        assert signed_in(Role.ORTHOPTIST).get(address).status_code == 200, address
        assert signed_in(Role.CLINICIAN).get(address).status_code == 200, address
        assert signed_in(Role.ORTHOPTIST, other_clinic).get(address).status_code == 404, address
        assert visitor.get(address).status_code == 303, address


def test_nobody_of_another_clinic_can_do_anything_to_a_child(signed_in, engine: Engine, clinic: TestClinic, other_clinic: TestClinic) -> None:
    child = register(engine, clinic, infant())
    visit = submit(signed_in(Role.ORTHOPTIST), f"/children/{child.public_id}/visits/new", left_trial_lens_dioptres="+29", left_over_sphere="+1").headers[
        "location"
    ]
    stranger = signed_in(Role.CLINICIAN, other_clinic)
    token = next(f for f in forms_of(stranger.get("/children/new").text) if "submission_key" in f.values).values
    base = f"/children/{child.public_id}"
    paths = ("particulars", "visits/new", "occlusion", "review", "links", "links/x/close")
    deeds = (*(f"{base}/{path}" for path in paths), f"{visit}/correct", f"{visit}/correction")
    typed = token | {"step": "sign", "version": "1", "reason": "x", "on": "2026-03-01", "caregiver": "x", "label": "y"}
    for address in deeds:
        answer = stranger.post(address, data=typed)
        assert answer.status_code == 404, address
    assert stranger.get(visit).status_code == 404
    own = register(engine, other_clinic, infant())
    assert stranger.get(visit.replace(child.public_id, own.public_id)).status_code == 404, "nor through a child of their own"


def test_another_clinics_child_looks_like_none_at_all(signed_in, engine: Engine, clinic: TestClinic, other_clinic: TestClinic) -> None:
    child = register(engine, clinic, infant())
    stranger = signed_in(Role.ORTHOPTIST, other_clinic)
    theirs, nobodys = (stranger.get(f"/children/{i}") for i in (child.public_id, "no-such-child"))
    assert theirs.status_code == nobodys.status_code == 404
    assert "Baby" not in stranger.get("/").text


def test_reception_registers_but_does_not_examine(signed_in, engine: Engine, clinic: TestClinic) -> None:
    child = register(engine, clinic, infant())
    assert signed_in(Role.RECEPTION).get(f"/children/{child.public_id}/visits/new").status_code == 403


def test_of_two_people_editing_the_second_is_told_and_nothing_is_overwritten(signed_in, engine: Engine, clinic: TestClinic) -> None:
    child = register(engine, clinic, schoolchild())
    address = f"/children/{child.public_id}/particulars"
    one, two = signed_in(Role.ORTHOPTIST), signed_in(Role.CLINICIAN)
    of_one, of_two = (next(f for f in forms_of(b.get(address).text) if "version" in f.values) for b in (one, two))
    assert send(one, of_one, address, short_name="Samuel").status_code == 303
    late = send(two, of_two, address, short_name="Sammy")
    assert late.status_code == 409 and "Somebody else has changed" in late.text and "Samuel" in late.text and "Sammy" in late.text
    with reading(engine) as session:
        assert children.child(session, clinic.clinic_id, child.public_id).short_name == "Samuel"


def test_a_household_that_moves_keeps_its_past_days(signed_in, engine: Engine, clinic: TestClinic) -> None:
    child = register(engine, clinic, schoolchild())
    address = f"/children/{child.public_id}/particulars"
    assert submit(signed_in(Role.ORTHOPTIST), address, "version", time_zone="Asia/Tokyo").status_code == 303
    with reading(engine) as session:
        moved = children.child(session, clinic.clinic_id, child.public_id)
    assert moved.zone_on(date(2026, 3, 1)) == "Europe/Lisbon"
    assert moved.zone_on(TODAY) == "Asia/Tokyo"


def test_the_caseload_pages_by_reference(signed_in, engine: Engine, clinic: TestClinic) -> None:
    for n in range(51):
        register(engine, clinic, schoolchild(f"R-{n:03d}"))
    browser = signed_in(Role.ORTHOPTIST)
    first = browser.get("/").text
    assert "R-049" in first and "R-050" not in first and "/?after=R-049" in first
    assert "R-050" in browser.get("/?after=R-049").text


def test_who_does_not_examine_changes_nothing_a_dose_is_worked_out_from(signed_in, baby: Child, engine: Engine) -> None:
    reception, address = signed_in(Role.RECEPTION), f"/children/{baby.public_id}/particulars"
    page = reception.get(address).text
    assert 'name="aetiology"' not in page and 'name="amblyopic_eye"' not in page and "changed by those who examine" in page
    assert submit(reception, address, "version", short_name="Robin", aetiology="strabismic", amblyopic_eye="right", weeks_premature="6").status_code == 303
    with reading(engine) as session:
        now = children.child(session, baby.clinic_id, baby.public_id)
    assert now.short_name == "Robin" and (now.aetiology, now.amblyopic_eye, now.weeks_premature) == (baby.aetiology, baby.amblyopic_eye, 0)


def test_no_way_in_lets_reception_change_the_amblyopic_eye(baby: Child, engine: Engine, clinic: TestClinic) -> None:
    changed = ChangedParticulars(baby.version, baby.short_name, 0, baby.time_zone, baby.aetiology, AmblyopicEye.RIGHT, "", False)
    with writing(engine) as session, pytest.raises(NotAllowedError):
        change(session, clinic.staff[Role.RECEPTION], baby, changed, NOW)
    with reading(engine) as session:
        assert children.child(session, baby.clinic_id, baby.public_id).amblyopic_eye is AmblyopicEye.LEFT
