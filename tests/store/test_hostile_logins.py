"""Somebody with a login tries what SQL has: nothing is seen or written beyond their role."""

from __future__ import annotations

import contextlib

import psycopg
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from psycopg import Connection

from tests.store.yard import Yard

WRITES = (
    "INSERT INTO store.event SELECT * FROM store.event",
    "INSERT INTO store.job (box, site, id, opened_utc, opening_hash, month, head) "
    "SELECT box, site, 'x', opened_utc, opening_hash, month, head FROM store.job",
    "UPDATE store.event SET body = '{}'",
    "DELETE FROM store.event",
    "TRUNCATE store.event",
    "UPDATE store.job SET last_seq = 0",
    "UPDATE store.box SET last_mark = 0",
    "DELETE FROM store.mark",
    "DELETE FROM store.refusal",
    "INSERT INTO store.mark SELECT * FROM store.mark",
    "INSERT INTO store.box_key (box, public_key) SELECT box, sha256('x') FROM store.box",
    "INSERT INTO store.person_site SELECT person, 1 FROM store.person",
    "UPDATE store.person SET kind = 'keeper'",
    "DELETE FROM store.seal",
    "DELETE FROM store.keeping",
)
SHAPES = (
    "DROP TABLE store.event CASCADE",
    "DROP SCHEMA store CASCADE",
    "ALTER TABLE store.event DISABLE TRIGGER ALL",
    "ALTER TABLE store.event DISABLE ROW LEVEL SECURITY",
    "DROP POLICY of_my_sites ON store.event",
    "CREATE TABLE store.mine (x int)",
    "CREATE TABLE public.mine (x int)",
    "CREATE TEMPORARY TABLE mine (x int)",
    "CREATE FUNCTION pg_temp.leak(text) RETURNS boolean LANGUAGE sql AS 'SELECT true'",
    "CREATE OR REPLACE FUNCTION store.acting() RETURNS name LANGUAGE sql AS $$SELECT 'x'::name$$",
    "CREATE EXTENSION dblink SCHEMA store",
)
ROLES = (
    "SET ROLE companion_owner",
    "SET ROLE store_admin",
    "SET SESSION AUTHORIZATION store_admin",
    "SELECT set_config('role', 'companion_owner', false)",
    "GRANT companion_keeper TO CURRENT_USER",
    "ALTER ROLE CURRENT_USER SUPERUSER",
    "ALTER ROLE CURRENT_USER BYPASSRLS",
    "CREATE ROLE friend LOGIN",
)
OUTWARDS = (
    "COPY store.event TO '/tmp/x'",
    "COPY (SELECT 1) TO PROGRAM 'id'",
    "SELECT pg_read_file('/etc/passwd')",
    "SELECT lo_import('/etc/passwd')",
    "SELECT rolpassword FROM pg_authid",
    "SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE usename = 'store_admin'",
)
GRANTS = (
    "GRANT SELECT ON store.event TO PUBLIC",
    "GRANT ALL ON ALL TABLES IN SCHEMA store TO PUBLIC",
    "GRANT companion_keeper TO PUBLIC",
)
INSIDES = (
    "SELECT store.put_in(b) FROM store.box b",
    "SELECT store.refuse(1, 'x', 'y')",
    "SELECT store.make_month('2020-01-01')",
    "SELECT store.require_box()",
)


def _logins(yard: Yard) -> dict[str, Connection]:
    box = yard.box("box one", "North")
    box.ship()
    yard.box("box two", "South").ship()
    return {
        "box": box.connection(),
        "supervisor": yard.person("S. North", "supervisor", "North"),
        "auditor": yard.person("A. Auditor", "auditor"),
        "keeper": yard.person("K. Keeper", "keeper"),
    }


def _everything(yard: Yard) -> list[tuple[object, ...]]:
    found: list[tuple[object, ...]] = []
    for table in ("event", "job", "mark", "box_key", "person", "person_site", "seal", "refusal"):
        query = f"SELECT '{table}', t::text FROM store.{table} t ORDER BY 2"
        found += yard.admin.execute(query.encode()).fetchall()
    return found


def test_nothing_but_the_stores_own_way_writes(yard: Yard) -> None:
    logins = _logins(yard)
    before = _everything(yard)
    for who, connection in logins.items():
        with connection:
            for statement in (*WRITES, *SHAPES, *ROLES, *OUTWARDS, *INSIDES):
                with pytest.raises(psycopg.Error) as refused:
                    connection.execute(statement.encode())
                assert refused.value.sqlstate in ("42501", "42704", "55000", "0A000", "42883"), (
                    who,
                    statement,
                    refused.value,
                )
            # Of a right that one may not hand on the engine only warns.
            for statement in GRANTS:
                with contextlib.suppress(psycopg.Error):
                    connection.execute(statement.encode())
    assert _everything(yard) == before
    assert yard.problems() == []


def test_the_guards_hold_against_the_owner_too(yard: Yard) -> None:
    yard.box().ship()
    for statement in (
        "UPDATE store.event SET body = '{}'",
        "DELETE FROM store.event",
        "DELETE FROM store.job",
        "UPDATE store.job SET id = 'other'",
        "UPDATE store.job SET last_seq = last_seq - 1",
        "UPDATE store.mark SET number = number + 1",
        "DELETE FROM store.mark",
        "TRUNCATE store.event",
        "TRUNCATE store.mark",
        "DELETE FROM store.box_key",
        *(f"TRUNCATE store.{name}" for name in _partitions(yard)),
        *(f"DELETE FROM store.{name}" for name in _partitions(yard)),
    ):
        with pytest.raises(psycopg.Error, match="append-only"):
            yard.admin.execute(f"SET ROLE companion_owner; {statement}".encode())
    yard.admin.execute("RESET ROLE")


def _partitions(yard: Yard) -> list[str]:
    rows = yard.admin.execute(
        "SELECT relname FROM pg_class WHERE relnamespace = 'store'::regnamespace "
        "AND relispartition AND relkind = 'r'"
    ).fetchall()
    assert rows
    return [name for (name,) in rows]


SITES = ("North", "South", "East", "West")
QUERIES = (
    "SELECT DISTINCT site FROM store.event",
    "SELECT DISTINCT site FROM store.job",
    "SELECT site FROM store.box",
    "SELECT site FROM store.site",
    "SELECT DISTINCT b.site FROM store.mark JOIN store.box b USING (box)",
    "SELECT DISTINCT j.site FROM store.event e RIGHT JOIN store.job j USING (job)",
    "SELECT site FROM store.event UNION SELECT site FROM store.job",
    "WITH every AS MATERIALIZED (SELECT * FROM store.event) SELECT DISTINCT site FROM every",
    "SELECT DISTINCT site FROM store.event WHERE site = site OR true",
    "SELECT DISTINCT site FROM store.event ORDER BY site LIMIT 100",
    "SELECT DISTINCT e.site FROM store.event e, LATERAL (SELECT 1/(e.site - e.site + 1)) x",
    "SELECT DISTINCT site FROM store.event TABLESAMPLE BERNOULLI (100)",
    "SELECT max(site) FROM store.event GROUP BY site",
    "SELECT site FROM store.job WHERE EXISTS (SELECT 1 FROM store.event)",
)
COUNTS = (
    "SELECT count(*) FROM store.mark",
    "SELECT count(*) FROM store.refusal",
    "SELECT count(*) FROM store.sealed_head",
    "SELECT count(*) FROM store.box_key",
)


@pytest.fixture
def four_sites(yard: Yard) -> Yard:
    for site in SITES:
        yard.box(f"box {site}", site).ship()
        # Each box was refused once, too: refusals are told to their own sites alone.
        yard.admin.execute(
            "SELECT store.refuse(box, 'gap', 'x') FROM store.box WHERE name = %s", (f"box {site}",)
        )
    return yard


@settings(
    max_examples=30, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None
)
@given(
    sees=st.sets(st.sampled_from(SITES)),
    queries=st.lists(st.sampled_from(QUERIES), min_size=1, max_size=6),
    ways=st.lists(
        st.sampled_from(
            (
                "SET enable_seqscan = off",
                "SET enable_indexscan = off",
                "SET search_path = pg_temp, store",
                "SET plan_cache_mode = force_generic_plan",
                "SET SESSION CHARACTERISTICS AS TRANSACTION READ ONLY",
                "SET max_parallel_workers_per_gather = 4",
                "SET parallel_setup_cost = 0",
            )
        ),
        max_size=3,
    ),
)
def test_a_supervisor_never_sees_more_than_their_sites(
    four_sites: Yard, sees: set[str], queries: list[str], ways: list[str]
) -> None:
    yard = four_sites
    number = yard.admin.execute("SELECT count(*) FROM store.person").fetchone()
    assert number is not None
    numbers = dict(yard.admin.execute("SELECT name, site FROM store.site").fetchall())
    allowed = {numbers[site] for site in sees}
    with yard.person(f"S. {number[0]}", "supervisor", *sees) as connection:
        for way in ways:
            connection.execute(way.encode())
        for query in queries:
            assert {site for (site,) in connection.execute(query.encode())} == allowed, query
        for query in COUNTS:
            (told,) = connection.execute(query.encode()).fetchone() or (None,)
            (of_all,) = yard.admin.execute(query.encode()).fetchone() or (0,)
            assert told == of_all * len(sees) // len(SITES), query
        # Row security cannot be left out: it is an error, not more rows.
        connection.execute("SET row_security = off")
        with pytest.raises(psycopg.errors.InsufficientPrivilege):
            connection.execute("SELECT * FROM store.event")


def test_a_site_taken_away_is_gone_with_the_next_query(yard: Yard) -> None:
    from companion.store.keeping import remove_person

    yard.box("box one", "North").ship()
    with yard.person("S. North", "supervisor", "North") as connection:
        query = b"SELECT count(*) FROM store.event"
        assert connection.execute(query).fetchone() == (6,)
        yard.admin.execute("DELETE FROM store.person_site")
        assert connection.execute(query).fetchone() == (0,)
    with yard.person("A. Auditor", "auditor") as connection:
        assert connection.execute(query).fetchone() == (6,)
        remove_person(yard.admin, "A. Auditor")
        with pytest.raises(psycopg.errors.InsufficientPrivilege):
            connection.execute(query)
