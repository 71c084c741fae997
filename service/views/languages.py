"""In which words a family is spoken to: those of its link, where its clinic has checked them, else the clinic's own."""

from dataclasses import dataclass

from sqlmodel import Session

from schedules.feed_style import Language
from service import catalogues
from service.facts import Clinic, Subscription
from service.facts_of_languages import CatalogueReview
from service.i18n import Words, own_name, words
from service.store import languages, people


def words_of(session: Session, subscription: Subscription) -> Words:
    return words_for(session, people.clinic(session, subscription.clinic_id), subscription.style.language)


def words_for(session: Session, clinic: Clinic, language: Language) -> Words:
    """A translation that the clinic has not checked is spoken in the demo alone."""
    own = words(clinic.locale)
    if language == own.language or language == catalogues.SOURCE:
        return own if language == own.language else words(language, clinic.locale)
    checked = languages.review(session, clinic.id, language, catalogues.digest(language)) is not None
    return words(language, clinic.locale, draft=not checked) if checked or clinic.demo else own


def offered(session: Session, clinic: Clinic) -> tuple[tuple[Language, str], ...]:
    """The languages a family may choose, each by its own name."""
    return tuple((language, own_name(language)) for language in Language if words_for(session, clinic, language).language == language)


@dataclass(frozen=True)
class CatalogueShown:
    """`review` is None for a draft; `digest` is what marking it as checked would speak of."""

    language: Language
    name: str
    direction: str
    texts: tuple[catalogues.Text, ...]
    digest: str
    review: CatalogueReview | None


def shown(session: Session, clinic_id: int, language: Language) -> CatalogueShown:
    digest = catalogues.digest(language)
    found = languages.review(session, clinic_id, language, digest)
    return CatalogueShown(language, own_name(language), words(language).direction, catalogues.texts(language), digest, found)
