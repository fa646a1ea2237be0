"""Who looks at the pages: passwords, sessions, and the key that somebody signs with.

A password is kept as Argon2id makes it (RFC 9106) and locks the person's own Ed25519 key. A session
is a random token in a cookie; the store knows its hash alone, and ends it after half an hour
without a request, or ten hours. What a form sends carries a second token, made from the first:
another site's page can have a browser send the cookie, but cannot know that one.
"""

from __future__ import annotations

import hmac
import json
import secrets
from dataclasses import dataclass
from functools import cache
from hashlib import sha256
from typing import Any

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from psycopg import Connection
from psycopg.types.json import Jsonb

from companion.record.audit.keys import public_hex
from companion.record.audit.people import LockedKey, locked
from companion.store.connecting import StoreError
from companion.store.migrating import one

TOKEN_BYTES = 32
LEAST_PASSWORD, MOST_PASSWORD = 12, 200
_hasher = PasswordHasher()


@cache
def _nobodys_hash() -> str:
    """What nobody's password is: who is not there takes as long as who is.

    Made at the first login, whosever it is: at loading, every command would wait for it.
    """
    return _hasher.hash(secrets.token_hex(16))


class NotLetIn(StoreError):
    """Login or password are not those of anybody; which is not said."""


@dataclass(frozen=True)
class Visitor:
    """Somebody with a session. `role` is theirs in the engine."""

    person: int
    name: str
    role: str
    kind: str
    token: str

    @property
    def form_token(self) -> str:
        """What a form of theirs has to carry."""
        return hmac.new(self.token.encode(), b"companion form 1", sha256).hexdigest()

    def sent(self, form_token: str) -> bool:
        """Whether a form was made for this session."""
        return hmac.compare_digest(form_token.encode("utf-8", "replace"), self.form_token.encode())

    @property
    def may_look(self) -> bool:
        """Whether they see jobs; a technician sees who listened to them, and nothing else."""
        return self.kind != "technician"

    @property
    def may_write(self) -> bool:
        """Whether they sign, correct and comment."""
        return self.kind == "supervisor"


def set_password(connection: Connection, login: str, password: str) -> str:
    """Let a person in at the pages, by the keeper; the public key that they sign with from now on.

    Another password takes the place of the one before and ends every session; the key is a new one,
    for the old one cannot be unlocked without the old password.
    """
    require_password(password)
    key = Ed25519PrivateKey.generate()
    (person,) = one(
        connection,
        "SELECT coalesce(max(person), 0) FROM store.person WHERE login = %s AND left_us IS NULL",
        (login.strip().casefold(),),
    )
    if not person:
        raise StoreError(
            f"nobody can log in to the store as {login!r}; wanted: somebody added before",
            said="store-no-such-person",
            login=login,
        )
    connection.execute(
        "INSERT INTO store.page_login (person, password_hash, public_key, locked_key) "
        "VALUES (%(person)s, %(hash)s, %(key)s, %(locked)s) ON CONFLICT (person) DO UPDATE SET "
        "password_hash = excluded.password_hash, public_key = excluded.public_key, "
        "locked_key = excluded.locked_key, since = now(), failed = 0, not_before = now()",
        {
            "person": person,
            "hash": _hasher.hash(password),
            "key": public_hex(key),
            "locked": Jsonb(locked(key, password).model_dump(mode="json")),
        },
    )
    return public_hex(key)


def require_password(password: str) -> None:
    """Raise `StoreError` for one that is too short or too long."""
    if not LEAST_PASSWORD <= len(password) <= MOST_PASSWORD:
        raise StoreError(
            f"a password has {LEAST_PASSWORD} to {MOST_PASSWORD} characters, such as five words; "
            "choose another",
            said="no-password",
            least=LEAST_PASSWORD,
            most=MOST_PASSWORD,
        )


def let_in(connection: Connection, login: str, password: str) -> str:
    """The token of a new session, by the program that shows pages; raises `NotLetIn`."""
    called = "".join(sign for sign in login if sign.isprintable()).strip().casefold()
    nobodys = _nobodys_hash()
    row = connection.execute("SELECT * FROM store.page_person(%s)", (called,)).fetchone()
    person, password_hash, waits_s = row if row is not None and row[0] else (None, nobodys, 0.0)
    if waits_s > 0:
        seconds = round(waits_s)
        raise NotLetIn(
            f"too many wrong passwords for this login; try again in {seconds} s",
            said="login-waits",
            seconds=seconds,
        )
    if not _is_password(password_hash, password) or person is None:
        connection.execute("SELECT store.page_failed(%s)", (called,))
        raise NotLetIn("login or password is wrong", said="login-wrong")
    token = secrets.token_urlsafe(TOKEN_BYTES)
    connection.execute("SELECT store.page_begin(%s, %s)", (person, _hashed(token)))
    return token


def visitor_of(connection: Connection, token: str) -> Visitor | None:
    """Whose session that is; nobody's where it is over or never was."""
    row = connection.execute(
        "SELECT person, name, role::text, kind FROM store.page_session_of(%s)", (_hashed(token),)
    ).fetchone()
    if row is None or row[0] is None:
        return None
    person, name, role, kind = row
    return Visitor(person, name, role, kind, token)


def end_session(connection: Connection, token: str) -> None:
    """Log out."""
    connection.execute("SELECT store.page_end(%s)", (_hashed(token),))


def unlocked_key(connection: Connection, password: str) -> Ed25519PrivateKey:
    """The person's own key, by their own role; raises `NotLetIn` for a wrong password."""
    _, _, kept, password_hash, waits_s = one(connection, "SELECT * FROM store.my_key()")
    if kept is None:
        raise NotLetIn(
            "you have no key here; have the keeper of the store give you a password",
            said="login-no-key",
        )
    if waits_s > 0:
        seconds = round(waits_s)
        raise NotLetIn(
            f"too many wrong passwords for this login; try again in {seconds} s",
            said="login-waits",
            seconds=seconds,
        )
    if not _is_password(password_hash, password):
        raise NotLetIn("the password is wrong", said="password-wrong")
    return LockedKey.model_validate_json(json.dumps(kept)).unlocked(password)


def _is_password(password_hash: Any, password: str) -> bool:
    try:
        return len(password) <= MOST_PASSWORD and _hasher.verify(str(password_hash), password)
    except (VerificationError, InvalidHashError):
        return False


def _hashed(token: str) -> bytes:
    return sha256(token.encode("utf-8", "replace")).digest()
