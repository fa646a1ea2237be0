"""From sound to what a head's last layer sees: the encoder and the head's other layers.

The arithmetic is ONNX Runtime's, on one thread. `network.onnx` holds the graph alone; the weights
are put in here: the encoder's with the head's additions to it, and the head's own.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterable
from importlib import resources
from itertools import chain
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from companion.errors import EarsError
from companion.recognition.own.mel import filled_up, log_mel
from companion.recognition.own.weights import Weights, each_weight, in_eight_bits

Array = npt.NDArray[np.float32]

FEATURES = 256
SPREADS = (1, 2, 4, 8)
"""How far apart the five vectors stand that each of the head's layers over time looks at."""
_ADAPTER, _DOWN, _UP = "adapter_", "_down", "_up"
_LAYER = re.compile(r"layer_(\d+)_(self_attention|ffn)_(linear_\d)")
_AROUND_ZERO = 128
_ERRORS_ALONE = 3


def graph_file() -> Path:
    """Where the graph lies."""
    return Path(str(resources.files("companion.recognition.own"))) / "network.onnx"


class Network:
    """The encoder as a head wants it, and the head's layers but the last.

    `head`: the head's file. Raises `EarsError` where a file is missing or is something else.
    """

    def __init__(self, head: Path) -> None:
        try:
            given = _as_given(chain(each_weight(), head_layers(head).items()), _additions(head))
            self._session = _session(given)
        # A spoiled file fails in numpy or zip, what does not fit together in the runtime, each with
        # errors of its own.
        except EarsError:
            raise
        except Exception as error:
            raise EarsError(f"{head}: not a head for these ears ({error})") from error

    def features(self, samples: npt.NDArray[np.float32]) -> npt.NDArray[np.float32]:
        """Samples at 16 kHz (full scale 1.0) to features of shape (n, 256), 50 a second.

        n covers the filling-up as well: `vectors_in` says how many hold sound.
        """
        mel = log_mel(filled_up(samples))[np.newaxis]
        (features,) = self._session.run(["features"], {"mel": mel})
        return np.asarray(features[0])


def head_layers(head: Path) -> Weights:
    """A head's layers but the last, by their names in the graph: weights (out, in) and biases."""
    with np.load(head) as kept:
        held = {
            name: kept[name].astype(np.float32)
            for name in kept.files
            if name.startswith(("into_", "over_time_")) or name in ("mean", "scale")
        }
    # What moves and scales the vectors beforehand is part of the first layer.
    into = held["into_weight"] * held["scale"]
    layers = {
        "into/weight": into,
        "into/bias": held["into_bias"] - into @ held["mean"],
    }
    for number in range(len(SPREADS)):
        # (out, in, 5) to (out, 5 * in): the five moved copies lie side by side.
        kernel = held[f"over_time_{number}_weight"].transpose(0, 2, 1)
        layers[f"over_time_{number}/weight"] = kernel.reshape(FEATURES, -1)
        layers[f"over_time_{number}/bias"] = held[f"over_time_{number}_bias"]
    return layers


def _additions(head: Path) -> dict[str, tuple[Array, Array]]:
    """What the head wants added to the encoder's layers, by the name of their weights: factors."""
    found: dict[str, tuple[Array, Array]] = {}
    with np.load(head) as kept:
        for name in [name for name in kept.files if name.endswith(_DOWN)]:
            layer = name.removeprefix(_ADAPTER).removesuffix(_DOWN)
            place = _LAYER.fullmatch(layer)
            if place is None:
                raise ValueError(f"adds to a layer {layer!r} that the encoder does not have")
            number, block, linear = place.groups()
            up = kept[f"{_ADAPTER}{layer}{_UP}"].astype(np.float32)
            down = kept[name].astype(np.float32)
            found[f"layer_{number}/{block}/{linear}/weight"] = up, down
    return found


def _as_given(
    weights: Iterable[tuple[str, Array]], additions: dict[str, tuple[Array, Array]]
) -> dict[str, npt.NDArray[np.generic]]:
    """The weights as the graph wants them: what multiplies as unsigned bytes, (in, out).

    Unsigned, because the sums of signed ones overflow on processors without instructions for them.
    """
    given: dict[str, npt.NDArray[np.generic]] = {}
    for name, weight in weights:
        if not name.endswith("/weight") or weight.ndim != 2:
            given[name] = weight
            continue
        if name in additions:
            up, down = additions[name]
            weight = weight + up @ down
        whole, scale = in_eight_bits(weight)
        unsigned = (whole.astype(np.int16) + _AROUND_ZERO).astype(np.uint8)
        given[name] = np.ascontiguousarray(unsigned.T)
        given[f"{name}_scale"] = scale
    return given


def _session(given: dict[str, npt.NDArray[np.generic]]) -> Any:
    # Should another release than the wanted ones be there: it reports to nobody if told so before
    # it is loaded.
    os.environ["ORT_DISABLE_TELEMETRY"] = "1"
    import onnxruntime

    options = onnxruntime.SessionOptions()
    options.intra_op_num_threads = options.inter_op_num_threads = 1
    options.log_severity_level = _ERRORS_ALONE
    # Utterances are of many lengths: nothing is gained by planning memory for each.
    options.enable_mem_pattern = options.enable_cpu_mem_arena = False
    values = [
        onnxruntime.OrtValue.ortvalue_from_numpy(np.ascontiguousarray(v)) for v in given.values()
    ]
    options.add_external_initializers(list(given), values)
    return onnxruntime.InferenceSession(
        graph_file().read_bytes(), options, providers=["CPUExecutionProvider"]
    )


__all__ = ["FEATURES", "SPREADS", "Network", "graph_file", "head_layers"]
