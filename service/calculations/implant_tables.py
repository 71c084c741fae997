"""Published aims and predicted refractions as tables: the child's page, the calculations and the API print the same ones."""

from collections.abc import Sequence

from service.calculations.sheet import Grid
from shared.findings import Message, Param, Quantity, Unit, msg
from shared.implants.implant import Predicted
from shared.implants.implant_aims import Aim
from shared.rounding import round_half_up

SHOWN_DIOPTRES = 0.01  # no prediction is finer


def aims_grid(found: Sequence[Aim]) -> Grid:
    columns = (msg("Published by"), msg("Aim, D"), msg("Ages, and for whom"), msg("Known as"))
    rows = tuple((a.name, Quantity(a.dioptres, Unit.DIOPTRE), a.convention, a.status) for a in found)
    return Grid("aims", msg("Refraction aimed at on the day"), columns, rows)


def bands(found: Sequence[Predicted]) -> tuple[Message, ...]:
    """What the bands are, each once."""
    return tuple(msg("Band: %(what)s.", what=band) for band in {p.band.text: p.band for p in found}.values())


def choices_grid(found: Sequence[Predicted]) -> Grid:
    columns = (
        msg("Choice"),
        msg("At age, years"),
        msg("Refraction, D"),
        msg("Band from, D"),
        msg("Band to, D"),
        msg("Between the eyes, D"),
        msg("Known as"),
    )
    rows: tuple[tuple[Param, ...], ...] = tuple(
        (
            p.choice.name,
            Quantity(p.age_years, Unit.YEARS),
            *(Quantity(round_half_up(power, SHOWN_DIOPTRES), Unit.DIOPTRE) for power in (p.refraction, p.low, p.high, p.anisometropia)),
            p.status,
        )
        for p in found
    )
    return Grid("choices", msg("The eye under each choice"), columns, rows)
