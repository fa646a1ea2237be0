"""`python -m tests.insiders.table` writes the table of attacks into docs/record.md anew."""

from __future__ import annotations

from pathlib import Path

from tests.insiders.attacks import ALONE, BOX, SEAL, STORE, Attack, put_in_order

PAGE = Path(__file__).parents[2] / "docs" / "record.md"
BEGIN, END = (
    "<!-- attacks: made by python -m tests.insiders.table -->\n",
    "<!-- end of attacks -->\n",
)


def table() -> str:
    """A line for each attack: what names it by itself, and what does not."""
    lines = ["| attack | named by | not named by |", "| --- | --- | --- |"]
    lines += [_line(attack) for attack in put_in_order()]
    return "\n".join(lines) + "\n"


def _line(attack: Attack) -> str:
    if attack.by == ALONE:
        named = [ALONE]
        unnamed = []
    else:
        named = [one for one in (SEAL, BOX, STORE) if one == attack.by or one in attack.also]
        unnamed = [one for one in (ALONE, SEAL, BOX, STORE) if one not in named]
    told = f" (it says: “{attack.told}”)" if attack.told else ""
    return f"| {attack.name} | {', '.join(named) or 'nothing'}{told} | {', '.join(unnamed)} |"


def with_table(page: str) -> str:
    """The page with the table as it is now."""
    before, _, rest = page.partition(BEGIN)
    _, _, after = rest.partition(END)
    return f"{before}{BEGIN}{table()}{END}{after}"


if __name__ == "__main__":
    PAGE.write_text(with_table(PAGE.read_text(encoding="utf-8")), encoding="utf-8")
