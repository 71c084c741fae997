"""The expected response on the review: whose model it is, gain against hours as a chart with its table, and the outlook of each dose. For staff alone."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

from service.calculations.response_tables import in_hours, outlook_grid
from service.i18n import Words
from service.views.acuity_chart import LineChart
from service.views.calculation_page import GridShown, grid_shown
from service.views.case import Case
from service.views.curve_chart import Curve, CurveChart, Measured, band_outline, curve_chart
from service.views.response_facts import Gathered, gather
from service.views.shown import FindingShown, finding_shown
from shared.course.expected_response import Expected, expected_response, published_doses
from shared.course.response import LINE_LOGMAR, Band
from shared.dates import DAYS_A_WEEK
from shared.errors import ClinicalInputError
from shared.findings import Message, Quantity, Unit, msg
from shared.rounding import round_half_up
from shared.sources import number

OWN_MODEL = "own-response-model"
STEPS = 16  # from the left edge of the chart to the right one


@dataclass(frozen=True)
class Worked:
    """What was gathered, and what the model makes of it."""

    gathered: Gathered
    expected: Expected

    @property
    def counted_from(self) -> date:
        """The day from which further gain is counted: the last visit's."""
        return self.gathered.observed_on[-1] if self.gathered.observed_on else self.gathered.start_on


def worked(c: Case) -> Worked | Message:
    """The model's answer, or why there is none: a clinic may switch off what rests on memory."""
    off = c.rules.limits.rules_off
    if OWN_MODEL in off:
        return msg("This clinic has switched the own model off.")
    try:
        found = gather(c)
        doses = ((found.as_now,) if found.as_now else ()) + published_doses()
        expected = expected_response(found.course, found.method, doses)
        return Worked(found, replace(expected, findings=tuple(f for f in expected.findings if f.rule not in off)))
    except ClinicalInputError as e:
        return e.message


@dataclass(frozen=True)
class VisitRow:
    on: date
    hours: str
    gain: str
    expected: str


@dataclass(frozen=True)
class ExpectedShown:
    chart: LineChart
    counted_from: date
    test: str
    to_next_line: str
    visits: tuple[VisitRow, ...]
    outlook: GridShown
    findings: tuple[FindingShown, ...]


def shown(w: Worked, words: Words) -> ExpectedShown:
    line = w.expected.now.hours_to_next_line()
    text = msg(
        "Hours to the next %(line)s, half of such children: %(median)s; the fastest tenth: %(low)s; the slowest tenth: %(high)s.",
        line=Quantity(LINE_LOGMAR, Unit.LOGMAR),
        median=in_hours(line.median),
        low=in_hours(line.low),
        high=in_hours(line.high),
    )
    return ExpectedShown(
        chart=_chart(w, words),
        counted_from=w.counted_from,
        test=words.label(w.gathered.method),
        to_next_line=words.text(text),
        visits=tuple(_visits(w, words)),
        outlook=grid_shown(outlook_grid(w.expected), words),
        findings=tuple(finding_shown(f, words) for f in w.expected.findings),
    )


def _visits(w: Worked, words: Words) -> list[VisitRow]:
    rows = []
    for on, seen in zip(w.gathered.observed_on, w.gathered.course.observed, strict=True):
        hours = " – ".join(dict.fromkeys(words.quantity(Quantity(round_half_up(h), Unit.HOURS)) for h in (seen.least_hours, seen.most_hours)))
        rows.append(VisitRow(on, hours, _change(seen.gain_logmar, words), _band(w.expected.before.gain((seen.least_hours + seen.most_hours) / 2), words)))
    return rows


def _change(gain: float, words: Words) -> str:
    return words.quantity(Quantity(gain, Unit.LOGMAR_CHANGE))


def _band(band: Band, words: Words) -> str:
    return f"{_change(band.median, words)} ({_change(band.low, words)} – {_change(band.high, words)})"


def _chart(w: Worked, words: Words) -> LineChart:
    """From no hours to those of the last visit and twelve weeks at two hours more."""
    now, before = w.expected.now, w.expected.before
    reach = now.most_hours + w.expected.weeks * DAYS_A_WEEK * number("ats2b", "hours").value
    hours = [reach * n / STEPS for n in range(STEPS + 1)]
    bands = [now.gain(h) for h in hours]
    return curve_chart(
        CurveChart(
            title=words.gettext("Gain against hours received, own model"),
            desc=_described(w, bands[-1], reach, words),
            axis=words.gettext("gain, logMAR ↑, after hours received →"),
            curves=(
                Curve(words.gettext("this child"), "first", tuple(zip(hours, (b.median for b in bands), strict=True))),
                Curve(words.gettext("before any visit"), "second", tuple((h, before.gain(h).median) for h in hours)),
            ),
            area=band_outline(hours, [b.low for b in bands], [b.high for b in bands]),
            measured=tuple(_measured(w, words)),
        ),
        words,
    )


def _measured(w: Worked, words: Words) -> Sequence[Measured]:
    half = number("holmes-2001", "score").value
    marks = []
    for row, seen in zip(_visits(w, words), w.gathered.course.observed, strict=True):
        title = msg("%(on)s: %(gain)s after %(hours)s", on=row.on, gain=row.gain, hours=row.hours)
        marks.append(Measured(((seen.least_hours + seen.most_hours) / 2, seen.gain_logmar), half, words.text(title)))
    return marks


def _described(w: Worked, last: Band, reach: float, words: Words) -> str:
    text = msg(
        "After %(hours)s in all: %(band)s. Shaded: 80 of 100 children like this one; points: measured, with the error of one score.",
        hours=Quantity(round_half_up(reach), Unit.HOURS),
        band=_band(last, words),
    )
    return " ".join([*(f"{r.gain} ({r.hours})." for r in _visits(w, words)), words.text(text)])
