"""What a caregiver wishes to be told, as a form holds it."""

from schedules.feed_style import EARLIEST_REMINDER_MINUTES
from schedules.reminders import CHOSEN, Wishes
from service.forms import Form
from service.times_typed import time

_TIMES = ("day_minutes", "evening_minutes", "quiet_from_minutes", "quiet_until_minutes")


def values_of(wishes: Wishes) -> dict[str, str]:
    """The wishes as somebody would have typed them."""
    times = {name: divmod(getattr(wishes, name), 60) for name in _TIMES}
    return {
        "lead_minutes": str(wishes.lead_minutes),
        **{name: f"{hours:02d}:{minutes:02d}" for name, (hours, minutes) in times.items()},
        **{f"kind_{kind}": "yes" for kind in wishes.kinds},
    }


def read_wishes(form: Form) -> Wishes | None:
    """None where something in it cannot be, which then stands beside its field."""
    lead_minutes = form.whole("lead_minutes", 0, EARLIEST_REMINDER_MINUTES, form.words.gettext("minutes"))
    times = {name: time(form, name) for name in _TIMES}
    kinds = frozenset(kind for kind in CHOSEN if form.ticked(f"kind_{kind}"))
    with form.catching():
        wishes = Wishes(kinds, lead_minutes, **times)
    return None if form.errors else wishes
