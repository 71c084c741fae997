"""What a visit is asked about before it is kept: slips of the pen, empty and repeated visits. An answer speaks of the questions that were put."""

from typing import Any

import pytest

from service.clock import StoppedClock
from service.db import writing
from service.facts import Child, Role
from service.store import people
from service.tokens import new_token
from tests.service.pages import confirm, new_visit, send, submit, taking
from tests.service.typed import BOTH_EYES, TRIAL_LENS


def correcting(browser, visit: str, **typed: str) -> Any:
    return send(browser, taking(browser.get(f"{visit}/correct").text, "version"), f"{visit}/correct", **{"reason": "seen again"} | typed)


def test_an_infants_gratings_may_become_much_finer_without_a_question(signed_in, baby: Child) -> None:
    browser = signed_in(Role.ORTHOPTIST)
    for on, acuity, asks in (
        ("2025-12-20", "0.6 cpd", False),
        ("2026-01-20", "1.6 cpd", False),
        ("2026-02-20", "4 cpd", False),
        ("2026-03-01", "30 cpd", True),
    ):
        answer = submit(browser, new_visit(baby), on=on, first_method="grating-cards", first_left_acuity=acuity)
        assert (answer.status_code == 409) is asks, (on, answer.status_code)


def test_values_that_look_exchanged_or_far_are_asked_about_and_may_stand(signed_in, sam: Child) -> None:
    browser = signed_in(Role.ORTHOPTIST)
    assert submit(browser, new_visit(sam), **BOTH_EYES, on="2026-02-01").status_code == 303
    exchanged = submit(browser, new_visit(sam), on="2026-02-20", first_method="crowded-hotv", first_right_acuity="6/19", first_left_acuity="6/6")
    assert exchanged.status_code == 409 and "exchanged" in exchanged.text and "6/19" in exchanged.text
    assert confirm(browser, exchanged, new_visit(sam)).status_code == 303
    far = submit(browser, new_visit(sam), first_method="crowded-hotv", first_right_acuity="6/60")
    assert far.status_code == 409 and "far from the last visits" in far.text
    assert submit(browser, new_visit(sam), first_method="logmar-chart", first_right_acuity="6/60").status_code == 303, "another test is another series"


def test_a_tick_answers_the_questions_that_were_put_and_no_others(signed_in, sam: Child) -> None:
    browser = signed_in(Role.ORTHOPTIST)
    unsigned = submit(browser, new_visit(sam), right_refraction_sphere="2.50")
    another = confirm_with(browser, unsigned, new_visit(sam), right_refraction_sphere="3.50")
    assert another.status_code == 409 and "+3.50 D or −3.50 D" in another.text
    assert submit(browser, new_visit(sam), right_refraction_sphere="2.50", as_typed="yes").status_code == 409
    assert confirm(browser, another, new_visit(sam)).status_code == 303


def confirm_with(browser, asked: Any, address: str, **changed: str) -> Any:
    """Ticks the box and changes something at the same time."""
    key = asked.text.split('name="as_typed" value="')[1].split('"')[0]
    return send(browser, taking(asked.text), address, as_typed=key, **changed)


@pytest.mark.parametrize(
    ("field", "typed", "plus", "minus"),
    [
        ("left_over_sphere", "2.50", "+2.50 D", "−2.50 D"),
        ("left_over_cylinder", "1", "+1.00 D", "−1.00 D"),
        ("left_trial_lens_dioptres", "29", "+29.00 D", "−29.00 D"),
        ("right_refraction_sphere", "2,5", "+2.50 D", "−2.50 D"),
    ],
)
def test_a_power_without_a_sign_is_asked_about_keeps_what_was_typed_and_may_stand(
    signed_in, baby: Child, field: str, typed: str, plus: str, minus: str
) -> None:
    browser = signed_in(Role.ORTHOPTIST)
    unsigned = submit(browser, new_visit(baby), **TRIAL_LENS | {field: typed})
    assert unsigned.status_code == 409 and f"“{typed}” has no sign. Did you mean {plus} or {minus}?" in unsigned.text
    kept = taking(unsigned.text).values
    assert {name: kept[name] for name in TRIAL_LENS} == TRIAL_LENS | ({field: typed} if field in TRIAL_LENS else {}) and kept[field] == typed
    visit = confirm(browser, unsigned, new_visit(baby)).headers["location"]
    assert plus in browser.get(visit).text
    assert correcting(browser, visit).status_code == 303, "what is stored has its sign"
    again = correcting(browser, visit, **{field: typed})
    assert again.status_code == 409 and "has no sign" in again.text and "seen again" in again.text
    assert send(browser, taking(again.text), f"{visit}/correct", **{field: f"-{typed}"}).status_code == 303, "answered by writing the sign"
    assert minus in browser.get(visit).text


@pytest.mark.parametrize("typed", ["0", "0.00", "+2.50", "-2.50", "\u22122.50"])
def test_a_power_with_its_sign_or_without_any_power_is_not_asked_about(signed_in, sam: Child, typed: str) -> None:
    assert submit(signed_in(Role.ORTHOPTIST), new_visit(sam), right_refraction_sphere=typed).status_code == 303


def test_an_empty_visit_and_a_second_one_on_a_day_are_asked_about_and_may_stand(signed_in, sam: Child) -> None:
    browser = signed_in(Role.ORTHOPTIST)
    empty = submit(browser, new_visit(sam), on="2026-02-27")
    assert empty.status_code == 409 and "Nothing was noted at this visit" in empty.text
    assert browser.get(confirm(browser, empty, new_visit(sam)).headers["location"]).status_code == 200
    first = submit(browser, new_visit(sam), **BOTH_EYES).headers["location"]
    again = submit(browser, new_visit(sam), **BOTH_EYES, tester="Ines Valadares")
    assert again.status_code == 409 and "with just these findings is recorded already" in again.text
    other = submit(browser, new_visit(sam), **BOTH_EYES, left_pressure_mmhg="14")
    assert other.status_code == 409 and "recorded already, with other findings" in other.text
    assert submit(browser, new_visit(sam), **BOTH_EYES, on="2026-03-01").status_code == 303, "another day"
    page = browser.get(f"/children/{sam.public_id}").text
    assert page.count("/visits/") - page.count("/visits/new") == 3, "nothing is saved before the answer"
    assert confirm(browser, again, new_visit(sam)).status_code == 303
    emptied = correcting(browser, first, reason="another child", **dict.fromkeys(BOTH_EYES, ""))
    assert emptied.status_code == 409 and "Nothing would be left" in emptied.text
    moved = correcting(browser, first, on="2026-03-01")
    assert moved.status_code == 409 and "with just these findings is recorded already" in moved.text


def test_a_correction_asks_as_the_first_record_does_but_not_about_what_it_leaves(signed_in, sam: Child) -> None:
    browser = signed_in(Role.ORTHOPTIST)
    assert submit(browser, new_visit(sam), **BOTH_EYES, on="2026-02-01").status_code == 303
    visit = submit(browser, new_visit(sam), **BOTH_EYES).headers["location"]
    exchanged = correcting(browser, visit, first_right_acuity="6/19", first_left_acuity="6/6")
    assert exchanged.status_code == 409 and "exchanged" in exchanged.text and "seen again" in exchanged.text
    assert taking(browser.get(f"{visit}/correct").text, "version").values["first_right_acuity"] == "6/6", "nothing is saved before the answer"
    assert confirm(browser, exchanged, f"{visit}/correct").status_code == 303
    assert correcting(browser, visit, left_pressure_mmhg="14").status_code == 303, "the acuities stand as they were confirmed"


REFRACTION = {"left_refraction_sphere": "+18.00", "left_refraction_vertex_distance_mm": "12"}
OVER = {"left_trial_lens_dioptres": "+20", "left_over_vertex_distance_mm": "12"}


@pytest.mark.parametrize(
    ("over", "more", "asked"),
    [
        # 18 / (1 - 0.012 x 18) = 22.96 at the cornea; 20 + 3 / (1 - 0.012 x 3) = 23.11, and 20 + 4 / (1 - 0.012 x 4) = 24.20 (thin-lens effectivity)
        ("+3.00", {}, None),
        ("+4.00", {}, "+22.96 D, the trial lens with the refraction over it +24.20 D"),
        # gross at 50 cm is two dioptres less: 16 / (1 - 0.012 x 16) = 19.80
        ("+3.00", {"left_refraction_kind": "gross", "left_working_distance_cm": "50"}, "+19.80 D, the trial lens with the refraction over it +23.11 D"),
        # -2 of cylinder is -1 of spherical equivalent before it is moved: 4 and 2 at 12 mm are 4.20 and 2.05, 20 + 3.12 on the mean
        ("+4.00", {"left_over_cylinder": "-2.00", "left_over_axis": "90"}, None),
    ],
)
def test_a_refraction_and_a_trial_lens_that_disagree_at_the_cornea_are_asked_about(
    signed_in, baby: Child, over: str, more: dict[str, str], asked: str | None
) -> None:
    """More than 1.00 D apart in spherical equivalent: a threshold of common practice, without a source."""
    browser = signed_in(Role.ORTHOPTIST)
    answer = submit(browser, new_visit(baby), **REFRACTION | OVER | {"left_over_sphere": over} | more)
    assert answer.status_code == (409 if asked else 303)
    assert asked is None or (asked in answer.text and "more than 1.00 D apart, the limit of common practice" in answer.text)


def test_what_disagrees_may_stand_and_a_correction_asks_again_only_when_it_changes(signed_in, baby: Child) -> None:
    browser = signed_in(Role.ORTHOPTIST)
    visit = confirm(browser, submit(browser, new_visit(baby), **REFRACTION | OVER, left_over_sphere="+5.00"), new_visit(baby)).headers["location"]
    assert correcting(browser, visit, left_pressure_mmhg="14").status_code == 303
    assert "of the left eye is" in correcting(browser, visit, left_over_sphere="+4.50").text


def test_the_api_is_asked_too_and_answers_with_the_key(signed_in, engine, clinic, clock: StoppedClock, baby: Child) -> None:
    browser = signed_in(Role.ORTHOPTIST)
    for on, length in (("2026-02-01", "18.0"), ("2026-03-01", "18.1")):
        visit = submit(browser, new_visit(baby), on=on, left_axial_length_mm=length).headers["location"]
    token = new_token("a")
    with writing(engine) as session:
        people.add_api_token(session, clinic.staff[Role.ORTHOPTIST], token, "test", clock.now())
    address, body = f"/api{visit}/biometry", {"version": 1, "eyes": {"left": {"axial_length_mm": 28.1}}}
    asked = browser.put(address, json=body, headers={"Authorization": f"Bearer {token}"})
    assert asked.status_code == 409 and "axial length" in asked.json()["questions"][0]
    done = browser.put(address, json=body | {"as_typed": asked.json()["as_typed"]}, headers={"Authorization": f"Bearer {token}"})
    assert done.status_code == 204 and "28.10 mm" in browser.get(visit).text
