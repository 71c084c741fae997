"""The translations of what families read: one file of texts a language, compiled when it is first needed, so that none is ever stale."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from gettext import NullTranslations
from hashlib import sha256
from io import BytesIO
from pathlib import Path

from babel.messages.catalog import Catalog, Message
from babel.messages.extract import extract_from_dir
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po
from babel.support import Translations

ROOT = Path(__file__).resolve().parent.parent
CATALOGUES = Path(__file__).parent / "locale"
SOURCE = "en"  # the language in which the product is written
TRANSLATED = tuple(sorted(p.name for p in CATALOGUES.iterdir()))
KEYWORDS: dict[str, tuple[int, ...] | None] = {"_": None, "gettext": None, "msg": None, "safety": None, "ngettext": (1, 2)}
_SOURCES = (("service/**.py", "python"), ("schedules/**.py", "python"), ("shared/**.py", "python"), ("templates/**.html", "jinja2"))
_JINJA = {"templates/**.html": {"trimmed": "true"}}


@dataclass(frozen=True)
class Text:
    """One text with its translation; `others` are a plural's further forms."""

    source: str
    translated: str
    others: tuple[str, ...]
    safety: bool


@cache
def compiled(language: str) -> NullTranslations:
    """What is not translated stays in English."""
    if language not in TRANSLATED:
        return NullTranslations()
    file = BytesIO()
    write_mo(file, read(language))
    file.seek(0)
    return Translations(file)


def path(language: str) -> Path:
    return CATALOGUES / language / "LC_MESSAGES" / "messages.po"


def read(language: str) -> Catalog:
    with path(language).open("rb") as file:
        return read_po(file, locale=language, abort_invalid=True)


def save(language: str, catalogue: Catalog) -> None:
    with path(language).open("wb") as file:
        write_po(file, catalogue, width=160, no_location=True, sort_output=True, ignore_obsolete=True)


@cache
def digest(language: str) -> str:
    """Of what is said in a language: what a clinic has checked is this and nothing else."""
    said = sorted((_forms(m.id), _forms(m.string)) for m in read(language) if m.id)
    return sha256(repr(said).encode()).hexdigest()[:32]


@cache
def texts(language: str) -> tuple[Text, ...]:
    """In the order in which they are to be read: safety wording first."""
    found = [_text(m) for m in read(language) if m.id]
    return tuple(sorted(found, key=lambda t: (not t.safety, t.source.casefold())))


def _text(m: Message) -> Text:
    first, *others = _forms(m.string)
    return Text(_forms(m.id)[0], first, tuple(others), "safety" in m.flags)


def _forms(text: str | Sequence[str] | None) -> tuple[str, ...]:
    return (text,) if isinstance(text, str) else tuple(text or ("",))


def extracted() -> Catalog:
    """Every text of the product, those of safety flagged."""
    found = Catalog()
    for method in dict(_SOURCES).items():
        for _, _, message, _, _ in extract_from_dir(ROOT, method_map=[method], options_map=_JINJA, keywords=KEYWORDS):
            found.add(message)
    for _, _, message, _, _ in extract_from_dir(ROOT, method_map=_SOURCES, options_map=_JINJA, keywords={"safety": None}):
        found[message].flags.add("safety")
    return found


def update(language: str, source: Catalog) -> None:
    """Leaves out what the product no longer says, and flags what is of safety."""
    catalogue = read(language)
    for m in [m for m in catalogue if m.id]:
        known = source.get(m.id)
        if known is None:
            catalogue.delete(m.id)
        else:
            m.flags = known.flags | (m.flags & {"fuzzy"})
    save(language, catalogue)


def faults(language: str, source: Catalog) -> Iterator[str]:
    """What stands in the way of a translation: not translated, its places differ (by Babel's checkers), or no longer said."""
    for m in read(language):
        if not m.id:
            continue
        name = f"{language}: {_forms(m.id)[0]!r}"
        if m.fuzzy or not all(_forms(m.string)):
            yield f"{name} is not translated"
        elif source.get(m.id) is None:
            yield f"{name} is no longer said"
        yield from (f"{name}: {error}" for error in m.check())
