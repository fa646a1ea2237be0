"""Everything that a shop may set: each with its unit, range and a default that works.

What each means is `setting-NAME` in the language's files.
"""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import Field, model_validator

from companion.job.loader import JobPaths
from companion.job.setup_files import Float, Model
from companion.record.place import record_path
from companion.speech.port import BRISK_PERCENT, DEFAULT_SPEED_WPM

_SHIPPED = JobPaths()
_Yes = Annotated[bool, Field(strict=True)]
_Whole = Annotated[int, Field(strict=True)]
_Name = Annotated[str, Field(min_length=1, max_length=200)]


def _setting(default: Any, unit: str = "", such_as: str = "", **limits: Any) -> Any:
    """`unit`: the id of what a figure counts; the meaning is a sentence of the language."""
    extra: dict[str, Any] = {"unit": unit, "such_as": such_as}
    return Field(default, json_schema_extra=extra, **limits)


class Settings(Model):
    """The settings of one box. A relative path in the file counts from the file's own folder."""

    kind: Literal["settings"] = "settings"

    job_file: Path = _setting(_SHIPPED.job, such_as="my_job.yaml")
    vehicle_file: Path = _setting(_SHIPPED.vehicle, such_as="my_vehicle.yaml")
    mount_file: Path = _setting(_SHIPPED.mount, such_as="my_mount.yaml")
    bay_file: Path = _setting(_SHIPPED.bay, such_as="my_bay.yaml")
    language: str = _setting(
        "en",
        such_as="es",
        pattern=r"^[a-z]{2,3}$",
    )
    report_language: str | None = _setting(
        None,
        such_as="en",
        pattern=r"^[a-z]{2,3}$",
    )
    step_kinds: Path | None = _setting(
        None,
        such_as="my_kinds",
    )
    technician: str = _setting("", max_length=200)

    record: Path = Field(
        default_factory=record_path,
        json_schema_extra={"unit": "", "such_as": ""},
    )
    keep_sound: _Yes = _setting(True)
    keep_sound_days: _Whole = _setting(365, "days", ge=1, le=3650)

    store: _Name | None = _setting(
        None,
        such_as="postgresql://ROLE@store.example/companion",
    )
    store_password_file: Path | None = _setting(
        None,
        such_as="store.pass",
    )
    published_by: Path | None = _setting(None, such_as="publishers.pub")
    ship_sound: _Yes = _setting(False)
    keep_plate: _Yes = _setting(True)
    keep_vin: Literal["whole", "last_six", "never"] = _setting("whole")
    keep_cars_days: _Whole = _setting(
        1095,
        "days",
        ge=1,
        le=3650,
    )
    vin_check_digit: _Yes = _setting(False)
    floor_holds_days: _Whole = _setting(28, "days", ge=0, le=366)
    overdue_instruments: Literal["say", "refuse"] = _setting("say")
    unchecked_stand: Literal["say", "refuse"] = _setting("say")
    heads_hold_days: _Whole = _setting(31, "days", ge=0, le=366)

    ears: Literal["typed", "own", "sphinx", "vosk"] = _setting("typed")
    vosk_model: Path | None = _setting(None, such_as="ears")
    microphone: _Name | None = _setting(None, such_as="USB")
    deaf_after_speaking_s: Float = _setting(0.2, "s", ge=0, le=3)
    answers_into_prompts: _Yes = _setting(False)
    pedal_key: str = _setting(
        "",
        such_as="KEY_F13",
        pattern=r"^((KEY|BTN)_[A-Z0-9_]{1,40})?$",
    )

    voice_check: Literal["first_job", "always", "never"] = _setting("first_job")

    voice: Literal["silent", "speaker"] = _setting("silent")
    loudspeaker: _Name | None = _setting(
        None,
        such_as="USB",
    )
    voice_speed_wpm: _Whole = _setting(DEFAULT_SPEED_WPM, "words_a_minute", ge=80, le=300)
    voice_brisk_percent: _Whole = _setting(BRISK_PERCENT, "percent", ge=100, le=130)
    loudness_in_quiet_db: Float = _setting(-8.0, "dB", ge=-40, le=0)
    loudness_limit_db: Float = _setting(0.0, "dB", ge=-40, le=0)
    loudness_follows_noise: _Yes = _setting(True)
    earcons: _Yes = _setting(True)

    display_host: _Name = _setting("127.0.0.1")
    display_port: _Whole = _setting(8170, ge=1, le=65535)

    @model_validator(mode="after")
    def _limit_above_quiet(self) -> Settings:
        if self.loudness_limit_db < self.loudness_in_quiet_db:
            raise ValueError("loudness_limit_db must not be below loudness_in_quiet_db")
        return self

    @property
    def sound_goes(self) -> bool:
        """Whether sound that is kept goes to the store, which is then said before it is kept."""
        return self.ship_sound and self.keep_sound and self.store is not None

    @property
    def job_paths(self) -> JobPaths:
        """The files of the job."""
        return JobPaths(
            self.job_file, self.vehicle_file, self.mount_file, self.bay_file, self.step_kinds
        )
