"""What is said to families for safety: under the patch, and of tasks with a lens that somebody has not learnt yet."""

from collections.abc import Mapping
from datetime import timedelta

from schedules.care_words import CareItem, CareKind
from service.facts_of_teaching import Level, Skill
from service.i18n import Words
from shared.findings import Message, safety

FIRST_DAYS = timedelta(days=7)  # common practice
CAUTIONS: tuple[Message, ...] = (
    safety("With the patch on, your child sees less, most of all to the side: stay close near roads, water, stairs and anything on wheels."),
    safety("Keep patches and ties away from small children's mouths and necks."),
    safety("Take the patch off when skin or eye is red or sore, and when your child sleeps."),
)
_NEEDS = {CareKind.LENS_OUT: Skill.TAKE_OUT, CareKind.LENS_CLEAN: Skill.CLEAN, CareKind.LENS_REPLACE: Skill.PUT_IN}


def for_caregiver(item: CareItem, may: Mapping[Skill, Level], words: Words) -> str:
    """A task with a lens points to the clinic until this caregiver does it alone"""
    needed = _NEEDS.get(item.kind)
    if needed is None or may.get(needed) is Level.ALONE:
        return words.text(item.family)
    return words.text(safety("%(task)s Until you have learnt this at the clinic, ring: the clinic does it with you.", task=item.family))
