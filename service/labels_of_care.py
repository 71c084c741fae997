"""What the words of care beside patching are called on a screen."""

from enum import Enum

from schedules.care_words import CareKind, DoneBy
from shared.course.care_schedule import RefractionSchedule
from shared.findings import Message, msg

CARE: tuple[tuple[Enum, Message], ...] = (
    (DoneBy.FAMILY, msg("family")),
    (DoneBy.CLINIC, msg("clinic")),
    (CareKind.FIRST_CORRECTION, msg("first correction")),
    (CareKind.CORRECTION_ON, msg("lens or glasses on")),
    (CareKind.LENS_OUT, msg("lens out")),
    (CareKind.LENS_CLEAN, msg("lens cleaned")),
    (CareKind.LENS_REPLACE, msg("lens replaced")),
    (CareKind.SPARE_LENS, msg("spare lens")),
    (CareKind.POWER_OUT_OF_DATE, msg("lens power out of date")),
    (CareKind.REFRACTION_CHECK, msg("refraction check")),
    (CareKind.PRESSURE_CHECK, msg("pressure check")),
    (CareKind.STITCH_CHECK, msg("stitch check")),
    (CareKind.REVIEW_DUE, msg("review")),
    (CareKind.VISIT, msg("booked visit")),
    (CareKind.SECONDARY_LENS, msg("secondary lens to plan")),
    (CareKind.DROPS, msg("drops")),
    (CareKind.SHIELD, msg("shield")),
    (CareKind.PATCH_STOCK, msg("stock of patches")),
    (RefractionSchedule.INFANT_TRIAL, msg("infant trial (Weakley 2017), one operated eye")),
    (RefractionSchedule.GUANGZHOU, msg("Guangzhou (Liu 2019)")),
    (RefractionSchedule.CHILDREN_WITH_IMPLANTS, msg("eyes with an implant (Crouch 2002)")),
)
