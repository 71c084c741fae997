"""What the choices of a family's calendar are called on a screen."""

from enum import Enum

from schedules.feed_style import CareGroup, Colour, Language, Shown
from shared.findings import Message, msg

CALENDARS: tuple[tuple[Enum, Message], ...] = (
    (Shown.ALL_DAY, msg("the whole day: how long today")),
    (Shown.SESSIONS, msg("the times of the day, where they are known")),
    (Shown.BOTH, msg("both")),
    (CareGroup.VISITS, msg("booked visits")),
    (CareGroup.CHECKS, msg("checks that the clinic arranges")),
    (CareGroup.DROPS, msg("drops and shield")),
    (CareGroup.LENS, msg("the lens out, clean, new")),
    (CareGroup.CORRECTION, msg("lens or glasses on, every day")),
    (CareGroup.PATCHES, msg("time for new patches")),
    (Colour.TEAL, msg("teal")),
    (Colour.NAVY, msg("dark blue")),
    (Colour.PURPLE, msg("purple")),
    (Colour.MAROON, msg("dark red")),
    (Colour.OLIVE, msg("olive")),
    (Language.ENGLISH, msg("English")),
    (Language.SPANISH, msg("Spanish")),
    (Language.ARABIC, msg("Arabic")),
)
