"""What families are taught: the clinic's texts for them, and what each caregiver has learnt to do with a lens."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from enum import IntEnum, StrEnum

from shared.errors import ClinicalInputError
from shared.findings import Message, msg, safety

MOST_STEPS, LONGEST_STEP = 20, 300


class Topic(StrEnum):
    PATCH = "patch"
    LENS = "lens"


BUILT_IN: dict[Topic, tuple[Message, ...]] = {  # common practice; a clinic puts its own in their place
    Topic.PATCH: (
        msg("Put the patch straight on the skin, over the closed eye, with no gap to peep through. A patch on glasses leaves gaps."),
        msg("Glasses or lens on, then begin with something your child likes: near things work well."),
        msg("Take it off slowly, along the skin; warm water or oil loosens it. Look at the skin each time."),
        msg("Change the place of the sticky edge a little from day to day. No cream before the patch goes on."),
        msg("A patch that comes off a few times is no failure: put it on again, and note what was worn."),
    ),
    Topic.LENS: (
        msg("Wash and dry your hands. Short nails, a clean towel on the table, the plug in the sink."),
        msg("Look at the lens: whole, clean, the right way round, the one for this eye."),
        safety("Rub it in fresh solution on each side, rinse it, and only then put it in or away. Never water, never spit."),
        msg("The case: empty it each time, rub and rinse it with solution, let it dry open; a new one each month."),
        safety("No lens on a red or sore eye, nor in swimming water."),
    ),
}


@dataclass(frozen=True)
class FamilyTexts:
    """A clinic's own steps of a topic, in its own words; a topic that is not there is told by the built-in ones. Raises `ClinicalInputError`."""

    steps: Mapping[Topic, tuple[str, ...]]

    def __post_init__(self) -> None:
        for topic, steps in self.steps.items():
            if len(steps) > MOST_STEPS:
                raise ClinicalInputError(topic, msg("At most %(most)s steps, each on a line of its own.", most=MOST_STEPS))
            if any(not step or len(step) > LONGEST_STEP or any(ord(c) < 32 for c in step) for step in steps):
                raise ClinicalInputError(topic, msg("Each step is a line of 1 to %(most)s letters.", most=LONGEST_STEP))


@dataclass(frozen=True)
class EnteredTexts:
    """One version, which held from its entry until the next."""

    public_id: str
    number: int
    texts: FamilyTexts
    entered_by: str
    entered_at: datetime


class Skill(StrEnum):
    PUT_IN = "put-in"
    TAKE_OUT = "take-out"
    CLEAN = "clean"


class Level(IntEnum):
    """How far somebody has come. Only who does it alone is asked to at home."""

    SHOWN = 1
    WATCHED = 2
    ALONE = 3


@dataclass(frozen=True)
class Learnt:
    """What was recorded of one caregiver and skill; of a skill the newest holds."""

    public_id: str
    subscription_id: int
    caregiver: str
    skill: Skill
    level: Level
    on: date
    recorded_by: str
    recorded_at: datetime
