"""What the keeper of a store does: makes it, and lets sites, boxes and people in.

By the login of an administrator: the owner of the database with CREATEROLE, or a superuser.
"""

from __future__ import annotations

import secrets
from dataclasses import dataclass
from typing import Literal

import psycopg
from psycopg import Connection, sql

from companion.store.connecting import StoreError
from companion.store.migrating import one

Kind = Literal["supervisor", "auditor", "keeper", "technician"]
GROUPS: dict[Kind, str] = {
    "supervisor": "companion_supervisor",
    "auditor": "companion_auditor",
    "keeper": "companion_keeper",
    "technician": "companion_technician",
}


@dataclass(frozen=True)
class Login:
    """What a box or a program logs in by; the password is told this once."""

    role: str
    password: str

    def line(self) -> str:
        """For a libpq password file, whatever the host and database."""
        return f"*:*:*:{self.role}:{self.password}\n"


def add_site(connection: Connection, name: str) -> int:
    """The site's number; one that is there already is taken as it is."""
    connection.execute(
        "INSERT INTO store.site (name) VALUES (%s) ON CONFLICT (name) DO NOTHING", (name,)
    )
    return _number(connection, "SELECT site FROM store.site WHERE name = %s", name)


def add_box(connection: Connection, name: str, site: str, public_key: str) -> Login:
    """Let a box in, known by its public key (`box.key.pub`); gives its login.

    Raises `StoreError` for a name or key that is there already.
    """
    with connection.transaction():
        where = add_site(connection, site)
        role = _fresh_role(connection, "box")
        try:
            number = _number(
                connection,
                "INSERT INTO store.box (name, site, role) VALUES (%s, %s, %s) RETURNING box",
                name,
                where,
                role,
            )
            _add_key(connection, number, public_key)
        except psycopg.errors.UniqueViolation as error:
            raise StoreError(
                f"the store has a box of the name {name!r} or of this key already; a box that "
                "begins a new record is a new box"
            ) from error
        return _made(connection, role, "companion_box")


def add_box_key(connection: Connection, name: str, public_key: str) -> None:
    """A further key that marks of this box may be signed with (it was replaced)."""
    number = box_number(connection, name)
    with connection.transaction():
        _add_key(connection, number, public_key)
        _note(connection, f"another key of {name}: {public_key}")


def retire_box(connection: Connection, name: str) -> None:
    """Take nothing more from a box; what it sent stays."""
    number = box_number(connection, name)
    (role,) = one(connection, "SELECT role FROM store.box WHERE box = %s", (number,))
    with connection.transaction():
        connection.execute("UPDATE store.box SET retired = now() WHERE box = %s", (number,))
        connection.execute(sql.SQL("ALTER ROLE {} NOLOGIN").format(sql.Identifier(str(role))))
        _note(connection, f"{name} retired")


def add_person(
    connection: Connection,
    name: str,
    login: str,
    kind: Kind,
    sites: tuple[str, ...] = (),
) -> Login:
    """Let a person in, as a role of their own; gives its login.

    `sites` are those that a supervisor sees, or a technician works at; auditors and keepers see
    all. A technician is known by the name under which they do jobs there. Raises `StoreError` for
    a login name that is there already and for a site that is not there.
    """
    with connection.transaction():
        role = _fresh_role(connection, "person")
        try:
            number = _number(
                connection,
                "INSERT INTO store.person (name, login, role, kind) VALUES (%s, %s, %s, %s) "
                "RETURNING person",
                name,
                login.strip().casefold(),
                role,
                kind,
            )
        except psycopg.errors.UniqueViolation as error:
            raise StoreError(f"somebody logs in as {login!r} already") from error
        for site in sites:
            _let_see(connection, number, site)
        login_of_them = _made(connection, role, GROUPS[kind])
        # The program that shows pages acts as each of them once they have logged in there.
        connection.execute(
            sql.SQL("GRANT {} TO companion_pages").format(sql.Identifier(login_of_them.role))
        )
        return login_of_them


def add_pages(connection: Connection) -> Login:
    """A login for the program that shows pages; it has no rights but to let people in."""
    with connection.transaction():
        role = _fresh_role(connection, "pages")
        made = _made(connection, role, "companion_pages", "companion_indexer")
        name = sql.Identifier(role)
        connection.execute(sql.SQL("ALTER ROLE {} NOINHERIT").format(name))
        # What it does not inherit, it has to be given by itself.
        connection.execute(
            sql.SQL("GRANT CONNECT ON DATABASE {} TO {}").format(
                sql.Identifier(connection.info.dbname), name
            )
        )
        return made


def remove_person(connection: Connection, login: str) -> None:
    """Let a person in no more, from the next request on; what they signed stays signed."""
    number = _person(connection, login)
    (role,) = one(connection, "SELECT role FROM store.person WHERE person = %s", (number,))
    with connection.transaction():
        connection.execute("UPDATE store.person SET left_us = now() WHERE person = %s", (number,))
        connection.execute(sql.SQL("ALTER ROLE {} NOLOGIN").format(sql.Identifier(str(role))))
        connection.execute(
            sql.SQL("REVOKE {} FROM companion_pages").format(sql.Identifier(str(role)))
        )
        for group in GROUPS.values():
            # An open connection has no rights from here on, too.
            connection.execute(
                sql.SQL("REVOKE {} FROM {}").format(
                    sql.Identifier(group), sql.Identifier(str(role))
                )
            )


def box_number(connection: Connection, name: str) -> int:
    """The box of that name; raises `StoreError` where there is none."""
    return _number(connection, "SELECT box FROM store.box WHERE name = %s", name)


def _person(connection: Connection, login: str) -> int:
    return _number(
        connection, "SELECT person FROM store.person WHERE login = %s", login.strip().casefold()
    )


def _let_see(connection: Connection, person: int, site: str) -> None:
    where = _number(connection, "SELECT site FROM store.site WHERE name = %s", site)
    connection.execute(
        "INSERT INTO store.person_site VALUES (%s, %s) ON CONFLICT DO NOTHING", (person, where)
    )


def _number(connection: Connection, query: str, *values: object) -> int:
    row = connection.execute(query.encode("utf-8"), values).fetchone()
    if row is None:
        raise StoreError(f"the store has no {values[0]!r}; see what there is by 'store list'")
    return int(row[0])


def _add_key(connection: Connection, box: int, public_key: str) -> None:
    connection.execute(
        "INSERT INTO store.box_key (box, public_key) VALUES (%s, decode(%s, 'hex'))",
        (box, public_key),
    )


def _fresh_role(connection: Connection, what: str) -> str:
    """A name of a role that no other store of the cluster uses."""
    (database,) = one(connection, "SELECT oid FROM pg_database WHERE datname = current_database()")
    return f"companion_{database}_{what}_{secrets.token_hex(4)}"


def _made(connection: Connection, role: str, *groups: str) -> Login:
    password = secrets.token_urlsafe(24)
    connection.execute(
        sql.SQL("CREATE ROLE {} LOGIN PASSWORD {} IN ROLE {}").format(
            sql.Identifier(role), password, sql.SQL(", ").join(map(sql.Identifier, groups))
        )
    )
    return Login(role, password)


def _note(connection: Connection, what: str) -> None:
    connection.execute("INSERT INTO store.keeping (by, what) VALUES (session_user, %s)", (what,))
