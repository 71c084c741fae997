"""Is it amblyopia, how severe, is it resolved: every published set side by side."""

from service.calculations.acuity import CONDITIONS, HINT, acuity
from service.calculations.asking import Given, number, text, whole
from service.calculations.sheet import Calculation, Grid, Sheet
from shared.findings import Finding, Message, Param, msg
from shared.optics.refraction import SpheroCylinder
from shared.sight.acuity import Acuity
from shared.sight.amblyopia import Eyes, Judged, criteria, resolution
from shared.sight.severity import severity
from shared.sources import source
from shared.vocabulary import AcuityFamily, Status


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
        return _side_by_side((_judged("criteria", _IS_IT, sets),), tuple(one.finding for one in sets))
    success, bands = resolution(amblyopic, fellow, start), severity(amblyopic)
    grids = (
        _judged("criteria", _IS_IT, sets),
        Grid("severity", msg("How severe?"), _COLUMNS, tuple(_row(band.title, band.severity, band.finding) for band in bands)),
        _judged("resolution", msg("Is it resolved?"), success),
    )
    return _side_by_side(grids, (*(one.finding for one in (*sets, *success)), *(band.finding for band in bands)))


_IS_IT = msg("Is it amblyopia?")
_COLUMNS = (msg("Set"), msg("Answer"), msg("Why"), msg("Known as"), msg("Source"))


def _side_by_side(grids: tuple[Grid, ...], found: tuple[Finding, ...]) -> Sheet:
    sources = tuple(dict.fromkeys(key for finding in found for key in finding.sources))
    return Sheet(grids=grids, sources=sources, status=Status.weakest(*(finding.status for finding in found)))


def _judged(name: str, title: Message, sets: tuple[Judged, ...]) -> Grid:
    return Grid(name, title, _COLUMNS, tuple(_row(one.title, one.verdict, one.finding) for one in sets))


def _row(title: Message, answer: Param, finding: Finding) -> tuple[Param, ...]:
    return title, answer, finding.message, finding.status, "; ".join(source(key).citation for key in finding.sources)


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
