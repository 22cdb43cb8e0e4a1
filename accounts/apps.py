from django.apps import AppConfig
from django.db.models.signals import post_migrate

from accounts import triggers


class AccountsConfig(AppConfig):
    name = "accounts"

    def ready(self) -> None:
        # After every migrate, for every app: SQLite drops a table's triggers when a migration remakes the table.
        post_migrate.connect(triggers.install, dispatch_uid="append_only_triggers")
