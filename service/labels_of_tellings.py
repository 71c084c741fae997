"""What a family can tell of, as it is called on a screen."""

from enum import Enum

from service.facts_of_tellings import About
from shared.findings import Message, msg

TELLINGS: tuple[tuple[Enum, Message], ...] = (
    (About.SIGNS, msg("one of the signs to call for the same day")),
    (About.LENS_LOST, msg("the lens is lost")),
    (About.LENS_BROKEN, msg("the lens is broken")),
    (About.SKIN, msg("the skin under the patch is sore")),
    (About.PATCHES, msg("the patches are running out")),
    (About.REFUSES, msg("the child does not want the patch")),
    (About.DOUBLE, msg("the child sees double")),
    (About.QUESTION, msg("a question")),
)
