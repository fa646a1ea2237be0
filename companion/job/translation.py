"""A job in another language: its sentences stand in a file beside it, by the same ids, alone.

`front_radar.yaml` in Spanish is `front_radar.es.yaml`. It holds every text of the job and nothing
else; each has the placeholders of the one that it stands for.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Annotated, Any, Literal, get_args, get_origin

from pydantic import BaseModel, Field, ValidationError

from companion.errors import FileProblem
from companion.job.job_file import Caution, Job, Step
from companion.job.plan import PLACEHOLDER
from companion.job.setup_files import Identifier, Model, MountModel, Text

Texts = dict[str, Any]
Field_ = tuple[str, ...]


class Translation(Model):
    """The texts of a job by the ids of its stages and steps; of a mount by those of its screws."""

    kind: Literal["translation"]
    language: Annotated[str, Field(pattern=r"^[a-z]{2,3}$")]
    checked_by_a_native_speaker: bool
    name: str | None = None
    note: str | None = None
    cautions: tuple[Caution, ...] = ()
    not_meant: tuple[Text, ...] = ()
    stages: dict[Identifier, str] = Field(default_factory=dict)
    steps: dict[Identifier, Texts] = Field(default_factory=dict)
    screws: dict[Identifier, str] = Field(default_factory=dict)


def path_in(path: Path, language: str) -> Path:
    """Where the translation of a file stands: beside it."""
    return path.with_name(f"{path.stem}.{language}{path.suffix}")


def translated_job(job: Job, told: Translation, where: str) -> Job:
    """The job with the translation's texts.

    Raises FileProblem naming each text that is missing, one that the job does not have, one that is
    too long, and one with other placeholders.
    """
    faults = list(_differences(_job_texts(job), _told_texts(told)))
    if faults:
        raise FileProblem("\n".join(f"{where}: {fault}" for fault in faults[:10]))
    stages = tuple(
        stage.model_copy(
            update={
                "title": told.stages[stage.id],
                "steps": tuple(
                    _step(step, told.steps.get(step.id, {}), where) for step in stage.steps
                ),
            }
        )
        for stage in job.stages
    )
    return job.model_copy(
        update={
            "name": told.name,
            "note": told.note,
            "cautions": told.cautions,
            "not_meant": told.not_meant,
            "stages": stages,
        }
    )


def translated_mount(mount: MountModel, told: Translation, where: str) -> MountModel:
    """The mount with its screws' names in the translation. Raises FileProblem where one is not."""
    wanted = {screw.id for screw in mount.screws}
    if set(told.screws) != wanted:
        raise FileProblem(
            f"{where}: found names for the screws {', '.join(sorted(told.screws)) or 'none'}; "
            f"wanted: {', '.join(sorted(wanted))}"
        )
    named = (s.model_copy(update={"name": told.screws[s.id]}) for s in mount.screws)
    return mount.model_copy(update={"screws": tuple(named)})


def texts_of(step: Step) -> Iterator[tuple[Field_, str]]:
    """Every text of a step with its place in it, such as ("again", "say") or ("items", "0")."""
    yield from _texts(step)


def _texts(model: BaseModel) -> Iterator[tuple[Field_, str]]:
    for name, field in type(model).model_fields.items():
        value = getattr(model, name)
        if isinstance(value, str) and not _is_text(field.annotation, field.metadata):
            continue
        item_is_text = any(_is_text(*_annotated(part)) for part in _items_of(field.annotation))
        yield from _texts_in(value, (name,), item_is_text)


def _texts_in(value: object, path: Field_, item_is_text: bool) -> Iterator[tuple[Field_, str]]:
    match value:
        case BaseModel():
            yield from (((*path, *rest), text) for rest, text in _texts(value))
        case tuple():
            for place, item in enumerate(value):
                if not isinstance(item, str) or item_is_text:
                    yield from _texts_in(item, (*path, str(place)), item_is_text)
        case Mapping():
            for key, item in value.items():
                if not isinstance(item, str) or item_is_text:
                    yield from _texts_in(item, (*path, str(key)), item_is_text)
        case str():
            yield path, value
        case _:
            return


def _items_of(hint: Any) -> Iterator[Any]:
    """What a tuple, a dict, or a choice of these holds."""
    for part in get_args(hint):
        inner, _ = _annotated(part)
        if get_origin(inner) in (tuple, dict):
            yield from get_args(inner)
        else:
            yield part


def _annotated(hint: Any) -> tuple[Any, list[Any]]:
    if get_origin(hint) is Annotated:
        inner, *marks = get_args(hint)
        return inner, marks
    return hint, []


def _is_text(hint: Any, metadata: list[Any]) -> bool:
    """Whether a field is said or shown: a text with a longest length, and no pattern to keep to."""
    inner, marks = _annotated(hint)
    if inner is not str and str not in get_args(inner):
        optional = next((part for part in get_args(inner) if get_origin(part) is Annotated), None)
        return optional is not None and _is_text(optional, [])
    found = [*marks, *metadata]
    for mark in list(found):
        found += getattr(mark, "metadata", [])
    patterned = any(getattr(mark, "pattern", None) is not None for mark in found)
    bounded = any(getattr(mark, "max_length", None) is not None for mark in found)
    return bounded and not patterned


def _job_texts(job: Job) -> dict[str, str]:
    texts = {"name": job.name, "note": job.note}
    for number, caution in enumerate(job.cautions):
        texts |= {f"cautions.{number}.say": caution.say, f"cautions.{number}.write": caution.write}
    texts |= {f"not_meant.{number}": text for number, text in enumerate(job.not_meant)}
    for stage in job.stages:
        texts[f"stages.{stage.id}"] = stage.title
        for step in stage.steps:
            texts |= {f"steps.{step.id}.{'.'.join(path)}": text for path, text in texts_of(step)}
    return texts


def _told_texts(told: Translation) -> dict[str, str]:
    texts = {"name": told.name or "", "note": told.note or ""}
    for number, caution in enumerate(told.cautions):
        texts |= {f"cautions.{number}.say": caution.say, f"cautions.{number}.write": caution.write}
    texts |= {f"not_meant.{number}": text for number, text in enumerate(told.not_meant)}
    texts |= {f"stages.{id_}": title for id_, title in told.stages.items()}
    for id_, step in told.steps.items():
        texts |= {f"steps.{id_}.{'.'.join(path)}": text for path, text in _plain_texts(step, ())}
    return texts


def _plain_texts(plain: object, path: Field_) -> Iterator[tuple[Field_, str]]:
    match plain:
        case Mapping():
            for key, item in plain.items():
                yield from _plain_texts(item, (*path, str(key)))
        case list() | tuple():
            for place, item in enumerate(plain):
                yield from _plain_texts(item, (*path, str(place)))
        case _:
            yield path, str(plain)


def _differences(wanted: Mapping[str, str], found: Mapping[str, str]) -> Iterator[str]:
    for path, text in wanted.items():
        if path not in found or (text and not found[path]):
            yield f"found no text {path}; wanted: one for {text!r}"
        elif set(PLACEHOLDER.findall(text)) != set(PLACEHOLDER.findall(found[path])):
            yield f"{path}: found {found[path]!r}; wanted: the placeholders of {text!r}"
    for path in found:
        if path not in wanted:
            yield f"found a text {path}; wanted: only those that the job has"


def _step(step: Step, told: Texts, where: str) -> Step:
    try:
        return type(step).model_validate(_merged(step.model_dump(), told))
    except ValidationError as error:
        first = error.errors()[0]
        place = ".".join(str(part) for part in first["loc"])
        raise FileProblem(
            f"{where}: step {step.id}, {place}: found {first['input']!r}; wanted: {first['msg']}"
        ) from error


def _merged(plain: Any, told: Any) -> Any:
    match told:
        case Mapping():
            return {**plain, **{key: _merged(plain[key], item) for key, item in told.items()}}
        case list() | tuple():
            return [_merged(old, new) for old, new in zip(plain, told, strict=True)]
        case _:
            return told
