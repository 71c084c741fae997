"""One measure of both eyes over time, in its own unit: drawn as acuity is, without tests or bars."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import ceil, floor

from service.i18n import Words
from service.views.acuity_chart import FILLED_MARKS, HOLLOW_MARKS, Line, LineChart, LinePlate, Mark, Traced
from service.views.plates import FRAMES, NARROW, WIDE, Frame, Scale, TimeAxis, ends, near
from shared.findings import Message, Quantity, Unit, msg
from shared.vocabulary import Laterality

HEIGHT = {NARROW: 120.0, WIDE: 130.0}
STEPS = (0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0)
MOST_STEPS = 6


@dataclass(frozen=True)
class Measured:
    on: date
    eye: Laterality
    value: float


@dataclass(frozen=True)
class Curve:
    """What was published or is expected, by dates: named at its end where it has a `label`."""

    style: str  # forecast | published
    label: str
    points: tuple[tuple[date, float], ...]


@dataclass(frozen=True)
class Area:
    """Between two curves over the same dates: (day, low, high)."""

    title: str
    points: tuple[tuple[date, float, float], ...]


def measure_chart(name: str, unit: Unit, points: Sequence[Measured], words: Words, curves: Sequence[Curve] = (), areas: Sequence[Area] = ()) -> LineChart:
    """Right eye solid and filled, left eye dashed and hollow, over areas and curves that were not measured. Raises `ValueError` without any point."""
    if not points:
        raise ValueError("no points")
    points = sorted(points, key=lambda p: p.on)
    sentences = [words.text(_spoken(p, unit)) for p in points]
    sentences += [*(a.title for a in areas), *(c.label for c in curves if c.label)]
    days = [p.on for p in points] + [on for c in curves for on, _ in c.points] + [on for a in areas for on, _, _ in a.points]
    first_on, end_on = min(days), max(days) + timedelta(days=1)
    plates = tuple(_plate(points, unit, TimeAxis(frame, first_on, end_on), words, curves, areas) for frame in FRAMES)
    return LineChart(words.text(msg("%(what)s over time", what=name)), "; ".join(sentences), f"{name}, {words.gettext(unit)}", plates)


def _spoken(p: Measured, unit: Unit) -> Message:
    return msg("%(eye)s eye, %(on)s: %(value)s", eye=p.eye, on=p.on, value=Quantity(p.value, unit))


def _plate(points: Sequence[Measured], unit: Unit, axis: TimeAxis, words: Words, curves: Sequence[Curve], areas: Sequence[Area]) -> LinePlate:
    frame = axis.frame
    top = 2.2 * frame.line
    bottom = top + HEIGHT[frame]
    beside = [value for c in curves for _, value in c.points] + [value for a in areas for _, *ends in a.points for value in ends]
    scale = value_scale([p.value for p in points] + beside, top, bottom)
    last = {p.eye: p for p in points}
    named = [(_style(p.eye), words.label(p.eye), scale.y(p.value)) for p in last.values()]
    named += [(c.style, c.label, scale.y(c.points[-1][1])) for c in curves if c.label]
    return LinePlate(
        frame=frame,
        height=near(bottom + 2.7 * frame.line),
        bottom=near(bottom),
        title_y=frame.text,
        bands=(),
        names=(),
        days=axis.ticks(words),
        days_y=near(bottom + 1.35 * frame.line),
        years_y=near(bottom + 2.35 * frame.line),
        values=scale.ticks("0.#" if scale.step < 1 else "0", words),
        ends=ends(named, _end_x([p.on for p in points] + [on for c in curves for on, _ in c.points], axis, frame), frame, bottom),
        lines=tuple(_line(eye, [p for p in points if p.eye is eye], unit, axis, scale, words) for eye in Laterality if eye in last),
        tests=(),
        changes=(),
        areas=tuple(Traced("forecast", _area_points(a, axis, scale), a.title) for a in areas),
        curves=tuple(Traced(c.style, _traced(c.points, axis, scale), c.label) for c in curves),
    )


def _traced(points: Sequence[tuple[date, float]], axis: TimeAxis, scale: Scale) -> str:
    return " ".join(f"{near(axis.x(on))},{near(scale.y(value))}" for on, value in points)


def _area_points(area: Area, axis: TimeAxis, scale: Scale) -> str:
    above = [(on, high) for on, _, high in area.points]
    below = [(on, low) for on, low, _ in reversed(area.points)]
    return _traced([*above, *below], axis, scale)


def _end_x(days: Sequence[date], axis: TimeAxis, frame: Frame) -> float:
    return min(axis.x(max(days)) + 10, frame.right + 10)


def value_scale(values: Sequence[float], top: float, bottom: float) -> Scale:
    """Whole steps that hold every value, never fewer than two."""
    low, high = min(values), max(values)
    step = next((s for s in STEPS if ceil(high / s) - floor(low / s) <= MOST_STEPS), STEPS[-1])
    first, last = floor(low / step), ceil(high / step)
    if last - first < 2:
        first, last = first - 1, first + 1
    return Scale(first * step, last * step, step, top, bottom)


def _style(eye: Laterality) -> str:
    return "first" if eye is Laterality.RIGHT else "second"


def _line(eye: Laterality, points: Sequence[Measured], unit: Unit, axis: TimeAxis, scale: Scale, words: Words) -> Line:
    outline = (FILLED_MARKS if eye is Laterality.RIGHT else HOLLOW_MARKS)[0]
    marks = tuple(Mark(near(axis.x(p.on)), near(scale.y(p.value)), outline, True, None, words.text(_spoken(p, unit))) for p in points)
    return Line(_style(eye), " ".join(f"{m.x},{m.y}" for m in marks) if len(marks) > 1 else "", marks)
