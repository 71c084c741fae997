"""What surrounds the dose, by the API: who may, whose it is, what was changed meanwhile, and what is refused by path."""

from datetime import timedelta
from typing import Any

import pytest
from starlette.testclient import TestClient

from service.facts import Child, Role
from tests.people import TestClinic
from tests.service.calling import LENS, VISIT, made, make, recorded

SQUINT = {"operation": "squint-surgery", "on": "2026-03-02"}
SECONDARY_LENS = {"operation": "secondary-lens", "eye": "left", "on": "2026-03-02"}
CANCELLED = {"version": 2, "state": "cancelled", "reason": "ill"}
RANGE = {
    "name": "Testham silicone",
    "from_on": "2026-03-02",
    "powers": [{"first": 10, "last": 20, "step": 0.5}, {"first": 23, "last": 32, "step": 3}, {"first": 35, "last": 35, "step": 1}],
    "base_curves_mm": [7.7, 7.5],
    "diameters_mm": [11.5],
    "material": "silicone-elastomer",
    "wear_schedule": "overnight",
}


@pytest.fixture
def api(call) -> TestClient:
    return call(Role.CLINICIAN)


@pytest.fixture
def child(baby: Child) -> str:
    return f"/api/children/{baby.public_id}"


def signed_lens(api: TestClient, child: str, **more: str) -> dict[str, Any]:
    visit = recorded(api, f"{child}/visits", VISIT)["id"]
    order = LENS | more
    seen = api.post(f"{child}/visits/{visit}/correction-preview", json=order).json()["digest"]
    return made(api, f"{child}/corrections", order | {"visit_id": visit, "seen": seen})


def refused(answer: Any) -> tuple[int, str]:
    return answer.status_code, answer.json().get("field", "")


def test_an_operation_is_signed_as_it_was_seen_and_by_whom_the_clinic_lets(call, api: TestClient, child: str) -> None:
    correction = signed_lens(api, child)
    preview = api.post(f"{child}/operation-preview", json=SECONDARY_LENS | {"on": "2026-03-02"}).json()
    assert (preview["suspends"], preview["status"], preview["barred"]) == (None, "pseudophakic", []), "the lens was measured on that very day"
    assert call(Role.ORTHOPTIST).post(f"{child}/operation-preview", json=SECONDARY_LENS).json()["may_sign"] is False and preview["may_sign"] is True
    order = SECONDARY_LENS | {"seen": preview["digest"]}
    assert make(call(Role.ORTHOPTIST), f"{child}/operations", order).status_code == 403
    assert refused(make(api, f"{child}/operations", order | {"note": "another"})) == (409, "seen")
    for typed, field in (
        ({"eye": None}, "eye"),
        ({"on": "2026-03-03"}, "on"),
        ({"on": "2025-12-03"}, "on"),
        ({"operation": "cataract-removed"}, "operation"),
        ({"review_on": "soon"}, "review_on"),
    ):
        for way in ("operation-preview", "operations"):
            body = SECONDARY_LENS | typed | ({"seen": "x"} if way == "operations" else {})
            assert refused(make(api, f"{child}/{way}", body)) == (422, field)
    made(api, f"{child}/pause", {"reason": "ill", "review_on": "2026-03-20"})
    assert refused(make(api, f"{child}/operations", order)) == (422, "review_on"), "something is going on meanwhile"
    assert refused(make(api, f"{child}/operations", order | {"review_on": "2026-03-16"})) == (409, "seen")
    assert api.get(f"{child}/operations").json()["items"] == []
    seen = api.post(f"{child}/operation-preview", json=SECONDARY_LENS | {"review_on": "2026-03-16"}).json()
    assert seen["suspends"] == 1
    signed = made(api, f"{child}/operations", SECONDARY_LENS | {"review_on": "2026-03-16", "seen": seen["digest"]})
    assert api.get(f"{child}/operations/{signed['id']}").json() == signed and signed["signed_by"] == "clinician of one"
    assert api.get(f"{child}/corrections/{correction['id']}").json()["standing"]["left"]["standing"] == "in-force"


def test_each_correction_says_for_each_eye_whether_it_holds(call, api: TestClient, child: str, clock) -> None:
    first, second = signed_lens(api, child), signed_lens(api, child)
    assert first["standing"] == second["standing"] == {"left": {"standing": "in-force", "text": "in force"}}
    standing = [c["standing"]["left"] for c in api.get(f"{child}/corrections").json()["items"]]
    assert [s["standing"] for s in standing] == ["superseded", "in-force"] and "2 Mar 2026" in standing[0]["text"]
    lens = made(api, f"{child}/lenses", {"correction_id": second["id"], "eye": "left", "on": "2026-03-02"})
    made(api, f"{child}/lenses/{lens['id']}/entries", {"state": "arrived", "on": "2026-03-02"})
    clock.at += timedelta(days=1)
    surgery = SECONDARY_LENS | {"on": "2026-03-03"}
    preview = api.post(f"{child}/operation-preview", json=surgery).json()
    assert {b["correction_id"] for b in preview["barred"]} == {first["id"], second["id"]}
    made(api, f"{child}/operations", surgery | {"seen": preview["digest"]})
    assert {c["standing"]["left"]["standing"] for c in api.get(f"{child}/corrections").json()["items"]} == {"barred"}
    assert refused(make(api, f"{child}/lenses/{lens['id']}/entries", {"state": "in-use", "on": "2026-03-03"})) == (422, "state")
    assert api.get(f"{child}/lenses/{lens['id']}").json()["standing"] == "barred"


def test_a_booking_is_changed_as_it_was_read(call, api: TestClient, child: str) -> None:
    reception = call(Role.RECEPTION)
    booking = made(reception, f"{child}/bookings", {"kind": "anaesthetic", "on": "2026-03-20"})
    here = f"{child}/bookings/{booking['id']}"
    assert refused(make(reception, f"{child}/bookings", {"kind": "anaesthetic", "on": "2026-03-20"})) == (422, "on")
    move = {"version": 1, "on": "2026-03-23", "reason": "no theatre"}
    assert api.get(f"{child}/anaesthetic").json()["booked_on"] == "2026-03-20"
    assert reception.post(f"{here}/move", json=move).json()["version"] == 2
    assert [reception.post(f"{here}/{way}", json=body).status_code for way, body in (("move", move), ("close", CANCELLED | {"version": 1}))] == [409, 409]
    for way, body, field in (
        ("move", move | {"version": 2, "on": "2026-03-01"}, "on"),
        ("move", move | {"version": 2, "reason": " "}, "reason"),
        ("close", CANCELLED | {"state": "booked"}, "state"),
        ("close", CANCELLED | {"state": "not-brought"}, "reason"),
    ):
        assert refused(reception.post(f"{here}/{way}", json=body)) == (422, field)
    closed = reception.post(f"{here}/close", json=CANCELLED).json()
    assert closed == api.get(here).json() and [c["state"] for c in closed["changes"]] == ["booked", "booked", "cancelled"]
    assert reception.post(f"{here}/move", json=move | {"version": 3}).status_code == 422
    assert api.get(f"{child}/anaesthetic").json()["booked_on"] is None
    assert reception.post(f"{child}/bookings/none/close", json=CANCELLED).status_code == 404


def test_a_notice_is_seen_by_whom_it_is_for(call, api: TestClient, child: str, other_clinic: TestClinic) -> None:
    made(api, f"{child}/pause", {"reason": "ill", "review_on": "2026-03-20"})
    made(call(Role.RECEPTION), f"{child}/bookings", {"kind": "review", "on": "2026-03-27"})
    mine, to_all = api.get("/api/notices").json()["items"]
    assert (mine["to_signer"], to_all["to_signer"], mine["urgent"]) == (True, False, True) and "7 days after the plan ends" in mine["message"]
    orthoptist, stranger = call(Role.ORTHOPTIST), call(Role.CLINICIAN, other_clinic)
    assert [n["id"] for n in orthoptist.get("/api/notices").json()["items"]] == [to_all["id"]]
    assert stranger.get("/api/notices").json()["items"] == []
    assert call(Role.RECEPTION).get("/api/notices").status_code == 403
    for who, notice, status in (
        (orthoptist, mine, 404),
        (stranger, to_all, 404),
        (call(Role.RECEPTION), to_all, 403),
        (orthoptist, to_all, 204),
        (api, to_all, 204),
    ):
        assert who.post(f"/api/notices/{notice['id']}/seen").status_code == status
    assert [n["id"] for n in api.get("/api/notices").json()["items"]] == [mine["id"]]


def test_the_list_for_the_anaesthetic_says_what_is_missing_and_what_is_stale(api: TestClient, child: str) -> None:
    measured = {"left": {"axial_length_mm": 18.1, "pressure_mmhg": 14, "pressure_method": "rebound"}}
    recorded(api, f"{child}/visits", {"on": "2025-12-05", "eyes": measured})
    recorded(api, f"{child}/visits", {"on": "2026-03-02", "eyes": {"left": {"k1_dioptres": 46.25, "k2_dioptres": 47}}})
    # below two years a measurement counts for three months (common practice)
    listed = api.get(f"{child}/anaesthetic").json()
    rows = {row["measurement"]: row for row in listed["eyes"]["left"]["rows"]}
    assert {name: row["standing"] for name, row in rows.items()} == {
        "axial-length": "recent",
        "keratometry": "recent",
        "pressure": "recent",
        "corneal-diameter": "missing",
        "stitches": "missing",
    }
    assert rows["keratometry"]["found"] == {"k1_dioptres": 46.25, "k2_dioptres": 47} and rows["axial-length"]["on"] == "2025-12-05"
    made(api, f"{child}/bookings", {"kind": "anaesthetic", "on": "2026-03-06"})
    later = api.get(f"{child}/anaesthetic").json()
    assert later["on"] == later["booked_on"] == "2026-03-06"
    assert {row["measurement"]: row["standing"] for row in later["eyes"]["left"]["rows"]}["axial-length"] == "stale"


def test_a_lens_is_ordered_and_stepped_by_whom_and_as_it_may(call, api: TestClient, child: str) -> None:
    correction = signed_lens(api, child)
    order = {"correction_id": correction["id"], "eye": "left", "on": "2026-03-02"}
    reception, orthoptist = call(Role.RECEPTION), call(Role.ORTHOPTIST)
    assert make(reception, f"{child}/lenses", order).status_code == 403
    for typed, field in (
        ({"eye": "right"}, "correction_id"),
        ({"correction_id": "none"}, "correction_id"),
        ({"on": "2026-03-03"}, "on"),
        ({"front_vertex_power": 13.1}, "front_vertex_power"),
        ({"front_vertex_power": 61}, "front_vertex_power"),
    ):
        assert refused(make(api, f"{child}/lenses", order | typed)) == (422, field)
    lens = make(orthoptist, f"{child}/lenses", order | {"front_vertex_power": 31.1}, "a")
    assert make(orthoptist, f"{child}/lenses", order | {"front_vertex_power": 31.1}, "a").content == lens.content, "one lens a key"
    assert api.get(lens.headers["location"]).json() == lens.json()
    assert (lens.json()["power"], lens.json()["power_plane"], lens.json()["trusted_until"]) == (31.1, "front-vertex", "2026-05-05")
    entries = f"{child}/lenses/{lens.json()['id']}/entries"
    assert refused(make(api, entries, {"state": "in-use", "on": "2026-03-02"})) == (422, "state")
    assert refused(make(api, entries, {"state": "arrived", "on": "2026-03-01"})) == (422, "on")
    assert make(reception, entries, {"state": "out-of-date", "on": "2026-03-02"}).status_code == 403
    arrived = make(reception, entries, {"state": "arrived", "on": "2026-03-02", "note": "in the drawer"}, "a")
    assert (
        arrived.status_code == 201
        and make(reception, entries, {"state": "arrived", "on": "2026-03-02", "note": "in the drawer"}, "a").content == arrived.content
    )
    assert refused(make(orthoptist, entries, {"state": "arrived", "on": "2026-03-02"})) == (422, "state"), "somebody said so meanwhile"
    worn = made(orthoptist, entries, {"state": "in-use", "on": "2026-03-02"})
    assert [(e["state"], e["recorded_by"].split()[0]) for e in worn["entries"]] == [
        ("ordered", "orthoptist"),
        ("arrived", "reception"),
        ("in-use", "orthoptist"),
    ]
    assert make(api, f"{child}/lenses/none/entries", {"state": "arrived", "on": "2026-03-02"}).status_code == 404
    assert [item["id"] for item in api.get(f"{child}/lenses").json()["items"]] == [worn["id"]]


def test_a_made_up_lens_is_measured_against_its_order(call, api: TestClient, child: str) -> None:
    checks = f"{child}/corrections/{signed_lens(api, child)['id']}/checks"
    assert make(call(Role.RECEPTION), checks, {"eyes": {"left": {"power": 33}}}).status_code == 403
    for eyes, field in (
        ({}, "eyes.left.power"),
        ({"left": {"diameter_mm": 11.5}}, "eyes.left.power"),
        ({"left": {"power": 330}}, "eyes.left.power"),
        ({"left": {"power": 33, "prism": 1}}, "eyes.left.prism"),
        ({"right": {"power": 33}}, "eyes.right.power"),
        ({"left": {"power": True}}, "eyes.left.power"),
    ):
        assert refused(make(api, checks, {"eyes": eyes})) == (422, field)
    first, second = (made(api, checks, {"eyes": {"left": {"power": power}}}) for power in (33.25, 34.0))
    # 0.50 D beyond 20 D for a lens of unstated, hence rigid, material (ISO 18369-2:2017, from memory)
    assert [c["eyes"]["left"]["within"] for c in (first, second)] == [True, False]
    (row,) = second["eyes"]["left"]["rows"]
    assert (row["ordered"], row["measured"], row["tolerance"], row["unit"], row["status"]) == (33.0, 34.0, 0.5, "D", "memory")
    assert [first["id"], second["id"]] == ["1", "2"] and api.get(f"{checks}/2").json() == second and api.get(f"{checks}/3").status_code == 404


def test_spectacles_are_measured_meridian_by_meridian_and_an_axis_is_asked_for(api: TestClient, child: str) -> None:
    checks = f"{child}/corrections/{signed_lens(api, child, kind='spectacles', vertex_distance_mm=12)['id']}/checks"
    assert refused(make(api, checks, {"eyes": {"left": {"sphere": 25, "cylinder": -1}}})) == (422, "eyes.left.axis")
    assert refused(make(api, checks, {"eyes": {"left": {"sphere": 25, "base_curve_mm": 7.5}}})) == (422, "eyes.left.base_curve_mm")
    found = made(api, checks, {"eyes": {"left": {"sphere": 25, "cylinder": -0.75, "axis": 180}}})
    assert found["measured"] == {"left": {"sphere": 25, "cylinder": -0.75, "axis": 180}} and len(found["eyes"]["left"]["rows"]) > 1


def test_ranges_are_kept_by_whom_and_each_version_once(call, api: TestClient, child: str, other_clinic: TestClinic) -> None:
    keeper = call(Role.OPTOMETRIST)
    for role in (Role.CLINICIAN, Role.ORTHOPTIST, Role.RECEPTION):
        assert [make(call(role), "/api/lens-ranges", body).status_code for body in (RANGE, {})] == [403, 403], "before anything is said about the body"
    for typed, field in (
        ({"name": " "}, "name"),
        ({"powers": []}, "powers"),
        ({"powers": [{"first": 20, "last": 10, "step": 1}]}, "powers"),
        ({"powers": [{"first": 10, "last": 20, "step": 0}]}, "powers"),
        ({"powers": [{"first": 10, "last": 20}]}, "powers.0.step"),
        ({"base_curves_mm": [75]}, "base_curves_mm"),
        ({"diameters_mm": ["11"]}, "diameters_mm.0"),
        ({"from_on": "2026-03-01"}, "from_on"),
        ({"material": "glass"}, "material"),
    ):
        assert refused(make(keeper, "/api/lens-ranges", RANGE | typed)) == (422, field)
    first = made(keeper, "/api/lens-ranges", RANGE)
    assert (first["base_curves_mm"], first["powers"][1:], first["number"]) == ([7.5, 7.7], RANGE["powers"][1:], 1)
    assert refused(make(keeper, "/api/lens-ranges", RANGE | {"name": "testham SILICONE"})) == (422, "name")
    here, changed = f"/api/lens-ranges/{first['id']}", {k: v for k, v in RANGE.items() if k != "name"} | {"diameters_mm": []}
    administrator = call(Role.ADMINISTRATOR)
    second = made(administrator, f"{here}/change", changed)
    assert (second["name"], second["number"], second["diameters_mm"]) == (RANGE["name"], 2, [])
    for way, body in (("change", changed), ("end", {"from_on": "2026-03-02"})):
        assert make(keeper, f"{here}/{way}", body).status_code == 409, "that version has been changed already"
        assert make(api, f"{here}/{way}", body).status_code == 403
    ended = made(keeper, f"/api/lens-ranges/{second['id']}/end", {"from_on": "2026-04-01"})
    assert ended["ended"] and api.get(f"/api/lens-ranges/{ended['id']}").json() == ended
    assert signed_lens(api, child)["content"]["eyes"]["left"]["lens_range"] == RANGE["name"], "until it ends it is what a lens is chosen from"
    stranger = call(Role.OPTOMETRIST, other_clinic)
    assert stranger.get("/api/lens-ranges").json()["items"] == [] and stranger.get(here).status_code == 404
    assert [make(stranger, f"{here}/{way}", body).status_code for way, body in (("change", changed), ("end", {"from_on": "2026-03-02"}))] == [404, 404]


def test_the_clinic_is_settled_by_an_administrator_as_it_was_read(call, child: str, other_clinic: TestClinic) -> None:
    administrator = call(Role.ADMINISTRATOR)
    read = administrator.get("/api/clinic").json()
    settled = {"sign_rights": read["sign_rights"] | {"orthoptist": []}, "pathway": "Ring.\r\nWrite.", "seen": read["digest"]}
    for role in Role:
        if role is not Role.ADMINISTRATOR:
            assert [call(role).get("/api/clinic").status_code, call(role).put("/api/clinic", json={}).status_code] == [403, 403]
    for typed, field in (
        ({"sign_rights": read["sign_rights"] | {"clinician": []}}, "sign_rights"),
        ({"sign_rights": read["sign_rights"] | {"reception": ["occlusion"]}}, "sign_rights.reception"),
        ({"sign_rights": {}}, "sign_rights.administrator"),
        ({"sign_rights": read["sign_rights"] | {"orthoptist": ["everything"]}}, "sign_rights.orthoptist.0"),
        ({"pathway": "x" * 2001}, "pathway"),
        ({"pathway": "\x07"}, "pathway"),
    ):
        answer = administrator.put("/api/clinic", json=settled | typed)
        assert refused(answer) == (422, field), answer.text
    assert administrator.get("/api/clinic").json() == read
    answer = administrator.put("/api/clinic", json=settled)
    assert answer.json() == administrator.get("/api/clinic").json() and answer.json()["pathway"] == "Ring.\nWrite."
    assert administrator.put("/api/clinic", json=settled | {"pathway": "late"}).status_code == 409
    assert make(call(Role.ORTHOPTIST), f"{child}/stop", {"reason": "x"}).status_code == 403, "the right is gone at once"
    assert call(Role.ADMINISTRATOR, other_clinic).get("/api/clinic").json() == read, "and of this clinic alone"


def test_a_visits_versions_say_what_each_correction_changed(api: TestClient, child: str) -> None:
    visit = made(api, f"{child}/visits", VISIT)
    better = VISIT | {"eyes": {"left": VISIT["eyes"]["left"] | {"trial_lens_dioptres": 28}}, "version": 1, "reason": "misread"}
    corrected = api.put(f"{child}/visits/{visit['id']}", json=better).json()
    first, second = api.get(f"{child}/visits/{visit['id']}/versions").json()["items"]
    assert (first["visit"], first["changes"], second["visit"]) == (visit, [], corrected)
    (change,) = second["changes"]
    assert "+29.00 D" in change["before"] and "+28.00 D" in change["now"] and change["what"].startswith("Left eye")
    assert api.get(f"{child}/visits/none/versions").status_code == 404
