"""A person: a login name, an optional e-mail address (pupils have none) and a display name."""

import uuid
from typing import Any, ClassVar

from django.contrib.auth.models import AbstractBaseUser, BaseUserManager
from django.contrib.auth.validators import ASCIIUsernameValidator
from django.db import models
from django.utils import timezone


class PersonManager(BaseUserManager["Person"]):
    """Makes people with a properly hashed password."""

    def create_user(self, username: str, password: str | None = None, **fields: Any) -> "Person":
        person = self.model(username=username.lower(), **fields)
        person.set_password(password)
        person.save(using=self._db)
        return person

    def get_by_natural_key(self, username: str | None) -> "Person":
        return self.get(username=(username or "").lower())


class Person(AbstractBaseUser):
    """Somebody who can sign in. What they may do is said by their memberships, never here."""

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    username = models.CharField(max_length=100, unique=True, validators=[ASCIIUsernameValidator()])
    email = models.EmailField(blank=True)
    name = models.CharField(max_length=120)
    is_active = models.BooleanField(default=True)
    joined_at = models.DateTimeField(default=timezone.now)

    objects: ClassVar[PersonManager] = PersonManager()

    USERNAME_FIELD = "username"
    EMAIL_FIELD = "email"
    REQUIRED_FIELDS: ClassVar[list[str]] = ["name"]

    def __str__(self) -> str:
        return self.username
