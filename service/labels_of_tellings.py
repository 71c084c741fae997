"""What a family can tell of, and learn, as it is called on a screen."""

from enum import Enum

from service.facts_of_teaching import Level, Skill, Topic
from service.facts_of_tellings import About
from shared.findings import Message, msg

TELLINGS: tuple[tuple[Enum, Message], ...] = (
    (About.SIGNS, msg("one of the signs to call for the same day")),
    (About.LENS_LOST, msg("the lens is lost")),
    (About.LENS_BROKEN, msg("the lens is broken")),
    (About.GLASSES, msg("the glasses are lost or broken")),
    (About.SKIN, msg("the skin under the patch is sore")),
    (About.PATCHES, msg("the patches are running out")),
    (About.REFUSES, msg("the child does not want the patch")),
    (About.DOUBLE, msg("the child sees double")),
    (About.QUESTION, msg("a question")),
    (Topic.PATCH, msg("the patch")),
    (Topic.LENS, msg("the lens")),
    (Skill.PUT_IN, msg("put the lens in")),
    (Skill.TAKE_OUT, msg("take the lens out")),
    (Skill.CLEAN, msg("clean the lens")),
    (Level.SHOWN, msg("shown")),
    (Level.WATCHED, msg("done under the clinic's eyes")),
    (Level.ALONE, msg("alone")),
)
