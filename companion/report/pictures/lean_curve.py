"""The echo against the plate's leans (from the side) or swings (from above), with its curve."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup

from companion.facts.figures import Quantity
from companion.facts.workings import Computed
from companion.report.pictures import svg
from companion.report.view import SessionView
from companion.report.wording import Wording

WIDTH, HEIGHT = 420.0, 226.0
SKETCH_RIGHT = 98.0
CURVE_POINTS = 60
LEAN_ENDS = ("lean-end-negative", "lean-end-positive")
SWING_ENDS = ("swing-end-negative", "swing-end-positive")
# Two-way echo of a Gaussian beam, in dB, at one beam width off its middle.
DB_AT_ONE_BEAM_WIDTH = 24.0


@dataclass(frozen=True)
class Leans:
    """One fitted peak: (detent in degrees, echo in dB) points and the fitted curve's three."""

    swing: bool
    points: tuple[tuple[float, float], ...]
    vertex: Quantity
    beam_width_deg: float
    peak_db: float

    def level_db(self, detent_deg: float) -> float:
        """The fitted echo at a detent."""
        off = (detent_deg - (self.vertex.value or 0.0)) / self.beam_width_deg
        return self.peak_db - DB_AT_ONE_BEAM_WIDTH * off * off

    @property
    def quantity(self) -> str:
        """What the vertex is called: a language has words for its ways."""
        return "swing_vertex_deg" if self.swing else "lean_vertex_deg"

    def way(self, detent_deg: float, wording: Wording) -> str:
        """Which way a detent of that sign leans or swings."""
        name = wording.name_of(self.quantity)
        return name.positive if detent_deg > 0 else name.negative

    def vertex_words(self, wording: Wording) -> str:
        """Where the echo is strongest, in words."""
        return wording.amount(self.vertex, self.quantity)


def leans_of(computed: Computed) -> Leans | None:
    """The peak that a computation fitted, or None when it is none or not whole."""
    outputs, inputs = computed.outputs, computed.inputs
    vertex, beam_width, peak = (
        next((value for name, value in outputs.items() if name.endswith(ending)), None)
        for ending in ("vertex_deg", "beam_width_deg", "peak_db")
    )
    if vertex is None or vertex.value is None or beam_width is None or peak is None:
        return None
    points = []
    for place in range(1, 30):
        detent, echo = inputs.get(f"lean_{place}_deg"), inputs.get(f"echo_{place}_db")
        if detent and echo and detent.value is not None and echo.value is not None:
            points.append((detent.value, echo.value))
    if len(points) < 3 or not beam_width.value or beam_width.value <= 0 or peak.value is None:
        return None
    swing = any("swing" in name for name in (computed.step_id, *outputs))
    return Leans(swing, tuple(sorted(points)), vertex.quantity, beam_width.value, peak.value)


def lean_curves(view: SessionView, wording: Wording) -> tuple[Markup, ...]:
    """First and last standing peak of the leans and of the swings, one picture each."""
    found = [
        leans
        for kept in view.computations
        if not kept.taken_back and (leans := leans_of(kept.fact)) is not None
    ]
    drawn: list[Markup] = []
    for swing in (False, True):
        of_kind = [leans for leans in found if leans.swing is swing]
        for when, leans in zip(("first", "last"), of_kind[:1] + of_kind[1:][-1:], strict=False):
            drawn.append(lean_curve(leans, when if len(of_kind) > 1 else "only", wording))
    return tuple(drawn)


def lean_curve(leans: Leans, when: str, wording: Wording) -> Markup:
    """One picture: a sketch of the plate at its detents, and the echo with the fitted curve."""
    what = "swings" if leans.swing else "leans"
    title = wording("swings-title" if leans.swing else "leans-title")
    if when != "only":
        title = wording(f"lean-curve-{when}", title=title)
    name = f"{what}-{when}"
    readings = "; ".join(_reading(leans, detent, echo, wording) for detent, echo in leans.points)
    strongest = leans.vertex_words(wording)
    description = wording("lean-curve-told", strongest=strongest, readings=readings)
    return svg.picture(
        name,
        WIDTH,
        HEIGHT,
        title,
        description,
        svg.label((4, 18), title, "strong"),
        svg.label((4, 36), wording("lean-curve-strongest", strongest=strongest), "small"),
        _sketch(leans, wording),
        _chart(leans, wording),
    )


def _reading(leans: Leans, detent_deg: float, echo_db: float, wording: Wording) -> str:
    """One detent and the echo there."""
    detent = wording.with_unit(wording.number(abs(detent_deg), 1), "deg")
    way = leans.way(detent_deg, wording) if detent_deg else wording("lean-curve-upright")
    echo = wording.with_unit(wording.number(echo_db, 1), "db")
    return f"{detent} {way}: {echo}"


def _sketch(leans: Leans, wording: Wording) -> Markup:
    """Radar, beam and plate; the detents are drawn several times as large as they are."""
    largest = max(abs(detent) for detent, _ in leans.points)
    factor = svg.round_factor(24.0 / max(largest, 1e-6), 20)
    radar, plate = (18.0, 122.0), (78.0, 122.0)
    # Top towards the car (from the side) and left edge towards the car (from above, left is
    # up) both tilt the plate's upper end to the left of the page: anticlockwise.
    plates = [
        svg.line(
            svg.turned((plate[0], plate[1] - 46), plate, -detent * factor),
            svg.turned((plate[0], plate[1] + 46), plate, -detent * factor),
            "plate-last" if detent == 0 else "plate-first",
        )
        for detent, _ in leans.points
    ]
    ends = ("plan-cars-left", "plan-cars-right") if leans.swing else ("lean-up", "lean-floor")
    upper, lower = map(wording, ends)
    return svg.element(
        "g",
        svg.rectangle((radar[0] - 6, radar[1] - 11), 12, 22, "sensor", 2),
        svg.line((radar[0] + 6, radar[1]), plate, "beam"),
        *plates,
        svg.label((4, radar[1] + 27), wording("plan-sensor"), "small"),
        svg.label((plate[0] + 14, 62), upper, "small", "end"),
        svg.label((plate[0] + 14, 190), lower, "small", "end"),
        svg.label((4, HEIGHT - 8), wording("lean-curve-factor", factor=factor), "small"),
    )


def _chart(leans: Leans, wording: Wording) -> Markup:
    detents = [detent for detent, _ in leans.points]
    vertex = leans.vertex.value or 0.0
    low, high = min(*detents, vertex), max(*detents, vertex)
    margin = 0.12 * (high - low)
    across = svg.Axis(low - margin, high + margin, SKETCH_RIGHT + 44, WIDTH - 10)
    echoes = [echo for _, echo in leans.points]
    bottom = min(*echoes, leans.level_db(across.low), leans.level_db(across.high))
    up = svg.Axis(bottom - 1, max(*echoes, leans.peak_db) + 2, HEIGHT - 46, 60)
    curve = [
        (across.at(detent), up.at(leans.level_db(detent)))
        for detent in (
            across.low + (across.high - across.low) * step / CURVE_POINTS
            for step in range(CURVE_POINTS + 1)
        )
    ]
    ends = SWING_ENDS if leans.swing else LEAN_ENDS
    return svg.element(
        "g",
        _grid(across, up, wording),
        _vertex_band(leans, across, up),
        svg.path(curve, "curve"),
        *(svg.dot((across.at(detent), up.at(echo)), 5, "reading") for detent, echo in leans.points),
        svg.label((across.start_px - 14, HEIGHT - 10), wording(ends[0]), "small"),
        svg.label((across.end_px, HEIGHT - 10), wording(ends[1]), "small", "end"),
        svg.label((across.start_px + 4, 56), wording("lean-curve-echo"), "small"),
    )


def _grid(across: svg.Axis, up: svg.Axis, wording: Wording) -> Markup:
    lines: list[Markup] = []
    for tick in up.ticks(6):
        lines.append(svg.line((across.start_px, up.at(tick)), (across.end_px, up.at(tick)), "grid"))
        lines.append(
            svg.label(
                (across.start_px - 8, up.at(tick) + 4), wording.number(tick, 0), "small", "end"
            )
        )
    for tick in across.ticks(6):
        places = 0 if tick == round(tick) else 1
        told = wording.with_unit(wording.number(abs(tick), places), "deg")
        lines.append(svg.line((across.at(tick), up.start_px), (across.at(tick), up.end_px), "grid"))
        lines.append(svg.label((across.at(tick), up.start_px + 18), told, "small", "middle"))
    return svg.element("g", *lines)


def _vertex_band(leans: Leans, across: svg.Axis, up: svg.Axis) -> Markup:
    vertex, spread = leans.vertex.value or 0.0, 2 * (leans.vertex.u or 0.0)
    left, right = across.at(vertex - spread), across.at(vertex + spread)
    x = across.at(vertex)
    return svg.element(
        "g",
        svg.rectangle((left, up.end_px), right - left, up.start_px - up.end_px, "doubt-band"),
        svg.line((x, up.start_px), (x, up.end_px), "vertex"),
    )
