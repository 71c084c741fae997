"""Lists by page, in the order in which their rows were written: what is added or corrected meanwhile makes no other row missing or double."""

from typing import Any

from sqlmodel import Session, col, select

from service.errors import NotFoundError


def page_ids(session: Session, table: Any, of: Any, after: str | None, limit: int, *only: Any) -> list[int]:
    """The ids of the rows of `table` for which `of` holds, behind the one whose public id is `after`. Raises `NotFoundError` where there is none such.

    `only` narrows the page alone: it may go on from a row that has left the list since.
    """
    which = select(table.id).where(of, *only).order_by(col(table.id)).limit(limit)
    if after is not None:
        last = session.exec(select(table.id).where(of, table.public_id == after)).first()
        if last is None:
            raise NotFoundError
        which = which.where(col(table.id) > last)
    return list(session.exec(which).all())
