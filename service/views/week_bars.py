"""The family's week as small columns."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from service.views.plates import Box, Label, near, stripes

APART, WIDTH, TOP, HEIGHT = 46.0, 28.0, 6.0, 84.0
EMPTY = 10.0  # a day with nothing prescribed still has a place to stand


@dataclass(frozen=True)
class WeekDay:
    """One day as the family sees it; `received_minutes` is None where nothing is known."""

    on: date
    label: str
    prescribed_minutes: int
    received_minutes: int | None
    text: str


@dataclass(frozen=True)
class DayColumn:
    """`space` is the day's whole column, hollow; `worn` fills it from the ground; `prescribed` is the path of a line at what was prescribed."""

    label: Label
    space: Box
    worn: Box | None
    stripes: str
    prescribed: str
    title: str


@dataclass(frozen=True)
class WeekBars:
    title: str
    desc: str
    width: float
    height: float
    columns: tuple[DayColumn, ...]


def week_bars(days: Sequence[WeekDay], title: str) -> WeekBars:
    """Columns on one scale, in minutes, which the most of the days shown fills."""
    most = max([1, *(max(d.prescribed_minutes, d.received_minutes or 0) for d in days)])
    columns = tuple(_column(n, d, most) for n, d in enumerate(days))
    desc = "; ".join(f"{d.label}: {d.text}" for d in days)
    return WeekBars(title, desc, APART * len(days), HEIGHT + 28, columns)


def _column(n: int, d: WeekDay, most: int) -> DayColumn:
    x, ground = n * APART + (APART - WIDTH) / 2, TOP + HEIGHT

    def box(minutes: int) -> Box:
        height = near(minutes / most * HEIGHT)
        return Box(x, near(ground - height), WIDTH, height)

    prescribed = box(d.prescribed_minutes)
    return DayColumn(
        label=Label(x + WIDTH / 2, ground + 18, d.label),
        space=prescribed if d.prescribed_minutes else Box(x, ground - EMPTY, WIDTH, EMPTY),
        worn=None if d.received_minutes is None else box(d.received_minutes),
        stripes=stripes(prescribed) if d.received_minutes is None and d.prescribed_minutes else "",
        prescribed=f"M{x - 4} {prescribed.y}h{WIDTH + 8}" if d.prescribed_minutes else "",
        title=f"{d.label}: {d.text}",
    )
