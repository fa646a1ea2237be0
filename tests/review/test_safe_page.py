"""Whatever was said or entered, the page runs nothing and fetches nothing."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from html.parser import HTMLParser
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from companion.record import ClipStore, Entry, FixedClock, MemoryLog
from companion.report.fold import fold
from companion.report.report import Integrity, KeptSession, render_view
from tests.rendered import render_report

HOSTILE = (
    "</td></table></style></svg><script>alert(1)</script>\"'><img src=x onerror=alert(1)>{{7*7}}"
)
VOID = {"meta", "br", "img", "link", "col"}
KINDS = """
opened heard refused silent resumed stage said accepted answered done taken_back
computed decided corrected screw_plan move_judged noted consent stopped finished aim_decided doubted
not_allowed misfit late unheard_of signed_off amended clips_expired
drift_noticed
""".split()  # noqa: SIM905 - a list to be read
FIELDS = """
job vehicle mount bay file_hashes technician example prompt_id words meaning confidence ears
clip_sha256 n_best reason detail waited_s name stage_id title number of step_id purpose text
reading_id value unit direction spoken u tolerance attempts choice step_ids why formula
outputs inputs result low high level answer probability_inside times turns round predicted
kind screw_ids probability keep_sound yaw elevation yaw_deg misses_m screws by how role event events
now remark clips signature
""".split()  # noqa: SIM905 - a list to be read


class Page(HTMLParser):
    """Reads a page and keeps its elements, and checks that they close in order."""

    def __init__(self, page: str) -> None:
        super().__init__(convert_charrefs=True)
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self.open_elements: list[str] = []
        self.told: list[str] = []
        self.feed(page)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open_elements.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open_elements.pop() == tag

    def handle_data(self, data: str) -> None:
        self.told.append(data)


def assert_inert(page: str) -> Page:
    read = Page(page)
    assert read.open_elements == []
    assert not {"script", "img", "iframe", "object", "link", "form"} & {
        tag for tag, _ in read.elements
    }
    for _, attributes in read.elements:
        assert not [name for name in attributes if name.startswith("on")]
        for name in ("href", "src", "action", "xlink:href"):
            address = attributes.get(name)
            assert address is None or address.startswith(("#", "data:audio/flac;base64,"))
    return read


def hostile_job(shop: Any, job_opening: Callable[..., dict[str, Any]]) -> None:
    screw = {"id": HOSTILE, "name": HOSTILE}
    named = {"name": HOSTILE, HOSTILE: HOSTILE}
    shop.put(
        "opened",
        **job_opening(
            technician=HOSTILE,
            vehicle=named,
            bay=named,
            mount={"screws": [screw]},
            file_hashes={HOSTILE: HOSTILE},
        ),
    )
    shop.put("stage", title=HOSTILE, number=HOSTILE, of=1)
    shop.put("said", prompt_id="p", step_id=HOSTILE, purpose=HOSTILE, text=HOSTILE)
    shop.put("said", prompt_id="q", step_id="x", purpose="caution", text=HOSTILE)
    shop.put(
        "heard", words=HOSTILE, meaning={HOSTILE: HOSTILE}, ears=HOSTILE, n_best=["a", HOSTILE]
    )
    shop.put("refused", reason=HOSTILE, words=HOSTILE, detail=HOSTILE)
    shop.put(
        "accepted",
        reading_id="r",
        title=HOSTILE,
        value=HOSTILE,
        unit=HOSTILE,
        direction=HOSTILE,
        spoken=HOSTILE,
    )
    shop.put("taken_back", step_ids=["r"], why=HOSTILE)
    output = {"value": 1.0, "u": 0.1, "unit": HOSTILE, "budget": [[HOSTILE, 100.0]]}
    outputs = {"aim_yaw_deg": output, "stand_turn_deg": output, HOSTILE: output}
    shop.put("computed", step_id=HOSTILE, formula=HOSTILE, inputs={}, outputs=outputs)
    shop.put("decided", title=HOSTILE, result=HOSTILE, answer=HOSTILE, unit=HOSTILE, value=1.0)
    shop.put("screw_plan", round=1, turns={HOSTILE: "3/4"})
    shop.put(HOSTILE, words=HOSTILE)
    shop.put("stopped", why=HOSTILE)


def test_hostile_names_and_notes_are_shown_as_text(
    recorded: Callable[..., Any], job_opening: Callable[..., dict[str, Any]]
) -> None:
    job = recorded(lambda shop: hostile_job(shop, job_opening))
    page = render_report(job.path, job.session_id)
    read = assert_inert(page)
    assert HOSTILE in "".join(read.told)
    assert page.count("&lt;script&gt;") > 20
    assert "<script" not in page


def test_a_whole_job_is_well_formed_and_described_for_those_who_do_not_see(
    finished_job: Any,
) -> None:
    read = assert_inert(render_report(finished_job.path, finished_job.session_id))
    ids = Counter(attributes["id"] for _, attributes in read.elements if "id" in attributes)
    assert [name for name, count in ids.items() if count > 1] == []
    pictures = [attributes for tag, attributes in read.elements if tag == "svg"]
    assert len(pictures) == 1 + 4 + 1 + 2 + 1
    for attributes in pictures:
        labels = (attributes["aria-labelledby"] or "").split()
        assert len(labels) == 2
        assert all(label in ids for label in labels)
    for tag, attributes in read.elements:
        if tag == "a":
            assert (attributes["href"] or "")[1:] in ids
        if tag == "audio":
            assert attributes.get("aria-label")
    headings = [int(tag[1]) for tag, _ in read.elements if tag in ("h1", "h2", "h3")]
    assert headings.count(1) == 1
    assert all(later - earlier <= 1 for earlier, later in pairwise(headings))


numbers = st.floats(allow_nan=False, allow_infinity=False) | st.integers(-(2**53) + 1, 2**53 - 1)
scalars = st.none() | st.booleans() | numbers | st.text(max_size=12) | st.just(HOSTILE)
names = st.sampled_from(
    [*FIELDS, "aim_yaw_deg", "vertex_deg", "beam_width_deg", "peak_db", "lean_1_deg", "echo_1_db"]
)
values = st.recursive(
    scalars,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(names, inner, max_size=5),
    max_leaves=12,
)
entries = st.builds(
    Entry, st.sampled_from(KINDS), st.dictionaries(st.sampled_from(FIELDS), values, max_size=8)
)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(told=st.lists(entries, max_size=12))
def test_any_events_whatever_give_an_inert_page(
    tmp_path_factory: pytest.TempPathFactory, told: list[Entry]
) -> None:
    log = MemoryLog("s1", FixedClock())
    log.append(told)
    clips = ClipStore(tmp_path_factory.getbasetemp() / "no clips")
    view = fold("s1", log.events("s1"))
    page = render_view(
        KeptSession(view, log.opened_utc, Integrity(log.head_hash, len(told), ())), clips
    )
    assert_inert(page)
    assert page.count('<li id="event-') == len(told)
