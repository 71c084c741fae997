"""What a clinic sets for its reviews, and the sources that everything rests on."""

import re

from sqlalchemy import Engine

from service.facts import Child, Role
from shared.rules import RULES
from shared.sources import all_sources, all_tables
from tests.people import TestClinic
from tests.service.pages import forms_of, send, submit


def limits(browser, **typed: str):
    form = next(f for f in forms_of(browser.get("/rules").text) if "low_share" in f.values)
    form.values |= typed
    return browser.post("/rules", data={k: v for k, v in form.values.items() if v})


def test_a_rule_switched_off_is_silent_for_that_clinic_alone(signed_in, baby: Child, clinic: TestClinic, other_clinic: TestClinic) -> None:
    administrator, orthoptist = signed_in(Role.ADMINISTRATOR), signed_in(Role.ORTHOPTIST)
    review = f"/children/{baby.public_id}/review"
    submit(orthoptist, f"/children/{baby.public_id}/visits/new", left_red_reflex="reduced")
    assert "axis-first" in orthoptist.get(review).text
    answer = limits(administrator, reason="Our surgeon sees every eye herself", **{"on_axis-first": ""})
    assert answer.status_code == 303, answer.text
    shown = orthoptist.get(review).text
    assert "axis-first" not in shown
    listed = administrator.get("/rules").text
    assert "Our surgeon sees every eye herself" in listed and "switched off" in signed_in(Role.ORTHOPTIST).get("/rules").text
    theirs = signed_in(Role.ADMINISTRATOR, other_clinic).get("/rules").text
    assert "Our surgeon" not in theirs


def test_the_norm_of_an_age_may_be_switched_off(signed_in, sam: Child) -> None:
    administrator, orthoptist = signed_in(Role.ADMINISTRATOR), signed_in(Role.ORTHOPTIST)
    typed = {"first_method": "crowded-hotv", "first_left_acuity": "20/63"}
    visit = submit(orthoptist, f"/children/{sam.public_id}/visits/new", **typed).headers["location"]
    for page in (visit, f"/children/{sam.public_id}"):
        assert "below the norm of its age" in orthoptist.get(page).text
    assert limits(administrator, reason="Norms of healthy eyes worry families", **{"on_below-age-norm": ""}).status_code == 303
    for page in (visit, f"/children/{sam.public_id}"):
        assert "below the norm of its age" not in orthoptist.get(page).text


def test_the_limits_are_shown_where_they_decide(signed_in, baby: Child) -> None:
    administrator = signed_in(Role.ADMINISTRATOR)
    for typed, said in (({"low_share": "5"}, "0.05 cannot be"), ({"lens_off_dioptres": "ten"}, "is not a number"), ({"reason": ""}, "who decided this")):
        answer = limits(administrator, **({"low_share": "75", "reason": "A trial run"} | typed))
        assert answer.status_code == 422 and said in answer.text, typed
        assert 'value="75"' in answer.text or "low_share" in typed, "what was typed is kept"
    assert limits(administrator, reason="Nothing").status_code == 422, "a change that changes nothing is none"
    assert limits(administrator, low_share="75", lens_off_dioptres="1", reason="A trial run").status_code == 303
    again = administrator.get("/rules").text
    assert 'value="75"' in again and "A trial run" in again


def test_two_who_change_the_rules_at_once_are_told(signed_in) -> None:
    one, other = signed_in(Role.ADMINISTRATOR), signed_in(Role.ADMINISTRATOR)
    form = next(f for f in forms_of(other.get("/rules").text) if "low_share" in f.values)
    assert limits(one, low_share="60", reason="First").status_code == 303
    late = other.post("/rules", data={**form.values, "low_share": "70", "reason": "Second"})
    assert late.status_code == 409 and 'value="70"' in late.text
    resent = next(f for f in forms_of(late.text) if "low_share" in f.values)
    assert send(other, resent, "/rules").status_code == 303


def test_only_an_administrator_sets_them(signed_in, call, clinic: TestClinic) -> None:
    for role in (Role.ORTHOPTIST, Role.CLINICIAN, Role.OPTOMETRIST, Role.RECEPTION):
        assert limits(signed_in(role), low_share="60", reason="Mine").status_code == 403
    body = {"low_share": 0.6, "over_share": 1.25, "lens_off_dioptres": 1.0, "rules_off": [], "reason": "Mine", "seen": 0}
    assert call(Role.CLINICIAN).put("/api/rules", json=body).status_code == 403
    api = call(Role.ADMINISTRATOR)
    unknown = api.put("/api/rules", json=body | {"rules_off": ["no-such"]})
    assert unknown.status_code == 422 and unknown.json()["field"] == "rules_off"
    assert api.put("/api/rules", json=body | {"low_share": 9}).json()["field"] == "low_share"
    assert api.put("/api/rules", json=body).json()["number"] == 1 and api.put("/api/rules", json=body).status_code in (409, 422)


def test_every_publication_stands_on_the_sources_page_with_each_of_its_numbers(signed_in, engine: Engine) -> None:
    text = signed_in(Role.RECEPTION).get("/sources").text
    for s, numbers in all_sources().items():
        part = re.search(rf'<section[^>]* id="{s.key}".*?</section>', text, re.DOTALL)
        assert part and all(f">{n.where}<" in part[0].replace("&#39;", "'").replace("&gt;", ">").replace("&lt;", "<") for n in numbers), s.key
    assert all(t.checksum in text for t in all_tables())
    assert set(re.findall(r'href="/sources#([\w-]+)"', signed_in(Role.ORTHOPTIST).get("/rules").text)) <= {s.key for s in all_sources()}
    assert len(RULES) > 50


def test_each_number_on_a_clinical_page_leads_to_its_publication(signed_in, baby: Child) -> None:
    browser = signed_in(Role.ORTHOPTIST)
    submit(browser, f"/children/{baby.public_id}/visits/new", left_pressure_mmhg="30", first_method="grating-cards", first_left_acuity="1.2 cpd")
    linked = set(re.findall(r'href="/sources#([\w-]+)"', browser.get(f"/children/{baby.public_id}/review").text))
    assert "pressure-watch" in linked
    assert {"iats-patching", "iats-design"} <= set(re.findall(r'href="/sources#([\w-]+)"', browser.get(f"/children/{baby.public_id}/occlusion").text))


def test_a_dose_rule_switched_off_proposes_nothing_and_a_calculation_is_silent_too(signed_in, call, baby: Child) -> None:
    administrator, orthoptist = signed_in(Role.ADMINISTRATOR), signed_in(Role.ORTHOPTIST)
    page = f"/children/{baby.public_id}/occlusion"
    asked = {"age_months": 4, "aetiology": "deprivation", "amblyopic_eye_status": "aphakic", "fellow_eye_status": "phakic", "age_at_surgery_months": 2}
    api = call(Role.CLINICIAN)
    norm = {"notation": "20/200", "method": "crowded-hotv", "age_months": 60}
    assert "infant-by-completed-month" in orthoptist.get(page).text and "below-age-norm" in api.post("/api/calc/age-norm", json=norm).text
    off = {f"on_{rule}": "" for rule in ("infant-by-completed-month", "below-age-norm", "near-overcorrection-by-age")}
    assert limits(administrator, reason="We follow our own table", **off).status_code == 303
    shown = orthoptist.get(page).text
    assert "is switched off in this clinic" in shown and "No published dose" in shown
    answer = api.post("/api/calc/occlusion", json=asked).json()
    assert answer["values"]["minutes_per_day"] is None and "switched off" in answer["refusal"]
    assert "below-age-norm" not in api.post("/api/calc/age-norm", json=norm).text
    lens = {"left_trial_lens_dioptres": "+29", "left_over_sphere": "+2.5", "left_over_vertex_distance_mm": "12"}
    made = submit(orthoptist, f"/children/{baby.public_id}/visits/new", **lens)
    form = orthoptist.get(f"{made.headers['location']}/correction").text
    assert "switched off in this clinic: what is added for near" in form and 'name="left_near" type="text" value="0"' in form
