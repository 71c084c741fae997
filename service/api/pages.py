"""Lists by page. A page begins behind an entry, not at a count, so that nothing is missed or doubled when something is added meanwhile."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Annotated, Generic, TypeVar

from fastapi import Depends, Query
from pydantic import BaseModel

from service.api.body import LONGEST_ID
from service.errors import NotFoundError
from shared.errors import ClinicalInputError
from shared.findings import msg


class Listed(BaseModel):
    """An entry of a list."""

    id: str


A = TypeVar("A", bound=Listed)


class Page(BaseModel, Generic[A]):
    """`next` is the `after` of the page behind this one; null on the last."""

    items: list[A]
    next: str | None


@dataclass(frozen=True)
class Wanted:
    limit: int
    after: str | None

    def page(self, rows: Callable[[str | None, int], Iterable[A]]) -> Page[A]:
        """`rows(after, limit)` are the entries behind `after`."""
        try:
            found = list(rows(self.after, self.limit + 1))
        except NotFoundError:
            raise ClinicalInputError("after", msg("There is no such entry to go on from; use what the page before gave as `next`.")) from None
        return Page(items=found[: self.limit], next=found[self.limit - 1].id if len(found) > self.limit else None)

    def among(self, entries: Sequence[A]) -> Page[A]:
        """Of a list that is read whole, being short."""

        def behind(after: str | None, limit: int) -> Sequence[A]:
            begin = 0 if after is None else next((n for n, e in enumerate(entries, 1) if e.id == after), None)
            if begin is None:
                raise NotFoundError
            return entries[begin : begin + limit]

        return self.page(behind)


def wanted(
    limit: Annotated[int, Query(ge=1, le=200, description="How many entries at most")] = 50,
    after: Annotated[str | None, Query(max_length=LONGEST_ID, description="`next` of the page before")] = None,
) -> Wanted:
    return Wanted(limit, after)


WantedPage = Annotated[Wanted, Depends(wanted)]
