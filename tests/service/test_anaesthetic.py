"""The list for the next anaesthetic, as the team reads it."""

from datetime import date, timedelta

from service.clock import StoppedClock
from service.facts import Child, Role
from tests.people import NOW
from tests.service.pages import submit

MEASURED = {
    "left_axial_length_mm": "18.40",
    "left_axial_length_method": "immersion",
    "left_k1_dioptres": "46.00",
    "left_k2_dioptres": "47.25",
    "left_pressure_mmhg": "14",
    "left_pressure_method": "rebound",
    "left_pressure_measured": "anaesthetised",
    "left_stitches_in": "yes",
}


def rows(page: str) -> dict[str, list[str]]:
    """Cells by eye and measurement, as text."""
    found: dict[str, list[str]] = {}
    for eye, part in zip(("right", "left"), page.split('<section class="card stack" aria-labelledby="eye-')[1:], strict=True):
        for row in part.split('<th scope="row">')[1:]:
            name, rest = row.split("</th>", 1)
            cells = [" ".join("".join(piece.split(">", 1)[-1] for piece in c.split("<")).split()) for c in rest.split("<td")[1:]]
            found[f"{eye} {name}"] = cells
    return found


def test_each_last_value_has_its_date_and_method_and_what_is_missing_or_stale_is_named(signed_in, baby: Child, clock: StoppedClock) -> None:
    browser = signed_in(Role.ORTHOPTIST)
    page = f"/children/{baby.public_id}"
    assert submit(browser, f"{page}/visits/new", **MEASURED).status_code == 303
    first = rows(browser.get(f"{page}/anaesthetic").text)
    assert first["left Axial length"][:3] == ["18.40 mm immersion ultrasound", "2 Mar 2026 (0 weeks before)", "recent"]
    assert first["left Keratometry"][0] == "K1: 46.00 D; K2: 47.25 D" and first["left Keratometry"][2] == "recent"
    assert "under anaesthesia" in first["left Pressure"][0] and first["left Corneal diameter"][2] == "missing" and first["right Pressure"][2] == "missing"
    assert "right Stitches" not in first and "left Lens fit" not in first
    assert submit(browser, f"{page}/bookings", "kind", kind="anaesthetic", on="2026-06-10").status_code == 303
    then = browser.get(f"{page}/anaesthetic").text
    assert rows(then)["left Axial length"][2] == "stale", "judged for the booked day, three months on"
    assert "Booked for" in then and "Left eye: axial length, keratometry, pressure, corneal diameter, stitches" in then


def test_an_attempt_without_a_value_stands_beside_the_last_one(signed_in, baby: Child, clock: StoppedClock) -> None:
    page = f"/children/{baby.public_id}"
    submit(signed_in(Role.ORTHOPTIST), f"{page}/visits/new", left_pressure_mmhg="14")
    clock.at = NOW + timedelta(days=10)
    browser = signed_in(Role.ORTHOPTIST)
    submit(browser, f"{page}/visits/new", left_pressure_not_obtained="yes", on=str(date(2026, 3, 12)))
    value, on, *_ = rows(browser.get(f"{page}/anaesthetic").text)["left Pressure"]
    assert value == "14 mmHg attempted on 12 Mar 2026, not obtained" and on.startswith("2 Mar 2026")


def test_an_eye_that_is_gone_has_nothing_to_measure(signed_in, baby: Child) -> None:
    from tests.service.test_operations import sign_operation

    browser = signed_in(Role.CLINICIAN)
    assert sign_operation(browser, baby, operation="eye-removed", eye="left", on="2026-03-02").status_code == 303
    assert "There is nothing to measure" in browser.get(f"/children/{baby.public_id}/anaesthetic").text
