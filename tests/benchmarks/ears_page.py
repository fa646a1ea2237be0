"""The figures of docs/ears.md: tables between its marks, and a plot beside it, from printed JSON.

    python -m tests.benchmarks.ears_page DOCS full=FULL.json compared=COMPARED.json pairs=PAIRS.json

FULL.json is what `tests/bench.sh ears --ears own --json` printed, COMPARED.json what `--ears all`
did, PAIRS.json the kinds of trial that hold pairs (or FULL.json again); they are kept together as
DOCS/ears_figures.json. What is not given is made again from what is kept.
"""

from __future__ import annotations

import argparse
import json
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from tests.benchmarks.ears_plot import plot

LEVELS = {"clean": "clean", "20": "20 dB", "10": "10 dB", "5": "5 dB", "0": "0 dB"}
KINDS = {
    "digits": "one digit",
    "yes_no": "yes and no",
    "commands": '"stop" at three prompts',
    "phrases": "readings in one breath (3 phrases, 8 noises each)",
    "spliced": "readings spliced from single words",
    "synthetic": "readings by a synthetic voice kept out of training",
    "synthetic_known": "readings by synthetic voices that our ears were trained on",
    "teens": "thirteen or thirty and the other pairs, synthetic",
    "pairs": "other words that sound alike, synthetic",
    "strings": "number strings by people, in one breath",
    "read_back_no": 'people\'s "no" at a read-back, in many noises',
    "job": "what whole jobs say, as often as they say it",
    "job_voices": "the same, by all voices kept out of training in turn",
    "other": "words that the prompt does not know",
    "noise": "noise alone",
}
_LISTED = 12
SCORED = ("digits", "yes_no", "commands")

Told = Mapping[str, Any]


def table(rows: Sequence[Sequence[str]]) -> str:
    """Markdown; the first row is the head."""
    head, *body = rows
    lines = [head, ["---"] * len(head), *body]
    return "\n".join(f"| {' | '.join(line)} |" for line in lines)


def by_kind(levels: Told, kinds: Sequence[str]) -> str:
    """Right / refused / wrong of each kind at each level, with its number."""
    rows = [["right / refused / wrong", "of", *LEVELS.values()]]
    for kind in kinds:
        cells = [levels[level].get(kind) for level in LEVELS]
        if cells[0] is not None and cells[0]["n"]:
            told = [f"{c['right']} / {c['refused']} / {c['wrong']}" for c in cells]
            rows.append([KINDS[kind], str(cells[0]["n"]), *told])
    return table(rows)


def in_percent(cells: Told) -> list[str]:
    """Right and wrong in percent at each level, with the bound on the latter."""
    return [
        f"{share(c, 'right')} / {share(c, 'wrong')} (< {100 * c['wrong_upper95']:.1f})"
        if c["n"]
        else "-"
        for c in (cells[level] for level in LEVELS)
    ]


def share(cell: Told, what: str) -> str:
    """One outcome of a cell in percent."""
    return f"{100 * cell[what] / cell['n']:.1f}"


def full_tables(run: Told) -> str:
    """Everything about the ears that are used out of the box."""
    told = run["recognisers"][run["default"]]
    people = told["people_all_kinds"]
    n = people["clean"]["n"]
    without = told["without_set_aside"]["people_all_kinds"]
    chain = told["whole_chain"]["people_all_kinds"]
    summary = table(
        [
            ["% right / wrong (95 % bound of wrong)", *LEVELS.values()],
            [f"all that people said, {n} trials a level", *in_percent(people)],
            [f"without the clips set aside, {without['clean']['n']}", *in_percent(without)],
            ["through the whole chain, all clips", *in_percent(chain)],
        ]
    )
    strange = told["oov_accepted_by_level"]
    stops = told["stop_heard"], told["whole_chain"]["stop_heard"]
    shares = table(
        [
            ["%", *LEVELS.values()],
            ["other words and noise alone, accepted", *(_percent(strange[at]) for at in LEVELS)],
            ['"stop" heard', *(_percent(stops[0][at]) for at in LEVELS)],
            ['"stop" heard through the whole chain', *(_percent(stops[1][at]) for at in LEVELS)],
        ]
    )
    far = told["far_field"]
    return "\n\n".join(
        [
            _where(run),
            summary,
            shares,
            _timing(told),
            _confusions(told),
            "By kind of step:",
            by_kind(told["levels"], list(KINDS)),
            "Through the whole chain, where the endpointer has to find them in running noise:",
            by_kind(told["whole_chain"]["levels"], [k for k in KINDS if k != "noise"]),
            "From afar (1.5 to 3 m in a simulated workshop), cut out, then through the chain:",
            by_kind(far["levels"], SCORED),
            by_kind(far["whole_chain"], SCORED),
        ]
    )


def pair_table(run: Told) -> str:
    """How often each word of a pair that sounds alike is taken for the other."""
    rows = [["right / refused / taken for the other / for something else", "of", *LEVELS.values()]]
    for name, levels in run["recognisers"][run["default"]]["pairs"].items():
        cells = [levels[level] for level in LEVELS]
        kinds = ("right", "refused", "taken_for_other", "wrong_otherwise")
        told = [" / ".join(str(cell[kind]) for kind in kinds) for cell in cells]
        rows.append([name, str(cells[0]["n"]), *told])
    return f"{_where(run)}\n\n{table(rows)}"


def _percent(value: float | None) -> str:
    return "-" if value is None else f"{100 * value:.1f}"


def _where(run: Told) -> str:
    machine = run["machine"]
    size = f"at most {run['most']} trials a cell" if run["most"] else "every clip"
    return (
        f"Seed {run['seed']}; {run['speakers']} speakers; {size}; {machine['cores']} cores of "
        f"{machine['cpu']}."
    )


def _timing(told: Told) -> str:
    bound = told["false_stops_per_hour_upper95"]
    return (
        "From the end of speech to the decision, both cores at work: median "
        f"{told['decision_ms_median']:.0f} ms, 95th percentile {told['decision_ms_p95']:.0f} ms "
        f"({told['decisions_timed']} decisions). Real-time factor in noise {told['rtf']:.2g}; peak "
        f"memory {told['rss_mb']:.0f} MB. False stops: {told['false_stops']} in "
        f"{told['noise_minutes']:.0f} minutes of noise (95 % bound: {bound:.1f} an hour); anything "
        f"at all accepted there: {told['accepted_of_noise']}."
    )


def _confusions(told: Told) -> str:
    taken = ", ".join(f"{pair} ({times})" for pair, times in told["confused"].items())
    refused = list(told["confused_but_refused"].items())[:_LISTED]
    nearly = ", ".join(f"{pair} ({times})" for pair, times in refused)
    return f"Taken wrongly, all levels: {taken or 'nothing'}. Refused, but nearest to: {nearly}."


def compared_tables(run: Told) -> str:
    """All candidates on the same trials."""
    able = {name: told for name, told in run["recognisers"].items() if "skipped" not in told}
    sizes = [next(iter(able.values()))["levels"]["clean"][kind]["n"] for kind in SCORED]
    head = ["% right / wrong", *LEVELS.values(), "accepted of other", "rtf", "MB"]
    rows = [head]
    for name, told in able.items():
        cells = told["people_all_kinds"]
        shares = [f"{share(c, 'right')} / {share(c, 'wrong')}" for c in map(cells.get, LEVELS)]
        rows.append(
            [
                name,
                *shares,
                _percent(told["oov_accepted"]),
                f"{told['rtf']:.2g}",
                f"{told['rss_mb']:.0f}",
            ]
        )
    skipped = [f"{n}: {t['skipped']}" for n, t in run["recognisers"].items() if "skipped" in t]
    pieces = [
        f"{_where(run)} The same trials for all, chosen by the seed: "
        f"{sizes[0]} digits, {sizes[1]} yes and no, {sizes[2]} stops, and phrases, at each level.",
        table(rows),
    ]
    return "\n\n".join(pieces + [f"Not heard: {'; '.join(skipped)}."] * bool(skipped))


def replaced(page: str, name: str, made: str) -> str:
    """The page with what is between the marks of this name put anew."""
    before, opening, rest = page.partition(f"<!-- {name} -->\n")
    _, closing, after = rest.partition(f"<!-- end of {name} -->")
    if not opening or not closing:
        raise LookupError(f"the page has no marks <!-- {name} --> ... <!-- end of {name} -->")
    return f"{before}{opening}{made}\n{closing}{after}"


def main() -> None:
    """Make the page."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("folder", type=Path, metavar="DOCS", help="the folder with ears.md")
    parser.add_argument("runs", nargs="*", metavar="NAME=FILE", help="full, compared or pairs")
    chosen = parser.parse_args()
    folder, runs = chosen.folder, chosen.runs
    kept = folder / "ears_figures.json"
    if runs:
        told = json.loads(kept.read_text(encoding="utf-8"))
        for name, _, path in (run.partition("=") for run in runs):
            told[name] = json.loads(Path(path).read_text(encoding="utf-8").splitlines()[-1])
        lines = ",\n".join(f'"{name}": {json.dumps(run)}' for name, run in told.items())
        kept.write_text(f"{{\n{lines}\n}}\n", encoding="utf-8")
    told = json.loads(kept.read_text(encoding="utf-8"))
    path = folder / "ears.md"
    page = replaced(path.read_text(encoding="utf-8"), "full", full_tables(told["full"]))
    page = replaced(page, "compared", compared_tables(told["compared"]))
    page = replaced(page, "pairs", pair_table(told["pairs"]))
    path.write_text(page, encoding="utf-8")
    able = told["compared"]["recognisers"].items()
    (folder / "ears.svg").write_text(
        plot({name: r for name, r in able if "skipped" not in r}), encoding="utf-8"
    )


if __name__ == "__main__":
    main()
