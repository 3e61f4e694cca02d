#!/usr/bin/env python3
"""The command line of the service: `manage.py COMMAND`."""

import os
import sys

# Only these change the schema; everything else runs as the restricted role.
OWNER_COMMANDS = {"migrate", "makemigrations", "sqlmigrate", "flush"}


def main() -> None:
    """Run one management command under the database role that it needs."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "deploy.settings")
    if len(sys.argv) > 1 and sys.argv[1] in OWNER_COMMANDS:
        os.environ["DB_ROLE"] = "owner"
    from django.core.management import execute_from_command_line

    execute_from_command_line(sys.argv)


if __name__ == "__main__":
    main()
