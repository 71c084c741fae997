"""Lists are walked without a row missing or double, whatever is added meanwhile."""

from datetime import timedelta

import pytest
from sqlalchemy import Engine
from starlette.testclient import TestClient

from schedules.care_sets import CareSet
from service.actions import care_sets, clinic_protocols, lens_ranges, near_tables, teaching, tellings
from service.db import writing
from service.facts import Child, Role
from service.facts_of_teaching import FamilyTexts, Topic
from service.facts_of_tellings import About
from service.store import care_sets as care_set_store
from service.store import children, links, people, wear
from service.store import near_tables as near_store
from service.store import teaching as teaching_store
from shared.optics.lens_range import LensRange, Span
from shared.optics.near import NearRow
from shared.treatment.clinic_protocol import ClinicProtocol
from shared.treatment.protocol_words import Pattern
from shared.vocabulary import Status
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


def add_contact(api: TestClient, child: str, engine: Engine, n: int) -> str:
    return made(api, f"{child}/links/{a_link(api, child, engine)}/contacts", {"channel": "email", "address": f"{n}@family.example"})["id"]


def a_link(api: TestClient, child: str, engine: Engine) -> str:
    known = api.get(f"{child}/links").json()["items"]
    return known[0]["id"] if known else add_link(api, child, engine, 0)


def add_nursery_link(api: TestClient, child: str, engine: Engine, n: int) -> str:
    return made(api, f"{child}/nursery-links", {"place": f"No. {n}", "label": "time", "until_on": str(TODAY + timedelta(days=n))})["id"]


def add_wear(api: TestClient, child: str, engine: Engine, n: int, replaces: str | None = None) -> str:
    link = add_link(api, child, engine, n)
    with writing(engine) as session:
        known = children.child_by_id(session, links.subscription_by_public_id(session, link).child_id)
        on, withdrawn = TODAY - timedelta(days=20 - n // 2), replaces is not None
        entry = wear.add_entry(
            session,
            known,
            f"link:{link}",
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


def add_version(api: TestClient, child: str, engine: Engine, n: int) -> str:
    """The first makes the visit."""
    known = api.get(f"{child}/visits").json()["items"]
    if not known:
        add_visit(api, child, engine, n)
        return "1"
    visit = {"on": known[0]["on"], "version": known[0]["version"], "reason": f"No. {n}", "together": {"stereoacuity_arc_seconds": 100 + n}}
    return str(api.put(f"{child}/visits/{known[0]['id']}", json=visit).json()["version"])


def a_correction(api: TestClient, child: str, engine: Engine) -> str:
    known = api.get(f"{child}/corrections").json()["items"]
    return known[0]["id"] if known else add_correction(api, child, engine, 0)


def add_lens(api: TestClient, child: str, engine: Engine, n: int) -> str:
    return made(api, f"{child}/lenses", {"correction_id": a_correction(api, child, engine), "eye": "left", "on": str(TODAY - timedelta(days=20 - n))})["id"]


def add_check(api: TestClient, child: str, engine: Engine, n: int) -> str:
    return made(api, f"{child}/corrections/{a_correction(api, child, engine)}/checks", {"eyes": {"left": {"power": 33 + n / 4}}})["id"]


def add_operation(api: TestClient, child: str, engine: Engine, n: int) -> str:
    squint = {"operation": "squint-surgery", "on": str(TODAY - timedelta(days=20 - n // 2))}
    seen = api.post(f"{child}/operation-preview", json=squint).json()["digest"]
    return made(api, f"{child}/operations", squint | {"seen": seen})["id"]


def add_household(api: TestClient, child: str, engine: Engine, n: int) -> str:
    seen = len(api.get(f"{child}/households", params={"limit": 200}).json()["items"])
    return made(api, f"{child}/households", {"seen": seen, "routine": {}})["id"]


def add_booking(api: TestClient, child: str, engine: Engine, n: int) -> str:
    return made(api, f"{child}/bookings", {"kind": "review", "on": str(TODAY + timedelta(days=n + 1))})["id"]


def add_notice(api: TestClient, child: str, engine: Engine, n: int) -> str:
    """A child that was not brought today, once more."""
    booking = made(api, f"{child}/bookings", {"kind": "review", "on": str(TODAY)})["id"]
    assert api.post(f"{child}/bookings/{booking}/close", json={"version": 1, "state": "not-brought", "reason": f"No. {n}"}).status_code == 200
    return api.get("/api/notices", params={"limit": 200}).json()["items"][-1]["id"]


def add_range(api: TestClient, child: str, engine: Engine, n: int) -> str:
    """By the optometrist of the same clinic."""
    with writing(engine) as session:
        credentials = people.credentials(session, "optometrist@one")
        assert credentials
        lens_range = LensRange(f"range {9 - n}", (Span(10, 20, 1),), Status.COMMON_PRACTICE)
        return lens_ranges.enter(session, credentials[0], lens_range, TODAY + timedelta(days=n), TODAY, NOW)


def add_near_table(api: TestClient, child: str, engine: Engine, n: int) -> str:
    """By the optometrist of the same clinic, each a version behind the last."""
    with writing(engine) as session:
        credentials = people.credentials(session, "optometrist@one")
        assert credentials
        seen = max((v.number for v in near_store.versions(session, credentials[0].clinic_id)), default=0)
        near_table = near_tables.table_of((NearRow(0, 1.0 + n / 4),), "The clinic's meeting")
        return near_tables.enter(session, credentials[0], near_table, seen, TODAY + timedelta(days=n), TODAY, NOW)


def add_protocol(api: TestClient, child: str, engine: Engine, n: int) -> str:
    """By the administrator of the same clinic."""
    with writing(engine) as session:
        credentials = people.credentials(session, "administrator@one")
        assert credentials
        protocol = ClinicProtocol(f"protocol {9 - n}", "head orthoptist", "ward book", None, 12, 60, None, None, 120, None, Pattern.DAILY, 6)
        return clinic_protocols.enter(session, credentials[0], protocol, TODAY + timedelta(days=n), TODAY, NOW)


def add_care_set(api: TestClient, child: str, engine: Engine, n: int) -> str:
    """By the administrator of the same clinic, each a version behind the last."""
    with writing(engine) as session:
        credentials = people.credentials(session, "administrator@one")
        assert credentials
        seen = len(care_set_store.versions(session, credentials[0].clinic_id))
        return care_sets.enter(session, credentials[0], CareSet(together_days=n), seen, TODAY + timedelta(days=9 - n), TODAY, NOW)


def add_care_entry(api: TestClient, child: str, engine: Engine, n: int) -> str:
    return made(api, f"{child}/patch-counts", {"patches_left": n, "patches_a_day": 1})["id"]


def add_family_texts(api: TestClient, child: str, engine: Engine, n: int) -> str:
    with writing(engine) as session:
        credentials = people.credentials(session, "administrator@one")
        assert credentials
        seen = len(teaching_store.texts(session, credentials[0].clinic_id))
        return teaching.enter_texts(session, credentials[0], FamilyTexts({Topic.PATCH: (f"No. {n}",)}), seen, NOW)


def add_lesson(api: TestClient, child: str, engine: Engine, n: int) -> str:
    return made(api, f"{child}/handling", {"link_id": a_link(api, child, engine), "skill": "clean", "level": 1 + n % 3, "on": str(TODAY)})["id"]


def add_telling(api: TestClient, child: str, engine: Engine, n: int) -> str:
    link = add_link(api, child, engine, n)
    with writing(engine) as session:
        by = links.subscription_by_public_id(session, link)
        said = tellings.Said(About.PATCHES, None, f"No. {n}", no_signs=True, client_key="a")
        return tellings.tell(session, by, children.child_by_id(session, by.child_id), said, NOW)


LISTS = {
    "/api/children": add_child,
    "/api/children/{child_id}/visits": add_visit,
    "/api/children/{child_id}/corrections": add_correction,
    "/api/children/{child_id}/regimens": add_regimen,
    "/api/children/{child_id}/links": add_link,
    "/api/children/{child_id}/nursery-links": add_nursery_link,
    "/api/children/{child_id}/wear": add_wear,
    "/api/children/{child_id}/visits/{visit_id}/versions": add_version,
    "/api/children/{child_id}/corrections/{correction_id}/checks": add_check,
    "/api/children/{child_id}/lenses": add_lens,
    "/api/children/{child_id}/operations": add_operation,
    "/api/children/{child_id}/bookings": add_booking,
    "/api/notices": add_notice,
    "/api/lens-ranges": add_range,
    "/api/near-tables": add_near_table,
    "/api/protocols": add_protocol,
    "/api/care-sets": add_care_set,
    "/api/family-texts": add_family_texts,
    "/api/children/{child_id}/handling": add_lesson,
    "/api/inbox": add_telling,
    "/api/children/{child_id}/care-entries": add_care_entry,
    "/api/children/{child_id}/households": add_household,
    "/api/children/{child_id}/links/{link_id}/contacts": add_contact,
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
    there = [baby.public_id] if add is add_child else []
    there += [add(api, child, engine, n) for n in (6, 2, 4, 5)]
    visit, correction, link = (next((row["id"] for row in api.get(f"{child}/{rows}").json()["items"]), "") for rows in ("visits", "corrections", "links"))
    address = path.format(child_id=baby.public_id, visit_id=visit, correction_id=correction, link_id=link)
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


def test_notices_are_walked_while_each_is_marked_as_seen(api: TestClient, child: str, engine: Engine) -> None:
    there = [add_notice(api, child, engine, n) for n in range(4)]
    seen = []
    for page in walk(api, "/api/notices", 1):
        seen += [notice["id"] for notice in page]
        assert api.post(f"/api/notices/{seen[-1]}/seen").status_code == 204
    assert seen == there and api.get("/api/notices").json() == {"items": [], "next": None}
