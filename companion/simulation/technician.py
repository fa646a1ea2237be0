"""A technician who knows what each prompt asks for, does it in the bay, and answers in words.

He takes it from the prompt's fact, not from its sentence. What the job leaves to him (where a
reading is read, what is done before it) stands in the script.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from random import Random

from companion.facts.prompting import Prompted, SaidBack
from companion.facts.talking import Said
from companion.job.setup_files import Vehicle
from companion.simulation.acts import Act, SetLean, SetSwing, act_of, perform
from companion.simulation.answers import Wording, said_choice, said_number, says_the_same
from companion.simulation.misdoing import misdone
from companion.simulation.misreading import misread
from companion.simulation.scenario import Scenario
from companion.simulation.script import Reads, Script
from companion.simulation.script_file import ScanToolVerdict
from companion.simulation.slips import TALKING_SLIPS, SlipKind, Slips, TalkingSlip
from companion.simulation.verdicts import verdict_of
from companion.simulation.world import World

_COMMANDS: dict[TalkingSlip, str] = {
    "says_wait": "wait",
    "says_repeat": "repeat",
    "says_go_back": "go_back",
    "asks_where": "where_are_we",
}
_OVERHEARS: tuple[SlipKind, ...] = ("confirms_wrong", "overlooks_in_group")
# From thousands on two numbers in one go are said digit by digit.
_MOST_IN_WORDS = 999
# Of those who were asked two things at once so many only confirm, and wait for the question.
_YES_ALONE = 0.1
_SLIPS_AT = ("number", "choice", "done", "yes_no")


@dataclass(frozen=True, slots=True)
class Answer:
    """What is said, None for silence, and how long after the prompt it begins."""

    text: str | None
    delay_s: float


@dataclass(frozen=True, slots=True)
class _Read:
    """What was read off a scale and is meant from then on."""

    reads: Reads
    value: Decimal


class Technician:
    """Hears prompts one after the other; what he remembers is the last reading and the last act.

    `screw_ids`: those of the mount. `wording`: what he says, in his language.
    """

    def __init__(
        self,
        world: World,
        vehicle: Vehicle,
        screw_ids: Sequence[str],
        script: Script,
        wording: Wording,
        scenario: Scenario,
        slips: Slips,
        random: Random,
    ) -> None:
        self._world = world
        self._vehicle = vehicle
        self._screw_ids = tuple(screw_ids)
        self._script = script
        self._wording = wording
        self._scales = {name: (reads.name, reads.where) for name, reads in script.readings.items()}
        self._scenario = scenario
        self._slips = slips
        self._random = random
        self._read: _Read | None = None
        self._at_hand: dict[str, _Read] = {}
        self._did_first: tuple[str, ...] = ()
        self._newest: dict[str, _Read] = {}
        self._chosen: str | None = None
        self._chose: dict[str, str] = {}
        # What he would answer, until he is asked.
        told = {n: a for n, a in script.answers.items() if isinstance(a, str)}
        self._answered = {**told, **scenario.answers}
        self._done: tuple[Act, ...] = ()
        self._withheld: str | None = None
        self._stops = 0

    @property
    def is_at_a_reading(self) -> bool:
        """Whether a reading is being asked for or said back."""
        return self._read is not None

    def meant(self, reading_id: str) -> Decimal | None:
        """What was last read for this reading, signed as its scale is; None: nothing yet."""
        read = self._newest.get(reading_id)
        return read.value if read is not None else None

    def chosen(self, step_id: str) -> str | None:
        """What was last chosen at this question; None: nothing yet."""
        return self._chose.get(step_id)

    def hear(self, said: Said) -> Answer:
        """Act on the prompt and answer it, slips included."""
        delay_s = self._random.uniform(0.3, 1.5)
        if self._withheld is not None:
            late, self._withheld = self._withheld, None
            return Answer(late, delay_s)
        slip = self._talking_slip(said)
        if slip is not None and slip not in ("late", "says_it_twice"):
            return Answer(self._misspoken(slip), delay_s)
        answer = self._answer(said, said.prompt or Prompted())
        if answer is not None and slip in ("late", "says_it_twice"):
            self._withheld = answer
            return Answer(None if slip == "late" else answer, delay_s)
        return Answer(answer, delay_s)

    def _do_first(self, asks: Prompted, prompt: str) -> None:
        """What was said in front of the question; once, however often that is said in a row."""
        if asks.first != self._did_first:
            for name in asks.first:
                self._perform(self._script.acts.get(name, ()), prompt)
        self._did_first = asks.first

    def _perform(self, acts: Sequence[Act], prompt: str) -> None:
        for act in acts:
            for really in misdone(act, self._screw_ids, self._slips, prompt):
                perform(really, self._world)

    def _answer(self, said: Said, asks: Prompted) -> str | None:
        self._do_first(asks, said.text)
        match asks.answer:
            case "number":
                return self._reading(said, asks)
            case "choice":
                return self._said_choice(self._choose(said))
            case "done":
                return self._do(said, asks)
            case "yes_no" if said.mode == "checking_voice":
                return self._wording.yes[0]
            case "yes_no" if asks.together:
                return self._and_next(self._judge_together(said, asks.together), said, asks)
            case "yes_no" if asks.said_back is not None and asks.said_back.proposed:
                return self._judge_proposed(said, asks.said_back)
            case "yes_no":
                return self._and_next(self._judge(said, asks.said_back), said, asks)
            case "command":
                return self._after_pause(asks)
            case "note":
                return self._wording.note
            case "word":
                return asks.word
            case _:
                return None

    def _choose(self, said: Said) -> str:
        """What is true of what is asked."""
        self._forget()
        self._chosen = self._choice(said)
        self._answered[said.step_id or ""] = self._chosen
        self._chose[said.step_id or ""] = self._chosen
        return self._chosen

    def _judge_proposed(self, said: Said, proposed: SaidBack) -> str:
        """Yes to what the files propose only if he would have answered it himself."""
        self._choose(said)
        return self._judge(said, proposed)

    def _reading(self, said: Said, asks: Prompted) -> str | None:
        """Do what comes first and read; when only asked to repeat, say the same again."""
        found = [self._script.readings.get(name) for name in (said.step_id or "", *asks.also)]
        wanted = [reads.after(self._answered) for reads in found if reads is not None]
        if len(wanted) < len(found):
            return None
        held = self._at_hand if asks.again else {}
        if any(reads.step_id not in held or held[reads.step_id].reads != reads for reads in wanted):
            self._forget()
            for reads in wanted:
                self._take(reads, said.text)
        in_a_pair = len(wanted) > 1
        read = [self._at_hand[reads.step_id] for reads in wanted]
        long = in_a_pair and any(abs(each.value) > _MOST_IN_WORDS for each in read)
        digit_by_digit = long or (asks.number is not None and asks.number.digit_by_digit)
        return " ".join(
            self._said_number(each, digit_by_digit=digit_by_digit, in_a_pair=in_a_pair)
            for each in read
        )

    def _take(self, reads: Reads, prompt: str) -> None:
        """Do what comes first, and read."""
        for act in reads.before:
            if not (self._scenario.leaves_swing and _puts_swing_back(act, reads)):
                perform(act, self._world)
        self._read = _Read(reads, misread(reads, self._world, self._slips, prompt))
        self._newest[reads.step_id] = self._at_hand[reads.step_id] = self._read

    def _choice(self, said: Said) -> str:
        if said.mode in ("resuming", "going_back"):
            return self._scenario.moved
        step_id = said.step_id or ""
        if step_id in self._scenario.answers:
            return self._scenario.answers[step_id]
        if step_id in self._script.keeps_sound:
            return self._script.keeps_sound[step_id][self._scenario.keeps_sound]
        answer = self._script.answers[step_id]
        if isinstance(answer, ScanToolVerdict):
            return verdict_of(answer, self._world, self._vehicle)
        return answer

    def _do(self, said: Said, asks: Prompted) -> str:
        """Do it once, however often the same instruction is said in a row."""
        acts = self._acts(said, asks)
        if acts and acts != self._done:
            self._perform(acts, said.text)
        self._forget()
        self._done = acts
        return self._one_of(self._wording.done)

    def _acts(self, said: Said, asks: Prompted) -> tuple[Act, ...]:
        if asks.instruction is None:
            return self._script.acts.get(said.step_id or "", ())
        act = act_of(asks.instruction, self._scales)
        return () if act is None else (act,)

    def _and_next(self, judged: str, said: Said, asks: Prompted) -> str:
        """Behind a yes the answer to what was asked in the same breath."""
        behind = asks.behind
        if behind is None or judged not in self._wording.yes:
            return judged
        if self._scenario.varied_wording and self._random.random() < _YES_ALONE:
            return judged
        if self._has_to_set_first(behind.step_id, *behind.also):
            return judged
        number, also, choices = behind.number, behind.also, behind.choices
        alone = Prompted(behind.answer, number=number, also=also, choices=choices)
        following = replace(said, step_id=behind.step_id, mode="asking", prompt=alone)
        answer = self._answer(following, alone)
        return judged if answer is None else f"{judged} {answer}"

    def _has_to_set_first(self, *step_ids: str) -> bool:
        """Whether something is done by hand before one of these is read: nobody's breath lasts."""
        found = (self._script.readings.get(step_id) for step_id in step_ids)
        return any(reads is not None and bool(reads.before) for reads in found)

    def _judge(self, said: Said, said_back: SaidBack | None) -> str:
        """Yes to what was said back only if it is what was meant."""
        if self._right(said, said_back):
            return self._one_of(self._wording.yes)
        if self._slips.strikes("confirms_wrong"):
            self._slips.note("confirms_wrong", said.text, "no", "yes", harmful=True)
            return self._one_of(self._wording.yes)
        return self._one_of(self._wording.no)

    def _judge_together(self, said: Said, together: Sequence[SaidBack]) -> str:
        """Yes only if each is what was read; else which one is not, or no where several are not."""
        wrong = [
            (place, read)
            for place, told in enumerate(together, 1)
            if (read := self._newest.get(told.step_id)) is not None
            and not says_the_same(told, read.value, read.reads.scale)
        ]
        for kind in _OVERHEARS:
            if wrong and self._slips.strikes(kind):
                self._slips.note(kind, said.text, "no", "yes", harmful=True)
                wrong = []
        if not wrong:
            return self._one_of(self._wording.yes)
        place, read = wrong[0]
        if len(wrong) > 1 or not self._wording.places:
            return self._one_of(self._wording.no)
        return f"{self._wording.places[place - 1]} {self._said_number(read, digit_by_digit=True)}"

    def _right(self, said: Said, said_back: SaidBack | None) -> bool:
        if said.mode == "ending":
            return self._stops > self._scenario.carries_on_at_most
        if said_back is None:
            return False
        if said_back.choice:
            # Also of what is asked between two readings: whether anything was moved.
            return said_back.choice == self._chosen
        if said.step_id in self._newest:
            self._read = self._newest[said.step_id]
        if self._read is not None:
            return says_the_same(said_back, self._read.value, self._read.reads.scale)
        chosen = self._chose.get(said.step_id or "", self._chosen)
        return chosen is not None and said_back.choice == chosen

    def _after_pause(self, asks: Prompted) -> str:
        if "end_job" in asks.commands:
            self._stops += 1
            if self._stops > self._scenario.carries_on_at_most:
                return self._wording.commands["end_job"]
        return self._wording.commands["carry_on"]

    def _talking_slip(self, said: Said) -> TalkingSlip | None:
        """At most one, and none where it would only answer a pause."""
        kind_wanted = said.prompt.answer if said.prompt is not None else ""
        if kind_wanted not in _SLIPS_AT or said.mode == "checking_voice":
            return None
        for kind in TALKING_SLIPS:
            if self._slips.strikes(kind):
                self._slips.note(kind, said.text, "an answer", kind, harmful=False)
                return kind
        return None

    def _misspoken(self, slip: TalkingSlip) -> str | None:
        if slip == "silent":
            return None
        if slip == "out_of_grammar":
            return self._random.choice(self._wording.small_talk)
        return self._wording.commands[_COMMANDS[slip]]

    def _forget(self) -> None:
        self._read, self._chosen, self._done = None, None, ()
        self._at_hand = {}

    def _said_number(self, read: _Read, *, digit_by_digit: bool, in_a_pair: bool = False) -> str:
        return said_number(
            self._wording.speaker,
            read.value,
            read.reads.scale,
            self._random,
            varied=self._scenario.varied_wording,
            digit_by_digit=digit_by_digit,
            direction_last=in_a_pair,
        )

    def _said_choice(self, choice: str) -> str:
        forms = self._wording.choices.get(choice) or (choice.replace("_", " "),)
        return said_choice(forms, self._random, varied=self._scenario.varied_wording)

    def _one_of(self, words: Sequence[str]) -> str:
        return self._random.choice(words) if self._scenario.varied_wording else words[0]


def _puts_swing_back(act: Act, reads: Reads) -> bool:
    return isinstance(act, SetSwing) and SetLean(1) in reads.before
