"""The measurements of both eyes over time: charts in their own unit, and each value with its date and how it was taken."""

from datetime import date

import pytest

from service.facts import Child, Role
from service.i18n import words
from service.views.measure_chart import Measured, measure_chart
from shared.findings import Unit
from shared.vocabulary import Laterality
from tests.service.pages import submit
from tests.service.typed import TRIAL_LENS

EN = words("en")


def test_each_measure_has_its_values_with_unit_method_and_visit_and_what_is_missing_is_named(signed_in, baby: Child) -> None:
    browser, page = signed_in(Role.ORTHOPTIST), f"/children/{baby.public_id}"
    length = {"left_axial_length_mm": "17.95", "left_axial_length_method": "contact"}
    submit(browser, f"{page}/visits/new", on="2026-01-10", **length, left_pressure_mmhg="12", left_pressure_method="rebound", left_on_steroid="yes")
    submit(browser, f"{page}/visits/new", on="2026-03-01", **TRIAL_LENS, left_axial_length_mm="18.60", left_k1_dioptres="46", left_k2_dioptres="47")
    shown = browser.get(f"{page}/measurements").text
    assert "17.95 mm (contact ultrasound)" in shown and "18.60 mm" in shown
    assert "12 mmHg (Pressure by: rebound; On steroid: yes)" in shown and "46.50 D" in shown
    # trial +29.00 with +2.50 -1.00 at 12 mm: +31.05 D at the cornea (contact-lens arithmetic, worked out by hand in test_main_job)
    assert "+31.05 D" in shown and "Not measured yet: Corneal diameter." in shown
    assert shown.count('<svg class="plate') == 2 * 4, "four measures, each in two sizes"


def test_a_child_without_measurements_has_an_empty_page(signed_in, sam: Child) -> None:
    shown = signed_in(Role.RECEPTION).get(f"/children/{sam.public_id}/measurements").text
    assert "Not measured yet" in shown and "<svg" not in shown


@pytest.mark.parametrize("values", [[20.0], [14.0, 14.1], [-3.0, 31.05], [0.0, 60.0]])
def test_every_value_lies_between_the_ticks_of_its_scale(values: list[float]) -> None:
    points = [Measured(date(2026, 1, 1 + n), Laterality.LEFT, value) for n, value in enumerate(values)]
    for plate in measure_chart("x", Unit.DIOPTRE, points, EN).plates:
        ys = [mark.y for line in plate.lines for mark in line.marks]
        ticks = [t.at for t in plate.values]
        assert min(ticks) <= min(ys) and max(ys) <= max(ticks) and 3 <= len(ticks) <= 12
