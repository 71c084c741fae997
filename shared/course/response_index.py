"""What a gain cost in hours: the published index, which says something of hours really received and nothing of what more of them would bring."""

import math

from shared.errors import ClinicalInputError
from shared.findings import Finding, Quantity, Unit, msg
from shared.sources import source

LEAST_HOURS, MOST_HOURS, LEAST_GAIN, MOST_GAIN = 0.25, 20_000.0, 0.01, 3.0  # beyond these something was mistyped; a letter is worth more than the least gain


def response_index(received_hours: float, gain_logmar: float) -> Finding:
    """Hours received for each 0.1 logMAR gained: hours x 0.1 / gain (Fronius 2009, read); its inverse in logMAR per 100 h stands in the working.

    Raises `ClinicalInputError` naming `received_hours` or `gain_logmar`; without a gain there is no index.
    """
    if not math.isfinite(received_hours) or not LEAST_HOURS <= received_hours <= MOST_HOURS:
        raise ClinicalInputError(
            "received_hours",
            msg("%(hours)s h cannot be; %(least)s to %(most)s h would.", hours=f"{received_hours:g}", least=f"{LEAST_HOURS:g}", most=f"{MOST_HOURS:g}"),
        )
    if not math.isfinite(gain_logmar) or not LEAST_GAIN <= gain_logmar <= MOST_GAIN:
        raise ClinicalInputError(
            "gain_logmar", msg("Without a gain, of %(least)s to %(most)s logMAR, the index has no meaning.", least=f"{LEAST_GAIN:g}", most=f"{MOST_GAIN:g}")
        )
    hours = Quantity(received_hours * 0.1 / gain_logmar, Unit.HOURS)
    working = (
        msg("%(received)s × 0.1 / %(gain)s = %(hours)s", received=Quantity(received_hours, Unit.HOURS), gain=Quantity(gain_logmar, Unit.LOGMAR), hours=hours),
        msg("the same turned round: %(gain)s for 100 h", gain=Quantity(100 * gain_logmar / received_hours, Unit.LOGMAR)),
    )
    key = "fronius-2009"
    text = msg("%(hours)s for each 0.1 logMAR gained.", hours=hours)
    return Finding("hours-per-line", text, source(key).status, (key,), hours, working)
