"""Reading a picture back: its parts, and how far a line winds about a point."""

from __future__ import annotations

import math
import re
from xml.etree import ElementTree

import numpy as np

from companion.report.pictures import svg


def drawn(picture: object) -> ElementTree.Element:
    return ElementTree.fromstring(str(picture))  # noqa: S314 - our own page


def of_class(picture: object, class_: str) -> list[ElementTree.Element]:
    return [part for part in drawn(picture).iter() if part.get("class") == class_]


def points(path: ElementTree.Element) -> list[svg.Point]:
    figures = [float(figure) for figure in re.findall(r"-?[\d.]+", path.get("d", ""))]
    return list(zip(figures[::2], figures[1::2], strict=True))


def wound_turns(line: list[svg.Point], centre: svg.Point) -> float:
    """How far a line winds about a point: y runs down on a page, so clockwise counts positive."""
    angles = np.unwrap([math.atan2(y - centre[1], x - centre[0]) for x, y in line])
    return float(angles[-1] - angles[0]) / math.tau
