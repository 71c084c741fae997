"""What makes something is done once a key."""

from concurrent.futures import ThreadPoolExecutor

import pytest
from sqlalchemy import Engine
from starlette.testclient import TestClient

from service.db import reading
from service.facts import Child, Role
from service.store import children, visits
from tests.people import TestClinic
from tests.service.calling import REGISTRATION, VISIT, make
from tests.service.conftest import PUBLIC_URL


@pytest.fixture
def api(call) -> TestClient:
    return call(Role.CLINICIAN)


@pytest.fixture
def child(baby: Child) -> str:
    return f"/api/children/{baby.public_id}"


def test_the_same_key_and_body_give_the_same_answer_and_do_nothing_twice(api: TestClient, engine: Engine, clinic: TestClinic) -> None:
    first = make(api, "/api/children", REGISTRATION, "a")
    child = first.headers["location"]
    assert first.status_code == 201 and api.get(child).json() == first.json()
    assert api.patch(child, json={"version": 1, "short_name": "Adele"}).status_code == 200
    again = make(api, "/api/children", dict(reversed(REGISTRATION.items())), '"a"')
    assert (again.status_code, again.json(), again.headers["location"]) == (201, first.json(), child), "as it was answered then"
    for address, body in (
        (f"{child}/visits", VISIT),
        (f"{child}/pause", {"reason": "ill", "review_on": "2026-03-20"}),
        (f"{child}/stop", {"reason": "moved"}),
    ):
        one, two = (make(api, address, body, address) for _ in range(2))
        assert one.status_code == 201 and one.content == two.content and one.headers["location"] == two.headers["location"]
        assert api.get(one.headers["location"]).json() == one.json()
    with reading(engine) as session:
        (stored,) = children.children(session, clinic.clinic_id, "", 10)
        assert len(visits.visits(session, stored)) == 1
    assert len(api.get(f"{child}/regimens").json()["items"]) == 2


def test_a_key_that_was_used_for_something_else_is_refused(api: TestClient, child: str) -> None:
    made_first = make(api, f"{child}/visits", VISIT, "a")
    assert made_first.status_code == 201
    for address, body in ((f"{child}/visits", VISIT | {"on": "2026-02-27"}), (f"{child}/stop", {"reason": "x"})):
        other = make(api, address, body, "a")
        assert (other.status_code, other.json()["field"]) == (422, "Idempotency-Key")
    assert len(api.get(f"{child}/visits").json()["items"]) == 1 and api.get(f"{child}/regimens").json()["items"] == []


def test_a_key_is_ones_own(call, child: str) -> None:
    days = {Role.CLINICIAN: "2026-03-01", Role.ORTHOPTIST: "2026-03-02"}
    answers = [make(call(role), f"{child}/visits", VISIT | {"on": on}, "a") for role, on in days.items()]
    assert [a.status_code for a in answers] == [201, 201] and len({a.json()["id"] for a in answers}) == 2


def test_without_a_key_nothing_is_made(api: TestClient, child: str) -> None:
    for headers in ({}, {"Idempotency-Key": ""}, {"Idempotency-Key": "x" * 300}):
        answer = api.post(f"{child}/visits", json=VISIT, headers=headers)
        assert (answer.status_code, answer.json()["field"].lower()) == (400, "idempotency-key"), answer.text
    assert api.get(f"{child}/visits").json()["items"] == []


def test_what_was_refused_is_not_remembered(api: TestClient, child: str) -> None:
    assert make(api, f"{child}/visits", VISIT | {"on": "2026-03-03"}, "a").status_code == 422
    assert make(api, f"{child}/visits", VISIT, "a").status_code == 201


def test_of_several_at_the_same_moment_one_is_made_and_all_are_told(api: TestClient, child: str) -> None:
    with ThreadPoolExecutor(4) as pool:
        answers = list(pool.map(lambda _: make(api, f"{child}/visits", VISIT, "a"), range(4)))
    assert {a.status_code for a in answers} == {201} and len({a.content for a in answers}) == 1
    assert len(api.get(f"{child}/visits").json()["items"]) == 1


def test_a_links_addresses_stand_in_its_answer_alone_and_are_kept_nowhere(call, api: TestClient, child: str, visitor: TestClient, engine: Engine) -> None:
    body = {"caregiver": "Mother", "label": "time", "alarm_hour": 8}
    link = make(api, f"{child}/links", body, "a")
    secrets = [link.json()[name] for name in ("feed", "webcal", "phone")]
    assert link.status_code == 201 and link.headers["cache-control"] == "no-store" and link.json()["calendar"]["alarm_minutes"] == 480
    again = make(api, f"{child}/links", body, "a")
    assert (again.status_code, again.content) == (201, link.content), "a lost answer can be asked for with the key of the deed"
    others = make(call(Role.ORTHOPTIST), f"{child}/links", body, "a")
    assert others.status_code == 201 and others.json()["feed"] != secrets[0], "which is one's own"
    listed = api.get(f"{child}/links")
    assert [item["id"] for item in listed.json()["items"]] == [link.json()["id"], others.json()["id"]] and "odf_" not in listed.text
    with engine.connect() as connection:
        kept = "".join(str(row) for table in ("submission", "subscription", "audit") for row in connection.exec_driver_sql(f"SELECT * FROM {table}").all())
    assert not any(secret.split("/")[4] in kept for secret in secrets)
    phone = secrets[2].removeprefix(PUBLIC_URL)
    assert visitor.get(phone).status_code == 200
    assert [api.post(f"{child}/links/{link.json()['id']}/close").status_code for _ in range(2)] == [204, 204]
    assert visitor.get(phone).status_code == 404 and api.get(f"{child}/links").json()["items"][0]["revoked_at"]
    named = make(api, f"{child}/links", body | {"label": "BABY's time"})
    assert (named.status_code, named.json()["field"]) == (422, "label")
