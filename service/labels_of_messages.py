"""What messages are called on a screen."""

from enum import Enum

from schedules.reminders import ReminderKind
from service.facts_of_messages import ChannelName, DeliveryState
from shared.findings import Message, msg

MESSAGES: tuple[tuple[Enum, Message], ...] = (
    (ReminderKind.SESSION, msg("before each time of the day")),
    (ReminderKind.EVENING, msg("in the evening, while nothing is noted")),
    (ReminderKind.CARE, msg("other things to do that day")),
    (ReminderKind.REVIEW, msg("before a visit, and before the plan ends")),
    (ReminderKind.PLAN_CHANGED, msg("when the plan changes")),
    (ReminderKind.PLAN_PAUSED, msg("the plan is paused")),
    (ReminderKind.PLAN_STOPPED, msg("the plan is stopped")),
    (ChannelName.EMAIL, msg("e-mail")),
    (ChannelName.WEB_PUSH, msg("message on a device")),
    (ChannelName.TEXT_MESSAGE, msg("text message")),
    (DeliveryState.PENDING, msg("waiting")),
    (DeliveryState.SENT, msg("handed over")),
    (DeliveryState.CANCELLED, msg("not needed any more")),
    (DeliveryState.EXPIRED, msg("too late to be of use, not sent")),
    (DeliveryState.DEAD, msg("could not be delivered")),
    (DeliveryState.UNREACHED, msg("no address to send it to")),
)
