"""`python -m tests.benchmarks NAME [options] [--json]`; without NAME the names are listed."""

from __future__ import annotations

import argparse
import sys

from tests.benchmarks import (
    bit_flips,
    deaf_time,
    drift,
    ears,
    evaluate,
    gap,
    hostile,
    mutants,
    own_voice,
    pages,
    record,
    rehearse,
    review,
    slips,
    spelling,
    spoken,
    store,
    survive,
    talk,
    together,
    visits,
    voice_pace,
)
from tests.benchmarks.common import Benchmark, finish

BENCHMARKS: dict[str, Benchmark] = {
    module.NAME: Benchmark(module.NAME, module.WHAT, module.add_options, module.run)
    for module in (
        rehearse,
        visits,
        slips,
        spelling,
        spoken,
        own_voice,
        deaf_time,
        ears,
        evaluate,
        record,
        review,
        pages,
        survive,
        talk,
        voice_pace,
        together,
        gap,
        drift,
        mutants,
        hostile,
        bit_flips,
        store,
    )
}


def main(arguments: list[str]) -> int:
    """Run one benchmark; 0 when it went through without an error of the program."""
    parser = argparse.ArgumentParser(prog="tests/bench.sh", description=__doc__)
    choose = parser.add_subparsers(dest="name", metavar="NAME")
    for benchmark in BENCHMARKS.values():
        options = choose.add_parser(benchmark.name, help=benchmark.what)
        options.add_argument("--seed", type=int, default=1, help="everything follows from it")
        options.add_argument("--json", action="store_true", help="print the JSON object alone")
        benchmark.add_options(options)
    chosen = parser.parse_args(arguments)
    if chosen.name is None:
        for benchmark in BENCHMARKS.values():
            print(f"{benchmark.name:10s} {benchmark.what}")
        return 0
    result = BENCHMARKS[chosen.name].run(chosen)
    finish(result, seed=chosen.seed, json_alone=chosen.json)
    return 1 if result.get("errors") else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
