"""What ``verify`` has to say of one darkroom, as a person would ask it."""

from io import StringIO

from django.core.management import CommandError, call_command

from accounts.models import Darkroom


def differences(room: Darkroom) -> list[str]:
    """Return the lines that ``verify`` prints where something does not follow from the ledgers; none where all does."""
    said = StringIO()
    try:
        call_command("verify", darkroom=room.slug, stdout=said)
    except CommandError as failed:
        return [*said.getvalue().splitlines(), str(failed)]
    return []
