"""The page before a secondary lens: what is on record and how fresh, and what each choice leaves between the eyes."""

import math
from datetime import date, timedelta

import pytest
from sqlalchemy import Engine

from service.clock import StoppedClock
from service.facts import Child, Role
from tests.people import NOW, TODAY, TestClinic, infant, register
from tests.service.pages import new_visit, submit
from tests.service.test_anaesthetic import MEASURED
from tests.service.test_calculations import text_of
from tests.service.test_rules import limits
from tests.service.typed import BOTH_EYES

IMPLANT = {"left_anterior_chamber_mm": "3.1", "left_capsule_support": "partial"}
REFRACTION = {
    "left_refraction_sphere": "+14",
    "left_refraction_vertex_distance_mm": "12",
    "right_refraction_sphere": "+1",
    "right_refraction_vertex_distance_mm": "12",
}


@pytest.fixture
def toddler(engine: Engine, clinic: TestClinic) -> Child:
    """Three years old on the day, the left lens removed at four months."""
    return register(engine, clinic, infant(TODAY.replace(year=TODAY.year - 3), date(2023, 7, 3)))


def page_of(child: Child) -> str:
    return f"/children/{child.public_id}/secondary-lens"


def held(answer: dict, item: str, fellow: bool = False) -> tuple[str, str | None, str | None]:
    return next((h["value"], h["on"], h["standing"]) for h in answer["eyes"]["left"]["held"] if h["item"] == item and h["fellow"] is fellow)


def test_each_choice_and_waiting_stand_beside_one_another_with_their_bands(signed_in, call, toddler: Child) -> None:
    """By hand: waiting 14 − 5.5 log10(10 / 3); the rule of 7 at three years +4.00 D, then −3.3 per log10 (operated on at four months)."""
    browser = signed_in(Role.CLINICIAN)
    assert submit(browser, new_visit(toddler), **REFRACTION, **MEASURED, **BOTH_EYES).status_code == 303
    answer = call(Role.CLINICIAN).get(f"/api{page_of(toddler)}").json()
    rows = {(p["choice"], float(f"{p['age_years']:.0f}")): p for p in answer["eyes"]["left"]["predicted"]}
    waiting, lens = rows["Waiting: still aphakic", 10], rows["Lens now: Rule of 7", 7]
    assert waiting["refraction"] == pytest.approx(14 - 5.5 * math.log10(10 / 3), abs=0.01)
    assert waiting["high"] - waiting["low"] == pytest.approx(2 * 1.96 * math.hypot(3.8 * math.log10(10 / 3), 0.5), abs=0.02)
    assert lens["refraction"] == pytest.approx(4 - 3.3 * math.log10(7 / 3), abs=0.01) and lens["anisometropia"] == pytest.approx(
        lens["refraction"] - 1, abs=0.01
    )
    assert rows["Lens at 5 years: Rule of 7", 5]["refraction"] == pytest.approx(2.0)
    assert {a["source"]: a["dioptres"] for a in answer["aims"]} == {"enyedi-1998": 4.0, "wilson-trivedi": 5.0}
    assert {a["source"]: a["status"] for a in answer["aims"]} == {"enyedi-1998": "read-secondhand", "wilson-trivedi": "memory"}
    shown = text_of(browser.get(page_of(toddler)).text)
    assert "Waiting: still aphakic" in shown and "its own change is not predicted" in shown and "none is chosen here, and no implant is ordered" in shown
    assert "mean absolute error 1 D from the aim; at 10.5 years the eyes were at −3.20 D (SD 2.7 D)" in shown
    assert "1 Lens now: Rule of 7" in shown and "4 Lens at 5 years: Textbook table" in shown, "the lines of the chart are numbered"
    assert "<polygon" in browser.get(page_of(toddler)).text


def test_the_list_says_what_is_recent_stale_or_missing(signed_in, call, clock: StoppedClock, toddler: Child) -> None:
    submit(
        signed_in(Role.ORTHOPTIST), new_visit(toddler), **REFRACTION, **MEASURED, **BOTH_EYES, left_anterior_chamber_mm="3.1", left_capsule_support="partial"
    )
    answer = call(Role.CLINICIAN).get(f"/api{page_of(toddler)}").json()
    assert held(answer, "axial-length")[1:] == ("2026-03-02", "recent") and "18.40 mm" in held(answer, "axial-length")[0]
    assert held(answer, "axial-length", fellow=True)[2] == "missing" and held(answer, "acuity", fellow=True)[0].startswith("6/6")
    assert held(answer, "refraction")[0] == "+14.00 D sphere at 12 mm" and held(answer, "lens-powers")[2] == "missing"
    assert held(answer, "anterior-chamber")[0] == "3.10 mm" and held(answer, "capsule") == ("partial", "2026-03-02", "recent")
    clock.at = NOW + timedelta(days=190)
    later = call(Role.CLINICIAN).get(f"/api{page_of(toddler)}").json()
    assert held(later, "axial-length")[2] == "stale" and held(later, "capsule")[2] == "recent", "six months at this age; a capsule does not age"
    shown = text_of(signed_in(Role.ORTHOPTIST).get(page_of(toddler)).text)
    assert "practice list, from memory" in shown and "the constant are the surgeon's to add" in shown


def test_the_calculation_of_a_power_is_filled_in_as_far_as_the_record_goes(signed_in, toddler: Child) -> None:
    browser = signed_in(Role.OPTOMETRIST)
    submit(browser, new_visit(toddler), **MEASURED)
    page = browser.get(page_of(toddler)).text
    address = next(part for part in page.split('"') if "implant-plausibility" in part).replace("&amp;", "&")
    form = browser.get(address).text
    assert 'value="18.4"' in form and 'value="46.625"' in form and 'value="36"' in form and 'id="result"' not in form


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({}, "has not been refracted since its lens was removed"),
        ({k: v for k, v in REFRACTION.items() if k.startswith("left")}, "the fellow eye has no refraction"),
    ],
    ids=["nothing", "one eye"],
)
def test_without_both_refractions_it_says_so(signed_in, call, toddler: Child, typed, words: str) -> None:
    if typed:
        submit(signed_in(Role.ORTHOPTIST), new_visit(toddler), **typed)
    assert words in text_of(signed_in(Role.ORTHOPTIST).get(page_of(toddler)).text)
    answer = call(Role.CLINICIAN).get(f"/api{page_of(toddler)}").json()["eyes"]["left"]
    assert words in answer["refusal"] and answer["predicted"] == []


def test_a_refraction_from_before_the_operation_is_not_the_eyes(signed_in, engine: Engine, clinic: TestClinic, clock: StoppedClock) -> None:
    child = register(engine, clinic, infant(date(2022, 3, 2), date(2022, 8, 1)), NOW)
    clock.at = NOW
    submit(signed_in(Role.ORTHOPTIST), new_visit(child), **REFRACTION | {"on": "2022-07-01"})
    assert "has not been refracted since" in text_of(signed_in(Role.ORTHOPTIST).get(page_of(child)).text)


def test_the_infant_of_the_trials_age_sees_the_days_of_the_protocols(call, signed_in, baby: Child) -> None:
    """Five completed months, operated on at two: before the study's first month, so read by the day of the lens; both readings in the band."""
    submit(signed_in(Role.ORTHOPTIST), new_visit(baby), **REFRACTION)
    answer = call(Role.CLINICIAN).get(f"/api{page_of(baby)}").json()
    assert {a["source"]: a["dioptres"] for a in answer["aims"]} == {"vanderveen-2012": 6.0, "weakley-2017": 8.5, "wilson-trivedi": 8.0}
    assert answer["eyes"]["left"]["refusal"] is None and len(answer["eyes"]["left"]["predicted"]) > 10


def test_the_child_page_leads_there_for_an_aphakic_eye_alone(signed_in, call, baby: Child, sam: Child) -> None:
    browser = signed_in(Role.ORTHOPTIST)
    assert page_of(baby) in browser.get(f"/children/{baby.public_id}").text
    assert page_of(sam) not in browser.get(f"/children/{sam.public_id}").text
    assert "No eye of this child is aphakic" in browser.get(page_of(sam)).text
    assert call(Role.CLINICIAN).get(f"/api{page_of(sam)}").json()["eyes"] == {}


def test_a_clinic_may_switch_off_what_is_from_memory(signed_in, call, toddler: Child) -> None:
    submit(signed_in(Role.ORTHOPTIST), new_visit(toddler), **REFRACTION)
    assert limits(signed_in(Role.ADMINISTRATOR), reason="Not from memory here", **{"on_aim-textbook": ""}).status_code == 303
    answer = call(Role.CLINICIAN).get(f"/api{page_of(toddler)}").json()
    assert [a["source"] for a in answer["aims"]] == ["enyedi-1998"]
    assert {p["choice"] for p in answer["eyes"]["left"]["predicted"]} == {"Waiting: still aphakic", "Lens now: Rule of 7", "Lens at 5 years: Rule of 7"}


def test_another_clinic_sees_nothing_of_it(signed_in, call, toddler: Child, other_clinic: TestClinic) -> None:
    assert signed_in(Role.CLINICIAN, other_clinic).get(page_of(toddler)).status_code == 404
    assert call(Role.CLINICIAN, other_clinic).get(f"/api{page_of(toddler)}").status_code == 404
