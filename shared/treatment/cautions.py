"""The usual cautions beside a dose. Common practice unless a message says otherwise."""

from shared.findings import Message, Unit, msg
from shared.sources import number

PATCHING: tuple[Message, ...] = (
    msg("A proposal, not an order: local guidelines and the signer's judgement decide."),
    msg("Measure the covered eye at every visit; it can lose sight under the patch."),
    msg("The hours count only with the correction on: a patch over the better eye and no focused image is no treatment."),
    msg("Patch and ties off when skin or eye is red or sore, and in sleep; watch the child near roads, water, stairs and wheels."),
    msg("Patch and ties away from small children's mouths and necks; tell the family how to watch a child that sees less to the side."),
    msg("Look for a clear axis, and at pressure in an operated eye, before more hours are asked for."),
)


def less_response(age_months: int) -> tuple[Message, ...]:
    """What the trials say of older children (Holmes 2011, ATS3, both read); empty below seven years."""
    less, treated = number("holmes-2011", "less_from"), number("ats3", "teenagers_treated")
    if age_months < less.value * 12:
        return ()
    found = [msg("From %(age)s on children responded less in four trials (Holmes 2011).", age=less.quantity(Unit.YEARS))]
    if age_months >= number("ats3", "teenagers_from").value * 12:
        alone = number("ats3", "teenagers_glasses_alone")
        found.append(
            msg(
                "At 13 to 17 years %(patched)s responded, against %(alone)s with glasses alone; the difference was in those never treated before (ATS3).",
                patched=treated.quantity(Unit.PERCENT),
                alone=alone.quantity(Unit.PERCENT),
            )
        )
    return tuple(found)
