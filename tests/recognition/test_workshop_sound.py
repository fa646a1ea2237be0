"""The workshop's noises for scoring."""

from __future__ import annotations

import numpy as np
import pytest

from tests.benchmarks import workshop_sound
from tests.benchmarks.workshop_sound import MODELS, Model, made_noises, workshop_noise


def envelope(samples: np.ndarray) -> np.ndarray:
    """RMS over 10 ms."""
    return np.sqrt(np.mean(samples[: len(samples) // 160 * 160].reshape(-1, 160) ** 2, axis=1))


def peak_hz(samples: np.ndarray, low_hz: float, high_hz: float) -> float:
    """Where the envelope beats most strongly."""
    spectrum = np.abs(np.fft.rfft(envelope(samples) - envelope(samples).mean()))
    frequency = np.fft.rfftfreq(len(envelope(samples)), 0.01)
    within = (frequency >= low_hz) & (frequency <= high_hz)
    return float(frequency[within][np.argmax(spectrum[within])])


@pytest.mark.parametrize("model", MODELS)
def test_each_is_sound_of_the_asked_length_and_follows_from_its_seed(model: Model) -> None:
    first = model(4.0, np.random.default_rng(5))
    assert len(first) == 64_000
    assert np.all(np.isfinite(first))
    assert np.sqrt(np.mean(first**2)) == pytest.approx(1.0)
    assert np.array_equal(first, model(4.0, np.random.default_rng(5)))
    assert not np.array_equal(first, model(4.0, np.random.default_rng(6)))


def test_a_wrench_strikes_as_often_as_wrenches_do() -> None:
    rates = [
        peak_hz(workshop_sound.impact_wrench(6.0, np.random.default_rng(seed)), 10.0, 48.0)
        for seed in range(6)
    ]
    assert all(14.0 <= rate <= 40.0 for rate in rates), rates


def test_a_blow_gun_is_silent_between_its_bursts_and_weaker_the_longer_it_is_open() -> None:
    loud = envelope(workshop_sound.blow_gun(20.0, np.random.default_rng(3)))
    assert np.percentile(loud, 5) < 0.05 < 0.5 < np.percentile(loud, 90)


def test_one_list_holds_every_model_and_no_noise_twice() -> None:
    made = made_noises(1)
    assert {noise.sort for noise in made} == {model.__name__ for model in MODELS}
    assert len({(noise.sort, noise.seed) for noise in made}) == len(made)
    assert len(workshop_noise(12_345, np.random.default_rng(1))) == 12_345
