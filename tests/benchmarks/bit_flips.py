"""Single bits flipped in record, clips and cars: what changes anything that is shown is named.

Shown is what the program reads of it: jobs in their order, events, readings of who may sign, sealed
heads, marks of the box, clips, cars. A flip that none of it shows and that `verify` does not name
changed nothing (free space, a counter that SQLite does not use).
"""

from __future__ import annotations

import argparse
import tempfile
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from random import Random
from typing import Any

from companion.errors import CompanionError
from companion.record import ClipStore, clips_folder, open_for_reading
from companion.record.audit.seal import sealed_heads
from companion.record.audit.verify import verify
from companion.record.enrolling import read_roll
from tests.benchmarks.common import Results
from tests.insiders.shop import Shop, build

NAME = "bit_flips"
WHAT = "single bits flipped over record, clips and cars: named, without effect, missed"


def add_options(parser: argparse.ArgumentParser) -> None:
    """Options of this benchmark."""
    parser.add_argument("--flips", type=int, default=2000, help="how many bits, one at a time")


def run(options: argparse.Namespace) -> Results:
    """Flip, look, verify, and put back."""
    with tempfile.TemporaryDirectory() as name:
        shop = build(Path(name))
        counted = flipped(shop, options.flips, options.seed)
    return {
        "benchmark": NAME,
        "flips": options.flips,
        "named": counted["named"],
        "without_effect": counted["without effect"],
        "missed": counted["missed"],
    }


def flipped(shop: Shop, flips: int, seed: int) -> Counter[str]:
    """How many flips were named, had no effect, or were missed."""
    random = Random(seed)
    files = [shop.path, *sorted(shop.clips.folder.iterdir()), *sorted(shop.cars.folder.iterdir())]
    sizes = [file.stat().st_size for file in files]
    before = shown(shop)
    counted: Counter[str] = Counter()
    for _ in range(flips):
        (file,) = random.choices(files, sizes)
        kept = file.read_bytes()
        content = bytearray(kept)
        content[random.randrange(len(content))] ^= 1 << random.randrange(8)
        file.write_bytes(content)
        counted[outcome(shop, before)] += 1
        file.write_bytes(kept)
        for beside in ("-wal", "-shm", "-journal"):
            shop.path.with_name(shop.path.name + beside).unlink(missing_ok=True)
    assert shown(shop) == before
    return counted


def outcome(shop: Shop, before: Any) -> str:
    """Of one flip."""
    try:
        named = bool(verify(shop.path, shop.clips))
    except CompanionError:
        named = True
    if named:
        return "named"
    return "without effect" if shown(shop) == before else "missed"


def shown(shop: Shop) -> Any:
    """All that the program reads of a record, or the words in which it refuses to."""
    return [
        _told(lambda: _of_the_record(shop.path)),
        [_told(lambda n=name: shop.cars.get(n)) for name in sorted(shop.cars.lying().cars)],
        sorted(
            (file.name, file.read_bytes())
            for file in ClipStore(clips_folder(shop.path)).folder.iterdir()
        ),
    ]


def _told(look: Callable[[], Any]) -> Any:
    try:
        return look()
    except CompanionError as error:
        return str(error)


def _of_the_record(path: Path) -> Any:
    with open_for_reading(path) as database:
        sessions = database.sessions()
        ids = [*(one.session_id for one in sessions), "office"]
        return (
            sessions,
            [one.session_id for one in database.newest_first()],
            [list(database.events(session_id)) for session_id in ids],
            database.read("SELECT number, name FROM schema_version"),
            database.read("SELECT * FROM box_mark"),
            database.read("SELECT * FROM box"),
            sealed_heads(database),
            read_roll(database),
        )
