"""Acuity by itself."""

from service.calculations.asking import Given, choice, number, text, whole
from service.calculations.naming import named
from service.calculations.sheet import Calculation, Grid, Sheet, Value
from shared.errors import ClinicalInputError
from shared.findings import Finding, Param, Quantity, Unit, msg
from shared.sight.acuity import Acuity, in_steps, interocular_difference, read_acuity
from shared.sight.acuity_norms import AgeNorm, against_norm, at_age, between_eyes, norms_for
from shared.sight.acuity_repeatability import change_beyond_retest
from shared.sight.gratings import CardRule
from shared.sight.low_vision import LowVisionTable
from shared.vocabulary import AcuityFamily, AcuityMethod, Status

HINT = msg("6/12, 20/40-2, 0.5 decimal, 0.3 logMAR, 70 letters, 4.7 cpd, 4.7 c/cm, CF, HM, LP or none")
CONDITIONS = (
    number("distance_cm", msg("Test distance"), "cm", 10, 1000, needed=False, hint=msg("For a card in cycles/cm.")),
    whole("letters_per_line", msg("Letters a line"), "letters", 1, 10, needed=False, hint=msg("For letters beyond the line, as 20/40-2; five are common.")),
    choice("card_rule", msg("Cards in cycles/cm are read by"), CardRule, needed=False, hint=msg("The cards' own rule where nothing is said.")),
)


def acuity(given: Given, name: str, low_vision: LowVisionTable = LowVisionTable.LANGE_2009) -> Acuity:
    """What was typed under this name, under `CONDITIONS`. Raises `ClinicalInputError` naming it."""
    rule = given.maybe_chosen("card_rule", CardRule) or CardRule.CARD_55_CM
    conditions = given.maybe_number("distance_cm"), given.maybe_whole("letters_per_line")
    return read_acuity(given.text(name), name, *conditions, card_rule=rule, low_vision=low_vision)


def _read(given: Given) -> Sheet:
    table = given.maybe_chosen("low_vision", LowVisionTable) or LowVisionTable.LANGE_2009
    a = acuity(given, "notation", table)
    category = a.family is AcuityFamily.LOW_VISION
    return Sheet(
        values=(
            Value("logmar", msg("logMAR"), None if a.logmar is None else Quantity(a.logmar, Unit.LOGMAR)),
            Value("line_logmar", msg("Nearest line of the chart"), None if a.nominal_logmar is None else Quantity(a.nominal_logmar, Unit.LOGMAR)),
            Value("decimal", msg("Decimal"), None if a.decimal is None else Quantity(a.decimal, Unit.RATIO)),
            Value("snellen_feet", msg("Snellen, feet"), a.snellen_feet),
            Value("snellen_metres", msg("Snellen, metres"), a.snellen_metres),
            Value("cycles_per_degree", msg("Grating"), None if a.cycles_per_degree is None else Quantity(a.cycles_per_degree, Unit.CYCLES_PER_DEGREE)),
            Value("family", msg("Kind of test"), a.family),
        ),
        status=Status.DERIVED,
        sources=(table.value,) if category and a.logmar is not None else (),
    )


def _change(given: Given) -> Sheet:
    with named({"change": "now"}):
        found = change_beyond_retest(acuity(given, "before"), acuity(given, "now"), given.chosen("method", AcuityMethod))
    return Sheet(values=(Value("change", msg("Change, worse where positive"), found.value),), findings=(found,))


def _difference(given: Given) -> Sheet:
    amblyopic, fellow = acuity(given, "amblyopic_acuity"), acuity(given, "fellow_acuity")
    with named({"interocular_difference": "fellow_acuity"}):
        exact = interocular_difference(amblyopic, fellow)
    lines = None if exact.unit is Unit.OCTAVES else Quantity(in_steps(amblyopic) - in_steps(fellow), Unit.LINES)
    return Sheet(
        values=(
            Value("interocular_difference", msg("Amblyopic minus fellow eye"), exact),
            Value("unit", msg("Measured in"), exact.unit.value),
            Value("lines", msg("In lines of the chart"), lines),
        ),
        status=Status.DERIVED,
        findings=(between_eyes(exact.value),) if exact.unit is Unit.OCTAVES else (),
    )


def _norm(given: Given) -> Sheet:
    """Every norm of the test, or the one that was named; those for other ages stand in the table without a limit."""
    one, method, age = acuity(given, "notation"), given.chosen("method", AcuityMethod), given.number("age_months")
    wanted = given.maybe_chosen("norm", AgeNorm)
    norms = norms_for(method) if wanted is None else (wanted,)
    if not norms:
        raise ClinicalInputError("method", msg("No norm of age is known here for this test: grating cards and crowded HOTV letters have one."))
    if wanted is not None and wanted.method is not method:
        raise ClinicalInputError("norm", msg("This norm is of another test."))
    findings: list[Finding] = []
    refusals: list[ClinicalInputError] = []
    rows: list[tuple[Param | None, ...]] = []
    with named({"acuity": "notation"}):
        for norm in norms:
            try:
                here = at_age(norm, age)
            except ClinicalInputError as outside:
                refusals.append(outside)
                rows.append((norm, msg("outside its ages"), None, None, None))
                continue
            found = against_norm(one, norm, age)
            findings.append(found)
            rows.append((norm, msg("below") if found.rule == "below-age-norm" else msg("within"), here.limit, here.mean, found.status))
    if not findings:
        raise refusals[0]
    columns = (msg("Norm"), msg("Answer"), msg("Limit"), msg("Mean"), msg("Known as"))
    return Sheet(findings=tuple(findings), grids=(Grid("norms", msg("Each norm of this test"), columns, tuple(rows)),))


METHOD = choice("method", msg("Test"), AcuityMethod)

CALCULATIONS = (
    Calculation(
        "acuity",
        msg("Read an acuity"),
        msg("Any notation of the trade as logMAR, decimal and Snellen; lower logMAR is better."),
        (
            text("notation", msg("As measured"), hint=HINT),
            *CONDITIONS,
            choice("low_vision", msg("Counting fingers and hand movements by"), LowVisionTable, needed=False),
        ),
        _read,
        {"notation": "6/12"},
    ),
    Calculation(
        "acuity-change",
        msg("Is a change real?"),
        msg("Two readings of one eye with one test against what a retest with that test may differ."),
        (text("before", msg("Before"), hint=HINT), text("now", msg("Now"), hint=HINT), METHOD, *CONDITIONS),
        _change,
        {"before": "0.50 logMAR", "now": "0.30 logMAR", "method": "crowded-hotv"},
    ),
    Calculation(
        "interocular-difference",
        msg("Interocular difference"),
        msg("Amblyopic minus fellow eye by one test: logMAR and lines for letters, octaves for gratings; positive where the amblyopic eye is worse."),
        (text("amblyopic_acuity", msg("Amblyopic eye sees"), hint=HINT), text("fellow_acuity", msg("Fellow eye sees"), hint=HINT), *CONDITIONS),
        _difference,
        {"amblyopic_acuity": "20/80", "fellow_acuity": "20/20"},
    ),
    Calculation(
        "age-norm",
        msg("Acuity against the norm of its age"),
        msg(
            "One eye's acuity against every published norm of the test that measured it. Healthy eyes made the norms; an operated eye below one is no surprise."
        ),
        (
            text("notation", msg("As measured"), hint=HINT),
            METHOD,
            number("age_months", msg("Age"), "months", 0, 1200, hint=msg("For gratings corrected for prematurity, for letters from birth.")),
            choice("norm", msg("One norm alone"), AgeNorm, needed=False),
            *CONDITIONS,
        ),
        _norm,
        {"notation": "20/63", "method": "crowded-hotv", "age_months": 40.0},
    ),
)
