"""Every calculation, in the groups in which the index shows them."""

from service.calculations import acuity, amblyopia, aphakia, growth, lenses, occlusion, refraction
from service.calculations.sheet import Calculation
from shared.findings import Message, msg

GROUPS: tuple[tuple[Message, tuple[Calculation, ...]], ...] = (
    (msg("Acuity"), (*acuity.CALCULATIONS, *amblyopia.CALCULATIONS)),
    (msg("Lenses"), (*refraction.CALCULATIONS, *lenses.CALCULATIONS)),
    (msg("Aphakia"), aphakia.CALCULATIONS),
    (msg("Growth of the eye"), growth.CALCULATIONS),
    (msg("Occlusion"), occlusion.CALCULATIONS),
)
BY_NAME = {c.name: c for _, calculations in GROUPS for c in calculations}
