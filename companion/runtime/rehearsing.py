"""Joins the rehearsal bay to the loop: a whole job with a simulated technician.

The technician is told each prompt as the record keeps it, and answers in words. Typed, they go
straight to the strict parser; spoken, a synthetic voice says them and a real recogniser hears them.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from random import Random

from companion.dialogue.state import State
from companion.facts import talking
from companion.facts.beforehand import HearingBefore, IntoPrompts
from companion.facts.kinds import Fact, kind_of
from companion.facts.watching import Watcher
from companion.job.loader import LoadedJob
from companion.job.plan import Plan
from companion.language.language import Language
from companion.recognition.into import Begun, BeingSaid
from companion.recognition.listening import StreamEars
from companion.recognition.overhearing import OverVoiceSettings
from companion.recognition.port import (
    Ears,
    Heard,
    Listening,
    OverhearingEars,
    Recogniser,
    Refusal,
    SoundEnded,
    SoundSource,
    Utterance,
)
from companion.record.port import Clips, Log, StoredEvent
from companion.runtime import assembly
from companion.runtime.assembly import endpoint_settings
from companion.runtime.into_prompts import SpeaksMeanwhile
from companion.runtime.loop import OfVisit, Room, resume_job, start_job
from companion.simulation import assumed
from companion.simulation.answers import wording_in
from companion.simulation.rehearsal import Rehearsal, Setting, Speaker
from companion.simulation.scenario import Scenario
from companion.simulation.score import Hearing, JobScore, Said, score_job
from companion.simulation.script import Script, make_script
from companion.simulation.script_file import path_beside, read_rehearsal_file
from companion.simulation.slips import (
    ACTING_SLIPS,
    READING_SLIPS,
    TALKING_SLIPS,
    PlannedSlip,
    SlipKind,
)
from companion.simulation.sources import TechnicianSource, TypedTechnician
from companion.simulation.truth import Spread
from companion.speech.port import Voice
from companion.steps.aim.state import aim_round
from companion.steps.verdict.model import Verdict

SLIPS_TO_CHOOSE: tuple[SlipKind, ...] = (*READING_SLIPS, *ACTING_SLIPS, *TALKING_SLIPS)
# Pitch and levers wrong by more than the file says: often one round on the screws is not enough.
HARDER = Spread(mount_relative_sd=0.18, mount_relative_most=0.25)
MOST_ANSWERS = 1_000
TECHNICIAN = "Simulated technician"
SAID_INSIDE = ("inside", "tool_inside")
"""Results by which the aim was found inside, by the companion or by the scan tool."""


def said_inside(plan: Plan) -> tuple[str, ...]:
    """Results by which this job says inside: those above, and those that its verdicts end as."""
    verdicts = (step for step in plan.steps if isinstance(step, Verdict))
    return (*SAID_INSIDE, *(v.ends_as.result for v in verdicts if v.ends_as is not None))


def choose_slips(seed: int, count: int) -> tuple[PlannedSlip, ...]:
    """So many slips, of kinds and at moments that follow from the seed."""
    random = Random(f"{seed} which slips")  # noqa: S311  -- a simulation, repeatable by its seed
    return tuple(
        PlannedSlip(random.choice(SLIPS_TO_CHOOSE), random.randint(1, 12)) for _ in range(count)
    )


def make_rehearsal(
    loaded: LoadedJob,
    seed: int,
    *,
    scenario: Scenario | None = None,
    slips: Sequence[PlannedSlip] = (),
    spread: Spread | None = None,
    speaker: Speaker | None = None,
    language: Language | None = None,
) -> Rehearsal:
    """A bay whose hidden truth, noise, wording and slips all follow from the seed.

    `language`: what the technician speaks; English where it is not given.
    Raises FileProblem for a rehearsal file beside the job that does not fit it.
    """
    files = loaded.plan.files
    setting = Setting(
        files.vehicle,
        files.mount or assumed.MOUNT,
        files.bay,
        script=script_of(loaded),
        wording=wording_in(language or assembly.language()),
        scenario=scenario or Scenario(),
        spread=spread or Spread(),
        planned_slips=slips,
    )
    return Rehearsal(setting, seed, speaker)


def script_of(loaded: LoadedJob) -> Script:
    """What the file beside the job says of its rehearsal; without one all goes as is typical."""
    if loaded.job_path is None:
        return make_script(loaded.plan)
    told = read_rehearsal_file(loaded.job_path)
    return make_script(loaded.plan, told, str(path_beside(loaded.job_path)))


class _TechnicianEars:
    """The companion's ears in the rehearsal bay: the technician first takes in what was said.

    Told that he is not heard well, he types. Listened to again without a word (paused, say), he
    answers the last prompt once more. Raises SoundEnded when a job goes round in circles.
    """

    def __init__(self, rehearsal: Rehearsal, looking_on: _LookingOn, ears: Ears) -> None:
        self._rehearsal = rehearsal
        self._looking_on = looking_on
        self._ears = ears
        self._typed = TypedTechnician(rehearsal)
        self._listened = 0
        self._into = ""
        self.counts: Counter[str] = Counter()
        self.name = ears.name

    def hear(self, listening: Listening) -> Heard:
        self._listened += 1
        if self._listened > MOST_ANSWERS:
            raise SoundEnded(f"the technician gave up after {MOST_ANSWERS} answers")
        prompt = self._looking_on.prompt
        if listening.begun is None or self._into != listening.prompt_id:
            self._rehearsal.heard(prompt)
        types = prompt.prompt is not None and prompt.prompt.keyboard
        heard = (self._typed if types else self._ears).hear(listening)
        self.counts[self._judge(heard, listening)] += 1
        return heard

    def overhear(self, said: BeingSaid, stop: Listening) -> Begun | Utterance | None:
        """Where the prompt may be answered before it ends, he does; not heard, he says it again."""
        ears, prompt = self._ears, self._looking_on.prompt
        if said.open_after_s() is not None:
            self._into = stop.prompt_id
            self._rehearsal.heard(prompt)
        assert isinstance(ears, OverhearingEars)  # noqa: S101  -- all of a rehearsal are
        return ears.overhear(said, stop)

    def _judge(self, heard: Heard, listening: Listening) -> str:
        """Whether what was heard means what was said; an answer outside the grammar has none."""
        said = self._rehearsal.answer_text()
        if isinstance(heard, Refusal):
            return "refused"
        if heard.words == said:
            return "right"
        meant = listening.grammar.parse(said) if said is not None else None
        return "right" if heard.meaning == meant else "wrong"

    def close(self) -> None:
        self._ears.close()


class _LookingOn:
    """A watcher that knows the open prompt, counts facts and passes them on."""

    def __init__(self, watcher: Watcher | None) -> None:
        self._watcher = watcher
        self.prompt = talking.Said(None, None, "", "", "", None)
        self.facts: Counter[str] = Counter()

    def fact(self, fact: Fact) -> None:
        if isinstance(fact, talking.Said) and fact.prompt_id is not None:
            self.prompt = fact
        self.facts[kind_of(fact)] += 1
        if self._watcher is not None:
            self._watcher.fact(fact)


@dataclass(frozen=True)
class OverPrompts:
    """How prompts are said that may be answered into, with what is recorded of that.

    `over_voice`: how the loudspeaker arrives at the microphone, for ears that hear sound.
    """

    meanwhile: SpeaksMeanwhile
    allowed: IntoPrompts
    over_voice: OverVoiceSettings | None = None


@dataclass(frozen=True)
class Rehearsed:
    """What came of one rehearsal."""

    state: State
    score: JobScore
    facts: Mapping[str, int]


def run_rehearsal(
    loaded: LoadedJob,
    language: Language,
    rehearsal: Rehearsal,
    voice: Voice,
    log: Log,
    *,
    recogniser: Recogniser | None = None,
    watcher: Watcher | None = None,
    clips: Clips | None = None,
    resumed_from: Iterable[StoredEvent] | None = None,
    voice_check: bool = False,
    visit: OfVisit = OfVisit(),  # noqa: B008 - frozen
    source: Callable[[Rehearsal], SoundSource] = TechnicianSource,
    over_prompts: OverPrompts | None = None,
) -> Rehearsed:
    """A whole job, or the rest of one that was broken off; typed where no recogniser is given.

    `voice_check`: it begins with the check of how well the technician is heard. `visit`: the
    car's visit that it belongs to. `source`: what a recogniser gets of the technician.
    `over_prompts`: he answers prompts that he knows before they end.
    """
    ears: Ears = TypedTechnician(rehearsal)
    if recogniser is not None:
        settings = endpoint_settings(recogniser.name)
        over_voice = over_prompts.over_voice if over_prompts is not None else None
        ears = StreamEars(source(rehearsal), recogniser, settings, over_voice)
    rehearsal.already_done(one.step_id for one in visit.still_true if one.what == "done")
    looking_on = _LookingOn(watcher)
    technician = _TechnicianEars(rehearsal, looking_on, ears)
    meanwhile = over_prompts.meanwhile if over_prompts is not None else None
    room = Room(technician, voice, log, clips, looking_on, meanwhile)
    if resumed_from is not None:
        state = resume_job(room, loaded, language, resumed_from)
    else:
        allowed = over_prompts.allowed if over_prompts is not None else None
        before = HearingBefore(offer_check=voice_check, into_prompts=allowed)
        state = start_job(
            room,
            loaded,
            language,
            technician=TECHNICIAN,
            hearing=before,
            rehearsal=True,
            visit=visit,
        )
    said: Said = "inside" if state.result in said_inside(loaded.plan) else "stopped"
    aim = aim_round(state)
    score = score_job(
        rehearsal,
        finished=state.result is not None,
        companion_said=said,
        rounds=aim.round if aim is not None else 0,
        hearing=Hearing(
            right=technician.counts["right"],
            refused=technician.counts["refused"],
            wrong=technician.counts["wrong"],
        ),
    )
    return Rehearsed(state, score, looking_on.facts)
