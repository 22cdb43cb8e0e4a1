"""Named, hashed, expiring tokens for programs."""

import uuid
from typing import ClassVar

from django.db import models
from knox.models import AbstractAuthToken, AuthTokenManager
from knox.settings import CONSTANTS


class Token(AbstractAuthToken):
    """Only the digest of a token is stored; the secret is shown once, when it is made."""

    # Not the primary key, as it is by default: lists are paged by a number, and an address never holds a digest.
    digest = models.CharField(max_length=CONSTANTS.DIGEST_LENGTH, unique=True)
    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    name = models.CharField(max_length=60, default="unnamed")

    objects: ClassVar[AuthTokenManager] = AuthTokenManager()

    def __str__(self) -> str:
        return self.token_key
