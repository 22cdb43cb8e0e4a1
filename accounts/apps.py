from django.apps import AppConfig
from django.db.models.signals import post_migrate


class AccountsConfig(AppConfig):
    name = "accounts"

    def ready(self) -> None:
        # After every migrate, for every app: SQLite drops a table's triggers when a migration remakes the table.
        from accounts import triggers

        post_migrate.connect(triggers.install, dispatch_uid="append_only_triggers")
