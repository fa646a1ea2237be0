"""What the report says of jobs that aim a radar: their results, and what these do not mean."""

from __future__ import annotations

from collections.abc import Mapping

ANSWERS: Mapping[str, tuple[str, str, str, str]] = {
    "inside": (
        "inside",
        "✓",
        "The radar's aim is inside the entered limits.",
        "This holds with the limits entered for this car and the uncertainties entered "
        "for the readings and scales, at the chance given below.",
    ),
    "tool_inside": (
        "open",
        "○",
        "The scan tool reported the aim as inside.",
        "The companion walked the steps and kept the record; it measured no aim itself.",
    ),
    "not_aimed": (
        "open",
        "○",
        "This job aimed nothing.",
        "The companion walked the steps and kept the record; no aim was measured.",
    ),
    "outside": (
        "outside",
        "✕",
        "The radar's aim is outside the entered limits.",
        "The car must not be handed over as aimed. The last aim and its doubt stand below.",
    ),
    "not_settled": (
        "open",
        "?",
        "Not settled: too close to the limits to call.",
        "With the entered uncertainties, neither inside nor outside can be claimed.",
    ),
}
"""By result: tone, mark, answer and one sentence more."""

NOT_MEANT_BEFORE = (
    "It does not say that driver assistance is safe, or that braking or distance keeping "
    "works: it says where the radar's beam pointed while this was measured.",
    "It does not cover fault codes, software, the windscreen camera, or anything that moved "
    "after the last reading.",
)
"""For records from before job files said it themselves."""

CHANCE = "Chance that the aim is inside both limits"
PART = ("aim", "Aim")
"""The report's own part on it: its anchor and its title."""
