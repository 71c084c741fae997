"""Who may call the API, what it refuses and how it names it; every error is a problem (RFC 9457)."""

import re
from typing import Any

import pytest
from sqlalchemy import Engine
from starlette.testclient import TestClient

from service.db import reading
from service.facts import Child, Role
from service.store import children, visits
from tests.people import TestClinic
from tests.service.calling import EIGHT_WEEKS, LENS, REGISTRATION, VISIT, made, make


@pytest.fixture
def api(call) -> TestClient:
    return call(Role.CLINICIAN)


@pytest.fixture
def child(baby: Child) -> str:
    return f"/api/children/{baby.public_id}"


def assert_problem(answer: Any, status: int, field: str | None = None) -> None:
    """RFC 9457, 3.1 (from memory): type, title, status and detail, in a media type of its own."""
    assert (answer.status_code, answer.headers["content-type"]) == (status, "application/problem+json"), answer.text
    problem = answer.json()
    assert problem["type"] == "about:blank" and problem["title"] and problem["status"] == status and problem["detail"]
    assert problem.get("field") == field, problem


def assert_problem_in_errors(answer: Any, field: str) -> None:
    """422 that names `field`; the validator's own list of errors, where there is one, names nothing else."""
    assert_problem(answer, 422, field)
    assert {e["field"] for e in answer.json().get("errors", [])} <= {field}, answer.text


def changed(body: dict[str, Any], path: str, value: Any) -> dict[str, Any]:
    """`body` with one value somewhere inside changed; the rest is copied."""
    head, _, rest = path.partition(".")
    return body | {head: changed(body.get(head) or {}, rest, value) if rest else value}


def test_every_route_of_a_child_knows_nothing_for_another_clinic_and_nobody(call, baby: Child, visitor: TestClient, other_clinic: TestClinic) -> None:
    stranger = call(Role.CLINICIAN, other_clinic)
    described = stranger.get("/api/openapi.json").json()
    routes = [(method, path, op) for path, ops in described["paths"].items() if "{child_id}" in path for method, op in ops.items()]
    assert len(routes) > 20
    for method, path, op in routes:
        body = op["requestBody"]["content"]["application/json"]["example"] if "requestBody" in op else None
        address = re.sub("{[a-z]+_id}", "x", path.replace("{child_id}", baby.public_id))
        for who, status in ((stranger, 404), (visitor, 401)):
            answer = who.request(method, address, json=body, headers={"Idempotency-Key": op["operationId"]})
            assert_problem(answer, status)
            assert str(status) in op["responses"], path


def test_a_role_that_may_not_is_told_so_and_changes_nothing(call, child: str, engine: Engine, baby: Child) -> None:
    reception, administrator, orthoptist = call(Role.RECEPTION), call(Role.ADMINISTRATOR), call(Role.ORTHOPTIST)
    visit = made(orthoptist, f"{child}/visits", VISIT)
    correction = LENS | {"visit_id": visit["id"], "seen": "x"}
    assert make(reception, f"{child}/visits", VISIT).status_code == 403
    assert make(reception, f"{child}/visits", {"on": True}).status_code == 403, "before anything is said about the body"
    assert administrator.put(f"{child}/visits/{visit['id']}", json=VISIT | {"version": 1, "reason": "x"}).status_code == 403
    assert make(orthoptist, f"{child}/corrections", correction).status_code == 403
    for ending in ({"reason": "x", "review_on": "2026-03-20"}, {"reason": "x"}):
        assert make(reception, f"{child}/{'pause' if len(ending) == 2 else 'stop'}", ending).status_code == 403
    assert make(reception, f"{child}/links", {"caregiver": "Mother", "label": "time"}).status_code == 201
    with reading(engine) as session:
        assert len(visits.visits(session, baby)) == 1 and visits.visits(session, baby)[0].version == 1


@pytest.mark.parametrize(
    ("path", "value", "field"),
    [
        ("short_name", "", "short_name"),
        ("short_name", "  ", "short_name"),
        ("short_name", "x" * 41, "short_name"),
        ("short_name", "two\nlines", "short_name"),
        ("short_name", 5, "short_name"),
        ("reference", None, "reference"),
        ("weeks_premature", True, "weeks_premature"),
        ("weeks_premature", 19, "weeks_premature"),
        ("weeks_premature", 2.5, "weeks_premature"),
        ("weeks_premature", "2", "weeks_premature"),
        ("time_zone", "Europe/Nowhere", "time_zone"),
        ("aetiology", "unknown", "aetiology"),
        ("born_on", 0, "born_on"),
        ("born_on", "1234567890", "born_on"),
        ("born_on", "20251002", "born_on"),
        ("born_on", "2025-02-30", "born_on"),
        ("born_on", "9999-12-31", "born_on"),
        ("born_on", "0001-01-01", "born_on"),
        ("born_on", "2026-03-03", "born_on"),
        ("born_on", "1985-03-03", "born_on"),
        ("eyes", {"right": {"status": "phakic"}}, "eyes.left"),
        ("eyes", [], "eyes"),
        ("eyes.left.status", "phakic", "eyes.left.surgery_on"),
        ("eyes.left.surgery_on", None, "eyes.left.surgery_on"),
        ("eyes.left.surgery_on", "2031-12-04", "eyes.left.surgery_on"),
        ("eyes.middle", {"status": "phakic"}, "eyes.middle"),
        ("surname", "x", "surname"),
        ("\ud800", "x", "body"),
    ],
)
def test_a_registration_that_cannot_be_is_refused_by_path(api: TestClient, engine: Engine, clinic: TestClinic, path: str, value: Any, field: str) -> None:
    answer = make(api, "/api/children", changed(REGISTRATION, path, value))
    assert answer.status_code == 422 and answer.json()["field"] == field and answer.json()["detail"], answer.text
    with reading(engine) as session:
        assert children.children(session, clinic.clinic_id, "", 10) == []


def test_a_year_that_nobody_meant_is_refused_in_words(api: TestClient) -> None:
    for year in ("1899", "2200", "9999"):
        detail = make(api, "/api/children", REGISTRATION | {"born_on": f"{year}-01-01"}).json()["detail"]
        assert f"“{year}-01-01” is not a date; year-month-day would be" in detail


@pytest.mark.parametrize(
    ("path", "value", "field"),
    [
        ("on", "2026-03-03", "on"),
        ("on", "2020-01-01", "on"),
        ("on", 20260302, "on"),
        ("tests", [{"readings": {}}], "tests.0.readings"),
        ("tests", [{"method": "grating-cards", "readings": {"left": {}}}], "tests.0.readings.left.acuity"),
        ("tests", [{"method": "grating-cards", "readings": {"left": {"acuity": "0.5"}}}], "tests.0.readings.left.acuity"),
        ("tests", [{"method": "grating-cards", "readings": {"left": {"acuity": "6/6"}}}], "tests.0.method"),
        ("tests", [{"method": "snellen-chart", "readings": {"left": {"acuity": "6/6", "not_testable": "yes"}}}], "tests.0.readings.left.not_testable"),
        ("tests", [{"method": "snellen-chart", "readings": {"left": {"acuity": "6/6", "not_testable": True}}}], "tests.0.readings.left.acuity"),
        ("tests", [{"readings": {"left": {"acuity": "6/6"}}}], "tests.0.method"),
        ("tests", [{"method": "snellen-chart", "letters_per_line": 2.5, "readings": {"left": {"acuity": "6/6"}}}], "tests.0.letters_per_line"),
        ("tests", [{}, {}, {}], "tests"),
        ("tests", {}, "tests"),
        ("eyes.left.k1_dioptres", 7.8, "eyes.left.k1_dioptres"),
        ("eyes.left.k1_dioptres", True, "eyes.left.k1_dioptres"),
        ("eyes.left.k1_dioptres", "44", "eyes.left.k1_dioptres"),
        ("eyes.right.pressure_method", "guess", "eyes.right.pressure_method"),
        ("eyes.right.red_reflex", True, "eyes.right.red_reflex"),
        ("eyes.left.over_refraction", None, "eyes.left.over_refraction"),
        ("eyes.left.over_refraction", {"sphere": 1, "cylinder": -1}, "eyes.left.over_refraction.axis"),
        ("eyes.left.over_refraction.sphere", 51, "eyes.left.over_refraction.sphere"),
        ("eyes.left.trial_lens_dioptres", None, "eyes.left.trial_lens_dioptres"),
        ("eyes.right.refraction", {"sphere": 5}, "eyes.right.refraction_vertex_distance_mm"),
        ("together.stereoacuity_arc_seconds", False, "together.stereoacuity_arc_seconds"),
        ("together.mood", "good", "together.mood"),
        ("as_typed", 1, "as_typed"),
    ],
)
def test_a_visit_that_cannot_be_is_refused_by_path(api: TestClient, child: str, engine: Engine, baby: Child, path: str, value: Any, field: str) -> None:
    answer = make(api, f"{child}/visits", changed(VISIT, path, value))
    assert answer.status_code == 422 and answer.json()["field"].startswith(field), answer.text
    with reading(engine) as session:
        assert visits.visits(session, baby) == []


@pytest.mark.parametrize("typed", ["NaN", "Infinity", "-Infinity", "1e999", "1" + "0" * 400])
def test_what_is_no_number_of_this_world_is_refused(api: TestClient, child: str, typed: str) -> None:
    body = f'{{"on": "2026-03-02", "eyes": {{"left": {{"pressure_mmhg": {typed}}}}}}}'
    answer = api.post(f"{child}/visits", content=body, headers={"Content-Type": "application/json", "Idempotency-Key": "k"})
    assert (answer.status_code, answer.json()["field"]) == (422, "eyes.left.pressure_mmhg"), answer.text


@pytest.mark.parametrize("body", ["{", "", '{"on": }', "[]", "null", "7", '"text"', "\x00"])
def test_unreadable_json_is_said_to_be_the_body(api: TestClient, child: str, body: str) -> None:
    answer = api.post(f"{child}/visits", content=body, headers={"Content-Type": "application/json", "Idempotency-Key": "k"})
    assert (answer.status_code, answer.json()["field"]) == (422, "body"), answer.text
    assert {e["field"] for e in answer.json()["errors"]} == {"body"}


def test_what_is_no_text_at_all_is_a_bad_request_and_no_bug(api: TestClient, child: str) -> None:
    for content in (b"\xff\xfe\x00{", b"[" * 100_000):
        answer = api.post(f"{child}/visits", content=content, headers={"Content-Type": "application/json", "Idempotency-Key": "k"})
        assert answer.status_code in (400, 422) and answer.headers["content-type"] == "application/problem+json"


@pytest.mark.parametrize(("query", "field"), [("limit=0", "limit"), ("limit=201", "limit"), ("limit=many", "limit"), ("after=nothing", "after")])
def test_a_page_that_cannot_be_is_refused_by_name(api: TestClient, child: str, query: str, field: str) -> None:
    for address in (
        "/api/children",
        "/api/notices",
        "/api/lens-ranges",
        *(f"{child}/{name}" for name in ("visits", "corrections", "regimens", "links", "wear", "operations", "bookings", "lenses")),
    ):
        answer = api.get(f"{address}?{query}")
        assert (answer.status_code, answer.json()["field"]) == (422, field), answer.text


def test_what_is_not_there_or_not_that_way_is_a_problem_too(api: TestClient, visitor: TestClient, child: str) -> None:
    assert_problem(api.get("/api/nothing"), 404)
    assert_problem(visitor.get("/api/nothing"), 404)
    wrong_way = api.delete(child)
    assert_problem(wrong_way, 405)
    assert wrong_way.headers["allow"]
    assert_problem(api.get("/api/children?after=%00"), 400)
    assert_problem(api.get(f"{child}/visits/none"), 404)
    assert_problem(api.get(f"{child}/corrections/none"), 404)
    assert_problem(api.get(f"{child}/regimens/none"), 404)
    assert_problem(api.post(f"{child}/links/none/close"), 404)


def test_a_bug_is_a_problem_that_can_be_quoted(api: TestClient, child: str, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: object) -> None:
        raise ZeroDivisionError

    monkeypatch.setattr("service.api.children.child_answer", broken)
    answer = api.get(child)
    assert_problem(answer, 500)
    assert answer.headers["x-request-id"] in answer.json()["detail"]


@pytest.mark.parametrize(
    ("path", "value", "field"),
    [
        ("eyes", {}, "eyes"),
        ("eyes.left.source", "refraction", "eyes.left.source"),
        ("eyes.left.near_dioptres", True, "eyes.left.near_dioptres"),
        ("eyes.left", {"source": "trial-lens"}, "eyes.left.near_dioptres"),
        ("eyes.left.power", 30, "eyes.left.power"),
        ("kind", "spectacles", "vertex_distance_mm"),
        ("vertex_distance_mm", "12", "vertex_distance_mm"),
    ],
)
def test_a_correction_that_cannot_be_is_refused_by_path(api: TestClient, child: str, path: str, value: Any, field: str) -> None:
    visit = made(api, f"{child}/visits", VISIT)["id"]
    assert_problem_in_errors(api.post(f"{child}/visits/{visit}/correction-preview", json=changed(LENS, path, value)), field)


def test_a_bifocal_names_what_it_lacks(api: TestClient, child: str) -> None:
    visit = made(api, f"{child}/visits", VISIT)["id"]
    bifocal = LENS | {"kind": "spectacles", "design": "bifocal", "vertex_distance_mm": 12}
    address = f"{child}/visits/{visit}/correction-preview"
    assert_problem(api.post(address, json=bifocal), 422, "eyes.left.segment_height_mm")
    assert_problem(api.post(address, json=changed(bifocal, "eyes.left.near_dioptres", 0)), 422, "eyes.left.near_dioptres")


@pytest.mark.parametrize(
    ("path", "value", "field"),
    [
        ("phase", "pause", "phase"),
        ("start_on", "2026-03-01", "start_on"),
        ("review_on", "2026-03-02", "review_on"),
        ("review_on", "2027-03-02", "review_on"),
        ("covered_eye", None, "covered_eye"),
        ("covered_eye", "left", "covered_reason"),
        ("own_minutes", 120, "own_reason"),
        ("own_minutes", 961, "own_minutes"),
        ("own_minutes", 120.5, "own_minutes"),
        ("missing_correction", None, "missing_correction"),
        ("refractive_adaptation_weeks", True, "refractive_adaptation_weeks"),
        ("waking_hours", 3, "waking_hours"),
        ("doses", [], "doses"),
    ],
)
def test_a_regimen_that_cannot_be_is_refused_by_path(api: TestClient, child: str, path: str, value: Any, field: str) -> None:
    assert_problem_in_errors(api.post(f"{child}/regimen-preview", json=changed(EIGHT_WEEKS, path, value)), field)
