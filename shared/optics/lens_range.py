"""Ranges of contact lenses as they can be had, and the choice of a power from one. Powers in D, curves and diameters in mm."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from shared.errors import ClinicalInputError
from shared.findings import Quantity, Unit, msg
from shared.lens_words import LensMaterial, WearSchedule
from shared.vocabulary import Status

MOST_POWERS = 1000  # a range of more was mistyped
CURVE_LIMITS_MM = (5.0, 12.0)
DIAMETER_LIMITS_MM = (6.0, 20.0)


@dataclass(frozen=True)
class Span:
    """Powers from `first` to `last` (D) in steps of `step` (D). Raises `ClinicalInputError` naming `powers`."""

    first: float
    last: float
    step: float

    def __post_init__(self) -> None:
        if not all(map(math.isfinite, (self.first, self.last, self.step))) or not -40 <= self.first <= self.last <= 60:
            raise ClinicalInputError(
                "powers",
                msg("Powers from %(first)s to %(last)s D cannot be: upwards, between -40 and +60 D, would.", first=f"{self.first:g}", last=f"{self.last:g}"),
            )
        steps = (self.last - self.first) / self.step if self.step > 0 else math.inf
        if steps > MOST_POWERS or abs(steps - int(steps + 0.5)) > 1e-6:
            raise ClinicalInputError(
                "powers",
                msg("Steps of %(step)s D do not lead from %(first)s to %(last)s D.", step=f"{self.step:g}", first=f"{self.first:g}", last=f"{self.last:g}"),
            )

    @property
    def powers(self) -> tuple[float, ...]:
        """Every power of the span, in D."""
        return tuple(self.first + n * self.step for n in range(int((self.last - self.first) / self.step + 0.5) + 1))

    @property
    def typed(self) -> str:
        """`+20 to +32 by 1`, as it is entered."""
        return f"{_signed(self.first)} to {_signed(self.last)} by {_exact(str(self.step))}"


def _signed(power: float) -> str:
    return _exact(f"{power:+}") if power else "0"


def _exact(number: str) -> str:
    """As Python writes it, every digit: what is kept is read again as the same number."""
    return number.removesuffix(".0")


@dataclass(frozen=True)
class LensRange:
    """What can be had: spans of power (D, steps may differ), base curves and diameters (mm; none listed: not asked), material and wear.

    Raises `ClinicalInputError` naming `powers`, `base_curves_mm` or `diameters_mm`.
    """

    name: str
    spans: tuple[Span, ...]
    status: Status
    base_curves_mm: tuple[float, ...] = ()
    diameters_mm: tuple[float, ...] = ()
    material: LensMaterial | None = None
    wear_schedule: WearSchedule | None = None

    def __post_init__(self) -> None:
        if not self.spans:
            raise ClinicalInputError("powers", msg("A lens range needs its powers, as “+20 to +32 by 1”."))
        for field, values, (low, high) in (("base_curves_mm", self.base_curves_mm, CURVE_LIMITS_MM), ("diameters_mm", self.diameters_mm, DIAMETER_LIMITS_MM)):
            for value in values:
                if not math.isfinite(value) or not low <= value <= high:
                    raise ClinicalInputError(
                        field, msg("%(mm)s mm cannot be; between %(low)s and %(high)s mm would.", mm=f"{value:g}", low=f"{low:g}", high=f"{high:g}")
                    )

    @property
    def powers(self) -> tuple[float, ...]:
        """Every power once, ascending, in D."""
        return tuple(sorted({power for span in self.spans for power in span.powers}))

    def nearest(self, exact: float) -> tuple[float, float]:
        """(power, residual = exact - power) in D; a tie goes toward more plus. Raises `ClinicalInputError` naming `power` outside the range."""
        powers = self.powers
        low, high = powers[0], powers[-1]
        below, above = ((powers[1] - low) / 2, (high - powers[-2]) / 2) if len(powers) > 1 else (0.0, 0.0)
        if not low - below <= exact <= high + above:
            raise ClinicalInputError(
                "power",
                msg(
                    "%(exact)s lies outside this lens range, which goes from %(low)s to %(high)s.",
                    exact=Quantity(exact, Unit.DIOPTRE),
                    low=Quantity(low, Unit.DIOPTRE),
                    high=Quantity(high, Unit.DIOPTRE),
                ),
            )
        power = min(powers, key=lambda p: (abs(p - exact) - (1e-9 if p >= exact else 0.0), -p))
        return power, exact - power


def read_spans(typed: str) -> tuple[Span, ...]:
    """Spans of power as a person types them: `-20 to -6.5 by 0.5; +20 to +32 by 1; 35`. Raises `ClinicalInputError` naming `powers`."""
    return tuple(_read_span(part) for part in typed.replace("\u2212", "-").replace(",", ".").split(";") if part.strip())


def _read_span(part: str) -> Span:
    words = part.split()
    single, spanned = len(words) == 1, len(words) == 5 and (words[1], words[3]) == ("to", "by")
    try:
        numbers = [float(word) for word in words[::2]] if single or spanned else []
    except ValueError:
        numbers = []
    if not numbers:
        raise ClinicalInputError("powers", msg("“%(typed)s” is not a span of powers; “+20 to +32 by 1” or a single power would be.", typed=part.strip()))
    return Span(numbers[0], numbers[0], 1.0) if single else Span(*numbers)


def read_millimetres(typed: str, field: str) -> tuple[float, ...]:
    """Sizes in mm as a person types them: `7.5; 7.7; 7.9`. Raises `ClinicalInputError` naming `field`."""
    found: list[float] = []
    for part in typed.replace(",", ".").split(";"):
        if part.strip():
            try:
                found.append(float(part))
            except ValueError:
                raise ClinicalInputError(field, msg("“%(typed)s” is not a size in mm; “7.5; 7.7; 7.9” would be.", typed=part.strip())) from None
    return tuple(sorted(set(found)))


def shown_spans(spans: Sequence[Span]) -> str:
    """Spans of power (D) as they are typed."""
    return "; ".join(_signed(s.first) if s.first == s.last else s.typed for s in spans)


def shown_millimetres(sizes: Sequence[float]) -> str:
    """Sizes in mm as they are typed."""
    return "; ".join(_exact(str(size)) for size in sizes)


# Quarter dioptres to ±6, halves to 20, whole dioptres above: how high-plus lenses are commonly stepped (common practice).
BUILT_IN_RANGE = LensRange(
    "common powers, −20 to +40 D",
    (Span(-20.0, -6.5, 0.5), Span(-6.0, 6.0, 0.25), Span(6.5, 20.0, 0.5), Span(21.0, 40.0, 1.0)),
    Status.COMMON_PRACTICE,
)
