"""A job's translation holds every text of the job, with the same placeholders, and nothing else."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
import yaml

from companion.dialogue.kind import kind_of
from companion.errors import FileProblem
from companion.job.loader import EXAMPLES, JobPaths
from companion.job.translation import path_in, texts_of
from companion.language.words import Words
from companion.runtime import assembly

MOUNTS = ("mount.yaml", "mount_three_screws.yaml")


@pytest.mark.parametrize("mount", MOUNTS)
def test_the_shipped_job_is_whole_in_spanish(mount):
    paths = JobPaths(mount=EXAMPLES / mount)
    english, spanish = assembly.load(paths), assembly.load(paths, assembly.language("es"))
    assert [step.id for step in spanish.plan.steps] == [step.id for step in english.plan.steps]
    alike = {"vertical"}
    for told, original in zip(spanish.plan.steps, english.plan.steps, strict=True):
        texts, originals = dict(texts_of(told)), dict(texts_of(original))
        assert texts.keys() == originals.keys()
        for path, text in texts.items():
            # What has words in it is never the English text.
            if re.sub(r"\{[^}]*\}|[^a-z]", "", text):
                assert text != originals[path], (told.id, path)
                assert text not in alike or originals[path] == "upright"
        # Nothing but the texts is another.
        plain, was = told.model_dump(), original.model_dump()
        assert _without(plain, texts) == _without(was, originals)


def _without(plain, texts):
    for path in texts:
        place = plain
        for part in path[:-1]:
            place = place[int(part)] if isinstance(place, tuple | list) else place[part]
        if isinstance(place, dict):
            place.pop(path[-1])
    return {key: value for key, value in plain.items() if key != "items"}


def test_every_question_in_spanish_names_a_phrase_of_each_of_its_choices():
    """A technician who says what he was asked is understood."""
    language = assembly.language("es")
    plan = assembly.load(JobPaths(), language).plan
    for step in plan.steps:
        expectation = kind_of(plan, step).expectation(step)
        # A kind may know answers that nobody is asked for: whose code it was.
        choices = expectation.choices if expectation is not None else ()
        if not choices:
            continue
        grammar = language.for_step(expectation)
        words = re.sub(r"[^\w ]", " ", f"{step.ask} {step.reply}".lower()).split()
        spans = {
            " ".join(words[i:j]) for i in range(len(words)) for j in range(i + 1, len(words) + 1)
        }
        understood = {getattr(grammar.parse(span), "id", None) for span in spans}
        assert set(choices) <= understood, (step.id, set(choices) - understood)


@pytest.fixture
def broken(tmp_path):
    """The shipped job with its translation changed."""

    def make(change):
        job = tmp_path / "front_radar.yaml"
        job.write_text((EXAMPLES / "front_radar.yaml").read_text())
        told = yaml.safe_load((EXAMPLES / "front_radar.es.yaml").read_text())
        change(told)
        path_in(job, "es").write_text(yaml.safe_dump(told, allow_unicode=True))
        return assembly.load(replace(JobPaths(), job=job), assembly.language("es"))

    return make


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (lambda t: t["steps"]["consent"].pop("ask"), r"no text steps.consent.ask; wanted: one for"),
        (lambda t: t["steps"]["consent"].update(asks="?"), r"found a text steps.consent.asks"),
        (lambda t: t["stages"].pop("aim"), r"no text stages.aim"),
        (lambda t: t["cautions"].pop(), r"no text cautions.7.say"),
        (
            lambda t: t["steps"]["level_decision"]["move"].update(say="Nivela {amount}."),
            r"steps.level_decision.move.say: found 'Nivela \{amount\}.'; wanted: the placeholders",
        ),
        (lambda t: t["steps"]["consent"].update(title="x" * 61), r"step consent, title: found 'x+"),
        (lambda t: t.update(language="fr"), r"found the language 'fr'; wanted: 'es'"),
        (lambda t: t.update(unit="mm"), r"unit: found 'mm'; wanted: no field of this name"),
    ],
)
def test_a_translation_with_a_fault_is_refused_with_its_place(broken, change, told):
    with pytest.raises(FileProblem, match=told):
        broken(change)


def test_a_job_without_a_translation_says_what_is_wanted(tmp_path):
    job = tmp_path / "own.yaml"
    job.write_text((EXAMPLES / "front_radar.yaml").read_text())
    with pytest.raises(FileProblem, match=r"wanted: a file own.es.yaml beside it"):
        assembly.load(replace(JobPaths(), job=job), assembly.language("es"))


def results_in(told: object) -> set[str]:
    """Every result that an ending of a job's file names, beside what it says."""
    if isinstance(told, list):
        return {found for each in told for found in results_in(each)}
    if not isinstance(told, dict):
        return set()
    named = (
        {str(told["result"])} if {"result", "say"} <= told.keys() and "step" not in told else set()
    )
    return named.union(*(results_in(each) for each in told.values()))


@pytest.mark.parametrize("code", ["en", "es"])
def test_every_way_that_a_shipped_job_may_end_has_words(code):
    ends = {
        result
        for path in EXAMPLES.glob("*.yaml")
        if path.stem.count(".") == 0
        for result in results_in(yaml.safe_load(path.read_text("utf-8")))
    }
    assert {"mats_inside", "camera_not_set", "tool_inside"} <= ends
    words = Words(code)
    assert [result for result in sorted(ends) if not words.has(f"ending-{result}")] == []
