"""The product's texts as Babel extracts them, and each translation held against them."""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Set
from functools import cache

from babel.messages.catalog import Catalog, Message
from babel.messages.extract import extract_from_dir
from babel.messages.pofile import write_po

from service import catalogues
from service.settings import ROOT

KEYWORDS: dict[str, tuple[int, ...] | None] = {"_": None, "gettext": None, "msg": None, "safety": None, "ngettext": (1, 2)}
SAFETY: dict[str, tuple[int, ...] | None] = {"safety": None}
SOURCES = (("service/**.py", "python"), ("schedules/**.py", "python"), ("shared/**.py", "python"), ("templates/**.html", "jinja2"))
JINJA = {"templates/**.html": {"trimmed": "true"}}


def _found(keywords: Mapping[str, tuple[int, ...] | None]) -> Iterator[tuple[str, str | tuple[str, ...]]]:
    for method in SOURCES:
        for file, _, text, _, _ in extract_from_dir(ROOT, method_map=[method], options_map=JINJA, keywords=keywords):
            yield file, text


@cache
def product() -> Catalog:
    """Every text of the product, those of safety flagged."""
    found = Catalog()
    for _, text in _found(KEYWORDS):
        if text:
            found.add(text)
    for _, text in _found(SAFETY):
        found.add(text, flags={"safety"})
    return found


@cache
def files_of_texts() -> Mapping[str, Set[str]]:
    """Of each text, a plural by its singular, the files that say it."""
    found: dict[str, set[str]] = defaultdict(set)
    for file, text in _found(KEYWORDS):
        found[text if isinstance(text, str) else text[0]].add(file)
    return found


def faults(language: str) -> Iterator[str]:
    """What stands in the way of a translation: not translated, its places differ (by Babel's checkers), no longer said, or flagged wrongly."""
    for m in _texts(catalogues.read(language)):
        known = product().get(m.id)
        if m.fuzzy or not m.string or not all(m.string if isinstance(m.string, tuple) else (m.string,)):
            yield f"{m.id!r} is not translated"
        if known is None:
            yield f"{m.id!r} is no longer said"
        elif ("safety" in m.flags) != ("safety" in known.flags):
            yield f"{m.id!r} is flagged wrongly"
        yield from (f"{m.id!r}: {error}" for error in m.check())


def rewrite(language: str, wanted: Set[str]) -> None:
    """Adds what is wanted and missing for somebody to translate, drops what is no longer said, and flags what is of safety."""
    catalogue, known = catalogues.read(language), {m.id if isinstance(m.id, str) else m.id[0]: m for m in _texts(product())}
    for m in list(_texts(catalogue)):
        source = product().get(m.id)
        if source is None:
            catalogue.delete(m.id)
        else:
            m.flags = (m.flags - {"safety"}) | source.flags
    for text in wanted:
        if known[text].id not in catalogue:
            catalogue.add(known[text].id, flags=known[text].flags)
    with catalogues.path(language).open("wb") as file:
        write_po(file, catalogue, width=160, no_location=True, sort_output=True, ignore_obsolete=True)


def _texts(catalogue: Catalog) -> Iterator[Message]:
    return (m for m in catalogue if m.id)
