"""The hash chain of a darkroom's record, followed link by link."""

from accounts.models import Darkroom, Entry, Head
from accounts.models.entry import entry_id

START = "0" * 64


def broken(darkroom: Darkroom) -> int | None:
    """Return the number of the first entry that is altered, missing or out of place, or None when all hold.

    Read in a stream; the head is compared last, so that entries cut off the end are missed too.
    """
    seq, link = 0, START
    for entry in Entry.objects.filter(darkroom=darkroom).order_by("seq").iterator(chunk_size=1000):
        seq += 1
        in_place = entry.pk == entry_id(entry.darkroom_id, seq) and entry.previous_hash == link
        if not in_place or entry.hash != entry.digest_of_content():
            return seq
        link = entry.hash
    head = Head.objects.get(darkroom=darkroom)
    if head.seq > seq:
        return seq + 1
    return None if (head.seq, head.hash) == (seq, link) else seq
