"""Copy the starter formulas into a darkroom, or bring its copies up to date."""

import hashlib
from typing import Any
from uuid import NAMESPACE_URL, uuid5

from django.core.management.base import BaseCommand, CommandError, CommandParser

from accounts.commands.entry import Answer, Ask
from accounts.models import Membership
from chemistry.commands import starter
from chemistry.models import FormulaVersion
from darkroom_service.refusal import Refusal


class Command(BaseCommand):
    """Told again with nothing new in the set, it changes nothing: the key is made of the content."""

    help = __doc__

    def add_arguments(self, parser: CommandParser) -> None:
        """Ask for the darkroom and who answers for it."""
        parser.add_argument("slug", help="the darkroom's address")
        parser.add_argument("login", help="login name of an instructor there, in whose name it is done")
        parser.add_argument("codes", nargs="*", help="codes of starters; none means all")

    def handle(self, *_: Any, **options: Any) -> None:
        """Run the command and say what stands now."""
        by = Membership.objects.filter(darkroom__slug=options["slug"], person__username=options["login"]).first()
        if by is None:
            raise CommandError(f"{options['login']} is no member of {options['slug']}.")
        codes = options["codes"] or list(starter.starters())
        said = hashlib.sha256(f"{codes}{starter.SET.read_text(encoding='utf-8')}".encode()).hexdigest()
        ask = Ask(by.darkroom_id, by.person_id, uuid5(NAMESPACE_URL, said), said, word=_word)
        try:
            receipt = starter.copy_starter(ask, codes=codes)
        except Refusal as refusal:
            raise CommandError(refusal.message) from None
        for line in receipt.answer.body["stand"]:
            self.stdout.write(line)


def _word(versions: list[FormulaVersion]) -> Answer:
    return Answer(201, {"stand": [f"{each.formula.code}: version {each.number}, {each.state}" for each in versions]})
