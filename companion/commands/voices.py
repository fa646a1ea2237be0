"""Voices that are learned: enrolling, listing, learning anew, exporting and forgetting them."""

from __future__ import annotations

import csv
import shutil
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from datetime import date, datetime
from functools import partial
from pathlib import Path

import click
import soundfile

from companion.commands.grouping import Group
from companion.commands.options import language_option
from companion.commands.saying import agreed, require_agreed, say_now, tell, typed_line
from companion.commands.settings import settings_now
from companion.commands.shared import own_record, record_option
from companion.errors import CompanionError, EarsError
from companion.facts.message import Arg, Message
from companion.language.language import Language
from companion.language.loader import load_language
from companion.recognition.own.recogniser import OwnRecogniser
from companion.recognition.port import Ears
from companion.recognition.voices.refusals import raise_all, require_name
from companion.recognition.voices.store import Voice, VoiceStore
from companion.record.place import record_path
from companion.runtime import assembly
from companion.runtime.enrolment import Ask, Enrolled, heard_from, read_from, words_to_learn
from companion.runtime.voice_learning import kept_of, learn, learn_again, person_of
from companion.speech.port import Voice as Speaker

_FEATURES, _SOUND = "features", "sound"
_FOLDERS_RIGHTS, _RIGHTS = 0o700, 0o600


@click.group(cls=Group)
def voice() -> None:
    """Manage the voices that the companion's own ears learn.

    \b
    Example: companion voice enrol "A. Example"
    """


@voice.command()
@click.argument("person")
@record_option
@language_option
@click.option(
    "--from",
    "folder",
    type=click.Path(path_type=Path),
    help="Learn from this folder's recordings (speech.tsv and sound files), not the microphone.",
)
@click.option(
    "--sound", type=click.Path(path_type=Path), help="Hear this sound file, not the microphone."
)
@click.option(
    "--consent",
    type=click.Choice([_FEATURES, _SOUND]),
    help="What this person has allowed to be kept. Default: they are asked.",
)
@click.option(
    "--voice",
    "speaking",
    type=click.Choice(["silent", "speaker"]),
    default="speaker",
    show_default=True,
    help="Whether each word is spoken as well as shown.",
)
@click.option("--microphone", help="Part of the microphone's name. Default: the system's.")
@click.option("--loudspeaker", help="Part of the loudspeaker's name. Default: the system's.")
def enrol(
    person: str,
    record: Path,
    language: str,
    folder: Path | None,
    sound: Path | None,
    consent: str | None,
    speaking: str,
    microphone: str | None,
    loudspeaker: str | None,
) -> None:
    """Learn a person's voice: the words that matter, twice each, in two minutes.

    PERSON is the name that a job's --technician is given. The ears then refuse this person less
    often; what an answer means is decided as before. Asks first what may be kept.

    \b
    Example: companion voice enrol "A. Example"
    Example: companion voice enrol "A. Example" --from recordings --consent features
    """
    person = require_name(person)
    spoken = load_language(language)
    allowed = consent or _asked(spoken, person)
    if folder is None:
        choice = assembly.EarsChoice("own", sound, microphone=microphone)
        _enrol(spoken, person, record, allowed, choice, speaking, loudspeaker)
        return
    recogniser = _own_ears(spoken)
    with own_record(record):
        said = read_from(folder, person, _known(spoken, recogniser))
        store = VoiceStore(record)
        _keep(store, recogniser, spoken, person, said, keeps_sound=allowed == _SOUND)


def enrol_after_practice(
    language: Language,
    record: Path,
    ears: assembly.EarsChoice,
    voice: assembly.VoiceChoice,
    lines: Iterator[str],
    hard_words: Iterable[str],
) -> None:
    """Offer to learn the voice of who has just practised; `hard_words` are asked for first.

    `lines` are what is typed from now on; where they end, nothing more is asked. Nothing is kept
    without a yes, and nothing of the practice itself. Raises EarsError as `enrol` does.
    """

    def read(question: str) -> str:
        click.echo(f"{question}: ", nl=False)
        return next(lines).strip()

    try:
        if not agreed(language.show(Message("voice-learn-now")), say_now(), read=read):
            return
        person = _name(language, read)
        allowed = _asked(language, person, read)
    except StopIteration:
        click.echo()
        return
    except EarsError as declined:
        click.echo(str(declined))
        return
    speaking = "silent" if voice.kind == "silent" else "speaker"
    _enrol(language, person, record, allowed, ears, speaking, voice.loudspeaker, hard_words, lines)


def _enrol(
    language: Language,
    person: str,
    record: Path,
    allowed: str,
    choice: assembly.EarsChoice,
    speaking: str,
    loudspeaker: str | None,
    first: Iterable[str] = (),
    lines: Iterable[str] | None = None,
) -> None:
    """Ask for the words, hear them, learn the voice; `lines`: typed, in place of the keyboard."""
    recogniser = _own_ears(language)
    words = words_to_learn(language, _known(language, recogniser), first)
    with own_record(record):
        store = VoiceStore(record)
        with _devices(choice, speaking, loudspeaker, recogniser, language, lines) as (ears, ask):
            ask(Message("voice-begin", {"count": len(words)}))
            said = heard_from(ears, recogniser, language, words, ask)
        _keep(store, recogniser, language, person, said, keeps_sound=allowed == _SOUND)


@voice.command("list")
@record_option
def list_voices(record: Path) -> None:
    """List whose voices are learned, and what is kept of each.

    \b
    Example: companion voice list
    """
    say = say_now()
    found = VoiceStore(record).look()
    damaged = list(found.damaged)
    if not found.voices and not damaged:
        click.echo(say("voices-none"))
    for one in found.voices:
        who = one.person
        try:
            learned = one.adaptation()
        except EarsError as error:
            damaged.append(error)
            continue
        version = say("voices-nothing-learned")
        if learned is not None:
            version = say("voices-version", version=str(learned.version))
        sounds = say("voices-no-sound")
        if who.sound_since:
            sounds = say("voices-sound-since", day=str(who.sound_since))
        features = say("voices-features-since", day=str(who.features_since))
        tell(f"{who.name}  {who.language}  {features}, {sounds}; {version}")
    raise_all(damaged)


@voice.command("learn")
@click.argument("person")
@record_option
@language_option
def learn_anew(person: str, record: Path, language: str) -> None:
    """Learn a voice again from everything that is kept of it; needed after the ears were replaced.

    With other ears than before this needs kept sound; without it, the person has to enrol again.

    \b
    Example: companion voice learn "A. Example"
    """
    spoken = load_language(language)
    recogniser = _own_ears(spoken)
    with own_record(record):
        store = VoiceStore(record)
        found = _voice_of(store, person, language)
        found, learned = learn_again(store, found, recogniser)
    if learned is None:
        raise EarsError(
            f"nothing is kept of the voice of {found.person.name} that these ears can learn from; "
            "wanted: companion voice enrol",
            said="voice-nothing-to-learn",
            name=found.person.name,
        )
    told = {"name": found.person.name, "version": str(learned.version)}
    tell(say_now()("voices-learned", **told))


@voice.command()
@click.argument("person")
@record_option
@click.option("--yes", is_flag=True, help="Do not ask.")
def forget(person: str, record: Path, yes: bool) -> None:
    """Delete everything kept of a person's voice, in every language, sound included.

    Records keep nothing of it but version numbers.

    \b
    Example: companion voice forget "A. Example"
    """
    say = say_now()
    if not yes:
        require_agreed(say("voices-really-forget", name=person), say)
    with own_record(record):
        gone = VoiceStore(record).forget(person)
    if not gone:
        raise EarsError(
            f"no voice of {person!r} is kept beside {record}; see companion voice list",
            said="no-voice-beside",
            name=person,
            record=str(record),
        )
    for one in gone:
        tell(say("voices-forgotten", name=one.name, language=one.language))


@voice.command()
@click.argument("person")
@click.argument("directory", type=click.Path(path_type=Path))
@record_option
@language_option
@click.option(
    "--as", "speaker", help="Who the list says it was. Default: a number, not the person's name."
)
def export(person: str, directory: Path, record: Path, language: str, speaker: str | None) -> None:
    """Write a person's kept sounds, each with its words, as a new folder DIRECTORY.

    Only sound whose keeping the person allowed: words said to enrol, and answers that were read
    back and confirmed. The folder can be scored ('bench.sh ears --speech'), or learned from.

    \b
    Example: companion voice export "A. Example" recordings
    """
    found = _voice_of(VoiceStore(record), person, language)
    recogniser = _own_ears(load_language(language))
    count = _exported(found, directory, speaker or f"voice-{found.folder.name[:8]}", recogniser)
    tell(say_now()("voices-exported", count=count, folder=str(directory)))


def _name(language: Language, read: Callable[[str], str]) -> str:
    """Whose voice it is, asked until it is a name."""
    while True:
        told = read(language.show(Message("voice-whose")))
        try:
            if told:
                return require_name(told)
        except EarsError as error:
            click.echo(say_now().words.problem(error))


def _asked(language: Language, person: str, read: Callable[[str], str] = typed_line) -> str:
    """What may be kept; the person is asked once, here. Nothing is kept without a yes."""
    click.echo(language.show(Message("voice-what-is-kept", {"name": person})))
    say = say_now()
    if not agreed(language.show(Message("voice-may-keep-features")), say, read=read):
        raise EarsError(language.show(Message("voice-nothing-kept")))
    sound = agreed(language.show(Message("voice-may-keep-sound")), say, read=read)
    return _SOUND if sound else _FEATURES


def _own_ears(language: Language) -> OwnRecogniser:
    made = assembly.make_recogniser(assembly.EarsChoice("own"), language)
    assert isinstance(made, OwnRecogniser)  # noqa: S101  -- for the type checker
    return made


def _known(language: Language, recogniser: OwnRecogniser) -> frozenset[str]:
    words = language.grammar.all_words()
    return words - recogniser.missing_words(words)


@contextmanager
def _devices(
    choice: assembly.EarsChoice,
    speaking: str,
    loudspeaker: str | None,
    recogniser: OwnRecogniser,
    language: Language,
    lines: Iterable[str] | None = None,
) -> Iterator[tuple[Ears, Ask]]:
    """Ears, and what shows and says a message; `lines`: typed, in place of the keyboard."""
    kind = "silent" if choice.sound is not None else speaking
    speaker = assembly.make_voice(
        kind, record_path().parent / "voice", None, loudspeaker, language=language
    )
    ask = partial(_show_and_say, speaker, language)
    try:
        around = assembly.Surroundings(ask, lambda: False)
        if lines is not None:
            around = replace(around, typed=lambda _keyboard: lines)
        ears = assembly.make_ears(
            choice, around, recogniser, language, settings_now().deaf_after_speaking_s
        )
        try:
            yield ears, ask
        finally:
            ears.close()
    finally:
        speaker.close()


def _show_and_say(speaker: Speaker, language: Language, message: Message) -> None:
    tell(language.show(message))
    speaker.say(language.say(message))


def _keep(
    store: VoiceStore,
    recogniser: OwnRecogniser,
    language: Language,
    name: str,
    said: Enrolled,
    *,
    keeps_sound: bool,
) -> None:
    today = _today()
    if not said.said:
        raise EarsError(language.show(Message("voice-nothing-heard")))
    click.echo(language.show(Message("voice-learning")))
    person = person_of(name, language.code, recogniser.fingerprint, today, sound=keeps_sound)
    before = store.find(name, language.code)
    # Who enrols again begins anew: another microphone, another day.
    if before is not None and before.person.heads == recogniser.fingerprint:
        person = person.model_copy(update={"features_since": before.person.features_since})
    found = store.allow(person)
    kept = kept_of(found, recogniser, said.said, "enrolled", today)
    learned = learn(found, recogniser, kept)
    if learned is None:
        raise EarsError(language.show(Message("voice-nothing-heard")))
    done: dict[str, Arg] = {
        "count": len(said.said),
        "name": found.person.name,
        "version": learned.version,
    }
    tell(language.show(Message("voice-learned", done)))
    if said.missed:
        words = ", ".join(dict.fromkeys(filter(None, said.missed)))
        tell(language.show(Message("voice-missed", {"words": words})))


def _voice_of(store: VoiceStore, name: str, language: str) -> Voice:
    found = store.find(name, language)
    if found is None:
        raise EarsError(
            f"no voice of {name!r} in the language {language!r} is kept in {store.folder}; "
            "see companion voice list",
            said="no-voice",
            name=name,
            language=language,
            folder=str(store.folder),
        )
    return found


def _exported(found: Voice, directory: Path, speaker: str, recogniser: OwnRecogniser) -> int:
    same = found.person.heads == recogniser.fingerprint
    kept = found.takes(recogniser.token_count if same else 1 << 15)
    sounds = [one for one in kept if one.sound_sha256]
    if not sounds:
        raise EarsError(
            f"no sound of {found.person.name} is kept: features alone cannot be exported; wanted: "
            "a person who allowed sound to be kept",
            said="voice-no-sound",
            name=found.person.name,
        )
    try:
        directory.mkdir(mode=_FOLDERS_RIGHTS, parents=False)
        (directory / "sounds").mkdir(mode=_FOLDERS_RIGHTS)
        rows = []
        for one in sounds:
            file = found.sound_file(one.sound_sha256)
            path = f"sounds/{one.sound_sha256[:16]}.flac"
            shutil.copyfile(file, directory / path)
            (directory / path).chmod(_RIGHTS)
            kind = "phrase" if " " in one.take.words else "word"
            seconds = f"{soundfile.info(file).duration:.2f}"
            rows.append((path, kind, one.take.words, speaker, one.how, "own", seconds))
        _write_table(
            directory / "speech.tsv",
            ("path", "kind", "transcript", "speaker", "source", "licence", "seconds"),
            rows,
        )
        # A folder to score has a list of noises, too; here is none.
        _write_table(directory / "noise.tsv", ("path", "class"), [])
    except (OSError, soundfile.SoundFileError) as error:
        raise CompanionError(
            f"{directory}: cannot be written ({error}); wanted: the name of a new folder"
        ) from error
    return len(sounds)


def _write_table(path: Path, titles: tuple[str, ...], rows: Sequence[tuple[str, ...]]) -> None:
    with path.open("w", encoding="utf-8", newline="") as file:
        table = csv.writer(file, delimiter="\t", lineterminator="\n", quoting=csv.QUOTE_NONE)
        table.writerow(titles)
        table.writerows(rows)


def _today() -> date:
    return datetime.now().astimezone().date()


COMMANDS = (voice,)
