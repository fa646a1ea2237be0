"""What a publication is: a version, the boxes it is for, and the hash of each file; signed.

The store between publisher and box can hold a publication back, and no more: what it
says, which box it is for and which version it is are signed with the publisher's own key, and a box
knows that key from a file that somebody brought to it by hand. Who that is stands beside it, in the
store alone: a name can be replaced there, and nothing that was signed with it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Literal, Self, get_args

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from pydantic import BaseModel, ConfigDict, Field, ValidationError, model_validator

from companion.errors import FileProblem
from companion.record.audit.keys import is_signature_of, public_hex
from companion.record.canonical import canonical_json, sha256_hex
from companion.record.durable import read_plain

Hash = Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]
OF_A_JOB = {"job": "jobs", "vehicle": "vehicles", "mount": "mounts", "bay": "bays"}
"""Where the files that a job is done with lie in a publication, by kind."""
FOLDERS = {**OF_A_JOB, "stand": "stands"}
"""The same of all kinds: a bay may name its stand, which then comes with it."""
SETTINGS = "settings.yaml"
FILE = re.compile(
    rf"settings\.yaml|({'|'.join(FOLDERS.values())})"
    r"/[a-z0-9][a-z0-9_-]{0,59}(\.[a-z]{2,3})?\.yaml"
)
MOST_FILES, MOST_BYTES = 500, 1_000_000
Format = Literal["bay-companion published files 1", "bay-companion published files 2"]
WITH_NAME: Format = "bay-companion published files 1"
"""Published before names stood beside what is signed: it is believed as it was."""


class Manifest(BaseModel):
    """What is signed, as canonical JSON; `by`, the publisher's name, in the first format alone."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    format: Format = "bay-companion published files 2"
    version: Annotated[int, Field(ge=1, lt=2**31)]
    made_utc: Annotated[str, Field(min_length=1, max_length=40)]
    by: Annotated[str | None, Field(min_length=1, max_length=200)] = None
    boxes: Annotated[
        tuple[Hash, ...],
        Field(min_length=1, max_length=10_000, description="the public keys of the boxes"),
    ]
    files: Annotated[dict[str, Hash], Field(min_length=1, max_length=MOST_FILES)]

    @model_validator(mode="after")
    def _name_where_it_belongs(self) -> Self:
        if (self.by is not None) != (self.format == WITH_NAME):
            raise ValueError("a name stands in a manifest of the first format, and in no other")
        return self

    @property
    def content(self) -> bytes:
        """The bytes that are sent."""
        return canonical_json(self.model_dump(mode="json", exclude_none=True))

    @property
    def signed_bytes(self) -> bytes:
        """What the signature is made over: what it is, and the bytes that are sent."""
        return f"{self.format}\n".encode() + self.content


@dataclass(frozen=True)
class Signed:
    """A manifest as it was sent, with whose signature; in hexadecimal."""

    content: bytes
    public_key: str
    signature: str


def signed(manifest: Manifest, key: Ed25519PrivateKey) -> Signed:
    """The manifest with the publisher's signature."""
    signature = key.sign(manifest.signed_bytes).hex()
    return Signed(manifest.content, public_hex(key), signature)


def believed(given: Signed, keys: Iterable[str]) -> Manifest:
    """What was signed by one of these keys; raises FileProblem for everything else."""
    if given.public_key not in set(keys):
        raise FileProblem(
            f"published files: signed with the key {given.public_key[:16]}…, which this box does "
            "not believe; wanted: one in the file that the setting 'published_by' names"
        )
    signed_by_it = (
        is_signature_of(given.public_key, given.signature, f"{told}\n".encode() + given.content)
        for told in get_args(Format)
    )
    if not any(signed_by_it):
        raise FileProblem(
            "published files: not signed with the key that is named; wanted: as they were published"
        )
    try:
        manifest = Manifest.model_validate_json(given.content)
    except ValidationError as error:
        where = ".".join(map(str, error.errors(include_url=False)[0]["loc"])) or "the whole"
        raise FileProblem(
            f"published files: of a form that this version does not know ({where}); wanted: one "
            "published by the same version of the companion"
        ) from error
    if manifest.content != given.content or not is_signature_of(
        given.public_key, given.signature, manifest.signed_bytes
    ):
        raise FileProblem("published files: not written as they are signed; publish them again")
    for name in manifest.files:
        if not FILE.fullmatch(name):
            raise FileProblem(f"published files: {name!r} is no name of such a file")
    return manifest


def require_files(manifest: Manifest, files: Mapping[str, bytes]) -> None:
    """Raise FileProblem where these are not the files that were signed, all of them, no others."""
    for name in sorted(manifest.files.keys() ^ files.keys()):
        what = "is missing" if name in manifest.files else "was not signed"
        raise FileProblem(f"published files: {name} {what}")
    for name, content in sorted(files.items()):
        if sha256_hex(content) != manifest.files[name]:
            raise FileProblem(f"published files: {name} is not the one that was signed")


def read_folder(folder: Path) -> dict[str, bytes]:
    """The files of a folder to be published, by their names in it.

    Raises FileProblem for anything else in it, so that nothing is left out without a word.
    """
    if not folder.is_dir():
        raise FileProblem(f"{folder}: wanted: a folder with {', '.join(FOLDERS.values())}")
    found: dict[str, bytes] = {}
    for path in sorted(folder.rglob("*")):
        name = path.relative_to(folder).as_posix()
        if path.is_dir() and not path.is_symlink() and name in FOLDERS.values():
            continue
        if not FILE.fullmatch(name):
            raise FileProblem(
                f"{path}: is not published; wanted: {SETTINGS}, or a file such as "
                "vehicles/grey.yaml or jobs/front.es.yaml, of small letters, in "
                f"{', '.join(FOLDERS.values())}"
            )
        found[name] = _content(path)
    if not found:
        raise FileProblem(f"{folder}: holds nothing to publish")
    if len(found) > MOST_FILES:
        raise FileProblem(f"{folder}: holds {len(found)} files; wanted: {MOST_FILES} at most")
    return found


def _content(path: Path) -> bytes:
    try:
        content = read_plain(path, MOST_BYTES)
    except OSError as error:
        raise FileProblem(f"{path}: cannot be read ({error.strerror}); wanted: a file") from error
    if content is None:
        raise FileProblem(f"{path}: no plain file, or larger than {MOST_BYTES} bytes")
    try:
        text = content.decode("utf-8")
    except UnicodeDecodeError as error:
        raise FileProblem(f"{path}: not text in UTF-8; wanted: a YAML file") from error
    if "\0" in text:
        raise FileProblem(f"{path}: holds a NUL; wanted: a YAML file")
    return content
