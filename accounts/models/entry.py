"""The record: one row for each command, at once its receipt, its audit row and a link of the darkroom's hash chain."""

import hashlib
import json
from datetime import datetime

from django.db import models

from accounts.models.darkroom import Darkroom

SEQ_BITS = 32


def entry_id(darkroom_id: int, seq: int) -> int:
    """Return the id of entry ``seq`` of a darkroom.

    It is known before the row is written, so that ledger rows can point to an entry whose answer they help to word.
    """
    return (darkroom_id << SEQ_BITS) | seq


class Entry(models.Model):
    """What was done, by whom, when it happened by their word, when it was written down, and what was answered."""

    append_only = True

    id = models.BigIntegerField(primary_key=True)
    darkroom = models.ForeignKey(Darkroom, models.PROTECT, related_name="entries")
    seq = models.BigIntegerField()
    by = models.ForeignKey("accounts.Membership", models.PROTECT, related_name="entries")
    on_behalf_of = models.ForeignKey("accounts.Membership", models.PROTECT, null=True, related_name="+")
    act = models.CharField(max_length=40)
    key = models.UUIDField()
    digest = models.CharField(max_length=64)
    status = models.PositiveSmallIntegerField()
    answer = models.TextField()
    location = models.CharField(max_length=200, blank=True)
    occurred_at = models.DateTimeField()
    recorded_at = models.DateTimeField()
    previous_hash = models.CharField(max_length=64)
    hash = models.CharField(max_length=64)

    class Meta:
        constraints = (
            models.UniqueConstraint(fields=["darkroom", "seq"], name="entry_seq_once"),
            models.UniqueConstraint(fields=["darkroom", "by", "key"], name="entry_key_once"),
        )

    def digest_of_content(self) -> str:
        """Return SHA-256 over the previous hash and this row's canonical content (ids only, no names)."""
        content = [
            self.previous_hash, self.darkroom_id, self.seq, self.by_id, self.on_behalf_of_id, self.act, str(self.key),
            self.digest, self.status, self.answer, self.location, _instant(self.occurred_at),
            _instant(self.recorded_at),
        ]  # fmt: skip
        text = json.dumps(content, separators=(",", ":"), ensure_ascii=False)
        return hashlib.sha256(text.encode()).hexdigest()


def _instant(at: datetime) -> str:
    return f"{at:%Y-%m-%dT%H:%M:%S.%f}"
