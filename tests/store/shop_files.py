"""Files of a shop, to be published: the shipped examples under names of their own."""

from __future__ import annotations

import shutil
from pathlib import Path

from companion.job.loader import EXAMPLES

SETTINGS = """\
kind: settings
job_file: jobs/front.yaml
vehicle_file: vehicles/grey.yaml
mount_file: mounts/two-screws.yaml
bay_file: bays/one.yaml
overdue_instruments: refuse
"""


def shop_files(folder: Path, wheelbase_mm: float = 2700.0) -> Path:
    """A folder to publish: a job with its translation, a vehicle, a mount, a bay, settings."""
    for name, source in (
        ("jobs/front.yaml", "front_radar.yaml"),
        ("jobs/front.es.yaml", "front_radar.es.yaml"),
        ("mounts/two-screws.yaml", "mount.yaml"),
        ("mounts/two-screws.es.yaml", "mount.es.yaml"),
        ("bays/one.yaml", "bay.yaml"),
        ("vehicles/grey.yaml", "vehicle.yaml"),
    ):
        place = folder / name
        place.parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(EXAMPLES / source, place)
    (folder / "settings.yaml").write_text(SETTINGS)
    change(folder / "vehicles/grey.yaml", "wheelbase_mm", f"wheelbase_mm: {wheelbase_mm:g}")
    return folder


def with_named_stand(folder: Path, plate_distance_mm: int = 1250) -> None:
    """The stand in a file of its own, and the bay with its name alone."""
    bay = folder / "bays" / "one.yaml"
    text = bay.read_text("utf-8")
    bay.write_text(text[: text.index("stand:\n")] + "stand: big-one\n", "utf-8")
    stand = folder / "stands" / "big-one.yaml"
    stand.parent.mkdir(exist_ok=True)
    stand.write_text((EXAMPLES / "stand.yaml").read_text("utf-8"), "utf-8")
    change(stand, "plate_distance_mm", f"plate_distance_mm: {plate_distance_mm}")


def change(file: Path, field: str, line: str) -> None:
    """Put a line in place of the one of this field."""
    lines = file.read_text("utf-8").splitlines()
    places = [n for n, told in enumerate(lines) if told.lstrip().startswith(f"{field}:")]
    assert places, field
    lines[places[0]] = line
    file.write_text("\n".join(lines) + "\n", "utf-8")
