"""Lists are walked without a row missing or double, whatever is added meanwhile."""

from datetime import timedelta

import pytest
from sqlalchemy import Engine
from starlette.testclient import TestClient

from service.db import writing
from service.facts import Child, Role
from service.store import links, wear
from tests.people import NOW, TODAY, TestClinic, infant, register, schoolchild
from tests.service.calling import LENS, REGISTRATION, VISIT, made, recorded, walk


@pytest.fixture
def api(call) -> TestClient:
    return call(Role.CLINICIAN)


@pytest.fixture
def child(baby: Child) -> str:
    return f"/api/children/{baby.public_id}"


def add_child(api: TestClient, child: str, engine: Engine, n: int) -> str:
    return made(api, "/api/children", REGISTRATION | {"reference": f"A-{n}"})["id"]


def add_visit(api: TestClient, child: str, engine: Engine, n: int) -> str:
    return recorded(api, f"{child}/visits", {"on": str(TODAY - timedelta(days=20 - n // 2))})["id"]  # two on each day


def add_correction(api: TestClient, child: str, engine: Engine, n: int) -> str:
    """All at one moment: the clock stands still."""
    visit = recorded(api, f"{child}/visits", VISIT)["id"]
    seen = api.post(f"{child}/visits/{visit}/correction-preview", json=LENS).json()["digest"]
    return made(api, f"{child}/corrections", LENS | {"visit_id": visit, "seen": seen})["id"]


def add_regimen(api: TestClient, child: str, engine: Engine, n: int) -> str:
    return made(api, f"{child}/stop", {"reason": "moved"})["id"]


def add_link(api: TestClient, child: str, engine: Engine, n: int) -> str:
    return made(api, f"{child}/links", {"caregiver": f"No. {n}", "label": "time"})["id"]


def add_wear(api: TestClient, child: str, engine: Engine, n: int, replaces: str | None = None) -> str:
    link = add_link(api, child, engine, n)
    with writing(engine) as session:
        subscription = links.subscription_by_public_id(session, link)
        on, withdrawn = TODAY - timedelta(days=20 - n // 2), replaces is not None
        entry = wear.add_entry(
            session,
            subscription,
            client_key="a",
            local_on=on,
            minutes=0 if withdrawn else 60,
            reason=None,
            correction_worn=None,
            replaces=replaces,
            withdrawn=withdrawn,
            now=NOW,
        )
    return entry.key


LISTS = {
    "/api/children": add_child,
    "/api/children/{child_id}/visits": add_visit,
    "/api/children/{child_id}/corrections": add_correction,
    "/api/children/{child_id}/regimens": add_regimen,
    "/api/children/{child_id}/links": add_link,
    "/api/children/{child_id}/wear": add_wear,
}


def test_every_list_is_walked_below(api: TestClient) -> None:
    described = api.get("/api/openapi.json").json()
    lists = {p for p, ops in described["paths"].items() if "get" in ops and any(x["name"] == "after" for x in ops["get"].get("parameters", ()))}
    assert lists == set(LISTS)


@pytest.mark.parametrize("path", LISTS)
@pytest.mark.parametrize("limit", [1, 3])
def test_a_list_is_walked_without_a_row_missing_or_double_while_rows_are_added(
    api: TestClient, engine: Engine, clinic: TestClinic, other_clinic: TestClinic, path: str, limit: int
) -> None:
    """After every page but the last few another row comes, of a day before or behind what was read: each is met once, in the order in which it came."""
    register(engine, other_clinic, infant())
    baby = register(engine, clinic, infant())
    child, add = f"/api/children/{baby.public_id}", LISTS[path]
    address = path.format(child_id=baby.public_id)
    there = [baby.public_id] if add is add_child else []
    there += [add(api, child, engine, n) for n in (6, 2, 4, 5)]
    seen, coming = [], iter((0, 9, 1))
    for page in walk(api, address, limit):
        assert 1 <= len(page) <= limit
        seen += [item["id"] for item in page]
        if len(seen) < len(there) and (n := next(coming, None)) is not None:
            there.append(add(api, child, engine, n))
    assert seen == there and len(there) > 4
    assert api.get(address, params={"limit": 200}).json()["next"] is None


def test_a_mark_of_another_child_is_none_here(api: TestClient, child: str, engine: Engine, clinic: TestClinic) -> None:
    mark = add_visit(api, child, engine, 3)
    other = f"/api/children/{register(engine, clinic, schoolchild()).public_id}"
    answer = api.get(f"{other}/visits", params={"after": mark})
    assert (answer.status_code, answer.json()["field"]) == (422, "after")


def test_what_was_taken_back_stays_in_the_list_and_counts_no_more(api: TestClient, child: str, engine: Engine) -> None:
    first = add_wear(api, child, engine, 5)
    second = add_wear(api, child, engine, 5)
    back = add_wear(api, child, engine, 5, replaces=first)
    items = api.get(f"{child}/wear").json()["items"]
    assert [(e["id"], e["counts"], e["replaces"], e["withdrawn"]) for e in items] == [
        (first, False, None, False),
        (second, True, None, False),
        (back, False, first, True),
    ]
