"""Papers kept as files: attached by staff, kept as long as the law asks, removed by an admin after that only."""

from datetime import date

from accounts.acts import Act
from accounts.commands.entry import Work, command
from accounts.models import Darkroom
from darkroom_service.localday import day_of
from darkroom_service.refusal import Clash, Malformed
from waste.models import Content, Document, DocumentRemoval, Pickup
from waste.science.document import HIGHEST_SIZE, media_type, name_fault
from waste.science.retention import Record, keep_until

KINDS = "a PDF, a PNG or JPEG picture, or plain text (csv too)"


@command(Act.DOCUMENT_ADD)
def attach(work: Work, pickup: Pickup, *, name: str, data: bytes, sha256: str) -> Document:
    """Attach a file to a pickup: its type is judged by its content, and its name has to agree."""
    kind = judged(name, data)
    # The same bytes are kept once for each darkroom.
    Content.objects.get_or_create(darkroom=work.darkroom, sha256=sha256, defaults={"data": data})
    return Document.objects.create(
        darkroom=work.darkroom, pickup=pickup, subject=f"pickup:{pickup.public_id}", name=name, media_type=kind,
        size=len(data), sha256=sha256, entry_id=work.entry_id, occurred_at=work.occurred_at,
    )  # fmt: skip


def judged(name: str, data: bytes) -> str:
    """Return what a file is, or refuse it."""
    if not data:
        raise Malformed("document.empty", f"Send the bytes of the file: {KINDS}.", pointer="")
    if len(data) > HIGHEST_SIZE:
        raise Malformed("document.too_large", "A file has at most 10 MiB.", pointer="", highest=HIGHEST_SIZE)
    kind = media_type(data)
    if kind is None:
        raise Malformed(
            "document.false_type", f"By its content this is not a file kept here. Send {KINDS}.", pointer=""
        )
    if fault := name_fault(name, kind):
        raise Malformed(fault.code, fault.words, pointer="/name", media_type=kind)
    return kind


@command(Act.DOCUMENT_REMOVE)
def remove(work: Work, document: Document, *, reason: str) -> Document:
    """Delete the bytes of a document past its retention; that it was there, its name and its digest stay."""
    if DocumentRemoval.objects.filter(document=document).exists():
        raise Clash("document.removed", "This document was removed already. Its name and digest stay.")
    until = kept_until(document)
    if day_of(work.recorded_at, work.darkroom.zone) < until:
        words = f"This is kept until {until} by the rules of {work.darkroom.country_rules}. Remove it then."
        raise Clash("document.retained", words, until=str(until))
    DocumentRemoval.objects.create(
        document=document, reason=reason, entry_id=work.entry_id, occurred_at=work.recorded_at
    )
    if not Document.objects.filter(darkroom=work.darkroom, sha256=document.sha256).kept().exists():
        Content.objects.filter(darkroom=work.darkroom, sha256=document.sha256).delete()
    return document


def kept_until(document: Document) -> date:
    """Return the first day on which a document need not be kept: counted from the removal of the waste it is about.

    A pickup that has not taken place keeps its papers: they count from the day they were attached at the earliest.
    """
    room = document.darkroom
    attached = day_of(document.occurred_at, room.zone)
    pickup = document.pickup
    removed = day_of(pickup.collected_at, room.zone) if pickup and pickup.collected_at else attached
    return keep_until(Record.CONSIGNMENT, room.country_rules, max(removed, attached)).until


def past_retention(darkroom: Darkroom, today: date) -> list[Document]:
    """List the documents that need not be kept any more; nothing is removed by itself, and ledger rows never are."""
    rows = Document.objects.of(darkroom).kept().order_by("pk")
    return [each for each in rows if kept_until(each) <= today]


def content(document: Document) -> bytes | None:
    """Return the bytes of a document, or None when they were removed."""
    found = Content.objects.filter(darkroom=document.darkroom_id, sha256=document.sha256)
    data = None if hasattr(document, "removal") else found.values_list("data", flat=True).first()
    return None if data is None else bytes(data)
