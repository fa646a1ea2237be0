"""A kind of step is added from outside of the package, and no file of the package is touched.

A job with it is loaded, checked, talked through, resumed, reported, shown and rehearsed.
"""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from companion.dialogue.machine import begin, step
from companion.dialogue.state import Mode, State
from companion.display.fold import Told, take
from companion.display.look import look
from companion.display.page import view
from companion.errors import FileProblem, RecordError
from companion.facts.kinds import kind_of
from companion.facts.opening import Opened
from companion.facts.shown import Card
from companion.facts.talking import Heard, How
from companion.job.loader import EXAMPLES, JobPaths, LoadedJob
from companion.record import SqliteLog, open_record
from companion.record.memory import MemoryLog
from companion.runtime import assembly
from companion.runtime.loop import replay_record
from companion.runtime.rehearsing import make_rehearsal, run_rehearsal
from companion.speech.silent import SilentVoice
from companion.steps.registry import KINDS, find_kinds, untold
from tests.rendered import render_report

JOB = Path(__file__).parent / "bracket.yaml"


class PowerCut(Exception):
    """The light went out."""


class CutLog(MemoryLog):
    """A record that the power is cut from after so many steps."""

    def __init__(self, steps: int) -> None:
        super().__init__()
        self.left = steps

    def append(self, entries: Any) -> Any:
        if self.left == 0:
            raise PowerCut
        self.left -= 1
        return super().append(entries)


class Talk:
    """A conversation in words."""

    def __init__(self, loaded: LoadedJob) -> None:
        self.state: State = begin(loaded.plan, assembly.language())
        self.facts: list[Any] = []
        self._do(Opened())

    def _do(self, event: Any) -> None:
        self.state, effects = step(self.state, event)
        self.facts += [effect.fact for effect in effects if hasattr(effect, "fact")]
        self.said = [effect.text for effect in effects if hasattr(effect, "text")]

    def hear(self, *utterances: str) -> Talk:
        for words in utterances:
            prompt = self.state.prompt
            assert prompt is not None
            meaning = assembly.language().for_step(prompt.expectation).parse(words)
            assert meaning is not None, (words, self.said)
            self._do(Heard(prompt.id, meaning, How(words)))
        return self


def rehearsed(loaded: LoadedJob, log: Any, **how: Any) -> Any:
    rehearsal = make_rehearsal(loaded, seed=5)
    return run_rehearsal(loaded, assembly.language(), rehearsal, SilentVoice(), log, **how)


def test_without_the_folder_the_job_names_a_kind_that_nobody_knows() -> None:
    with pytest.raises(FileProblem, match=r"bracket.yaml line \d+.*torque"):
        assembly.load(JobPaths(job=JOB))


def test_its_model_and_its_check_speak_for_a_wrong_file(own_kinds: Path, tmp_path: Path) -> None:
    job = tmp_path / "job.yaml"
    text = JOB.read_text(encoding="utf-8")
    for old, new, found in (
        ("least_newton_metres: 20", "least_newton_metres: 24", "must be less than"),
        ("most_newton_metres: 24", "most_newton_metres: 1200", "upper_bolt: found 1200.0 newton"),
        ("fastening: the upper bolt", "bolt: the upper bolt", "no field of this name here"),
    ):
        job.write_text(text.replace(old, new, 1), encoding="utf-8")
        with pytest.raises(FileProblem, match=found):
            assembly.load(JobPaths(job=job, step_kinds=own_kinds))


def test_its_step_is_asked_said_back_and_taken(bracket: LoadedJob) -> None:
    talk = Talk(bracket).hear("done")
    assert talk.said == ["Tighten the upper bolt. Newton metres on the wrench."]
    assert talk.hear("twenty two").said == ["Two two. Yes or no?"]
    assert talk.hear("yes").said == ["Tighten the lower bolt. Newton metres on the wrench."]
    assert talk.state.kept["torque"] == {"upper_bolt": 22.0}


def test_what_its_limits_do_not_allow_is_asked_again_and_then_stops(bracket: LoadedJob) -> None:
    talk = Talk(bracket).hear("done", "nineteen", "yes")
    assert talk.said[0] == "That is not within the limits of the upper bolt."
    assert talk.state.mode is Mode.ASKING
    talk.hear("two six", "yes", "one nine", "yes")
    assert talk.state.mode is Mode.STOPPED
    assert talk.state.kept.get("torque", {}) == {}
    talk.hear("carry on", "two two", "yes")
    assert talk.state.prompt is not None
    assert talk.state.prompt.step_id == "lower_bolt"


def test_it_is_taken_back_as_any_other_answer(bracket: LoadedJob) -> None:
    talk = Talk(bracket).hear("done", "twenty two", "yes", "go back")
    assert talk.said[0].startswith("Taken back: upper bolt of the bracket.")
    assert talk.state.kept["torque"] == {}
    assert "upper_bolt" not in talk.state.done


def test_the_job_ends_as_its_file_says(bracket: LoadedJob) -> None:
    talk = Talk(bracket).hear("done", "twenty two", "yes", "two four", "yes")
    assert talk.said == ["Both bolts are tight.", "Sign off in the record."]
    assert talk.hear("done").state.result == "tightened"


def test_it_is_rehearsed_and_its_fact_is_kept(bracket: LoadedJob) -> None:
    log = MemoryLog()
    found = rehearsed(bracket, log)
    assert found.state.result == "tightened"
    assert found.facts["torque"] == 2
    kept = [event for event in log.events(log.session_id) if event.kind == "torque"]
    assert [event.body["newton_metres"] for event in kept] == [22.0, 22.0]


@pytest.mark.parametrize("steps", [2, 3, 4, 5, 6])
def test_it_is_resumed_where_the_power_was_cut(bracket: LoadedJob, steps: int) -> None:
    cut = CutLog(steps)
    with pytest.raises(PowerCut):
        rehearsed(bracket, cut)
    stored = list(cut.events(cut.session_id))
    place = replay_record(bracket, assembly.language(), stored)
    whole = MemoryLog()
    found = rehearsed(bracket, whole, resumed_from=stored)
    assert found.state.result == "tightened"
    again = 2 - len(place.kept.get("torque", {}))  # type: ignore[arg-type]
    assert found.facts["torque"] == again


def test_a_kind_that_was_changed_meanwhile_is_not_gone_on_with(
    bracket: LoadedJob, own_kinds: Path
) -> None:
    cut = CutLog(4)
    with pytest.raises(PowerCut):
        rehearsed(bracket, cut)
    module = own_kinds / "torque" / "kind.py"
    module.write_text(module.read_text(encoding="utf-8") + "\n# changed\n", encoding="utf-8")
    changed = assembly.load(JobPaths(job=JOB, mount=None, step_kinds=own_kinds))
    with pytest.raises(RecordError, match="changed since the session began: step_kinds"):
        replay_record(changed, assembly.language(), list(cut.events(cut.session_id)))


def test_the_report_shows_it_in_its_own_words(
    bracket: LoadedJob, own_kinds: Path, tmp_path: Path
) -> None:
    path = tmp_path / "record.sqlite"
    with open_record(path) as database:
        session = database.create_session()
        rehearsed(bracket, SqliteLog(database, session))
    page = render_report(path, session, shows=find_kinds(own_kinds).kinds)
    table = page[page.index("<h2>Fastenings</h2>") : page.index('id="notable"')]
    assert re.findall(r'<th scope="row">(.*?)</th><td>(.*?)</td><td>(.*?)</td>', table) == [
        ("upper bolt", "22 N·m", "held"),
        ("lower bolt", "22 N·m", "held"),
    ]
    assert "Both bolts are tight." in page
    assert "newton_metres: 22" not in page
    without = render_report(path, session)
    assert "Fastenings" not in without
    assert "newton_metres: 22" in without


def test_the_screen_shows_its_card(bracket: LoadedJob, own_kinds: Path) -> None:
    shows = find_kinds(own_kinds).kinds
    log = MemoryLog()
    rehearsed(bracket, log)
    told, cards = Told(), []
    for event in log.events(log.session_id):
        told = take(told, event.fact)
        moment = look(told, shows=shows)
        if isinstance(moment.picture, Card):
            cards.append(moment.picture)
            assert "20 to 24 N·m" in view(moment)
    assert list(dict.fromkeys(card.title for card in cards)) == [
        "Upper bolt of the bracket",
        "Lower bolt of the bracket",
    ]
    assert look(told, shows=shows).instruction.before == "Both bolts are tight."


def test_a_folder_that_gives_no_kind_says_what_is_wanted(own_kinds: Path, tmp_path: Path) -> None:
    empty = tmp_path / "empty"
    empty.mkdir()
    with pytest.raises(FileProblem, match="no kinds of step; wanted: a folder for each"):
        find_kinds(empty)
    with pytest.raises(FileProblem, match="no kinds of step"):
        find_kinds(tmp_path / "nowhere")
    module = own_kinds / "torque" / "kind.py"
    text = module.read_text(encoding="utf-8")
    for changed, found in (
        (text.replace("KIND = TorqueKind()", ""), "no KIND; wanted: KIND = one of"),
        (text + "\nraise RuntimeError('broken')\n", "RuntimeError: broken; wanted: a module"),
    ):
        module.write_text(changed, encoding="utf-8")
        with pytest.raises(FileProblem, match=found):
            find_kinds(own_kinds)


@pytest.mark.parametrize(
    ("left_out", "lacking"),
    [
        ("def reach(", "reach"),
        ("def take(", "take"),
        ("def accept(\n", "accept"),
        ("def expectation(", "expectation"),
    ],
)
def test_a_kind_that_leaves_out_what_has_no_default_is_refused(
    own_kinds: Path, left_out: str, lacking: str
) -> None:
    module = own_kinds / "torque" / "kind.py"
    text = module.read_text(encoding="utf-8")
    module.write_text(text.replace(left_out, left_out.replace("def ", "def no_")), encoding="utf-8")
    with pytest.raises(FileProblem, match=f"TorqueKind does not say {lacking}; wanted: a method"):
        find_kinds(own_kinds)


def test_the_companions_own_kinds_leave_nothing_out() -> None:
    assert not [name for name, kind in KINDS.items() if untold(kind)]


def test_a_kind_may_not_take_the_place_of_one_of_the_companions(own_kinds: Path) -> None:
    model = own_kinds / "torque" / "model.py"
    text = model.read_text(encoding="utf-8")
    model.write_text(text.replace('Literal["torque"]', 'Literal["reading"]'), encoding="utf-8")
    with pytest.raises(FileProblem, match="a second kind of step 'reading'; wanted: another name"):
        find_kinds(own_kinds)


def test_the_companions_own_kinds_stay_as_they_are(bracket: LoadedJob) -> None:
    assert "torque" not in KINDS
    assert set(bracket.plan.files.kinds) == {*KINDS, "torque"}
    assert set(bracket.file_hashes) == {"job", "vehicle", "bay", "step_kinds"}
    shipped = assembly.load(JobPaths())
    assert set(shipped.file_hashes) == {"job", "vehicle", "mount", "bay"}
    assert shipped.plan.files.kinds == KINDS
    assert kind_of(Opened()) == "opened"
    assert replace(JobPaths(), mount=EXAMPLES / "mount.yaml") == JobPaths()
