"""Whether the store is what boxes sent: every hash, chain and signature looked at again.

By another program than the one that took them in: Python and its library of cryptography here,
the engine's own functions there. By the login of an auditor or a keeper.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from psycopg import Connection

from companion.errors import RecordError
from companion.record.audit.canonical_check import value_of_canonical
from companion.record.audit.event_bytes import stored_hash
from companion.record.audit.merkle import prefix_roots
from companion.record.audit.redacted import Redacted, following_bytes
from companion.record.audit.seal import Leaf
from companion.record.box import Mark
from companion.record.canonical import opening_hash
from companion.store.migrating import migrations
from companion.store.redactions import redactions_of
from companion.store.sealing import Problem, StoreSeal, marks_of, seal_problems

GUARDED = (
    *("job", "event", "mark", "sealed_head", "seal", "seal_leaf", "box_key", "keeping"),
    *("outgoing", "comment", "sound", "access", "pseudonym", "erasure"),
    *("publication", "publication_file", "publication_box"),
)
"""What is only ever added to."""
GROWING = {
    *(("job", "only_grows"), ("outgoing", "only_answered"), ("sound", "only_let_go")),
    *(("comment", "only_its_names_go"), ("pseudonym", "only_forgotten")),
    *(("access", "only_after_its_time"), ("publication_box", "only_answered_by_box")),
    ("publication", "only_publishers_name_goes"),
}
OF_EVENTS = ("only_names_go", "lets_sound_go")
"""What may be changed of it, and the guard that says how."""
NOTING = ("note_arrival", "note_arrival_of_new")
"""What tells the index that a job grew."""
_READ_AT_ONCE = 2_000
_FUNCTION = re.compile(
    r"CREATE (?:OR REPLACE )?FUNCTION store\.(\w+)\(.*?\bAS \$\$(.*?)\$\$", re.DOTALL
)
_EVENTS = """
    SELECT b.name, j.box, j.id, j.opened_utc, j.last_seq, encode(j.head, 'hex'),
        encode(j.opening_hash, 'hex'), e.sequence, e.kind::text, e.at_utc, e.monotonic_ns,
        e.clock_trusted, e.body, encode(e.hash, 'hex'), j.job
    FROM store.job j JOIN store.box b USING (box)
    LEFT JOIN store.event e ON e.month = j.month AND e.box = j.box AND e.job = j.job
    ORDER BY j.box, j.job, e.sequence
"""


@dataclass
class Verified:
    """What was wrong, and how much was looked at."""

    problems: list[Problem] = field(default_factory=list)
    boxes: int = 0
    jobs: int = 0
    events: int = 0
    marks: int = 0
    redacted: int = 0


def verify_store(
    connection: Connection, outside: StoreSeal | None = None, root: str = ""
) -> Verified:
    """Everything that is wrong with the store, as this login sees it, in one state of it.

    Reads every event. What boxes were refused is a problem, too: each says why.
    """
    done = Verified()
    with connection.transaction():
        connection.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
        connection.execute("SET LOCAL statement_timeout = 0")
        done.problems += guard_problems(connection)
        heads = _Heads()
        done.problems += _event_problems(connection, done, heads)
        done.problems += _mark_problems(connection, done, heads)
        done.problems += _refusals(connection)
        done.problems += seal_problems(connection, outside, root)
    return done


@dataclass
class _Heads:
    """What marks are held against: the hash of each event that one names."""

    wanted: set[tuple[str, str, int]] = field(default_factory=set)
    found: dict[tuple[str, str, int], str] = field(default_factory=dict)


def _event_problems(connection: Connection, done: Verified, heads: _Heads) -> Iterator[Problem]:
    heads.wanted = {(name, m.session_id, m.seq) for name, m in marks_of(connection)}
    redactions = redactions_of(connection)
    job_of_before, head, seq, broken = None, "", 0, False
    last: tuple[str, str, int, str] | None = None
    with connection.cursor(name="every_event") as cursor:
        cursor.itersize = _READ_AT_ONCE
        cursor.execute(_EVENTS)
        for row in cursor:
            name, job_id, opened_utc, job = row[0], row[2], row[3], row[14]
            if job != job_of_before:
                yield from _end_problems(last, head, seq, broken)
                done.jobs += 1
                job_of_before, seq, broken = job, 0, False
                head = opening_hash(job_id, opened_utc)
                last = (name, job_id, row[4], row[5])
                heads.found[name, job_id, 0] = head
                if head != row[6]:
                    yield Problem(name, f"job {job_id}: its opening is not what was hashed")
            if row[7] is None or broken:
                continue
            done.events += 1
            told = _break(row, head, seq + 1, redactions.get(job, {}).get(row[7]))
            if told:
                broken = True
                yield Problem(name, f"job {job_id}, event {row[7]}: {told}")
                continue
            done.redacted += row[7] in redactions.get(job, {})
            head, seq = row[13], row[7]
            if (name, job_id, seq) in heads.wanted:
                heads.found[name, job_id, seq] = head
    yield from _end_problems(last, head, seq, broken)


def _break(row: tuple[Any, ...], head: str, wanted: int, redacted: Redacted | None) -> str:
    """What is wrong with an event; "" where nothing is."""
    _, _, job_id, _, _, _, _, seq, kind, at_utc, monotonic_ns, trusted, body, hashed, _ = row
    if seq != wanted:
        return f"event {wanted} before it is missing"
    if redacted is not None:
        following = following_bytes(trusted, kind, monotonic_ns, head, seq, job_id)
        if not redacted.is_told(body.encode()):
            return "it is not as it was told when a name was replaced in it"
        if redacted.hash_before(following) != hashed:
            return "what it follows, or its place, is not what its hash was made of"
        return ""
    try:
        made = stored_hash(
            job_id.encode(),
            seq,
            kind.encode(),
            at_utc.encode(),
            monotonic_ns,
            int(trusted),
            body.encode(),
            head.encode(),
        )
        value_of_canonical(body)
    except (ValueError, RecordError) as error:
        return f"its content cannot be read: {error}"
    if made.decode() != hashed:
        return "its content, or what it follows, is not what its hash was made of"
    return ""


def _end_problems(
    last: tuple[str, str, int, str] | None, head: str, seq: int, broken: bool
) -> Iterator[Problem]:
    if last is None or broken:
        return
    name, job_id, last_seq, stored = last
    if seq != last_seq:
        told = f"it ends at event {seq}, and event {last_seq} was taken: its end was dropped"
        yield Problem(name, f"job {job_id}: {told}")
    elif head != stored:
        yield Problem(name, f"job {job_id}: its head is not that of its last event")


def _mark_problems(connection: Connection, done: Verified, heads: _Heads) -> Iterator[Problem]:
    keys = set(
        connection.execute(
            "SELECT b.name, encode(k.public_key, 'hex') FROM store.box_key k JOIN store.box b "
            "USING (box)"
        ).fetchall()
    )
    marks: dict[str, list[Mark]] = {}
    for name, mark in marks_of(connection):
        done.marks += 1
        marks.setdefault(name, []).append(mark)
        if (name, mark.public_key) not in keys:
            yield Problem(name, f"mark {mark.number} is by a key that is not this box's")
        elif not mark.is_signed:
            yield Problem(name, f"mark {mark.number} was not signed with the key that it names")
        elif (
            mark.what != "sealed"
            and heads.found.get((name, mark.session_id, mark.seq)) != mark.head
        ):
            yield Problem(
                name,
                f"job {mark.session_id}: event {mark.seq} is gone or another one than the box "
                f"signed by mark {mark.number}",
            )
    for box, name, last_mark, last_link, last_seqs in connection.execute(
        "SELECT b.box, b.name, b.last_mark, b.last_link, (SELECT count(*) FROM store.job j WHERE "
        "j.box = b.box AND j.last_seq > coalesce((SELECT max(m.sequence) FROM store.mark m WHERE "
        "m.box = b.box AND m.job_id = j.id), 0)) FROM store.box b ORDER BY b.box"
    ).fetchall():
        done.boxes += 1
        kept = marks.get(name, [])
        if last_seqs:
            yield Problem(name, f"{last_seqs} jobs hold events that no mark of the box signed")
        if last_mark and (not kept or kept[-1].number != last_mark):
            yield Problem(name, f"its last mark, {last_mark}, is gone")
        elif kept and kept[-1].link != bytes(last_link):
            yield Problem(name, f"its last mark, {last_mark}, was changed")
        yield from _box_seal_problems(connection, box, name, kept)


def _box_seal_problems(
    connection: Connection, box: int, name: str, marks: list[Mark]
) -> Iterator[Problem]:
    """The box's own seals: the roots that it signed, over the heads that came with them."""
    wanted = {mark.seq: mark for mark in marks if mark.what == "sealed"}
    if not wanted:
        return
    rows = connection.execute(
        "SELECT s.job_id, s.sequence, encode(CASE WHEN s.sequence = 0 THEN j.opening_hash ELSE "
        "e.hash END, 'hex') FROM store.sealed_head s "
        "LEFT JOIN store.job j ON j.box = s.box AND j.id = s.job_id "
        "LEFT JOIN store.event e ON e.month = j.month AND e.box = j.box AND e.job = j.job "
        "AND e.sequence = s.sequence WHERE s.box = %s ORDER BY s.number",
        (box,),
    ).fetchall()
    if any(head is None for _, _, head in rows):
        yield Problem(name, "an event under one of its seals is gone")
        return
    leaves = [Leaf(session=job, seq=seq, head=head).hashed for job, seq, head in rows]
    roots = list(prefix_roots(leaves))
    for count, mark in wanted.items():
        if count >= len(roots) or roots[count].hex() != mark.head:
            yield Problem(name, f"the seal of mark {mark.number} is over other heads than these")


def _refusals(connection: Connection) -> Iterator[Problem]:
    for name, what, told, last, times in connection.execute(
        "SELECT b.name, r.what, r.told, r.last, r.times FROM store.refusal r JOIN store.box b "
        "USING (box) ORDER BY b.box, r.what"
    ).fetchall():
        yield Problem(
            name, f"refused {times} times, last {last:%Y-%m-%d %H:%M} UTC ({what}): {told}"
        )


def guard_problems(connection: Connection) -> Iterator[Problem]:
    """What guards the store held against how it was made: functions, triggers, rights."""
    made = {name: body for step in migrations() for name, body in _FUNCTION.findall(step.sql)}
    there: dict[str, str] = dict(
        connection.execute(
            "SELECT proname::text, prosrc FROM pg_proc WHERE pronamespace = 'store'::regnamespace"
        ).fetchall()
    )
    for name in sorted(made.keys() | there.keys()):
        if made.get(name) != there.get(name):
            yield Problem("", f"its function {name} is another one than it was made with")
    triggers = connection.execute(
        "SELECT c.relname::text, t.tgname::text, t.tgenabled::text, p.proname::text "
        "FROM pg_trigger t "
        "JOIN pg_class c ON c.oid = t.tgrelid JOIN pg_proc p ON p.oid = t.tgfoid "
        "WHERE c.relnamespace = 'store'::regnamespace AND NOT t.tgisinternal"
    ).fetchall()
    partitions = [
        str(row[0])
        for row in connection.execute(
            "SELECT c.relname::text FROM pg_inherits i JOIN pg_class c ON c.oid = i.inhrelid "
            "WHERE i.inhparent = 'store.event'::regclass"
        ).fetchall()
    ]
    expected = {
        (table, name, "O", "never_changed")
        for table in (*GUARDED, *partitions)
        for name in ("never_changed", "never_emptied")
    } | {(table, name, "O", name) for table, name in GROWING}
    expected |= {("job", name, "O", "note_arrival") for name in NOTING}
    expected |= {(table, name, "O", name) for table in ("event", *partitions) for name in OF_EVENTS}
    for table, name, _, _ in sorted(expected ^ set(triggers)):
        yield Problem("", f"the guard {name} of {table} is off, another one, or was put in")
    # From the catalogue itself: the information schema tells each role of its own rights alone.
    for table, granted in connection.execute(
        "SELECT c.relname::text, string_agg(DISTINCT g.privilege_type || ' to ' || "
        "CASE g.grantee WHEN 0 THEN 'everybody' ELSE g.grantee::regrole::text END, ', ') "
        "FROM pg_class c, aclexplode(c.relacl) g WHERE c.relnamespace = 'store'::regnamespace "
        "AND g.grantee <> c.relowner "
        "AND NOT (g.privilege_type = 'SELECT' AND g.grantee IN ('companion_box'::regrole, "
        "'companion_supervisor'::regrole, 'companion_auditor'::regrole, "
        "'companion_keeper'::regrole)) "
        "AND NOT (c.relname IN ('job', 'event', 'box', 'site') "
        "AND g.privilege_type = 'SELECT' AND g.grantee = 'companion_indexer'::regrole) "
        "AND NOT (c.relname IN ('seal', 'seal_leaf') AND g.privilege_type = 'INSERT' "
        "AND g.grantee = 'companion_keeper'::regrole) GROUP BY 1 ORDER BY 1"
    ).fetchall():
        yield Problem("", f"rights on {table} were given: {granted}")
    for (table,) in connection.execute(
        "SELECT relname::text FROM pg_class WHERE relnamespace = 'store'::regnamespace "
        "AND NOT relrowsecurity AND (relname IN ('job', 'event', 'mark', 'box', 'sealed_head', "
        "'refusal', 'box_key', 'site', 'outgoing', 'comment', 'page_login', 'page_session', "
        "'sound', 'access', 'pseudonym', 'erasure', 'asking', "
        "'publication', 'publication_file', 'publication_box') "
        "OR relispartition AND relkind = 'r') ORDER BY 1"
    ).fetchall():
        yield Problem("", f"the rows of {table} are no longer kept apart")
    for (table,) in connection.execute(
        "SELECT relname::text FROM pg_class WHERE relnamespace = 'reading'::regnamespace "
        "AND relkind = 'r' AND NOT relrowsecurity ORDER BY 1"
    ).fetchall():
        yield Problem("", f"the rows of {table} that the pages read are no longer kept apart")
    for (named,) in connection.execute(
        "SELECT polname::text || ' of ' || polrelid::regclass FROM pg_policy p "
        "WHERE pg_get_expr(polqual, polrelid) = 'true' AND NOT polroles <@ ARRAY["
        "'companion_auditor'::regrole::oid, 'companion_keeper'::regrole, "
        "'companion_indexer'::regrole] ORDER BY 1"
    ).fetchall():
        yield Problem("", f"the policy {named} lets more see everything than it was made for")
