"""What every chart over time is drawn on: a frame, two axes, phases, and words that do not run into one another. Units are those of a viewBox, y downwards."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import ceil

from babel.dates import format_date
from babel.numbers import format_decimal

from service.i18n import Words
from shared.findings import msg
from shared.rounding import round_half_up

SHORTEST_DAYS = 28  # a first visit alone still gets an axis to stand on
STRIPE = 5.0  # from one stripe to the next
LETTER = 0.54  # width of a letter, as a share of the text's size: an average for a sans serif


def near(value: float) -> float:
    """A coordinate short enough to print."""
    return round_half_up(value, 0.1)


@dataclass(frozen=True)
class Frame:
    """One size of chart: its whole width, the sides of the plot, the size of its text."""

    name: str
    width: float
    left: float
    right: float
    text: float

    @property
    def line(self) -> float:
        """From one line of text to the next."""
        return self.text * 1.2

    def width_of(self, text: str) -> float:
        return len(text) * LETTER * self.text


NARROW = Frame("narrow", 320, 32, 242, 12)
WIDE = Frame("wide", 680, 38, 586, 13)
FRAMES = (NARROW, WIDE)


@dataclass(frozen=True)
class Tick:
    at: float
    text: str
    year: str = ""


@dataclass(frozen=True)
class Label:
    x: float
    y: float
    text: str


@dataclass(frozen=True)
class End:
    """What a line is called, beside its end, in lines of text."""

    style: str
    lines: tuple[Label, ...]


@dataclass(frozen=True)
class PhaseBand:
    """A phase over half-open days."""

    first_on: date
    end_on: date
    label: str


@dataclass(frozen=True)
class Box:
    x: float
    y: float
    width: float
    height: float


@dataclass(frozen=True)
class Band:
    box: Box
    title: str


@dataclass(frozen=True)
class TimeAxis:
    """Half-open days across the plot of a frame."""

    frame: Frame
    first_on: date
    end_on: date

    @property
    def days(self) -> int:
        return max((self.end_on - self.first_on).days, SHORTEST_DAYS)

    def x(self, day: date) -> float:
        """Where a day begins; held inside the plot."""
        share = (day - self.first_on).days / self.days
        return self.frame.left + min(max(share, 0.0), 1.0) * (self.frame.right - self.frame.left)

    def ticks(self, words: Words) -> tuple[Tick, ...]:
        """At the finest step that leaves room to read; the year where it begins."""
        room = 4.5 * self.frame.text
        steps = [list(self._weeks(n)) for n in (1, 2)] + [list(self._months(n)) for n in (1, 2, 3, 6, 12, 24, 60, 120)]
        distance = (self.frame.right - self.frame.left) / self.days
        least = [7 * distance, 14 * distance] + [30 * n * distance for n in (1, 2, 3, 6, 12, 24, 60, 120)]
        n = next((n for n, d in enumerate(least) if d >= room), len(least) - 1)
        form, ticks, year = "d MMM" if n < 2 else "MMM", [], 0
        for day in steps[n]:
            ticks.append(Tick(near(self.x(day)), format_date(day, form, locale=words.locale), str(day.year) if day.year != year else ""))
            year = day.year
        return tuple(ticks)

    def _weeks(self, step: int) -> Iterator[date]:
        return (self.first_on + timedelta(days=n) for n in range(0, self.days, 7 * step))

    def _months(self, step: int) -> Iterator[date]:
        """Firsts of the months whose count since year 0 the step divides, so that a half-year begins in January or July."""
        last_on = self.first_on + timedelta(days=self.days)
        month = -(-(self.first_on.year * 12 + self.first_on.month - (self.first_on.day == 1)) // step) * step
        while (day := date(month // 12, month % 12 + 1, 1)) < last_on:
            yield day
            month += step


@dataclass(frozen=True)
class Scale:
    """A linear value axis: `low` lies on `bottom`, `high` on `top`."""

    low: float
    high: float
    step: float
    top: float
    bottom: float

    def y(self, value: float) -> float:
        return self.bottom - (value - self.low) / (self.high - self.low) * (self.bottom - self.top)

    def ticks(self, form: str, words: Words) -> tuple[Tick, ...]:
        """`form` is a number pattern of Unicode's locale data, as `0.0`."""
        values = [self.low + n * self.step for n in range(int(round_half_up((self.high - self.low) / self.step)) + 1)]
        return tuple(Tick(near(self.y(v)), tick_text(v, form, words)) for v in values)


def tick_text(value: float, form: str, words: Words) -> str:
    """A number beside an axis, with a minus sign and not a hyphen."""
    value = near(value)
    return ("\u2212" if value < 0 else "") + format_decimal(abs(value), format=form, locale=words.locale)


@dataclass(frozen=True)
class Plate:
    """One size of a chart over time, as far as all have it: from the words above the plot to the dates below."""

    frame: Frame
    height: float
    bottom: float
    title_y: float
    bands: tuple[Band, ...]
    names: tuple[Label, ...]
    days: tuple[Tick, ...]
    days_y: float
    years_y: float
    values: tuple[Tick, ...]
    ends: tuple[End, ...]


def band_title(band: PhaseBand, words: Words) -> str:
    last_on = band.end_on - timedelta(days=1)
    return words.text(msg("%(phase)s, %(first)s to %(last)s", phase=band.label, first=band.first_on, last=last_on))


def bands_drawn(bands: Sequence[PhaseBand], axis: TimeAxis, top: float, bottom: float, words: Words) -> tuple[Band, ...]:
    def box(band: PhaseBand) -> Box:
        x = axis.x(band.first_on)
        return Box(near(x), near(top), near(axis.x(band.end_on) - x), near(bottom - top))

    return tuple(Band(box(band), band_title(band, words)) for band in bands)


def in_rows(wanted: Iterable[tuple[float, str]], frame: Frame, first_y: float) -> tuple[Label, ...]:
    """(x, text) pairs, ascending, each in the first of two rows where it runs into no other; one without room stays in the description alone."""
    free_from = [0.0, 0.0]
    labels = []
    for x, text in wanted:
        begins = max(0.0, min(x, frame.width - frame.width_of(text)))
        row = next((n for n, free in enumerate(free_from) if begins >= free), None)
        if row is not None:
            labels.append(Label(near(begins), near(first_y + row * frame.line), text))
            free_from[row] = begins + frame.width_of(text) + frame.text / 2
    return tuple(labels)


def ends(wanted: Iterable[tuple[str, str, float]], x: float, frame: Frame, bottom: float) -> tuple[End, ...]:
    """(style, text, y of the end), named side by side at `x`, moved apart where they would overlap, none below `bottom`."""
    ordered = sorted(wanted, key=lambda w: w[2])
    texts = [_wrapped(text, frame.width - x, frame) for _, text, _ in ordered]
    centres = [(len(lines) - 1) * frame.line / 2 for lines in texts]
    firsts = [y - centre for (_, _, y), centre in zip(ordered, centres, strict=True)]
    for n in range(1, len(firsts)):
        firsts[n] = max(firsts[n], firsts[n - 1] + (len(texts[n - 1]) + 0.3) * frame.line)
    below = bottom
    for n in reversed(range(len(firsts))):
        firsts[n] = min(firsts[n], below - (len(texts[n]) - 1) * frame.line)
        below = firsts[n] - 1.3 * frame.line
    return tuple(
        End(style, tuple(Label(near(x), near(y + n * frame.line), line) for n, line in enumerate(lines)))
        for (style, _, _), lines, y in zip(ordered, texts, firsts, strict=True)
    )


def _wrapped(text: str, room: float, frame: Frame) -> list[str]:
    lines: list[str] = []
    for word in text.split():
        if lines and frame.width_of(f"{lines[-1]} {word}") <= room:
            lines[-1] += f" {word}"
        else:
            lines.append(word)
    return lines


def stripes(box: Box) -> str:
    """A path of slanting lines that fill a box: drawn here, for a pattern would need an id of its own on every page."""
    right, bottom = box.x + box.width, box.y + box.height
    path = []
    for n in range(1, ceil((box.width + box.height) / STRIPE)):
        across = n * STRIPE
        x, y = (box.x + across, box.y) if across <= box.width else (right, box.y + across - box.width)
        end_x, end_y = (box.x, box.y + across) if across <= box.height else (box.x + across - box.height, bottom)
        path.append(f"M{near(x)} {near(y)}L{near(end_x)} {near(end_y)}")
    return "".join(path)
