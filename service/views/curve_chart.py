"""Curves of one measure against hours or age, with the band in which most children lie: drawn on the plates that acuity is drawn on."""

from collections.abc import Sequence
from dataclasses import dataclass

from service.i18n import Words
from service.views.acuity_chart import FILLED_MARKS, Line, LineChart, LinePlate, Mark, Traced
from service.views.measure_chart import value_scale
from service.views.plates import FRAMES, NARROW, WIDE, Frame, Scale, Tick, ends, near, tick_text

HEIGHT = {NARROW: 170.0, WIDE: 210.0}
MOST_TICKS = 6
STEPS = (0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0, 1000.0, 2000.0, 5000.0, 10000.0)

Point = tuple[float, float]


@dataclass(frozen=True)
class Curve:
    """A line with its name at the end; `style` is one of those of the style sheet: first, second, third."""

    label: str
    style: str
    points: tuple[Point, ...]


@dataclass(frozen=True)
class Measured:
    """One measured value, with half of its bar and what is said of it."""

    at: Point
    half_bar: float
    title: str


@dataclass(frozen=True)
class CurveChart:
    """What is drawn: `area` is the outline of a band. Both axes are named in `axis`, and `desc` says in words what is seen."""

    title: str
    desc: str
    axis: str
    curves: tuple[Curve, ...]
    area: tuple[Point, ...] = ()
    measured: tuple[Measured, ...] = ()


def band_outline(xs: Sequence[float], lows: Sequence[float], highs: Sequence[float]) -> tuple[Point, ...]:
    """Along the lower edge, and back along the upper one."""
    return (*zip(xs, lows, strict=True), *reversed(list(zip(xs, highs, strict=True))))


def curve_chart(chart: CurveChart, words: Words) -> LineChart:
    """Raises `ValueError` without a curve."""
    if not chart.curves:
        raise ValueError("no curves")
    return LineChart(chart.title, chart.desc, chart.axis, tuple(_plate(chart, frame, words) for frame in FRAMES))


@dataclass(frozen=True)
class _Across:
    """The horizontal axis of a frame."""

    frame: Frame
    low: float
    high: float

    def x(self, value: float) -> float:
        return self.frame.left + (value - self.low) / (self.high - self.low) * (self.frame.right - self.frame.left)

    def ticks(self, words: Words) -> tuple[Tick, ...]:
        step = next((s for s in STEPS if (self.high - self.low) / s <= MOST_TICKS), STEPS[-1])
        first = -int(-self.low // step)
        values = [n * step for n in range(first, int(self.high / step + 1e-9) + 1)]
        return tuple(Tick(near(self.x(v)), tick_text(v, "0.#", words)) for v in values)


def _plate(chart: CurveChart, frame: Frame, words: Words) -> LinePlate:
    every = [p for c in chart.curves for p in c.points] + list(chart.area)
    across = _Across(frame, min(x for x, _ in every), max(x for x, _ in every))
    top = 2.2 * frame.line
    bottom = top + HEIGHT[frame]
    heights = [y for _, y in every] + [m.at[1] + side * m.half_bar for m in chart.measured for side in (-1, 1)]
    scale = value_scale(heights, top, bottom)
    return LinePlate(
        frame=frame,
        height=near(bottom + 1.7 * frame.line),
        bottom=near(bottom),
        title_y=frame.text,
        bands=(),
        names=(),
        days=across.ticks(words),
        days_y=near(bottom + 1.35 * frame.line),
        years_y=near(bottom + 1.35 * frame.line),
        values=scale.ticks("0.#" if scale.step < 1 else "0", words),
        ends=ends([(c.style, c.label, scale.y(c.points[-1][1])) for c in chart.curves], frame.right + 10, frame, bottom),
        lines=(*(_curve(c, across, scale) for c in chart.curves), *_marks(chart, across, scale)),
        tests=(),
        changes=(),
        areas=(Traced("band", _printed(chart.area, across, scale), chart.title),) if chart.area else (),
    )


def _curve(c: Curve, across: _Across, scale: Scale) -> Line:
    return Line(c.style, _printed(c.points, across, scale), ())


def _printed(points: Sequence[Point], across: _Across, scale: Scale) -> str:
    return " ".join(f"{near(across.x(x))},{near(scale.y(y))}" for x, y in points)


def _marks(chart: CurveChart, across: _Across, scale: Scale) -> tuple[Line, ...]:
    if not chart.measured:
        return ()
    marks = tuple(_mark(m, across, scale) for m in chart.measured)
    return (Line("first", "", marks),)


def _mark(m: Measured, across: _Across, scale: Scale) -> Mark:
    x, y = m.at
    bar = (near(scale.y(y + m.half_bar)), near(scale.y(y - m.half_bar)))
    return Mark(near(across.x(x)), near(scale.y(y)), FILLED_MARKS[0], True, bar, m.title)
