"""Every calculation, in the groups in which the index shows them."""

from service.calculations import acuity, amblyopia, aphakia, growth, lenses, occlusion, refraction, response, secondary_lens
from service.calculations.sheet import Calculation
from shared.findings import Message, msg

GROUPS: tuple[tuple[Message, tuple[Calculation, ...]], ...] = (
    (msg("Acuity"), (*acuity.CALCULATIONS, *amblyopia.CALCULATIONS)),
    (msg("Lenses"), (*refraction.CALCULATIONS, *lenses.CALCULATIONS)),
    (msg("Aphakia"), aphakia.CALCULATIONS),
    (msg("Growth of the eye"), growth.CALCULATIONS),
    (msg("Before a secondary lens"), secondary_lens.CALCULATIONS),
    (msg("Occlusion"), (*occlusion.CALCULATIONS, *response.CALCULATIONS)),
)
BY_NAME = {c.name: c for _, calculations in GROUPS for c in calculations}
