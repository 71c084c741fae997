"""The main job by the API alone, and the same by the pages: what is stored is the same, down to the calendar's lines and the review."""

import re
from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from html import unescape
from typing import Any

import pytest
from sqlalchemy import Engine
from starlette.testclient import TestClient

from service.clock import StoppedClock
from service.db import reading
from service.facts import Child, Role
from service.store import bookings, children, lenses, links, notices, operations, outbox, signed, visits, wear
from shared.vocabulary import Laterality, OpticalStatus
from tests.people import TODAY, TestClinic
from tests.service.calling import EIGHT_WEEKS, LENS, REGISTRATION, VISIT, made, make, walk
from tests.service.conftest import PUBLIC_URL
from tests.service.pages import forms_of, note, send, submit
from tests.service.typed import TRIAL_LENS

REGISTERED = {
    "reference": "C-1",
    "short_name": "Ada",
    "born_on": "2025-10-02",
    "aetiology": "deprivation",
    "amblyopic_eye": "left",
    "left_status": "aphakic",
    "left_surgery_on": "2025-12-04",
}
OPERATION = {"operation": "secondary-lens", "eye": "left", "on": "2026-03-10", "review_on": "2026-03-17", "note": "lens put in"}
SECOND_TYPED = {"first_method": "grating-cards", "first_left_acuity": "2.4 cpd", "first_right_acuity": "4.8 cpd", "left_pressure_mmhg": "14"}
SECOND_VISIT = {
    "tests": [{"method": "grating-cards", "readings": {"right": {"acuity": "4.8 cpd"}, "left": {"acuity": "2.4 cpd"}}}],
    "eyes": {"left": {"pressure_mmhg": 14}},
}


class ByThePages:
    def __init__(self, open_as: Callable[..., TestClient], clinic: TestClinic) -> None:
        self.open_as, self.clinic = open_as, clinic

    def begin(self) -> tuple[str, str, str]:
        """The child's id and the addresses of the feed and of the family's page."""
        orthoptist, optometrist = (self.open_as(role, self.clinic) for role in (Role.ORTHOPTIST, Role.OPTOMETRIST))
        child = submit(orthoptist, "/children/new", **REGISTERED).headers["location"]
        visit = submit(orthoptist, f"{child}/visits/new", **TRIAL_LENS).headers["location"]
        assert submit(optometrist, f"{visit}/correction", step="sign").status_code == 303
        looked = submit(orthoptist, f"{child}/occlusion", step="look", review_on="2026-04-27")
        form = next(f for f in forms_of(looked.text) if "seen" in f.values)
        assert send(orthoptist, form, f"{child}/occlusion", step="sign", cautions_read="on").status_code == 303
        link = submit(orthoptist, f"{child}/links", "caregiver", caregiver="Mother", label="time", alarm_hour="8").text
        feed, phone = (re.findall(rf"https://clinic\.example({path})", link)[0] for path in (r"/feed/[\w-]+/plan\.ics", r"/family/[\w-]+"))
        return child.rsplit("/", 1)[1], feed, phone

    def see_again(self, child_id: str) -> None:
        assert submit(self.open_as(Role.ORTHOPTIST, self.clinic), f"/children/{child_id}/visits/new", **SECOND_TYPED).status_code == 303

    def pause(self, child_id: str) -> None:
        browser = self.open_as(Role.ORTHOPTIST, self.clinic)
        assert submit(browser, f"/children/{child_id}/review", "reason", step="pause", reason="ill", review_on="2026-03-24").status_code == 303

    def wear_a_lens(self, child_id: str) -> None:
        optometrist, child = self.open_as(Role.OPTOMETRIST, self.clinic), f"/children/{child_id}"
        assert submit(optometrist, f"{child}/lenses", "count", count="1", note="by post").status_code == 303
        lens = re.findall(rf"{child}/lenses/[\w-]+", optometrist.get(f"{child}/lenses").text)[0]
        for state in ("arrived", "in-use"):
            assert submit(optometrist, lens, "on", state=state).status_code == 303
        document = re.findall(rf"{child}/corrections/[\w-]+", optometrist.get(f"{child}/corrections").text)[0]
        assert submit(optometrist, document, left_power="32.75").status_code == 303

    def book_late(self, child_id: str) -> None:
        reception, here = self.open_as(Role.RECEPTION, self.clinic), f"/children/{child_id}/bookings"
        assert submit(reception, here, "kind", on="2026-04-27").status_code == 303
        booking = re.findall(rf"{here}/[\w-]+", reception.get(here).text)[0]
        assert submit(reception, booking, "version", step="move", on="2026-05-04", reason="away").status_code == 303

    def operate(self, child_id: str) -> None:
        clinician, address = self.open_as(Role.CLINICIAN, self.clinic), f"/children/{child_id}/operation"
        looked = submit(clinician, address, step="look", **OPERATION)
        assert send(clinician, next(f for f in forms_of(looked.text) if "seen" in f.values), address, step="sign").status_code == 303


class ByTheApi:
    def __init__(self, open_as: Callable[..., TestClient], clinic: TestClinic) -> None:
        self.open_as, self.clinic = open_as, clinic

    def begin(self) -> tuple[str, str, str]:
        orthoptist, optometrist = (self.open_as(role, self.clinic) for role in (Role.ORTHOPTIST, Role.OPTOMETRIST))
        child_id = made(orthoptist, "/api/children", REGISTRATION)["id"]
        child = f"/api/children/{child_id}"
        visit_id = made(orthoptist, f"{child}/visits", VISIT)["id"]
        seen = optometrist.post(f"{child}/visits/{visit_id}/correction-preview", json=LENS).json()["digest"]
        made(optometrist, f"{child}/corrections", LENS | {"visit_id": visit_id, "seen": seen})
        seen = orthoptist.post(f"{child}/regimen-preview", json=EIGHT_WEEKS).json()["digest"]
        made(orthoptist, f"{child}/regimens", EIGHT_WEEKS | {"cautions_read": True, "seen": seen})
        link = made(orthoptist, f"{child}/links", {"caregiver": "Mother", "label": "time", "alarm_hour": 8})
        return child_id, link["feed"].removeprefix(PUBLIC_URL), link["phone"].removeprefix(PUBLIC_URL)

    def see_again(self, child_id: str) -> None:
        on = str(TODAY + timedelta(days=8))
        made(self.open_as(Role.ORTHOPTIST, self.clinic), f"/api/children/{child_id}/visits", SECOND_VISIT | {"on": on})

    def pause(self, child_id: str) -> None:
        api = self.open_as(Role.ORTHOPTIST, self.clinic)
        made(api, f"/api/children/{child_id}/pause", {"reason": "ill", "review_on": "2026-03-24"})

    def wear_a_lens(self, child_id: str) -> None:
        optometrist, child, on = self.open_as(Role.OPTOMETRIST, self.clinic), f"/api/children/{child_id}", str(TODAY + timedelta(days=8))
        (document,) = optometrist.get(f"{child}/corrections").json()["items"]
        lens = made(optometrist, f"{child}/lenses", {"correction_id": document["id"], "eye": "left", "on": on, "note": "by post"})
        for state in ("arrived", "in-use"):
            lens = made(optometrist, f"{child}/lenses/{lens['id']}/entries", {"state": state, "on": on})
        assert (lens["state"], lens["standing"], lens["power"]) == ("in-use", "in-force", 33.0)
        made(optometrist, f"{child}/corrections/{document['id']}/checks", {"eyes": {"left": {"power": 32.75}}})

    def book_late(self, child_id: str) -> None:
        reception, here = self.open_as(Role.RECEPTION, self.clinic), f"/api/children/{child_id}/bookings"
        booking = made(reception, here, {"kind": "review", "on": "2026-04-27"})
        moved = reception.post(f"{here}/{booking['id']}/move", json={"version": 1, "on": "2026-05-04", "reason": "away"})
        assert moved.status_code == 200 and moved.json()["version"] == 2, moved.text

    def operate(self, child_id: str) -> None:
        clinician, child = self.open_as(Role.CLINICIAN, self.clinic), f"/api/children/{child_id}"
        seen = clinician.post(f"{child}/operation-preview", json=OPERATION).json()["digest"]
        made(clinician, f"{child}/operations", OPERATION | {"seen": seen})


def stored(engine: Engine, clinic: TestClinic, child_id: str) -> dict[str, Any]:
    """A child's facts, without the ids that chance gave and the names of the clinic's own staff (a page fills in the tester's)."""

    def plain(fact: Any, **more: Any) -> Any:
        return replace(fact, public_id="", **more)

    def role(fact: Any, name: str) -> Any:
        return replace(fact, **{name: getattr(fact, name).split()[0]})

    with reading(engine) as session:
        child = children.child(session, clinic.clinic_id, child_id)
        return {
            "child": plain(child, id=0, clinic_id=0),
            "visits": [plain(v, recorded_by=v.recorded_by.split()[0], tester=None) for v in visits.visits(session, child)],
            "corrections": [plain(c, content=dict(c.content) | {"visit": ""}, signed_by=c.signed_by.split()[0]) for c in signed.corrections(session, child)],
            "regimens": [
                plain(r, signer_id=0, signed_by=r.signed_by.split()[0], content={k: v for k, v in r.content.items() if k != "operation"})
                for r in signed.regimens(session, child)
            ],
            "operations": [role(plain(o), "signed_by") for o in operations.operations(session, child)],
            "bookings": [plain(b, number=0, changes=tuple(role(c, "changed_by") for c in b.changes)) for b in bookings.bookings(session, child)],
            "notices": [(n.to_signer, n.urgent, str(n.message).replace("of two", "of one")) for n in notices.notices(session, clinic.staff[Role.ORTHOPTIST])],
            "lenses": [
                plain(lens, made=replace(lens.made, correction_id=""), entries=tuple(role(e, "recorded_by") for e in lens.entries))
                for lens in lenses.ledger(session, child)
            ],
            "checks": [role(check, "recorded_by") for c in signed.corrections(session, child) for check in lenses.checks(session, child, c.public_id)],
            "links": [plain(s, id=0, clinic_id=0, child_id=0) for s in links.subscriptions(session, child.id)],
            "wear": [replace(e, key="", recorded_by="") for e in wear.entries(session, child.id, TODAY, TODAY + timedelta(days=30))],
            "messages": outbox.states(session, child),
        }


def without_chance(feed: str) -> str:
    """The calendar without its random ids: UIDs, and the secret addresses of its days. Folded lines are joined first (RFC 5545, 3.1)."""
    return re.sub(r"(?m)^UID:.*$|/day/[\w-]+/[\d-]+/\w+", "", feed.replace("\r\n ", "").replace("\r\n", "\n"))


def test_the_api_stores_what_the_pages_store(
    signed_in, call, visitor: TestClient, engine: Engine, clinic: TestClinic, other_clinic: TestClinic, clock: StoppedClock
) -> None:
    ways = (ByThePages(signed_in, clinic), ByTheApi(call, other_clinic))
    (by_page, *of_page), (by_api, *of_api) = (way.begin() for way in ways)

    def alike() -> dict[str, Any]:
        pages, api = stored(engine, clinic, by_page), stored(engine, other_clinic, by_api)
        for name in pages:
            assert api[name] == pages[name], name
        page_feed, api_feed = visitor.get(of_page[0]).text, visitor.get(of_api[0]).text
        assert without_chance(api_feed) == without_chance(page_feed)
        return api | {"days": api_feed.count("BEGIN:VEVENT")}

    first = alike()
    assert [len(first[name]) for name in ("visits", "corrections", "regimens", "links")] == [1, 1, 1, 1] and first["days"] > 7, "there is something to compare"
    for phone in (of_page[1], of_api[1]):
        assert note(visitor, phone, how="some", minutes="240").status_code == 303
    clock.at += timedelta(days=8)
    for way, child_id in zip(ways, (by_page, by_api), strict=True):
        way.see_again(child_id)
        way.wear_a_lens(child_id)
        way.book_late(child_id)
    second = alike()
    assert len(second["visits"]) == 2 and [e.minutes for e in second["wear"]] == [240]
    assert [len(second[name]) for name in ("bookings", "notices", "checks", "lenses")] == [1, 2, 1, 1]
    review = call(Role.CLINICIAN, other_clinic).get(f"/api/children/{by_api}/review").json()
    assert review["since"] == "2026-03-02" and (review["adherence"]["received_minutes"], review["adherence"]["days_unknown"]) == (240, 7)
    page = signed_in(Role.CLINICIAN, clinic).get(f"/children/{by_page}/review").text
    shown = re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", "", page)))
    for finding in [*review["findings"], review["suggestion"]]:
        assert finding["message"] in shown and finding["status"], finding["message"]
    for way, child_id in zip(ways, (by_page, by_api), strict=True):
        way.pause(child_id)
    last = alike()
    assert [r.regimen.phase for r in last["regimens"]] == ["occlusion", "pause"] and last["messages"] and last["days"] < second["days"]
    for way, child_id in zip(ways, (by_page, by_api), strict=True):
        way.operate(child_id)
    operated = alike()
    assert len(operated["operations"]) == 1 and operated["regimens"][-1].regimen.review_on == TODAY + timedelta(days=15)
    assert operated["child"].status(Laterality.LEFT, TODAY + timedelta(days=8)) is OpticalStatus.PSEUDOPHAKIC


def test_a_course_breaks_goes_on_pauses_and_stops(call, engine: Engine, clinic: TestClinic) -> None:
    api = call(Role.ORTHOPTIST)
    child_id, *_ = ByTheApi(call, clinic).begin()
    child = f"/api/children/{child_id}"
    for typed, field in (({"until_on": "2026-04-27"}, "until_on"), ({"from_on": "2026-03-01"}, "from_on"), ({"reason": " "}, "reason")):
        refused = make(api, f"{child}/break", {"from_on": "2026-03-10", "until_on": "2026-03-14", "reason": "ill"} | typed)
        assert (refused.status_code, refused.json()["field"]) == (422, field)
    broken = made(api, f"{child}/break", {"from_on": "2026-03-10", "until_on": "2026-03-14", "reason": "ill"})
    assert [(d["from_on"], d["minutes"]) for d in broken["doses"]] == [("2026-03-10", 0), ("2026-03-14", 300), ("2026-04-02", 360)]
    assert api.post(f"{child}/regimen-preview", json=EIGHT_WEEKS).json()["supersedes"] == [2]
    late = make(api, f"{child}/extension", {"review_on": "2026-05-05", "reason": "slipped"})
    assert (late.status_code, late.json()["field"]) == (422, "review_on"), "an infant's plan is carried on for a week at most"
    assert made(api, f"{child}/extension", {"review_on": "2026-05-04", "reason": "slipped"})["doses"] == [
        {"from_on": "2026-04-27", "minutes": 360, "pattern": "daily", "weekdays": []}
    ]
    paused = made(api, f"{child}/pause", {"reason": "ill", "review_on": "2026-03-20"})
    stopped = made(api, f"{child}/stop", {"reason": "moved away"})
    assert (paused["number"], paused["phase"], stopped["phase"], stopped["review_on"]) == (4, "pause", "stop", None)
    with reading(engine) as session:
        child_now: Child = children.child(session, clinic.clinic_id, child_id)
        assert [r.regimen.phase for r in signed.regimens(session, child_now)] == ["occlusion", "occlusion", "occlusion", "pause", "stop"]
    assert [[r["number"] for r in page] for page in walk(api, f"{child}/regimens", 2)] == [[1, 2], [3, 4], [5]]
    assert api.get(f"{child}/regimens/{paused['id']}").json() == paused


def test_a_lens_is_worked_out_as_by_hand(call) -> None:
    api = call(Role.OPTOMETRIST)
    child = f"/api/children/{made(api, '/api/children', REGISTRATION)['id']}"
    visit = made(api, f"{child}/visits", VISIT)
    # 29 + (2.5/(1 - 0.03) + 1.5/(1 - 0.018))/2 = 31.052, and +2.00 D for near (contact-lens arithmetic, by hand)
    address = f"{child}/visits/{visit['id']}/correction-preview"
    preview = api.post(address, json=LENS).json()
    left = preview["eyes"]["left"]
    assert left["exact"] == pytest.approx(33.052, abs=1e-3) and left["power"] == 33.0 and left["residual"] == pytest.approx(0.052, abs=1e-3)
    assert any("+33.052 D" in step for step in left["working"]) and left["near_rule"]["sources"][0]["citation"]
    assert preview["may_sign"] is True and not left["provisional"] and preview["findings"] == []
    glasses = {"kind": "spectacles", "eyes": {"left": {"source": "trial-lens", "near_dioptres": 0}}, "vertex_distance_mm": 12}
    in_glasses = api.post(address, json=glasses).json()
    # meridians of 31.577 and 30.527 at the cornea are F/(1 + dF) = 22.900 and 22.343 at 12 mm, in quarter dioptres 23.00 and 22.25
    assert in_glasses["eyes"]["left"]["power"] == {"sphere": 23.0, "cylinder": -0.75, "axis": 180}
    assert in_glasses["findings"], "one aphakic eye in spectacles is spoken of, as on the page"
    assert call(Role.ORTHOPTIST).post(address, json=LENS).json()["may_sign"] is False


def test_a_correction_is_signed_as_it_was_seen(call) -> None:
    api = call(Role.OPTOMETRIST)
    child = f"/api/children/{made(api, '/api/children', REGISTRATION)['id']}"
    visit = made(api, f"{child}/visits", VISIT)
    order = LENS | {"visit_id": visit["id"], "seen": api.post(f"{child}/visits/{visit['id']}/correction-preview", json=LENS).json()["digest"]}
    other = make(api, f"{child}/corrections", order | {"eyes": {"left": {"source": "trial-lens", "near_dioptres": 3}}})
    assert (other.status_code, other.json()["field"]) == (409, "seen")
    stitched = {name: visit[name] for name in ("on", "tests", "together")} | {"eyes": visit["eyes"] | {"left": visit["eyes"]["left"] | {"stitches_in": "yes"}}}
    assert api.put(f"{child}/visits/{visit['id']}", json=stitched | {"version": 1, "reason": "seen since"}).status_code == 200
    assert make(api, f"{child}/corrections", order).status_code == 409
    preview = api.post(f"{child}/visits/{visit['id']}/correction-preview", json=LENS).json()
    assert preview["eyes"]["left"]["provisional"]
    assert made(api, f"{child}/corrections", order | {"seen": preview["digest"]})["content"]["eyes"]["left"]["provisional"]


def test_a_regimen_is_signed_as_it_was_seen(call) -> None:
    api = call(Role.ORTHOPTIST)
    child = f"/api/children/{made(api, '/api/children', REGISTRATION)['id']}"
    preview = api.post(f"{child}/regimen-preview", json=EIGHT_WEEKS).json()
    # one hour a month of age (Infant Aphakia Treatment Study, PMC3336096, as read): born on 2 October, six months on 2 April
    assert preview["regimen"]["doses"] == [
        {"from_on": "2026-03-02", "minutes": 300, "pattern": "daily", "weekdays": []},
        {"from_on": "2026-04-02", "minutes": 360, "pattern": "daily", "weekdays": []},
    ]
    assert preview["proposal"]["minutes_per_day"] == 300 and preview["may_sign"] is True
    order = EIGHT_WEEKS | {"cautions_read": True, "seen": preview["digest"]}
    longer = make(api, f"{child}/regimens", order | {"review_on": "2026-05-04"})
    assert (longer.status_code, longer.json()["field"]) == (409, "seen")
    unread = make(api, f"{child}/regimens", order | {"cautions_read": False})
    assert (unread.status_code, unread.json()["field"]) == (422, "cautions_read")
    assert make(call(Role.OPTOMETRIST), f"{child}/regimens", order).status_code == 403
    assert make(api, f"{child}/regimens", order).status_code == 201
    assert make(api, f"{child}/regimens", order).status_code == 409, "the next revision was never seen"


def test_a_proposal_says_why_there_is_none(call, sam: Child) -> None:
    api = call(Role.ORTHOPTIST)
    address = f"/api/children/{sam.public_id}/regimen-proposal"
    unknown = api.get(address).json()
    assert unknown["minutes_per_day"] is None and unknown["not_enough_known"] is True and unknown["reason"]
    reading_of = {"right": {"acuity": "6/6"}, "left": {"acuity": "6/19"}}
    made(api, f"/api/children/{sam.public_id}/visits", {"on": str(TODAY), "tests": [{"method": "crowded-hotv", "readings": reading_of}]})
    # 2 h a day for moderate amblyopia after the glasses (ATS2B; its status stands in the answer)
    assert api.get(address, params={"refractive_adaptation_weeks": 18}).json()["minutes_per_day"] == 120
    assert api.get(address, params={"refractive_adaptation_weeks": 3}).json()["phase"] == "refractive-adaptation"
    for query, field in (("refractive_adaptation_weeks=soon", "refractive_adaptation_weeks"), ("waking_hours=30", "waking_hours")):
        answer = api.get(f"{address}?{query}")
        assert (answer.status_code, answer.json()["field"]) == (422, field)
