"""Visits through the API: two people at once, what looks odd, and every finding in and out."""

from dataclasses import fields
from typing import Any

import pytest
from sqlalchemy import Engine
from starlette.testclient import TestClient

from service.api import examination
from service.asked import EYE_GROUPS, VISIT_GROUPS, Asked, asked
from service.db import writing
from service.facts import Child, Role
from service.facts_of_visits import AcuityReading, AcuityTest, Examination, EyeFindings, VisitFindings
from service.store import visits
from shared.vocabulary import Laterality
from tests.people import NOW, TODAY, TestClinic
from tests.service.calling import VISIT, made, make


@pytest.fixture
def api(call) -> TestClient:
    return call(Role.CLINICIAN)


@pytest.fixture
def child(baby: Child) -> str:
    return f"/api/children/{baby.public_id}"


def test_of_two_people_the_second_is_told_and_nothing_is_overwritten(api: TestClient, child: str) -> None:
    assert api.patch(child, json={"version": 1, "short_name": "Adele", "weeks_premature": 3}).json()["short_name"] == "Adele"
    assert api.patch(child, json={"version": 1, "short_name": "Bo"}).status_code == 409
    now = api.get(child).json()
    assert (now["short_name"], now["weeks_premature"], now["aetiology"], now["version"]) == ("Adele", 3, "deprivation", 2)
    visit = made(api, f"{child}/visits", VISIT)
    again = VISIT | {"version": 1, "reason": "another box", "eyes": {}}
    assert api.put(f"{child}/visits/{visit['id']}", json=again).json()["version"] == 2
    assert api.put(f"{child}/visits/{visit['id']}", json=again).status_code == 409
    after = api.get(f"{child}/visits/{visit['id']}").json()
    assert (after["reason"], after["eyes"]["left"]["trial_lens_dioptres"]) == ("another box", None)


def test_what_looks_odd_is_asked_about_and_may_stand(api: TestClient, child: str) -> None:
    made(api, f"{child}/visits", VISIT | {"on": "2026-02-02"})
    swapped = VISIT | {"tests": [{"method": "grating-cards", "readings": {"left": {"acuity": "4.8 cpd"}, "right": {"acuity": "1.2 cpd"}}}]}
    asked_back = make(api, f"{child}/visits", swapped, "one key")
    assert asked_back.status_code == 400, "a key holds no blank"
    asked_back = make(api, f"{child}/visits", swapped, "one-key")
    assert asked_back.status_code == 409 and "exchanged" in asked_back.json()["questions"][0]
    answers = {"as_typed": asked_back.json()["as_typed"]}
    assert make(api, f"{child}/visits", swapped | {"as_typed": "another"}, "one-key").status_code == 409, "it answers these questions alone"
    assert make(api, f"{child}/visits", swapped | answers, "one-key").status_code == 201, "nothing was made under the key before"


def some_value(a: Asked, n: int) -> Any:
    if a.longest:
        return "Glasses worn well; see in six weeks"
    return list(a.choices)[n % len(a.choices)].value if a.choices else (a.low + a.high) / 2


def test_every_finding_a_visit_may_ask_goes_in_and_comes_out(api: TestClient, child: str) -> None:
    eyes = {eye: {a.name: some_value(a, n) for n, a in enumerate(asked(EYE_GROUPS))} for eye in ("right", "left")}
    together = {a.name: some_value(a, n) for n, a in enumerate(asked(VISIT_GROUPS))}
    worn = {"correction_worn": "spectacles", "reliability": "fair"}
    readings = {"right": {"acuity": "6/6", "not_testable": False, **worn}, "left": {"acuity": None, "not_testable": True, **worn}}
    conditions = {"method": "snellen-chart", "distance_cm": 600, "letters_per_line": 5, "patched_beforehand": True, "cycloplegia": True, "tested_first": "left"}
    test = conditions | {"readings": readings}
    visit = made(api, f"{child}/visits", {"on": "2026-03-02", "tests": [test], "eyes": eyes, "together": together, "tester": "A. N. Other"})
    assert visit["tester"] == "A. N. Other" and visit["tests"] == [test | {"readings": readings | {"both": None}}]
    for eye, findings in eyes.items():
        assert {name: visit["eyes"][eye][name] for name in findings} == findings
    assert {name: visit["together"][name] for name in together} == together
    sent_again = {name: visit[name] for name in ("version", "on", "tests", "eyes", "together")} | {"reason": "none"}
    corrected = api.put(f"{child}/visits/{visit['id']}", json=sent_again).json()
    assert [corrected[name] for name in ("tests", "eyes", "together")] == [visit[name] for name in ("tests", "eyes", "together")]


@pytest.mark.parametrize(
    ("fact", "body"),
    [
        (EyeFindings, examination.EyeBody),
        (VisitFindings, examination.TogetherBody),
        (AcuityTest, examination.TestBody),
        (AcuityReading, examination.ReadingBody),
    ],
)
def test_the_json_mirrors_the_facts(fact: Any, body: Any) -> None:
    assert {f.name for f in fields(fact)} - {"eye"} == set(body.model_fields)


def test_letters_beyond_the_line_are_read_with_the_letters_a_line_of_their_test(api: TestClient, child: str) -> None:
    test = {"method": "crowded-letters", "letters_per_line": 4, "readings": {"left": {"acuity": "6/12-2"}}}
    visit = made(api, f"{child}/visits", {"on": "2026-03-02", "tests": [test]})
    # 0.025 a letter with four a line (Bailey-Lovie)
    assert visit["read_as"][0]["left"]["logmar"] == pytest.approx(0.351, abs=1e-3)
    refused = make(api, f"{child}/visits", {"on": "2026-03-02", "tests": [test | {"letters_per_line": None}]}, "another")
    assert refused.status_code == 422 and "tests.0.readings.left.acuity" in refused.text


def test_an_acuity_stays_as_it_was_typed_beside_what_it_was_read_as(api: TestClient, child: str) -> None:
    visit = made(api, f"{child}/visits", VISIT)
    assert visit["tests"][0]["readings"]["left"]["acuity"] == "1.2 cpd"
    # 30 cycles/degree is 0 logMAR (the definition), so 1.2 is log10(25)
    assert visit["read_as"][0]["left"] == {"logmar": pytest.approx(1.398, abs=1e-3), "family": "grating"}


def test_what_was_stored_under_other_limits_is_still_shown(api: TestClient, child: str, engine: Engine, baby: Child, clinic: TestClinic) -> None:
    eyes = {eye: EyeFindings(eye=eye, staining_grade=9.0) for eye in Laterality}
    with writing(engine) as session:
        kept = visits.add_visit(session, baby, clinic.staff[Role.ORTHOPTIST], Examination(TODAY, (), eyes, VisitFindings()), NOW)
    assert api.get(f"{child}/visits/{kept}").json()["eyes"]["left"]["staining_grade"] == 9.0
    assert api.get(f"{child}/visits").json()["items"][0]["eyes"]["right"]["staining_grade"] == 9.0
