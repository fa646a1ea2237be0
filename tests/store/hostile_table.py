"""`python -m tests.store.hostile_table` writes the table of attacks into docs/store.md anew."""

from __future__ import annotations

from pathlib import Path

PAGE = Path(__file__).parents[2] / "docs" / "store.md"
BEGIN, END = (
    "<!-- attacks: made by python -m tests.store.hostile_table -->\n",
    "<!-- end of attacks -->\n",
)


def attacks() -> list[tuple[str, str, str]]:
    """Who, what is tried, what comes of it; each is a test of its own."""
    from tests.store import test_hostile_boxes, test_hostile_list, test_publishing

    sent = [
        ("a box sends", name, f"`{why}`" if why else "taken as what it is: text")
        for name, (_, why) in test_hostile_boxes.BATCHES.items()
    ]
    listed = [(_who(name), name, told) for name, (told, _) in test_hostile_list.LIST.items()]
    published = [("a publisher", name, "denied") for name in test_publishing.REFUSED_BY_THE_STORE]
    lying = [
        ("the store's keeper, to a box", name, f"the box: “{told}”")
        for name, told in test_publishing.HOSTILE.items()
    ]
    return [*sent, *listed, *published, *lying]


def _who(attack: str) -> str:
    return "a box's login" if attack.startswith("a box") else "at the pages"


def table() -> str:
    """The attacks, numbered."""
    lines = ["| | who | attack | what comes of it |", "| --- | --- | --- | --- |"]
    lines += [
        f"| {number} | {who} | {attack} | {told} |"
        for number, (who, attack, told) in enumerate(attacks(), 1)
    ]
    return "\n".join(lines) + "\n"


def with_table(page: str) -> str:
    """The page with the table as it is now."""
    before, _, rest = page.partition(BEGIN)
    _, _, after = rest.partition(END)
    return f"{before}{BEGIN}{table()}{END}{after}"


if __name__ == "__main__":
    PAGE.write_text(with_table(PAGE.read_text(encoding="utf-8")), encoding="utf-8")
