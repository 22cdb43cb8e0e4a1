"""``python -m darkroom_service COMMAND``: this project's one command line (there is no manage.py).

Every command takes ``--data DIR``, the folder of the database file and everything else the service keeps.
"""

import argparse
import os
import sys


def main() -> None:
    """Run one management command with this project's settings."""
    # The folder must be known before the settings are read, so it is taken out here and not by the command.
    early = argparse.ArgumentParser(add_help=False, allow_abbrev=False)
    early.add_argument("--data", default=os.environ.get("DARKROOM_DATA", "data"))
    chosen, rest = early.parse_known_args(sys.argv[1:])
    os.environ["DARKROOM_DATA"] = chosen.data
    # A person is reading; web and worker machines are started without this file and log JSON.
    os.environ.setdefault("DARKROOM_LOG_JSON", "no")
    os.environ.setdefault("DARKROOM_LOG_LEVEL", "WARNING")
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "darkroom_service.settings")
    from django.core.management import execute_from_command_line  # noqa: PLC0415 - settings must be named first

    execute_from_command_line(["python -m darkroom_service", *rest])


if __name__ == "__main__":
    main()
