"""The pictures of docs/display.md, drawn anew: `python -m tests.draw_display`.

A rehearsed job is folded event by event as the screen in the bay does it; at the first moment of
each kind the page is drawn by a real browser.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from playwright.sync_api import Route

from companion.display import page
from companion.display.fold import Told, take
from companion.display.look import look
from companion.display.moment import Moment, ScrewRound, StandMove
from companion.job.loader import JobPaths
from companion.record import MemoryLog
from companion.runtime import assembly
from companion.runtime.rehearsing import HARDER, make_rehearsal, run_rehearsal
from companion.simulation.slips import PlannedSlip
from companion.speech.silent import SilentVoice
from tests.browsers import running_browser

FOLDER = Path(__file__).parents[1] / "docs" / "display"
SEED = 3
SIZE = {"width": 1280, "height": 720}
ADDRESS = "http://screen.invalid/"

MOMENTS: dict[str, Callable[[Moment], bool]] = {
    "asking": lambda moment: moment.condition == "asking" and _has_figure(moment),
    "read_back": lambda moment: moment.condition == "read_back" and _has_figure(moment),
    "correction": lambda moment: isinstance(moment.picture, StandMove),
    "screws": lambda moment: isinstance(moment.picture, ScrewRound),
    "waiting": lambda moment: moment.condition == "paused",
    "result": lambda moment: moment.condition == "over",
}


def main() -> None:
    """Draw each of `MOMENTS` once."""
    wanted = dict(MOMENTS)
    with running_browser() as browser:
        screen = browser.new_page(viewport=SIZE)
        for moment in moments():
            for name in [name for name, fits in wanted.items() if fits(moment)]:
                del wanted[name]
                screen.unroute_all()
                screen.route("**/*", answers_with(page.shell(moment)))
                screen.goto(ADDRESS)
                screen.screenshot(path=FOLDER / f"{name}.png")
                print(f"{name}.png")
    if wanted:
        raise SystemExit(f"the rehearsed job had no moment for: {', '.join(wanted)}")


def moments() -> list[Moment]:
    """What the screen shows after each event of the job."""
    loaded = assembly.load(JobPaths())
    log = MemoryLog()
    slips = (PlannedSlip("says_wait", 9),)
    rehearsal = make_rehearsal(loaded, SEED, spread=HARDER, slips=slips)
    run_rehearsal(loaded, assembly.language(), rehearsal, SilentVoice(), log)
    told, shown = Told(), []
    for event in log.events(log.session_id):
        told = take(told, event.fact)
        shown.append(look(told))
    return shown


def _has_figure(moment: Moment) -> bool:
    return moment.answer is not None and any(sign.isdigit() for sign in moment.answer.shown)


def answers_with(told: str) -> Callable[[Route], None]:
    """Answers a browser with this page and its style, and with nothing else."""

    def answer(route: Route) -> None:
        name = route.request.url.removeprefix(ADDRESS)
        if not name:
            route.fulfill(body=told, content_type="text/html")
        elif name == "display.css":
            route.fulfill(path=page.TEMPLATES / name, content_type="text/css")
        else:
            route.abort()

    return answer


if __name__ == "__main__":
    main()
