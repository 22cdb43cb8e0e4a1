"""Ids in a request body, looked up among what is visible: foreign and absent ones are refused alike."""

from collections.abc import Iterable
from typing import TypeVar
from uuid import UUID

from django.db.models import Model, QuerySet

from darkroom_service.refusal import Malformed

M = TypeVar("M", bound=Model)


def named(rows: QuerySet[M], public_id: UUID, *, pointer: str, noun: str) -> M:
    """Return the row by that public id among ``rows`` (limited to this darkroom), or refuse the body at ``pointer``."""
    if row := rows.filter(public_id=public_id).first():
        return row
    raise unknown(noun, pointer)


def all_named(rows: QuerySet[M], public_ids: Iterable[UUID], *, pointer: str, noun: str) -> list[M]:
    """Return the rows by those public ids, in the order asked, in one query; refuse the first unknown one."""
    wanted = list(public_ids)
    found = {row.public_id: row for row in rows.filter(public_id__in=wanted)}  # type: ignore[attr-defined]
    for position, public_id in enumerate(wanted):
        if public_id not in found:
            raise unknown(noun, f"{pointer}/{position}")
    return [found[public_id] for public_id in wanted]


def unknown(noun: str, pointer: str) -> Malformed:
    """Return the refusal of an id that names nothing here."""
    return Malformed(f"{noun}.unknown", f"No {noun} of this darkroom has that id.", pointer=pointer)
