"""Reaching the store: by a socket or this machine's own address, else encrypted with its name
verified."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from pathlib import Path

import psycopg
from psycopg import Connection
from psycopg.conninfo import conninfo_to_dict, make_conninfo

from companion.errors import CompanionError
from companion.web.hosts import is_loopback

VERIFIED = "verify-full"
CONNECT_WITHIN_S = 10
IDLE_OPTIONS = "-c statement_timeout=120000 -c idle_in_transaction_session_timeout=60000"


class StoreError(CompanionError):
    """The store cannot be reached, refuses, or contradicts the record."""

    exit_code = 9


class NotReached(StoreError):
    """There is no way to the store now; the same may be tried again."""


def address(told: str, password_file: Path | None = None) -> str:
    """What libpq connects by; `told` is an address or a list of its settings, without a password.

    Raises `StoreError` for one that is none, that holds a password, or would send readable text
    over a network.
    """
    try:
        parts = {name: str(value) for name, value in conninfo_to_dict(told).items() if value}
    except psycopg.Error as error:
        raise StoreError(
            "that is not a store's address; wanted: such as "
            "postgresql://BOX@store.example/companion (the password stands in a file)"
        ) from error
    if "password" in parts:
        raise StoreError(
            "the store's address holds a password, which anyone who lists programs can see; put it "
            "into a file and name that",
            said="store-password-in-address",
        )
    if password_file is not None:
        parts["passfile"] = str(password_file)
    hosts = [host for host in parts.get("host", "").split(",") if host]
    hosts += [host for host in parts.get("hostaddr", "").split(",") if host]
    if not all(host.startswith(("/", "@")) or is_loopback(host) for host in hosts):
        if parts.get("sslmode", VERIFIED) != VERIFIED:
            raise StoreError(
                f"sslmode={parts['sslmode']} does not verify whom the box talks to; wanted: "
                f"{VERIFIED}, or nothing"
            )
        parts["sslmode"] = VERIFIED
        parts.setdefault("sslrootcert", "system")
    parts.setdefault("connect_timeout", str(CONNECT_WITHIN_S))
    parts.setdefault("application_name", "companion")
    # A cut line is noticed within a minute, also while nothing is sent.
    parts.setdefault("keepalives_idle", "20")
    parts.setdefault("keepalives_interval", "10")
    parts.setdefault("keepalives_count", "3")
    parts.setdefault("tcp_user_timeout", "60000")
    parts.setdefault("options", IDLE_OPTIONS)
    return make_conninfo("", **parts)


@contextlib.contextmanager
def connected(told: str, password_file: Path | None = None) -> Iterator[Connection]:
    """A connection to the store, closed at the end; every statement commits by itself.

    Raises `NotReached` where there is no way to it or it is cut, `StoreError` where it refuses.
    """
    where = address(told, password_file)
    with speaking_plainly(), psycopg.connect(where, autocommit=True) as connection:
        yield connection


@contextlib.contextmanager
def speaking_plainly() -> Iterator[None]:
    """Turn the engine's errors into ones that say what to do."""
    try:
        yield
    except psycopg.errors.InsufficientPrivilege as error:
        raise StoreError(
            f"the store refuses: {_told(error)}", said="store-refuses", why=_told(error)
        ) from error
    except (psycopg.errors.DiskFull, psycopg.errors.OutOfMemory) as error:
        raise NotReached(
            f"the store has no room: {_told(error)}", said="store-no-room", why=_told(error)
        ) from error
    except psycopg.OperationalError as error:
        if "authentication failed" in str(error) or "no password supplied" in str(error):
            raise StoreError(
                "the store rejects this login's password; check the password file (mode 0600) "
                "against what the keeper gave you",
                said="store-password",
            ) from error
        raise NotReached(
            f"the store cannot be reached: {_told(error)}",
            said="store-not-reached",
            why=_told(error),
        ) from error
    except psycopg.Error as error:
        raise StoreError(
            f"the store refuses: {_told(error)}", said="store-refuses", why=_told(error)
        ) from error


def _told(error: psycopg.Error) -> str:
    told = error.diag.message_primary or str(error)
    return " ".join(told.split())[:500]
