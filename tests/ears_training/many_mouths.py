"""Phrases by Kokoro's many mouths, prepared here and said on the machine that trains.

To say a phrase takes a core about as long as the phrase lasts, so it is done on many cores while
the training is under way; whenever enough are said, they join the bank (`Bank.grown`). What is
prepared is the sounds' numbers, the mouth and the pace: nothing else is needed there than the
network, numpy and onnxruntime.

    python -m tests.ears_training.many_mouths prepare ROWS --count 4000
    python -m tests.ears_training.many_mouths say ROWS --model FILE --bank DIR --cores 44
"""

from __future__ import annotations

import argparse
import json
import math
import random
import time
from concurrent.futures import ProcessPoolExecutor, as_completed
from importlib import import_module
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from tests.ears_training.levelling import levelled, trimmed

_KOKORO_HZ, _BANK_HZ = 24_000, 16_000
_SMALLEST_MOUTH, _LARGEST_MOUTH = 0.85, 1.18
_SLOWEST, _FASTEST = 0.8, 1.3
_JOINS_EVERY = 500
_session: Any = None


def prepare(rows: Path, count: int, seed: int) -> None:
    """Write so many phrases as numbers: two thirds of jobs, one third of all prompts."""
    from tests.benchmarks.ears_neural import kokoro_row, mouth_of_many
    from tests.ears_training.job_phrases import JobPhraseMaker
    from tests.ears_training.phrases import PhraseMaker

    makers = (JobPhraseMaker(), JobPhraseMaker(), PhraseMaker())
    generator = random.Random(seed)
    tokens, styles, paces, told = [], [], [], []
    for number in range(count):
        said = makers[number % len(makers)].one(generator)
        style, accent = mouth_of_many(generator)
        row = kokoro_row(said.text, accent)
        mouth = math.exp(generator.uniform(math.log(_SMALLEST_MOUTH), math.log(_LARGEST_MOUTH)))
        tokens.append(row)
        styles.append(style[len(row)])
        paces.append((generator.uniform(_SLOWEST, _FASTEST) / mouth, mouth))
        told.append({"label": said.label, "text": said.text, "job": number % len(makers) != 2})
    np.savez_compressed(
        rows,
        tokens=np.concatenate([np.array(row, np.int16) for row in tokens]),
        counts=np.array([len(row) for row in tokens]),
        styles=np.array(styles, np.float16),
        paces=np.array(paces, np.float32),
        told=np.array(json.dumps(told)),
    )


def _start(model: str) -> None:
    global _session
    runtime = import_module("onnxruntime")
    options = runtime.SessionOptions()
    options.intra_op_num_threads = options.inter_op_num_threads = 1
    _session = runtime.InferenceSession(model, options, providers=["CPUExecutionProvider"])


def _said(
    number: int, row: npt.NDArray[np.int16], style: npt.NDArray[np.float16], pace: tuple[float, ...]
) -> tuple[int, npt.NDArray[np.int16]]:
    speed, mouth = pace
    fed = {
        "tokens": np.array([[0, *row, 0]], dtype=np.int64),
        "style": style[np.newaxis].astype(np.float32),
        "speed": np.array([speed], dtype=np.float32),
    }
    sound = np.asarray(_session.run(None, fed)[0], dtype=np.float64).reshape(-1)
    ready = levelled(trimmed(_at_bank_rate(sound, mouth)))
    return number, np.rint(ready * 32767.0).astype(np.int16)


def _at_bank_rate(sound: npt.NDArray[np.float64], mouth: float) -> npt.NDArray[np.float64]:
    """At 16 kHz, played `mouth` times as fast: what lies above half the new rate is cut first."""
    spectrum = np.fft.rfft(sound)
    kept = len(spectrum) * _BANK_HZ / (_KOKORO_HZ * max(1.0, mouth))
    spectrum[int(kept) :] = 0.0
    smooth = np.fft.irfft(spectrum, n=len(sound))
    step = _KOKORO_HZ / _BANK_HZ * mouth
    places = np.arange(int((len(sound) - 1) / step)) * step
    return np.interp(places, np.arange(len(smooth)), smooth)


def say(rows: Path, model: Path, bank: Path, cores: int, most_s: float) -> None:
    """Say them in order, in as many processes; what is said joins the bank in parts."""
    until = time.monotonic() + most_s
    with np.load(rows) as kept:
        ends = np.cumsum(kept["counts"])
        tokens = np.split(kept["tokens"], ends[:-1])
        styles, paces = kept["styles"], kept["paces"]
        told = json.loads(str(kept["told"]))
    parts = 0
    ready: list[tuple[int, npt.NDArray[np.int16]]] = []
    with ProcessPoolExecutor(cores, initializer=_start, initargs=(str(model),)) as pool:
        asked = [
            pool.submit(_said, n, tokens[n], styles[n], tuple(map(float, paces[n])))
            for n in range(len(tokens))
        ]
        for one in as_completed(asked):
            if one.cancelled():
                continue
            ready.append(one.result())
            if len(ready) >= _JOINS_EVERY:
                parts = _join(bank, parts, ready, told)
            if time.monotonic() > until:
                pool.shutdown(wait=False, cancel_futures=True)
                break
    _join(bank, parts, ready, told)
    print("said", flush=True)


def _join(
    bank: Path, parts: int, ready: list[tuple[int, npt.NDArray[np.int16]]], told: list[Any]
) -> int:
    """Write what is ready as parts of the bank, jobs and others apart; the list comes last."""
    for kind in ("jobs", "synthetic"):
        chosen = [(n, sound) for n, sound in ready if told[n]["job"] is (kind == "jobs")]
        if not chosen:
            continue
        name = f"{kind}_said_{parts:02d}"
        starts = np.cumsum([0, *(len(sound) for _, sound in chosen)])
        items = [
            {"start": int(start), "count": len(sound), "label": told[n]["label"]}
            for start, (n, sound) in zip(starts, chosen, strict=False)
        ]
        np.save(bank / f"{name}.npy", np.concatenate([sound for _, sound in chosen]))
        half_written = bank / f"{name}.part"
        half_written.write_text(json.dumps(items), encoding="utf-8")
        half_written.replace(bank / f"{name}.json")
    print(f"{len(ready)} said", flush=True)
    ready.clear()
    return parts + 1


def main() -> None:
    """Prepare or say."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawTextHelpFormatter
    )
    parser.add_argument("stage", choices=("prepare", "say"))
    parser.add_argument("rows", type=Path)
    parser.add_argument("--count", type=int, default=4000)
    parser.add_argument("--seed", type=int, default=31)
    parser.add_argument("--model", type=Path)
    parser.add_argument("--bank", type=Path)
    parser.add_argument("--cores", type=int, default=8)
    parser.add_argument("--most-s", type=float, default=math.inf)
    chosen = parser.parse_args()
    if chosen.stage == "prepare":
        prepare(chosen.rows, chosen.count, chosen.seed)
    else:
        say(chosen.rows, chosen.model, chosen.bank, chosen.cores, chosen.most_s)


if __name__ == "__main__":
    main()
