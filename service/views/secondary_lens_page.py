"""Before a secondary lens: what is on record and how fresh, published aims, and the eye at 7 and 10 years under each choice and under waiting."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from urllib.parse import urlencode

from service.calculations.implant_tables import aims_grid, bands, choices_grid
from service.calculations.secondary_lens import FELLOW_GROWS, FELLOW_STAYS, LATER_YEARS, NO_ORDER
from service.facts import Child
from service.i18n import Words
from service.views.acuity_chart import LineChart
from service.views.calculation_page import ADDRESS, GridShown, grid_shown
from service.views.case import Case
from service.views.curve_chart import Curve, CurveChart, band_outline, curve_chart
from service.views.secondary_lens_facts import Held, biometry, eye_now, held
from service.views.shown import FindingShown, SourceShown, age_shown, finding_shown, sources_shown
from shared.course.anaesthetic import Standing
from shared.dates import age_years
from shared.errors import ClinicalInputError
from shared.findings import Message, Quantity, Unit, msg
from shared.implants.implant import Choice, EyeNow, Predicted, fellow_at, lens_choices, predicted, predictions, same_study, wait
from shared.implants.implant_aims import Aim, aims, published_results
from shared.sources import number
from shared.vocabulary import Laterality, OpticalStatus

MARKS = {Standing.MISSING: "act", Standing.STALE: "check", Standing.RECENT: "note"}
CHART_STEPS = 30


@dataclass(frozen=True)
class Row:
    eye: str
    item: str
    value: str
    on: date | None
    mark: str  # weight of its standing, as the style sheet marks it
    standing: str


@dataclass(frozen=True)
class Outlook:
    """The eye under each choice; `rows` are the core's, for the API."""

    rows: tuple[Predicted, ...]
    grid: GridShown
    chart: LineChart
    key: tuple[str, ...]  # what the numbers beside the lines of the chart stand for
    refracted_on: date
    bands: tuple[str, ...]
    working: tuple[str, ...]
    sources: tuple[SourceShown, ...]


@dataclass(frozen=True)
class EyeShown:
    side: Laterality
    heading: str
    rows: tuple[Row, ...]
    held: tuple[Held, ...]
    outlook: Outlook | None
    refusal: str  # why there is no outlook; "" where there is one
    power_address: str  # the calculation of a plausible power, filled in as far as the record goes


@dataclass(frozen=True)
class SecondaryLensPage:
    child: Child
    today: date
    age: str
    eyes: tuple[EyeShown, ...]
    aims: GridShown | None
    found: tuple[Aim, ...]
    findings: tuple[FindingShown, ...]
    sources: tuple[SourceShown, ...]
    cautions: tuple[str, ...]


def view(c: Case, words: Words) -> SecondaryLensPage:
    found = _aims(c)
    off = c.rules.limits.rules_off

    def aphakic(eye: Laterality) -> bool:
        return c.child.status(eye, c.today) is OpticalStatus.APHAKIC

    return SecondaryLensPage(
        child=c.child,
        today=c.today,
        age=age_shown(c.child.born_on, c.today, words),
        eyes=tuple(_eye(c, eye, words) for eye in Laterality if aphakic(eye)),
        aims=grid_shown(aims_grid(found), words) if found else None,
        found=found,
        findings=tuple(finding_shown(f, words) for f in published_results(c.age_months) if f.rule not in off),
        sources=sources_shown(a.source_key for a in found),
        cautions=(words.text(FELLOW_GROWS if all(map(aphakic, Laterality)) else FELLOW_STAYS), words.text(NO_ORDER)),
    )


def _aims(c: Case) -> tuple[Aim, ...]:
    try:
        return tuple(a for a in aims(c.age_months, (c.today - c.child.born_on).days) if a.rule not in c.rules.limits.rules_off)
    except ClinicalInputError:
        return ()


def _eye(c: Case, eye: Laterality, words: Words) -> EyeShown:
    outlook: Outlook | None = None
    refusal = ""
    try:
        outlook = _outlook(c, *eye_now(c, eye), words)
    except ClinicalInputError as e:
        refusal = words.text(e.message)
    on_record = held(c, eye, words)
    heading = words.gettext("Right eye") if eye is Laterality.RIGHT else words.gettext("Left eye")
    return EyeShown(eye, heading, tuple(_row(h, words) for h in on_record), on_record, outlook, refusal, _power_address(c, eye))


def _row(h: Held, words: Words) -> Row:
    side = words.gettext("fellow eye") if h.fellow else words.gettext("this eye")
    return Row(side, words.label(h.item), h.value or "–", h.on, MARKS[h.standing], words.label(h.standing))


def _power_address(c: Case, eye: Laterality) -> str:
    length, power = biometry(c, eye)
    known = {"axial_length_mm": length, "keratometry_dioptres": power, "age_months": c.age_months}
    return f"{ADDRESS}/implant-plausibility?{urlencode({name: f'{value:g}' for name, value in known.items() if value is not None})}"


def _outlook(c: Case, eye: EyeNow, refracted_on: date, words: Words) -> Outlook:
    now = age_years(c.child.born_on, c.today)
    choices = tuple(choice for choice in _choices(now) if choice.aim is None or choice.aim.rule not in c.rules.limits.rules_off)
    ages = sorted({now, *(age for age in (number("vanderveen-2021", "school_age").value, *LATER_YEARS) if age > now)})
    rows = predictions(eye, choices, ages)
    return Outlook(
        rows=rows,
        grid=grid_shown(choices_grid(rows), words),
        chart=_chart(eye, choices, now, rows, words),
        key=tuple(f"{n} {words.text(choice.name)}" for n, choice in _numbered(choices)),
        refracted_on=refracted_on,
        bands=tuple(map(words.text, bands(rows))),
        working=tuple(words.text(same_study(eye, age)) for age in LATER_YEARS if age > now),
        sources=sources_shown(dict.fromkeys(key for row in rows for key in row.sources)),
    )


def _choices(now: float) -> tuple[Choice, ...]:
    """Waiting; a lens now; and a lens at school age, which a commentary on the trial's secondary lenses recommends waiting for."""
    school = number("vanderveen-2021", "school_age").value
    later = lens_choices(msg("Lens at %(age)s", age=Quantity(school, Unit.YEARS)), school) if now < school else ()
    return (wait(), *lens_choices(msg("Lens now"), now), *later)


def _chart(eye: EyeNow, choices: Sequence[Choice], now: float, rows: Sequence[Predicted], words: Words) -> LineChart:
    """Refraction of the eye up to the last age looked at, under each choice, beside the fellow eye."""
    last = max(row.age_years for row in rows)
    ages = [now + (last - now) * n / CHART_STEPS for n in range(CHART_STEPS + 1)]
    waiting = [predicted(eye, wait(), age) for age in ages]
    lenses = tuple(_curve(eye, choice, str(n), ages) for n, choice in _numbered(choices))
    fellow = Curve(words.gettext("fellow eye"), "third", tuple((age, fellow_at(eye, age)) for age in ages))
    return curve_chart(
        CurveChart(
            title=words.gettext("Refraction against age under each choice"),
            desc=_described(rows, words),
            axis=words.gettext("refraction in spectacles, D, at age in years →"),
            curves=(Curve(words.gettext("waiting"), "second", tuple((p.age_years, p.refraction) for p in waiting)), *lenses, fellow),
            area=band_outline(ages, [p.low for p in waiting], [p.high for p in waiting]),
        ),
        words,
    )


def _numbered(choices: Sequence[Choice]) -> Iterator[tuple[int, Choice]]:
    """The lenses among the choices, from 1: their names would not fit beside the lines."""
    return enumerate((choice for choice in choices if choice.aim is not None), start=1)


def _curve(eye: EyeNow, choice: Choice, label: str, ages: Sequence[float]) -> Curve:
    """A lens is drawn from its day on: until then it is waiting."""
    from_age = choice.lens_at_years or ages[0]
    own = (from_age, *(age for age in ages if age > from_age))
    return Curve(label, "first", tuple((age, predicted(eye, choice, age).refraction) for age in own))


def _described(rows: Sequence[Predicted], words: Words) -> str:
    last = max(row.age_years for row in rows)
    said: list[Message] = [
        msg(
            "%(choice)s: %(refraction)s at %(age)s.",
            choice=row.choice.name,
            refraction=Quantity(row.refraction, Unit.DIOPTRE),
            age=Quantity(row.age_years, Unit.YEARS),
        )
        for row in rows
        if row.age_years == last
    ]
    return " ".join(map(words.text, said))
