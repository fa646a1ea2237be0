"""How well the ears hear in a loud bay: human speech and real noise, at five levels.

A level is the active speech level by ITU-T P.56 (method B) over the noise's RMS. Each sound is
heard twice: cut out as an endpointer would (`levels`), and as a stream that arrives as fast as in
a bay, through the endpointer as it is set out of the box (`whole_chain`). `docs/ears.md` tells
what the trials are.
"""

from __future__ import annotations

import argparse
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from companion.runtime import assembly
from tests.benchmarks.bay_sound import SPEECH_DBFS
from tests.benchmarks.common import Results, on_all_cores
from tests.benchmarks.ears_jobs import ADAPTED, ALONE, Job, parts_of, run_job
from tests.benchmarks.ears_tally import scored
from tests.benchmarks.ears_trials import KINDS, LEVELS, missing_speech
from tests.benchmarks.ears_voices import KEPT_OUT, KNOWN, piper_is_here
from tests.benchmarks.far_sound import is_here
from tests.benchmarks.spoken_clips import clips_of, default_folders
from tests.ears_candidates import ALL, IN_PRODUCT

NAME = "ears"
WHAT = "how well speech is heard in noise, how often refused, and how often wrong"

_QUICK_MOST = 6
_EVERY = "all"

_ALONE = """
import sys
from pathlib import Path
from companion.runtime import assembly
from companion.dialogue.asking import PAUSED
from companion.recognition.listening import StreamEars
from companion.recognition.port import Listening
from companion.recognition.source import MemorySource
from companion.errors import CompanionError
from tests.benchmarks.bay_sound import as_sound
from tests.benchmarks.ears_voices import say
from tests.ears_candidates import make
try:
    recogniser = make(sys.argv[1], Path(sys.argv[2]) if sys.argv[2] else None)
except CompanionError as error:
    sys.exit(f"cannot: {error}")
recogniser.load(assembly.language().for_step(PAUSED))
said = say("flite awb", "where are we", 1)
sound = bytes(32000) + (as_sound(said) if said is not None else b"") + bytes(32000)
recogniser.recognise(sound)
# The longest utterance there is, through the whole chain.
StreamEars(MemorySource(sound * 4), recogniser).hear(
    Listening("memory", assembly.language().for_step(PAUSED), 10.0)
)
recogniser.recognise((sound * 4)[:320000])
# Not the resource module's figure: that one counts the process that started this one, too.
lines = Path("/proc/self/status").read_text(encoding="utf-8").splitlines()
print(next(int(line.split()[1]) for line in lines if line.startswith("VmHWM")) * 1024 / 1e6)
"""


def add_options(parser: argparse.ArgumentParser) -> None:
    """Options of this benchmark."""
    parser.add_argument(
        "--speech",
        type=Path,
        action="append",
        help="speech.tsv's folder; may be given more than once; default: those that are there",
    )
    parser.add_argument(
        "--ears",
        action="append",
        choices=(*ALL, _EVERY),
        help="default: those of the product that need no model; all: every candidate",
    )
    parser.add_argument("--model", type=Path, help="model folder for vosk, English")
    parser.add_argument("--quick", action="store_true", help=f"{_QUICK_MOST} trials a cell")
    parser.add_argument("--most", type=int, default=0, help="trials a cell at most; 0: all")
    parser.add_argument(
        "--only",
        action="append",
        choices=(*KINDS, ADAPTED, ALONE),
        default=[],
        help="these kinds of trial alone",
    )
    parser.add_argument("--half", choices=("scoring", "tuning"), default="scoring")
    parser.add_argument("--no-chain", action="store_true", help="only what is cut out already")
    parser.add_argument(
        "--noise-minutes", type=float, default=0.0, help="noise alone; 0: each recording once"
    )
    parser.add_argument("--workers", type=int, default=0, help="processes; 0: one a core")
    parser.add_argument("--keep", type=Path, help="folder of what was heard, to go on from")


def run(options: argparse.Namespace) -> Results:
    """Hear everything with each recogniser."""
    common: Results = {"benchmark": NAME, "default": assembly.DEFAULT_RECOGNISER}
    folders = _folders(options)
    if reason := next(filter(None, map(missing_speech, folders)), None):
        return {**common, "skipped": reason, "recognisers": {}}
    memory, unable = _that_can_be_had(options)
    told: Results = {}
    jobs = [job for name in memory for job in _jobs(name, options)]
    heard: dict[str, list[dict[str, Any]]] = {name: [] for name in memory}
    for outcome in on_all_cores(run_job, jobs, options.workers or None):
        heard[outcome["ears"]].append(outcome)
    for name, outcomes in heard.items():
        told[name] = scored(outcomes, memory[name])
    clips = [clip for clip in clips_of(folders) if clip.half == options.half]
    return {
        **common,
        "half": options.half,
        "most": _most(options),
        "only": options.only,
        "speakers": len({clip.speaker for clip in clips}),
        "set_aside": sorted(clip.path.name for clip in clips if clip.set_aside),
        "level": "active speech level by ITU-T P.56 method B over the noise's RMS; "
        f"speech at {SPEECH_DBFS:.0f} dBFS",
        "wrong_upper95": "one-sided 95 % bound, exact (Clopper-Pearson)",
        "decision_ms": "from the end of speech to the decision, of what was accepted, "
        "sound arriving as fast as in a bay",
        "rtf": "processor seconds for each second of sound in noise, whole chain; rtf_of_speech: "
        "for each second of speech in it",
        "voices": {"kept_out": KEPT_OUT, "known": KNOWN, "piper": piper_is_here()},
        "room_echo": is_here(),
        "recognisers": {**told, **unable},
    }


def _folders(options: argparse.Namespace) -> tuple[Path, ...]:
    return tuple(options.speech or default_folders())


def _most(options: argparse.Namespace) -> int:
    return _QUICK_MOST if options.quick else int(options.most)


def _that_can_be_had(options: argparse.Namespace) -> tuple[dict[str, float], Results]:
    """The recognisers that can be had with the memory that each takes, and why not the others."""
    wanted = list(options.ears or [name for name in IN_PRODUCT if name != "vosk"])
    if _EVERY in wanted:
        wanted = list(ALL)
    able: dict[str, float] = {}
    unable: Results = {}
    for name in dict.fromkeys(wanted):
        memory_mb, reason = alone(name, options.model)
        if reason:
            unable[name] = {"skipped": reason}
        else:
            able[name] = memory_mb
    return able, unable


def _jobs(name: str, options: argparse.Namespace) -> list[Job]:
    minutes = 1.0 if options.quick else options.noise_minutes
    return [
        Job(
            ears=name,
            level=level,
            part=part,
            speech=tuple(map(str, _folders(options))),
            half=options.half,
            seed=options.seed,
            most=_most(options),
            chain=not options.no_chain,
            noise_minutes=minutes,
            model=str(options.model or ""),
            keep=str(options.keep or ""),
            only=tuple(options.only),
        )
        for level in _levels(options.only)
        for part in range(parts_of(level))
    ]


def _levels(only: Sequence[str]) -> tuple[str, ...]:
    """The levels of the jobs: all without a choice of kinds, else what those kinds need."""
    if not only:
        return (*LEVELS, ADAPTED, ALONE)
    apart = tuple(level for level in (ADAPTED, ALONE) if level in only)
    return (*(LEVELS if set(only) - set(apart) else ()), *apart)


def alone(name: str, model: Path | None) -> tuple[float, str]:
    """Peak memory in MB of a process of its own that only hears; else why it cannot hear."""
    done = subprocess.run(
        [sys.executable, "-c", _ALONE, name, str(model or "")],
        capture_output=True,
        text=True,
        check=False,
    )
    if done.returncode == 0:
        return float(done.stdout), ""
    last = done.stderr.strip().splitlines()[-1:] or ["it ended without a word"]
    return 0.0, last[0].removeprefix("cannot: ")
