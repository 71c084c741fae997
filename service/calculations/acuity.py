"""Acuity by itself."""

from service.calculations.asking import Given, text
from service.calculations.sheet import Calculation, Sheet, Value
from shared.acuity import read_acuity
from shared.findings import Quantity, Unit, msg
from shared.vocabulary import Status


def _read(given: Given) -> Sheet:
    a = read_acuity(given.text("notation"), "notation")
    return Sheet(
        values=(
            Value("logmar", msg("logMAR"), None if a.logmar is None else Quantity(a.logmar, Unit.LOGMAR)),
            Value("decimal", msg("Decimal"), None if a.decimal is None else Quantity(a.decimal, Unit.RATIO)),
            Value("snellen_feet", msg("Snellen, feet"), a.snellen_feet),
            Value("snellen_metres", msg("Snellen, metres"), a.snellen_metres),
            Value("family", msg("Kind of test"), a.family),
        ),
        status=Status.DERIVED,
    )


CALCULATIONS = (
    Calculation(
        "acuity",
        msg("Read an acuity"),
        msg("Any notation of the trade as logMAR, decimal and Snellen; lower logMAR is better."),
        (text("notation", msg("As measured"), hint=msg("6/12, 20/40, 0.5 decimal, 0.3 logMAR, 70 letters, 4.7 cpd, CF, HM, LP or none")),),
        _read,
        {"notation": "6/12"},
    ),
)
