"""Refraction, length, keratometry, pressure and corneal diameter of both eyes over time: as charts, and each value with its date and method."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date

from service.actions.corrections import PowerSource, at_cornea
from service.facts import Child
from service.facts_of_visits import EyeFindings
from service.i18n import Words
from service.views.acuity_chart import LineChart
from service.views.asked_page import joined
from service.views.case import Case
from service.views.measure_chart import Measured, measure_chart
from shared.errors import ClinicalInputError
from shared.findings import Message, Unit, msg
from shared.vocabulary import CorrectionKind, Laterality


def equivalent_at_cornea(f: EyeFindings) -> float | None:
    """Spherical equivalent at the cornea in D, by refraction, else by trial lens; None without either."""
    for source in (PowerSource.REFRACTION, PowerSource.TRIAL_LENS):
        try:
            return at_cornea(f, source, CorrectionKind.CONTACT_LENS)[0].spherical_equivalent
        except ClinicalInputError:
            continue
    return None


def mean_keratometry(f: EyeFindings) -> float | None:
    powers = [k for k in (f.k1_dioptres, f.k2_dioptres) if k is not None]
    return sum(powers) / len(powers) if powers else None


@dataclass(frozen=True)
class Measure:
    """What is charted: its name, its unit, how an eye's findings give it, and the findings that say how it was taken."""

    name: Message
    unit: Unit
    value: Callable[[EyeFindings], float | None]
    form: str = ".2f"
    how: tuple[str, ...] = ()


MEASURES = (
    Measure(msg("Refraction at the cornea, spherical equivalent"), Unit.DIOPTRE, equivalent_at_cornea, "+.2f"),
    Measure(msg("Axial length"), Unit.MILLIMETRE, lambda f: f.axial_length_mm, how=("axial_length_method",)),
    Measure(msg("Keratometry, mean"), Unit.DIOPTRE, mean_keratometry),
    Measure(msg("Pressure"), Unit.MMHG, lambda f: f.pressure_mmhg, "g", ("pressure_method", "pressure_measured", "on_steroid")),
    Measure(msg("Corneal diameter"), Unit.MILLIMETRE, lambda f: f.corneal_diameter_mm),
)


@dataclass(frozen=True)
class Row:
    visit_id: str
    on: date
    right: str
    left: str


@dataclass(frozen=True)
class MeasureShown:
    name: str
    chart: LineChart
    rows: tuple[Row, ...]


@dataclass(frozen=True)
class MeasurementsPage:
    child: Child
    measures: tuple[MeasureShown, ...]
    missing: tuple[str, ...]


def view(c: Case, words: Words) -> MeasurementsPage:
    shown = [(m, _measure(c, m, words)) for m in MEASURES]
    return MeasurementsPage(c.child, tuple(s for _, s in shown if s), tuple(words.text(m.name) for m, s in shown if not s))


def _measure(c: Case, m: Measure, words: Words) -> MeasureShown | None:
    points = [Measured(v.on, eye, value) for v in c.visits for eye in Laterality if (value := m.value(v.eyes[eye])) is not None]
    if not points:
        return None
    measured = [v for v in reversed(c.visits) if any(m.value(v.eyes[eye]) is not None for eye in Laterality)]
    rows = tuple(Row(v.public_id, v.on, *(_cell(m, v.eyes[eye], words) for eye in Laterality)) for v in measured)
    return MeasureShown(words.text(m.name), measure_chart(words.text(m.name), m.unit, points, words), rows)


def _cell(m: Measure, f: EyeFindings, words: Words) -> str:
    value = m.value(f)
    if value is None:
        return "–"
    taken = joined(words, f, m.how)
    number = f"{value:{m.form}}".replace("-", "−")
    return f"{number} {words.gettext(m.unit)}" + (f" ({taken})" if taken else "")
