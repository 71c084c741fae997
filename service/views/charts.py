"""Geometry of the charts: pure functions from facts to coordinates, which the macros of `partials/charts.html` only print.

A chart over time comes in two sizes drawn alike, a narrow one for the phone and a wide one for the desk; the style sheet shows the one
that fits, so that its words stay legible. Charts of one size share their time axis and can stand above one another.
"""

from service.views.acuity_chart import AcuityPoint, LineChart, acuity_chart
from service.views.dose_chart import LEGEND, DoseChart, WeekDose, dose_chart
from service.views.plates import PhaseBand
from service.views.week_bars import WeekBars, WeekDay, week_bars

__all__ = ["LEGEND", "AcuityPoint", "DoseChart", "LineChart", "PhaseBand", "WeekBars", "WeekDay", "WeekDose", "acuity_chart", "dose_chart", "week_bars"]
