"""What the report says of jobs that aim a radar: their results, and what these do not mean."""

from __future__ import annotations

from collections.abc import Mapping

ANSWERS: Mapping[str, tuple[str, str]] = {
    "inside": ("inside", "✓"),
    "tool_inside": ("open", "○"),
    "not_aimed": ("open", "○"),
    "outside": ("outside", "✕"),
    "not_settled": ("open", "?"),
}
"""By result: tone and mark; its sentences are `headline-RESULT` of the language."""

NOT_MEANT_BEFORE = ("not-meant-safe", "not-meant-rest")
"""For records from before job files said it themselves."""

CHANCE = "chance-of-both-limits"
PART = ("aim", "part-aim")
"""The report's own part on it: its anchor and its title."""
