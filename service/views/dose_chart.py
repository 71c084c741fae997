"""Occlusion dose by week: received, worn without the correction, unknown, and the line that was prescribed."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import ceil

from service.i18n import Words
from service.views.plates import FRAMES, NARROW, WIDE, Box, PhaseBand, Plate, Scale, TimeAxis, bands_drawn, ends, near, stripes
from shared.findings import msg

HEIGHT = {NARROW: 90.0, WIDE: 110.0}


LEGEND = msg("Filled: received; outlined: worn without the correction; striped: unknown; line: prescribed.")


@dataclass(frozen=True)
class WeekDose:
    """Whole minutes over the `days` days from `first_on`. Days unknown are among those with minutes prescribed."""

    first_on: date
    prescribed_minutes: int
    received_minutes: int
    days_unknown: int
    without_correction_minutes: int
    days: int = 7
    days_prescribed: int | None = None  # None: all of them

    def hours_a_day(self, minutes: float) -> float:
        return minutes / 60 / self.days

    @property
    def unknown_minutes(self) -> float:
        """What the unknown days would add, had they been worn as prescribed."""
        return self.prescribed_minutes * self.days_unknown / (self.days_prescribed or self.days)


@dataclass(frozen=True)
class Bar:
    """One week, from the ground up: received, worn without the correction, unknown (with its stripes, a path)."""

    received: Box
    without_correction: Box
    unknown: Box
    stripes: str
    title: str


@dataclass(frozen=True)
class DosePlate(Plate):
    bars: tuple[Bar, ...]
    prescribed: tuple[str, ...]  # polylines, broken where nothing was prescribed


@dataclass(frozen=True)
class DoseChart:
    title: str
    desc: str
    axis: str
    plates: tuple[DosePlate, ...]


def dose_chart(weeks: Sequence[WeekDose], bands: Sequence[PhaseBand], first_on: date, end_on: date, words: Words) -> DoseChart:
    """Hours a day, the mean of each week, on the time axis of `acuity_chart`. Raises `ValueError` without any week."""
    if not weeks:
        raise ValueError("no weeks")
    desc = msg(
        "%(received)s received of %(prescribed)s prescribed; %(days)s days unknown.",
        received=words.hours(sum(w.received_minutes for w in weeks)),
        prescribed=words.hours(sum(w.prescribed_minutes for w in weeks)),
        days=sum(w.days_unknown for w in weeks),
    )
    return DoseChart(
        title=words.gettext("Occlusion dose by week"),
        desc=words.text(desc),
        axis=words.gettext("hours a day, mean of each week"),
        plates=tuple(_dose_plate(weeks, bands, TimeAxis(frame, first_on, end_on), words) for frame in FRAMES),
    )


def _dose_plate(weeks: Sequence[WeekDose], bands: Sequence[PhaseBand], axis: TimeAxis, words: Words) -> DosePlate:
    frame = axis.frame
    top = 2 * frame.line
    bottom = top + HEIGHT[frame]
    most = max(w.hours_a_day(max(w.prescribed_minutes, w.received_minutes + w.without_correction_minutes + w.unknown_minutes)) for w in weeks)
    step = next(step for step in (1, 2, 4, 6) if most <= 4 * step or step == 6)
    scale = Scale(0, max(1, ceil(most / step - 1e-9)) * step, step, top, bottom)
    last = weeks[-1]
    wanted = [("received", words.gettext("received"), scale.y(last.hours_a_day(last.received_minutes) / 2))]
    if last.prescribed_minutes:
        wanted.append(("prescribed", words.gettext("prescribed"), scale.y(last.hours_a_day(last.prescribed_minutes))))
    return DosePlate(
        frame=frame,
        height=near(bottom + 2.7 * frame.line),
        bottom=near(bottom),
        title_y=frame.text,
        bands=bands_drawn(bands, axis, top, bottom, words),
        names=(),
        days=axis.ticks(words),
        days_y=near(bottom + 1.35 * frame.line),
        years_y=near(bottom + 2.35 * frame.line),
        values=scale.ticks("0", words),
        ends=ends(wanted, axis.x(_end_on(last)) + 6, frame, bottom),
        bars=tuple(_bar(w, axis, scale, words) for w in weeks),
        prescribed=tuple(_prescribed(weeks, axis, scale)),
    )


def _end_on(w: WeekDose) -> date:
    return w.first_on + timedelta(days=w.days)


def _bar(w: WeekDose, axis: TimeAxis, scale: Scale, words: Words) -> Bar:
    x, end = axis.x(w.first_on), axis.x(_end_on(w))
    margin = (end - x) * 0.08

    def box(on_top_of: float, minutes: float) -> Box:
        low, high = (scale.y(w.hours_a_day(m)) for m in (on_top_of, on_top_of + minutes))
        return Box(near(x + margin), near(high), near(end - x - 2 * margin), near(low - high))

    unknown = box(w.received_minutes + w.without_correction_minutes, w.unknown_minutes)
    title = msg(
        "Week from %(on)s: %(received)s of %(prescribed)s; %(days)s days unknown; %(without)s without correction",
        on=w.first_on,
        received=words.hours(w.received_minutes),
        prescribed=words.hours(w.prescribed_minutes),
        days=w.days_unknown,
        without=words.hours(w.without_correction_minutes),
    )
    return Bar(box(0, w.received_minutes), box(w.received_minutes, w.without_correction_minutes), unknown, stripes(unknown), words.text(title))


def _prescribed(weeks: Sequence[WeekDose], axis: TimeAxis, scale: Scale) -> Iterable[str]:
    """A level for each week, joined to the next where that follows at once."""
    line: list[str] = []
    end_on = None
    for w in weeks:
        if line and (not w.prescribed_minutes or w.first_on != end_on):
            yield " ".join(line)
            line = []
        if w.prescribed_minutes:
            y = near(scale.y(w.hours_a_day(w.prescribed_minutes)))
            line += [f"{near(axis.x(day))},{y}" for day in (w.first_on, _end_on(w))]
        end_on = _end_on(w)
    if line:
        yield " ".join(line)
