"""The rules of a prompt as a JSGF 1.0 text, the form that grammar recognisers read."""

from __future__ import annotations

from typing import assert_never

from companion.language.step_rules import TOP, StepRules
from companion.language.template import Chain, Either, Maybe, Node, Slot, Word


def jsgf_text(rules: StepRules) -> str:
    """The same language as the parser's: one JSGF rule for each rule, `<step>` public."""
    lines = ["#JSGF V1.0;", "grammar step;"]
    for name, ways in rules.rules.items():
        public = "public " if name == TOP else ""
        body = " | ".join(_text(line.phrase) for line in ways)
        lines.append(f"{public}<{_jsgf_name(name)}> = {body};")
    return "\n".join(lines) + "\n"


def _jsgf_name(name: str) -> str:
    return name.replace(".", "_of_")


def _text(node: Node) -> str:
    match node:
        case Word(text):
            return text
        case Slot(rule):
            return f"<{_jsgf_name(rule)}>"
        case Maybe(part):
            return f"[{_text(part)}]"
        case Either(parts):
            return f"({' | '.join(_text(part) for part in parts)})"
        case Chain(parts):
            return " ".join(_text(part) for part in parts)
        case _:
            assert_never(node)
