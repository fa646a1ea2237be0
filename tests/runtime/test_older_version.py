"""A job that another version began: the refusal says which one, and what to do."""

from __future__ import annotations

import pytest

from companion import __version__
from companion.errors import RecordError
from companion.facts.kinds import body_of
from companion.facts.opening import Opened
from companion.record import Entry, FixedClock, MemoryLog
from companion.runtime import assembly
from companion.runtime.loop import replay_record


@pytest.mark.parametrize("version", ["0.0.9", __version__])
def test_files_of_another_version_name_it(version: str) -> None:
    language = assembly.language()
    loaded = assembly.load(assembly.JobPaths(), language)
    log = MemoryLog("s", FixedClock())
    log.append([Entry("opened", body_of(Opened(program_version=version, file_hashes={})))])
    with pytest.raises(RecordError) as refused:
        replay_record(loaded, language, log.events("s"))
    told = str(refused.value)
    assert "These files have changed since the session began" in told
    assert "start a new job" in told or "or a new job" in told
    assert ("Version 0.0.9 began this job" in told) == (version != __version__)
    assert ("--back" in told) == (version != __version__)
