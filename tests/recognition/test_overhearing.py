"""Real ears listen while the companion's real voice sounds: who answers is heard, it never is.

The prompts are rendered by the companion's own voice and mixed into the microphone's sound with
what a technician says; nothing takes time. In noise the recordings are those of the workshop that
took no part in training.
"""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from companion.dialogue.effects import Say
from companion.facts.meanings import Command
from companion.job.loader import JobPaths
from companion.language.expectation import Expectation
from companion.language.language import Language
from companion.recognition.into import Begun
from companion.recognition.listening import StreamEars
from companion.recognition.over_voice import Echo, band_level_dbfs
from companion.recognition.overhearing import OverVoiceSettings
from companion.recognition.port import (
    SAMPLE_RATE_HZ,
    Heard,
    Listening,
    Recogniser,
    Refusal,
    Utterance,
)
from companion.runtime import assembly
from companion.simulation.over_prompts import EchoingRoom, SharedAir
from companion.simulation.speakers import SyntheticSpeaker
from tests.benchmarks.ears_trials import NOT_MIXED
from tests.benchmarks.over_prompts import Rendered
from tests.benchmarks.spoken_clips import DEFAULT_FOLDER, read_noises
from tests.expecting import expectation_of

SPEECH_DBFS = -26.0
PROMPTS = (
    ("faults_before", "Fault codes: none stored, all cleared, only the one code, or still there?"),
    ("fuel", "Full tank, or part empty?"),
    ("reason", "Why aim it? Replaced, bumper, suspension, crash, or fault code."),
    ("rule_rear_left_mm", "Ruler at rear left and right. Millimetres."),
    ("toe_left_deg", "Rear toe, left and right. Degrees, in or out."),
    ("level_mm_per_m", "Level, left end. Up or down?"),
)
STOPS = (
    "Sensor, bracket and emblem intact, nothing loose. If not, say stop.",
    "Sensor, bracket and emblem intact, nothing loose. If not, say stop. Say done.",
)

pytestmark = pytest.mark.skipif(
    shutil.which("espeak-ng") is None or shutil.which("flite") is None,
    reason="espeak-ng or flite is not installed",
)


class Bay:
    """The ears and the companion's voice, and how one arrives at the other."""

    def __init__(self, folder: Path) -> None:
        language = assembly.language()
        self.recogniser: Recogniser = assembly.make_recogniser(assembly.EarsChoice("own"), language)
        self.loaded = assembly.load(JobPaths())
        self.language: Language = assembly.check_words(
            self.recogniser, self.loaded, language
        ).language
        self.rendered = Rendered(folder / "prompts", language)
        self.speaker = SyntheticSpeaker("slt", seed=1, cache_folder=folder / "answers")
        self.own_voice_heard = 0
        self.hushed_after_s: float | None = None

    def grammar_of(self, step_id: str) -> Expectation:
        return expectation_of(self.loaded.plan.step(step_id))

    def speech(self, words: str) -> bytes:
        samples = np.frombuffer(self.speaker.say(words), "<i2") / 32768.0
        gain_db = SPEECH_DBFS - band_level_dbfs(samples.astype(np.float32))
        scaled = np.clip(samples * 10 ** (gain_db / 20), -1.0, 1.0)
        return bytes((scaled * 32767).astype("<i2").tobytes())

    def noisily(self, words: str, noise: Callable[[int], bytes]) -> bytes:
        """The same words with this noise under them."""
        said = np.frombuffer(self.speech(words), "<i2").astype(np.int32)
        both = said + np.frombuffer(noise(2 * len(said)), "<i2")
        return bytes(np.clip(both, -32768, 32767).astype("<i2").tobytes())

    def ask(
        self,
        prompt: str,
        expectation: Expectation,
        bed: Callable[[int], bytes],
        *,
        echo_db: float,
        measured_db: float,
        answer: str = "",
        after_s: float = 0.9,
        answered_early: bool = True,
        delay_s: float = 0.12,
    ) -> Heard | None:
        """What is heard into the prompt or in the three seconds behind it; None for nothing."""
        air = SharedAir(EchoingRoom(echo_db, delay_s), bed)
        echo = OverVoiceSettings(Echo(measured_db, delay_s), self._hears_itself)
        ears = StreamEars(air, self.recogniser, None, echo)
        said = air.play(self.rendered.sound(Say(prompt, "ask", 100, 0.8)), 0.6)
        if not answered_early:
            said = air.play(self.rendered.sound(Say(prompt, "caution", 100, 0.8)))
        if answer:
            air.say(self.speech(answer), after_s)
        stop = self.language.for_step(Expectation(commands=("stop",)))
        begun = ears.overhear(said, Listening("p", stop, 3.0))
        if isinstance(begun, Utterance):
            return begun
        if begun is None:
            return None
        listening = Listening("p", self.language.for_step(expectation), 2.0, begun=begun)
        heard = ears.hear(listening)
        return None if isinstance(heard, Refusal) and heard.reason == "silence" else heard

    def _hears_itself(self) -> None:
        self.own_voice_heard += 1


@pytest.fixture(scope="module")
def bay(tmp_path_factory: pytest.TempPathFactory) -> Bay:
    return Bay(tmp_path_factory.mktemp("bay"))


def quiet_room(level_dbfs: float = -65.0) -> Callable[[int], bytes]:
    random = np.random.default_rng(1)
    scale = 32768.0 * 10 ** (level_dbfs / 20)
    return lambda size: bytes((scale * random.normal(size=size // 2)).astype("<i2").tobytes())


def workshop(number: int, level_dbfs: float) -> Callable[[int], bytes]:
    """One of the workshop's recordings, from somewhere on and round again."""
    if not (DEFAULT_FOLDER / "noise.tsv").exists():
        pytest.skip(f"{DEFAULT_FOLDER} is not there: no workshop noise to test in")
    halves = [n for n in read_noises(DEFAULT_FOLDER) if n.half == "scoring"]
    noise = [n for n in halves if n.sort not in NOT_MIXED][number].samples()
    noise = noise / np.sqrt(np.mean(noise**2)) * 10 ** (level_dbfs / 20)
    sound = (np.clip(noise, -1.0, 1.0) * 32767).astype("<i2")
    at = 0

    def bed(size: int) -> bytes:
        nonlocal at
        places = (at + np.arange(size // 2)) % len(sound)
        at += size // 2
        return bytes(sound[places].tobytes())

    return bed


@pytest.mark.parametrize(("echo_db", "measured_db"), [(-40.0, -40.0), (-10.0, -60.0)])
@pytest.mark.parametrize("number", range(3))
def test_nobody_speaks_in_a_loud_workshop_and_no_prompt_answers_itself(
    bay: Bay, number: int, echo_db: float, measured_db: float
) -> None:
    for step_id, prompt in PROMPTS[number::3]:
        heard = bay.ask(
            prompt,
            bay.grammar_of(step_id),
            workshop(number, -38.0),
            echo_db=echo_db,
            measured_db=measured_db,
        )
        assert not isinstance(heard, Utterance), (prompt, heard)


def test_a_loudspeaker_beside_the_microphone_is_noticed_and_nothing_is_taken(bay: Bay) -> None:
    bay.own_voice_heard = 0
    for step_id, prompt in PROMPTS[:3]:
        heard = bay.ask(
            prompt, bay.grammar_of(step_id), quiet_room(), echo_db=-5.0, measured_db=-60.0
        )
        assert heard is None, (prompt, heard)
    assert bay.own_voice_heard


@pytest.mark.parametrize("prompt", STOPS)
@pytest.mark.parametrize("echo_db", [-40.0, -15.0, 0.0])
def test_the_companions_own_stop_stops_nothing(bay: Bay, prompt: str, echo_db: float) -> None:
    done = Expectation(done=True, commands=("stop",))
    heard = bay.ask(
        prompt, done, quiet_room(), echo_db=echo_db, measured_db=-60.0, answered_early=False
    )
    assert heard is None


@pytest.mark.parametrize(
    ("step_id", "prompt", "answer"),
    [
        (*PROMPTS[0], "none stored"),
        (*PROMPTS[2], "suspension"),
        (*PROMPTS[5], "three up"),
    ],
)
def test_an_answer_into_the_prompt_is_heard_from_its_beginning(
    bay: Bay, step_id: str, prompt: str, answer: str
) -> None:
    expectation = bay.grammar_of(step_id)
    heard = bay.ask(
        prompt, expectation, quiet_room(), echo_db=-50.0, measured_db=-50.0, answer=answer
    )
    assert isinstance(heard, Utterance)
    assert heard.meaning == bay.language.for_step(expectation).parse(answer)
    into = heard.how.into
    assert into is not None
    assert 0.8 <= into.began_s <= 1.3
    assert into.sounded_s - into.began_s <= 0.3
    assert into.whole_s > into.sounded_s


@pytest.mark.parametrize("prompt", ["Brakes on, wheels chocked, nobody in front.", *STOPS])
def test_stop_into_anything_stops_it(bay: Bay, prompt: str) -> None:
    done = Expectation(done=True, commands=("stop",))
    heard = bay.ask(
        prompt,
        done,
        quiet_room(),
        echo_db=-50.0,
        measured_db=-50.0,
        answer="stop",
        answered_early=False,
    )
    assert isinstance(heard, Utterance)
    assert heard.meaning == Command("stop")
    assert heard.how.into is not None


@pytest.mark.parametrize("delay_s", [0.12, 0.35])
@pytest.mark.parametrize("after_s", [0.8, 1.3])
def test_stop_into_an_open_prompt_stops_it_however_short_it_is(
    bay: Bay, after_s: float, delay_s: float
) -> None:
    """It is over before the companion's echo has rung off: a wireless headset's comes late."""
    step_id, prompt = PROMPTS[2]
    heard = bay.ask(
        prompt,
        bay.grammar_of(step_id),
        quiet_room(),
        echo_db=-50.0,
        measured_db=-50.0,
        answer="stop",
        after_s=after_s,
        delay_s=delay_s,
    )
    assert isinstance(heard, Utterance), heard
    assert heard.meaning == Command("stop")
    assert heard.how.into is not None


def noise_between(begins_s: float, ends_s: float, level_dbfs: float) -> Callable[[int], bytes]:
    """A quiet room in which something makes a noise between these moments."""
    room, noise, given = quiet_room(), quiet_room(level_dbfs), 0

    def bed(size: int) -> bytes:
        nonlocal given
        now_s = (given + np.arange(size // 2)) / SAMPLE_RATE_HZ
        given += size // 2
        both = (np.frombuffer(sound(size), "<i2") for sound in (noise, room))
        return np.where((begins_s <= now_s) & (now_s < ends_s), *both).astype("<i2").tobytes()

    return bed


@pytest.mark.parametrize("answered_early", [True, False])
def test_a_noise_at_the_prompts_end_costs_no_answer(bay: Bay, answered_early: bool) -> None:
    step_id, prompt = PROMPTS[1]
    sound = bay.rendered.sound(Say(prompt, "ask", 100, 0.8))
    ends_s = len(sound) / SAMPLE_RATE_HZ
    air = SharedAir(EchoingRoom(-60.0), noise_between(ends_s - 0.4, ends_s + 9.0, -40.0))
    ears = StreamEars(air, bay.recogniser, None, OverVoiceSettings(Echo(-60.0, 0.12)))
    said = air.play(sound, 0.6 if answered_early else None)
    air.say(bay.noisily("part empty", quiet_room(-40.0)), ends_s + 0.7)
    stop = bay.language.for_step(Expectation(commands=("stop",)))
    begun = ears.overhear(said, Listening("p", stop, 3.0))
    assert not isinstance(begun, Utterance)
    grammar = bay.language.for_step(bay.grammar_of(step_id))
    heard = ears.hear(Listening("p", grammar, 5.0, begun=begun))
    assert isinstance(heard, Utterance), heard
    assert heard.words == "part empty"


def test_what_is_said_into_a_caution_that_is_no_stop_changes_nothing(bay: Bay) -> None:
    done = Expectation(done=True, commands=("stop",))
    heard = bay.ask(
        "Secure the car, ignition only when I ask, nobody in front.",
        done,
        quiet_room(),
        echo_db=-50.0,
        measured_db=-50.0,
        answer="done",
        answered_early=False,
    )
    assert heard is None


def test_who_begins_before_the_prompt_may_be_answered_is_not_cut_in_half(bay: Bay) -> None:
    step_id, prompt = PROMPTS[3]
    heard = bay.ask(
        prompt,
        bay.grammar_of(step_id),
        quiet_room(),
        echo_db=-50.0,
        measured_db=-50.0,
        answer="four two one, four two zero",
        after_s=0.1,
    )
    assert heard is None


def test_ears_that_cannot_are_refused(bay: Bay) -> None:
    air = SharedAir(EchoingRoom(-50.0), quiet_room())
    ears = StreamEars(air, bay.recogniser)
    stop = bay.language.for_step(Expectation(commands=("stop",)))
    with pytest.raises(Exception, match="cannot listen while the companion speaks"):
        ears.overhear(air.play(np.zeros(100, np.float32)), Listening("p", stop, 3.0))


def test_an_open_prompt_that_nobody_speaks_into_leaves_the_ears_open(bay: Bay) -> None:
    air = SharedAir(EchoingRoom(-60.0), quiet_room())
    ears = StreamEars(air, bay.recogniser, None, OverVoiceSettings(Echo(-60.0, 0.12)))
    said = air.play(bay.rendered.sound(Say(PROMPTS[1][1], "ask", 100, 0.8)), 0.6)
    stop = bay.language.for_step(Expectation(commands=("stop",)))
    begun = ears.overhear(said, Listening("p", stop, 3.0))
    assert isinstance(begun, Begun)
    assert begun.into is None
