"""What every command for the store's keeper is told: where the store is, and by which login."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import click


def store_address(command: Callable[..., Any]) -> Callable[..., Any]:
    """The store's address and the file with the login's password."""
    command = click.option(
        "--password-file",
        "password_file",
        type=click.Path(path_type=Path),
        help="File with the login's password (mode 0600).",
    )(command)
    return click.option("--store", "where", required=True, help="The store's address.")(command)
