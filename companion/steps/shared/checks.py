"""Checks that several kinds of step make of their part of a job file."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from companion.job.job_file import NumberOrSource, Repeatable
from companion.job.kind import Context, Fault, JobFiles
from companion.job.plan import file_field


def check_limits(
    context: Context, step_id: str, low: NumberOrSource | None, high: NumberOrSource | None
) -> Iterator[Fault]:
    """The lower limit is lower, as far as both are known before the work starts."""
    lower, higher = _fixed(context.files, low), _fixed(context.files, high)
    if lower is not None and higher is not None and lower >= higher:
        yield Fault(step_id, f"low {low} and high {high}", "a low that is less than high")


def _fixed(files: JobFiles, source: NumberOrSource | None) -> float | None:
    if not isinstance(source, str):
        return source
    value = file_field(files, source.removeprefix("minus "))
    return -value if value is not None and source.startswith("minus ") else value


def check_names(
    step_id: str, what: str, found: Mapping[str, object], wanted: Mapping[str, object]
) -> Iterator[Fault]:
    """Every wanted name is there, and no other."""
    missing = [name for name in wanted if name not in found]
    unknown = [name for name in found if name not in wanted]
    if missing or unknown:
        shown = "; ".join(
            f"{title} {', '.join(names)}"
            for title, names in (("missing", missing), ("unknown", unknown))
            if names
        )
        yield Fault(step_id, f"{what}: {shown}", ", ".join(wanted))


def check_screw(
    context: Context, step: Repeatable, text: str, *, reads_turns: bool = False
) -> Iterator[Fault]:
    """Turns are read for a screw that the mount has: for every one, or for one that is named."""
    mount = context.files.mount
    if mount is None:
        return
    names = {screw.name.lower() for screw in mount.screws}
    if any(name in text.lower() for name in names):
        return
    if step.each_screw:
        yield Fault(step.id, "each_screw without {screw}", "{screw} in the text")
    elif reads_turns:
        yield Fault(
            step.id,
            "turns of no screw of the mount",
            f"each_screw: true with {{screw}}, or one of {', '.join(sorted(names))}",
        )
