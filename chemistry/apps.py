from django.apps import AppConfig


class ChemistryConfig(AppConfig):
    name = "chemistry"

    def ready(self) -> None:
        # Models can be read only now.
        from accounts.commands import darkroom  # noqa: PLC0415
        from chemistry.commands import redating  # noqa: PLC0415

        if redating.redate_locked not in darkroom.ON_ZONE:
            darkroom.ON_ZONE.append(redating.redate_locked)
