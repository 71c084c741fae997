"""A card for the wall of a nursery: the code of its link, the covered eye, the hours, and until when they hold."""

from dataclasses import dataclass
from datetime import date, timedelta

from markupsafe import Markup

from schedules.regimen import in_force
from service.facts import Clinic, NurseryLink
from service.i18n import Words
from service.views.case import Case
from service.views.family import spoken
from service.views.link_made import qr_code
from shared.treatment.dose import DatedDose
from shared.vocabulary import Laterality


@dataclass(frozen=True)
class NurseryCard:
    """`covered_eye` and `time` are None and "" where no patch is signed today, or the eye changes by the day; they hold up to and on `valid_until_on`."""

    place: str
    label: str
    until_on: date
    covered_eye: Laterality | None
    eyes_alternate: bool
    time: str
    valid_until_on: date
    address: str
    code: Markup
    clinic: Clinic


def view(c: Case, link: NurseryLink, clinic: Clinic, words: Words, address: str) -> NurseryCard:
    today = _signed(c, c.today)
    last_on = c.today
    while last_on < link.until_on and _signed(c, last_on + timedelta(days=1)) == today:
        last_on += timedelta(days=1)
    eye, dose = today or (None, None)
    return NurseryCard(
        place=link.place,
        label=link.label,
        until_on=link.until_on,
        covered_eye=eye,
        eyes_alternate=(regimen := in_force(c.revisions, c.today)) is not None and regimen.turn_days > 0,
        time=spoken(dose.minutes, words) if dose else "",
        valid_until_on=last_on,
        address=address,
        code=qr_code(address),
        clinic=clinic,
    )


def _signed(c: Case, on: date) -> tuple[Laterality, DatedDose] | None:
    """The covered eye and the dose that hold, on a day off by its pattern too; None in a break, where the eyes alternate, and where no patch is signed."""
    regimen = in_force(c.revisions, on)
    dose = regimen.dose_on(on) if regimen else None
    return (regimen.covered_eye, dose) if regimen and regimen.covered_eye and not regimen.turn_days and dose and dose.minutes else None
