"""Publishing files to the boxes of a site, by a supervisor's own login and key."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from psycopg import Connection

from companion.published.manifest import Manifest, signed
from companion.record.canonical import sha256_hex
from companion.record.rfc3339 import format_rfc3339
from companion.store.connecting import StoreError
from companion.store.migrating import one
from companion.store.review.people import unlocked_key

_KEYS = """
    SELECT b.name, encode(k.public_key, 'hex') FROM store.box b JOIN store.box_key k USING (box)
    JOIN store.site s USING (site) WHERE s.name = %s AND b.retired IS NULL ORDER BY 1, 2
"""


def publish(
    connection: Connection,
    files: Mapping[str, bytes],
    site: str,
    boxes: Sequence[str],
    password: str,
) -> tuple[Manifest, str, tuple[str, ...]]:
    """Publish the files to these boxes of the site, or to all of it; what was signed, by and for
    whom.

    By a supervisor's login, whose key the password unlocks. Raises `StoreError` where there is no
    such box, or the store refuses.
    """
    found: dict[str, list[str]] = {}
    for name, public_key in connection.execute(_KEYS, (site,)).fetchall():
        found.setdefault(name, []).append(public_key)
    for name in boxes:
        if name not in found:
            raise StoreError(
                f"the store shows you no box {name!r} of the site {site!r}; wanted: one of "
                f"{', '.join(found) or 'none: you see no box there'}"
            )
    meant = tuple(boxes) or tuple(found)
    if not meant:
        raise StoreError(f"the store shows you no box of the site {site!r}")
    key = unlocked_key(connection, password)
    name, version, now = one(
        connection, "SELECT (SELECT name FROM store.my_key()), store.next_publication(), now()"
    )
    manifest = Manifest(
        version=version,
        made_utc=format_rfc3339(now),
        boxes=tuple(public_key for box in meant for public_key in found[box]),
        files={path: sha256_hex(content) for path, content in sorted(files.items())},
    )
    given = signed(manifest, key)
    connection.execute(
        "SELECT store.publish(%s, %s, %s, %s)",
        (given.content, given.signature, list(files), list(files.values())),
    )
    return manifest, name, meant
