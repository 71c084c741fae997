"""How an aphakic eye grows, on the child's page, at its review and in its ledger."""

import re
from dataclasses import replace
from datetime import date

from sqlalchemy import Engine

from service.clock import StoppedClock
from service.facts import Child, Role
from shared.vocabulary import Laterality, OpticalStatus
from tests.people import NOW, infant, register, schoolchild
from tests.service.lens_pages import enter_range, ledger, signed_lens, visit_of
from tests.service.pages import submit
from tests.service.typed import REFRACTED, TRIAL_LENS


def text_of(html: str) -> str:
    return " ".join(re.sub(r"<[^>]+>", " ", html).split())


def growth(browser, child: Child) -> str:
    answer = browser.get(f"/children/{child.public_id}/growth")
    assert answer.status_code == 200
    return str(answer.text)


def test_a_refraction_leads_to_a_forecast_at_both_planes_with_its_dates_and_sources(signed_in, baby: Child, engine: Engine) -> None:
    browser = signed_in(Role.OPTOMETRIST)
    assert "No refraction is recorded since the operation" in growth(browser, baby)
    signed_lens(browser, engine, baby)
    page = growth(browser, baby)
    said = text_of(page)
    # by hand: 31.05 D at the cornea are 22.62 D at 12 mm; a year of age (365 of 365.25 days) later than 151 days: 22.62 - 5.5 log10 (516 / 151) = 19.69 D
    assert "+22.62 D" in said and "+31.05 D" in said and "+19.69 D in spectacles" in said
    assert "5 May 2026" in said and "+31.00 D for distance" in said
    assert "McClatchey" in said and "nineteen of twenty eyes" in said
    assert page.count('class="traced published"') == 4, "the trial in spectacles, the monthly falls at the cornea, in two sizes"
    assert "Moore BD" in said and "Long-term change of refraction" in said
    assert page.count('class="traced area"') == 4, "a band at each plane, in two sizes"
    assert f"/children/{baby.public_id}/growth" in browser.get(f"/children/{baby.public_id}").text


def test_stitches_make_a_refraction_provisional_and_no_forecast_rests_on_it(signed_in, baby: Child) -> None:
    browser = signed_in(Role.OPTOMETRIST)
    visit_of(browser, baby, **TRIAL_LENS, left_stitches_in="yes")
    assert "No refraction is recorded since the operation, without stitches" in growth(browser, baby)


def test_the_review_says_when_the_worn_lens_is_expected_to_be_out(signed_in, baby: Child, engine: Engine, clock: StoppedClock) -> None:
    signed_lens(signed_in(Role.OPTOMETRIST), engine, baby)
    for day, said in ((4, False), (5, True)):
        clock.at = NOW.replace(month=5, day=day)
        page = signed_in(Role.OPTOMETRIST).get(f"/children/{baby.public_id}").text
        assert ("is expected to be out by" in page) is said
    assert "is expected to be out by" in growth(signed_in(Role.OPTOMETRIST), baby)


def test_a_lens_that_the_ledger_knows_to_be_lost_is_not_called_worn(signed_in, baby: Child, engine: Engine, clock: StoppedClock) -> None:
    browser, here = signed_in(Role.OPTOMETRIST), f"/children/{baby.public_id}/lenses"
    signed_lens(browser, engine, baby)
    submit(browser, here, "count")
    assert "When a lens that was right" in growth(browser, baby)
    for state in ("arrived", "in-use"):
        submit(browser, f"{here}/{ledger(engine, baby)[0].public_id}", "on", state=state)
    assert "When the lens worn" in growth(browser, baby)
    submit(browser, f"{here}/{ledger(engine, baby)[0].public_id}", "on", state="lost")
    clock.at = NOW.replace(month=6)
    assert "is expected to be out by" not in growth(signed_in(Role.OPTOMETRIST), baby)


def test_what_was_refracted_before_the_operation_is_no_part_of_its_course(signed_in, baby: Child) -> None:
    browser = signed_in(Role.OPTOMETRIST)
    visit_of(browser, baby, **REFRACTED | {"on": "2025-12-01"})
    assert "No refraction is recorded since the operation" in growth(browser, baby)


def test_the_ledger_says_how_many_lenses_a_first_year_takes(signed_in, baby: Child, engine: Engine, clock: StoppedClock) -> None:
    browser, here = signed_in(Role.OPTOMETRIST), f"/children/{baby.public_id}/lenses"
    assert "every reason" not in browser.get(here).text, "no lens, nothing to be replaced"
    signed_lens(browser, engine, baby)
    assert "every reason" in browser.get(here).text
    clock.at = NOW.replace(month=11)
    assert "every reason" not in signed_in(Role.OPTOMETRIST).get(here).text, "a year old"


def test_a_clinic_may_switch_the_rule_off(signed_in, baby: Child, engine: Engine, clock: StoppedClock) -> None:
    signed_lens(signed_in(Role.OPTOMETRIST), engine, baby)
    submit(signed_in(Role.ADMINISTRATOR), "/rules", "reason", **{"on_lens-off-expected": "", "reason": "our own dates"})
    clock.at = NOW.replace(month=5, day=5)
    browser = signed_in(Role.OPTOMETRIST)
    assert "is expected to be out by" not in growth(browser, baby)
    assert "is expected to be out by" not in browser.get(f"/children/{baby.public_id}").text


def test_an_eye_that_turns_myopic_beyond_its_band_asks_for_its_pressure(signed_in, baby: Child, clock: StoppedClock) -> None:
    visit_of(signed_in(Role.OPTOMETRIST), baby, **TRIAL_LENS)
    clock.at = NOW.replace(month=9)
    browser = signed_in(Role.OPTOMETRIST)
    fallen = {"left_trial_lens_dioptres": "+20", "left_over_sphere": "-2", "left_over_cylinder": "0"}
    visit_of(browser, baby, **TRIAL_LENS | fallen | {"on": "2026-09-02"})
    for page in (growth(browser, baby), browser.get(f"/children/{baby.public_id}").text):
        assert "look at its pressure, its length and its disc" in page


def test_lengths_stand_beside_what_is_published(signed_in, baby: Child, clock: StoppedClock) -> None:
    visit_of(signed_in(Role.OPTOMETRIST), baby, left_axial_length_mm="18.0")
    clock.at = NOW.replace(year=2027)
    browser = signed_in(Role.OPTOMETRIST)
    visit_of(browser, baby, on="2027-03-02", left_axial_length_mm="22.5")
    page = growth(browser, baby)
    said = text_of(page)
    assert "18 mm" in said and "22.5 mm" in said and "eyes under suspicion of glaucoma grew" in said
    assert page.count('class="traced published"') == 4, "normal eyes and eyes with cataract, in two sizes"


def test_where_nothing_is_published_the_page_says_so(signed_in, engine: Engine, clinic) -> None:
    browser = signed_in(Role.OPTOMETRIST)
    assert "No eye is aphakic" in growth(browser, register(engine, clinic, schoolchild()))
    both = {eye: (OpticalStatus.APHAKIC, date(2026, 1, 20)) for eye in Laterality}
    newborn = register(engine, clinic, replace(infant(date(2025, 12, 20)), reference="T-3", statuses=both))
    visit_of(browser, newborn, **TRIAL_LENS)
    assert "what is published where both eyes are aphakic" in growth(browser, newborn)


def test_the_api_answers_what_the_page_shows_and_to_no_other_clinic(signed_in, call, baby: Child, engine: Engine, other_clinic) -> None:
    signed_lens(signed_in(Role.OPTOMETRIST), engine, baby)
    address = f"/api/children/{baby.public_id}/growth"
    eye = call(Role.CLINICIAN).get(address).json()["eyes"]["left"]
    assert [(r["on"], f"{r['spectacles_dioptres']:.2f}", f"{r['cornea_dioptres']:.2f}") for r in eye["refractions"]] == [("2026-03-02", "22.62", "31.05")]
    assert {o["limit_dioptres"]: o["likely"] for o in eye["out"]}[1.5] == "2026-05-05"
    assert len(eye["forecast"]) == 4 and "+19.69 D in spectacles" in eye["forecast"][-1]["message"]
    assert call(Role.CLINICIAN, other_clinic).get(address).status_code == 404


def test_a_power_that_spectacles_cannot_give_leaves_the_page_standing(signed_in, call, baby: Child) -> None:
    browser = signed_in(Role.OPTOMETRIST)
    odd = {"left_trial_lens_dioptres": "+48", "left_over_sphere": "+1", "left_over_cylinder": "0", "left_over_vertex_distance_mm": "29"}
    visit_of(browser, baby, **TRIAL_LENS | odd)
    assert "No forecast:" in growth(browser, baby)
    assert call(Role.CLINICIAN).get(f"/api/children/{baby.public_id}/growth").json()["eyes"]["left"]["out"] == []
    assert browser.get(f"/children/{baby.public_id}").status_code == 200


def test_the_correction_page_says_which_curve_of_the_range_the_cornea_asks_for(signed_in, baby: Child) -> None:
    browser = signed_in(Role.OPTOMETRIST)
    enter_range(browser, material="rigid-gas-permeable", base_curves_mm="6.9; 7.1; 7.3")
    visit = visit_of(browser, baby, **TRIAL_LENS)
    assert "against the cornea" not in browser.get(f"{visit}/correction").text, "no keratometry yet"
    visit = visit_of(browser, baby, **TRIAL_LENS | {"left_k1_dioptres": "45.8", "left_k2_dioptres": "46.8"})
    assert "7.1 mm: +1.23" in text_of(browser.get(f"{visit}/correction").text)  # 337.5 / 7.1 - 46.3 = +1.235 D
