"""Geometry of the charts: what must be seen, whatever the numbers."""

import re
from datetime import date, timedelta
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.i18n import words
from service.views.charts import AcuityPoint, PhaseBand, WeekDay, WeekDose, acuity_chart, dose_chart, week_bars
from service.views.curve_chart import Curve, CurveChart, band_outline, curve_chart
from service.views.curve_chart import Measured as CurveMeasured
from service.views.plates import Box, stripes

FIRST, END = date(2026, 1, 1), date(2026, 3, 1)
EN = words("en")


def point(day: int, logmar: float, role: str = "amblyopic", series: str = "HOTV", reliable: bool = True) -> AcuityPoint:
    return AcuityPoint(FIRST + timedelta(days=day), role, logmar, reliable, series, 0.18, role)


def chart(*points: AcuityPoint):
    return acuity_chart(points, (PhaseBand(FIRST, END, "occlusion"),), FIRST, END, EN)


@given(st.lists(st.floats(-0.3, 2.3), min_size=1, max_size=12))
def test_lower_logmar_lies_lower_and_every_mark_inside_the_frame(values: list[float]) -> None:
    for plate in chart(*(point(n, v) for n, v in enumerate(values))).plates:
        marks = [m for line in plate.lines for m in line.marks]
        for (one, v), (other, u) in zip(zip(marks, values, strict=True), list(zip(marks, values, strict=True))[1:], strict=False):
            if v < u - 0.02:
                assert one.y > other.y
        assert all(plate.frame.left <= m.x <= plate.frame.right and 0 <= m.y <= plate.bottom for m in marks)


def test_a_change_of_test_breaks_the_line_and_starts_a_new_series() -> None:
    for plate in chart(point(0, 0.8, series="grating cards"), point(10, 0.7, series="grating cards"), point(20, 0.6), point(30, 0.5)).plates:
        assert len(plate.lines) == 2 and len(plate.changes) == 1
        assert {t.text for t in plate.tests} == {"grating cards", "HOTV"}


def test_the_eyes_differ_by_more_than_colour_and_a_poor_reading_by_its_fill() -> None:
    plate = chart(point(0, 0.6), point(10, 0.5, reliable=False), point(0, 0.1, "fellow"), point(10, 0.0, "fellow")).plates[0]
    amblyopic, fellow = plate.lines
    assert amblyopic.style != fellow.style and amblyopic.marks[0].outline != fellow.marks[0].outline
    assert [m.reliable for m in amblyopic.marks] == [True, False]
    assert len(plate.ends) == 2, "each line is named at its end"


def test_both_charts_share_their_time_axis() -> None:
    doses = dose_chart([WeekDose(FIRST, 840, 600, 1, 0)], (), FIRST, END, EN)
    for above, below in zip(chart(point(0, 0.5)).plates, doses.plates, strict=True):
        assert above.frame.left == below.frame.left and above.frame.right == below.frame.right
        assert [(t.at, t.text) for t in above.days] == [(t.at, t.text) for t in below.days]


def test_a_chart_says_in_words_what_it_shows() -> None:
    found = chart(point(0, 0.6), point(10, 0.4))
    assert found.title and "0.40" in found.desc


def test_a_value_lies_where_its_ticks_say_and_its_bar_as_far_as_it_repeats() -> None:
    for plate in chart(point(0, 0.4), point(30, 0.8)).plates:
        at = {t.text: t.at for t in plate.values}
        for mark, tick in zip(plate.lines[0].marks, ("0.4", "0.8"), strict=True):
            assert mark.y == pytest.approx(at[tick], abs=0.1)
            assert mark.bar is not None
            high, low = mark.bar
            assert low - high == pytest.approx(2 * 0.18 / 0.2 * (at["0.4"] - at["0.6"]), abs=0.2)


@given(st.integers(1, 4000), st.dates(date(2000, 1, 1), date(2060, 1, 1)))
def test_dates_on_the_axis_leave_room_to_read_whatever_the_span(days: int, first_on: date) -> None:
    for plate in dose_chart([WeekDose(first_on, 840, 600, 0, 0)], (), first_on, first_on + timedelta(days=days), EN).plates:
        places = [t.at for t in plate.days]
        assert all(later - earlier >= 3 * plate.frame.text for earlier, later in pairwise(places))
        assert plate.days[0].year, "the first date carries its year"


@given(st.lists(st.sampled_from(["occlusion", "pause", "refractive adaptation"]), min_size=1, max_size=9), st.integers(3, 40))
def test_names_of_phases_never_run_into_one_another(labels: list[str], length: int) -> None:
    days = [FIRST + timedelta(days=n * length) for n in range(len(labels) + 1)]
    phases = [PhaseBand(begin, end, label) for (begin, end), label in zip(pairwise(days), labels, strict=True)]
    for plate in acuity_chart([point(0, 0.5)], phases, days[0], days[-1], EN).plates:
        for row in {n.y for n in plate.names}:
            names = sorted((n.x, n.x + plate.frame.width_of(n.text)) for n in plate.names if n.y == row)
            assert all(end <= begin for (_, end), (begin, _) in pairwise(names))


def test_the_eyes_names_stay_apart_where_the_lines_end_together() -> None:
    for plate in chart(point(10, 0.0), point(10, 0.0, "fellow")).plates:
        one, other = (end.lines[0].y for end in plate.ends)
        assert other - one >= plate.frame.text and other <= plate.bottom


def test_a_week_is_received_then_without_correction_then_unknown_up_to_what_was_prescribed() -> None:
    week = WeekDose(FIRST, prescribed_minutes=7 * 120, received_minutes=4 * 120, days_unknown=2, without_correction_minutes=120)
    for plate in dose_chart([week], (), FIRST, END, EN).plates:
        at = {t.text: t.at for t in plate.values}
        (bar,) = plate.bars
        assert bar.received.y + bar.received.height == pytest.approx(at["0"], abs=0.1)
        assert bar.without_correction.y + bar.without_correction.height == pytest.approx(bar.received.y, abs=0.1)
        assert bar.unknown.y == pytest.approx(at["2"], abs=0.3), "four days, one without, two unknown: all seven at 2 h"
        assert bar.stripes
        assert {float(p.split(",")[1]) for p in plate.prescribed[0].split()} == {at["2"]}


def test_the_prescribed_line_breaks_over_weeks_with_nothing_prescribed() -> None:
    weeks = [WeekDose(FIRST + timedelta(weeks=n), 0 if n == 2 else 840, 0, 0, 0) for n in range(5)]
    for plate in dose_chart(weeks, (), FIRST, END, EN).plates:
        assert [len(line.split()) for line in plate.prescribed] == [4, 4]


@given(st.floats(0, 60), st.floats(0, 200))
def test_stripes_stay_inside_their_box(width: float, height: float) -> None:
    places = [float(n) for n in re.findall(r"[\d.]+", stripes(Box(10, 20, width, height)))]
    assert all(9.9 <= x <= 10.1 + width for x in places[::2]) and all(19.9 <= y <= 20.1 + height for y in places[1::2])


@given(st.lists(st.tuples(st.integers(0, 960), st.none() | st.integers(0, 960)), min_size=7, max_size=7))
def test_the_week_fills_to_what_was_worn_lines_what_was_prescribed_and_stripes_the_unknown(days: list[tuple[int, int | None]]) -> None:
    shown = [WeekDay(FIRST + timedelta(days=n), "x", prescribed, received, "said") for n, (prescribed, received) in enumerate(days)]
    found = week_bars(shown, "week")
    for column, (prescribed, received) in zip(found.columns, days, strict=True):
        assert bool(column.stripes) is (received is None and prescribed > 0)
        assert bool(column.prescribed) is (prescribed > 0)
        height = column.worn.height if column.worn else 0
        assert (height > 0) is bool(received) or (received or 0) < 5
        assert column.space.y >= 0 and column.space.y + column.space.height <= found.height


def test_no_template_carries_what_the_policy_would_block() -> None:
    pages = (Path(__file__).parents[2] / "templates").rglob("*.html")
    assert [p.name for p in pages if re.search(r'\sstyle="(?!radio|select)|<style|<script(?! src="\{\{ static\()|\son[a-z]+="', p.read_text())] == []


def test_without_a_point_there_is_no_chart() -> None:
    with pytest.raises(ValueError, match=r"."):
        chart()


def curves(*points: tuple[float, float], half_bar: float = 0.1, area: tuple[tuple[float, float], ...] = ()):
    measured = tuple(CurveMeasured(at, half_bar, "said") for at in points)
    return curve_chart(CurveChart("t", "d", "a", (Curve("this child", "first", points),), area, measured), EN)


@given(st.lists(st.tuples(st.floats(0, 3000), st.floats(-20, 30)), min_size=2, max_size=12, unique_by=lambda p: round(p[0])), st.floats(0, 3))
def test_a_curve_its_points_and_its_band_stay_inside_the_frame_and_more_lies_higher(points: list[tuple[float, float]], half_bar: float) -> None:
    points = sorted(points)
    for plate in curves(*points, half_bar=half_bar, area=band_outline([x for x, _ in points], [y - 1 for _, y in points], [y + 1 for _, y in points])).plates:
        curve, marks = plate.lines
        places = [tuple(map(float, p.split(","))) for p in f"{curve.points} {plate.areas[0].points}".split()]
        assert all(plate.frame.left - 0.1 <= x <= plate.frame.right + 0.1 and 0 <= y <= plate.bottom + 0.1 for x, y in places)
        assert all(m.bar and 0 <= m.bar[0] <= m.y <= m.bar[1] <= plate.bottom + 0.1 for m in marks.marks)
        for (one, v), (other, u) in pairwise(zip((m.y for m in marks.marks), (y for _, y in points), strict=True)):
            assert v <= u or one <= other
        assert len(plate.areas[0].points.split()) == 2 * len(points) and plate.ends[0].lines[0].text == "this child"


def test_a_curve_lies_where_the_ticks_of_both_axes_say() -> None:
    for plate in curves((0, 0), (100, 0.2), (200, 0.4)).plates:
        across, up = ({t.text: t.at for t in ticks} for ticks in (plate.days, plate.values))
        assert plate.lines[0].points.split()[1] == f"{across['100']},{up['0.2']}"


def test_without_a_curve_there_is_no_chart() -> None:
    with pytest.raises(ValueError, match="no curves"):
        curve_chart(CurveChart("t", "d", "a", ()), EN)
