"""When the parts that run by themselves last did their work; in the database, where losing a broker loses nothing."""

from django.db import models


class Pulse(models.TextChoices):
    """What is watched: the schedule's last whole tick, and the last mail that a mail server took."""

    TICK = "tick"
    MAIL = "mail"


class Heartbeat(models.Model):
    """The last time of one pulse; one row each for the whole service."""

    name = models.CharField(max_length=8, choices=Pulse.choices, primary_key=True)
    at = models.DateTimeField()
