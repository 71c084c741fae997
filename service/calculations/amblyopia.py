"""Is it amblyopia, how severe, is it resolved: every published set side by side."""

from service.calculations.acuity import CONDITIONS, HINT, acuity
from service.calculations.asking import Given, number, text, whole
from service.calculations.sheet import Calculation, Grid, Sheet
from shared.acuity import Acuity
from shared.amblyopia import Eyes, Judged, criteria, resolution
from shared.findings import Message, msg
from shared.refraction import SpheroCylinder
from shared.severity import severity
from shared.vocabulary import AcuityFamily


def _maybe(given: Given, name: str) -> Acuity | None:
    return acuity(given, name) if given.text(name) else None


def _refraction(given: Given, eye: str) -> SpheroCylinder | None:
    sphere = given.maybe_number(f"{eye}_sphere")
    # no set asks for the axis
    return None if sphere is None else SpheroCylinder(sphere, given.maybe_number(f"{eye}_cylinder") or 0.0, 180.0)


def _judge(given: Given) -> Sheet:
    amblyopic, fellow = acuity(given, "amblyopic_acuity"), acuity(given, "fellow_acuity")
    eyes = Eyes(
        amblyopic,
        fellow,
        given.maybe_whole("age_months"),
        _maybe(given, "binocular_acuity"),
        _refraction(given, "amblyopic"),
        _refraction(given, "fellow"),
    )
    start = _maybe(given, "amblyopic_acuity_at_start")
    sets = criteria(eyes)
    if amblyopic.family is not AcuityFamily.OPTOTYPE:
        return Sheet(findings=tuple(one.finding for one in sets), grids=(_grid("criteria", msg("Is it amblyopia?"), sets),))
    success, bands = resolution(amblyopic, fellow, start), severity(amblyopic)
    band_rows = tuple((band.title, band.severity, band.finding.message) for band in bands)
    return Sheet(
        findings=(*(one.finding for one in (*sets, *success)), *(band.finding for band in bands)),
        grids=(
            _grid("criteria", msg("Is it amblyopia?"), sets),
            Grid("severity", msg("How severe?"), _COLUMNS, band_rows),
            _grid("resolution", msg("Is it resolved?"), success),
        ),
    )


_COLUMNS = (msg("Set"), msg("Answer"), msg("Why"))


def _grid(name: str, title: Message, sets: tuple[Judged, ...]) -> Grid:
    return Grid(name, title, _COLUMNS, tuple((one.title, one.verdict, one.finding.message) for one in sets))


CALCULATIONS = (
    Calculation(
        "amblyopia-criteria",
        msg("Amblyopia by every published set"),
        msg("Criteria, bands of severity and definitions of success differ between publications: each set answers for itself, in lines of the chart."),
        (
            text("amblyopic_acuity", msg("Amblyopic eye sees"), hint=HINT),
            text("fellow_acuity", msg("Fellow eye sees"), hint=HINT),
            text("binocular_acuity", msg("Both eyes together see"), needed=False),
            text("amblyopic_acuity_at_start", msg("Amblyopic eye saw at the start"), needed=False),
            whole("age_months", msg("Age, completed months"), "months", 0, 1200, needed=False),
            number("amblyopic_sphere", msg("Amblyopic eye: sphere"), "D", -40, 50, needed=False),
            number("amblyopic_cylinder", msg("Amblyopic eye: cylinder"), "D", -15, 15, needed=False),
            number("fellow_sphere", msg("Fellow eye: sphere"), "D", -40, 50, needed=False),
            number("fellow_cylinder", msg("Fellow eye: cylinder"), "D", -15, 15, needed=False),
            *CONDITIONS,
        ),
        _judge,
        {"amblyopic_acuity": "20/100", "fellow_acuity": "20/25", "age_months": 60},
    ),
)
