"""What stands beside a proposal on the page, in the API and in the calculation: its row, the ladder, and what other publications would do."""

from service.facts import Child, Role
from tests.service.calling import EIGHT_WEEKS
from tests.service.pages import new_visit, submit
from tests.service.typed import BOTH_EYES

CHILD = {
    "age_months": 60,
    "aetiology": "strabismic",
    "amblyopic_eye_status": "phakic",
    "fellow_eye_status": "phakic",
    "amblyopic_acuity": "20/200",
    "fellow_acuity": "20/20",
    "no_glasses": True,
}


def test_the_occlusion_page_shows_the_rungs_and_the_trials_that_disagree(signed_in, sam: Child) -> None:
    browser = signed_in(Role.ORTHOPTIST)
    submit(browser, new_visit(sam), **BOTH_EYES | {"first_left_acuity": "6/60"})
    page = submit(browser, f"/children/{sam.public_id}/occlusion", step="facts", no_glasses="yes").text
    assert "Severe amblyopia, under seven years" in page and "Before stopping: Down to two hours" in page
    assert "severe-six-hours" in page and "moderate-two-hours" in page and "(this child)" in page
    for said in ("Works in some", "severe-full-time", "six days a week", "atropine-weekend-severe", "None of these is proposed"):
        assert said in page, said


def test_an_infants_ladder_is_of_months_and_where_the_rule_ends_nothing_stands(signed_in, baby: Child) -> None:
    page = signed_in(Role.ORTHOPTIST).get(f"/children/{baby.public_id}/occlusion").text
    assert "at 4 months" in page and "at 6 months" in page and "4 h" in page and "6 h" in page
    assert "Other publications would do otherwise" not in page


def test_the_api_says_the_same(signed_in, call, sam: Child) -> None:
    submit(signed_in(Role.ORTHOPTIST), new_visit(sam), **BOTH_EYES | {"first_left_acuity": "6/60"})
    answer = call(Role.ORTHOPTIST).get(f"/api/children/{sam.public_id}/regimen-proposal", params={"refractive_adaptation_weeks": "not-needed"}).json()
    beside = answer["beside"]
    assert [(r["rule"], r["minutes"], r["chosen"]) for r in beside["ladder"]] == [("moderate-two-hours", 120, False), ("severe-six-hours", 360, True)]
    shown = {a["finding"]["rule"]: (a["minutes"], a["pattern"], a["finding"]["status"]) for a in beside["alternatives"]}
    assert shown["severe-full-time"][1:] == ("daily", "memory") and shown["ten-hours-on-six-days"] == (600, "six-days-a-week", "read-secondhand")
    assert shown["atropine-weekend-severe"][0] is None


def test_the_calculations_ladder_waking_hours_and_taper(call) -> None:
    api = call(Role.ORTHOPTIST)
    sheet = api.post("/api/calc/occlusion", json=CHILD).json()
    assert [row[1:] for row in sheet["tables"]["ladder"]["rows"]] == [[120.0, "moderate-two-hours", None], [360.0, "severe-six-hours", "yes"]]
    assert {"severe-six-hours", "severe-two-hours", "severe-full-time"} <= {f["rule"] for f in sheet["findings"]}
    awake = api.post("/api/calc/waking-hours", json={"age_months": 48}).json()["values"]
    # Galland 2012: 13.08 h awake at four years; AASM 2016: 10 to 13 h of sleep
    assert abs(awake["waking_hours"] - 13.08) < 0.01 and (awake["range_least_hours"], awake["range_most_hours"]) == (11.0, 14.0)
    assert api.post("/api/calc/waking-hours", json={"age_months": 150}).json()["field"] == "age_months"
    assert api.post("/api/calc/waking-hours", json={"age_months": 10, "waking_hours": 13}).json()["cautions"] != []
    # ATS2C: from 6 h a day, 42 % lost ground after an abrupt stop and 14 % after a step down
    down = api.post("/api/calc/taper", json={"hours_per_day": 6, "age_months": 72}).json()
    assert (down["values"]["step_hours"], down["values"]["recurrence_abrupt_percent"], down["values"]["recurrence_tapered_percent"]) == (2, 42, 14)
    assert "none is published" in api.post("/api/calc/taper", json={"hours_per_day": 4, "age_months": 72}).json()["refusal"]


def test_full_time_with_a_late_review_is_remarked_until_the_clinic_switches_that_off(signed_in, call, sam: Child) -> None:
    submit(signed_in(Role.ORTHOPTIST), new_visit(sam), **BOTH_EYES)
    order = EIGHT_WEEKS | {"own_minutes": 780, "own_reason": "severe"}
    api, address = call(Role.ORTHOPTIST), f"/api/children/{sam.public_id}/regimen-preview"
    said = api.post(address, json=order).json()["remark"]
    assert said["rule"] == "full-time-review" and said["status"] == "memory"
    assert api.post(address, json=order | {"review_on": "2026-03-30"}).json()["remark"] is None
    assert api.post(address, json=order | {"own_pattern": "alternate-days"}).json()["remark"] is None
    page = submit(
        signed_in(Role.ORTHOPTIST), f"/children/{sam.public_id}/occlusion", step="look", dose="own", own_hours="13", own_reason="x", review_on="2026-04-27"
    )
    assert "This is full-time occlusion" in page.text
    rules = call(Role.ADMINISTRATOR).get("/api/rules").json()
    limits = {name: rules[name] for name in ("low_share", "over_share", "lens_off_dioptres")}
    off = limits | {"rules_off": ["full-time-review"], "seen": rules["number"], "reason": "ours is stricter"}
    assert call(Role.ADMINISTRATOR).put("/api/rules", json=off).status_code == 200
    assert api.post(address, json=order).json()["remark"] is None
