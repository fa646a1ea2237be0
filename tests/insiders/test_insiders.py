"""Every attack is named by what has to name it, and by nothing that does not."""

from __future__ import annotations

from pathlib import Path

import pytest

from companion.language.loader import load_language
from companion.record.audit.verify import examine
from tests.benchmarks.bit_flips import flipped
from tests.insiders.attacks import ALONE, ATTACKS, BOX, SEAL, Attack
from tests.insiders.shop import Shop, build
from tests.insiders.table import PAGE, with_table


@pytest.fixture(scope="module")
def original(tmp_path_factory: pytest.TempPathFactory) -> Shop:
    return build(tmp_path_factory.mktemp("shop"))


def test_nothing_is_named_where_nothing_was_done(original: Shop, tmp_path: Path) -> None:
    shop = original.copied(tmp_path)
    assert shop.named(seal=True, box=True) == []


@pytest.mark.parametrize("attack", ATTACKS, ids=lambda attack: attack.name)
def test_what_names_it(original: Shop, tmp_path: Path, attack: Attack) -> None:
    shop = original.copied(tmp_path)
    attack.does(shop)
    alone = shop.named()
    assert all(told.isprintable() for told in alone)
    assert bool(alone) == (attack.by == ALONE), alone
    if alone:
        assert any(attack.named in told for told in alone), alone
        return
    checked = map(load_language().show, examine(shop.path, shop.clips).told)
    assert any(attack.told in line for line in checked)
    for kept, told in ((SEAL, shop.named(seal=True)), (BOX, shop.named(box=True))):
        assert bool(told) == (attack.by == kept or kept in attack.also), told
        if attack.by == kept:
            assert any(attack.named in one for one in told), told


def test_there_are_many_of_them_each_under_its_own_name() -> None:
    assert len(ATTACKS) >= 105
    assert len({attack.name for attack in ATTACKS}) == len(ATTACKS)


def test_the_table_in_the_docs_is_current() -> None:
    page = PAGE.read_text(encoding="utf-8")
    assert with_table(page) == page


def test_a_single_bit_that_changes_what_is_shown_is_named(original: Shop, tmp_path: Path) -> None:
    """Some seconds of it; `python -m tests.benchmarks bit_flips` does two thousand."""
    counted = flipped(original.copied(tmp_path), flips=60, seed=1)
    assert counted["missed"] == 0
    assert counted["named"] > 20
