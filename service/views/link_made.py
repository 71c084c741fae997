"""The addresses of a new link, and each as a picture that a phone's camera reads."""

from dataclasses import dataclass

import segno
from markupsafe import Markup

from service.actions.feed import feed_addresses
from service.actions.links import NewLink
from service.settings import Settings

QUIET_ZONE = 4  # modules, as ISO/IEC 18004 asks (stated in segno's documentation; the standard itself was not read)


@dataclass(frozen=True)
class CalendarAddress:
    """Shown once."""

    https: str
    webcal: str
    webcal_code: Markup


@dataclass(frozen=True)
class LinkMade:
    """Shown once."""

    caregiver: str
    phone: str
    phone_code: Markup
    calendar: CalendarAddress


def view(settings: Settings, link: NewLink, caregiver: str) -> LinkMade:
    phone = f"{settings.public_url}/family/{link.page_token}"
    return LinkMade(caregiver, phone, qr_code(phone), calendar_address(settings, link.feed_token))


def calendar_address(settings: Settings, feed_token: str) -> CalendarAddress:
    https, webcal = feed_addresses(settings, feed_token)
    return CalendarAddress(https, webcal, qr_code(webcal))


def qr_code(address: str) -> Markup:
    """Black on white whatever the page's colours, for a reader looks for dark on light; in attributes, for the page's policy blocks styles."""
    code = segno.make_qr(address, error="m")
    drawing = code.svg_inline(border=QUIET_ZONE, dark="black", light="white", omitsize=True, svgclass=None, lineclass=None)
    return Markup(drawing)  # noqa: S704  # lines and two colours: no text of ours stands in it
