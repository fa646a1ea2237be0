"""The transition table drawn. `python -m companion.dialogue.diagram` puts it into the docs."""

from __future__ import annotations

import re

from companion.dialogue.state import Mode
from companion.dialogue.transitions import TRANSITIONS


def mermaid() -> str:
    """The table as a Mermaid state diagram: an arrow is labelled with the kinds and handlers."""
    lines = ["stateDiagram-v2", f"    [*] --> {Mode.ASKING}"]
    for mode, row in TRANSITIONS.items():
        labels: dict[Mode, list[str]] = {}
        for kind, then in row.items():
            for target in then.next_modes:
                labels.setdefault(target, []).append(f"{kind} ({then.handler.__name__})")
        lines += [f"    {mode} --> {to} : {'<br/>'.join(said)}" for to, said in labels.items()]
    return "\n".join([*lines, f"    {Mode.CLOSED} --> [*]"])


def with_diagram(page: str) -> str:
    """The page with the drawing in its first `mermaid` block renewed."""
    return re.sub(
        r"(?<=```mermaid\n).*?(?=\n```)", lambda _: mermaid(), page, count=1, flags=re.DOTALL
    )


def _rewrite() -> None:
    from pathlib import Path

    page = Path(__file__).parents[2] / "docs" / "conversation.md"
    page.write_text(with_diagram(page.read_text(encoding="utf-8")), encoding="utf-8")


if __name__ == "__main__":
    _rewrite()
