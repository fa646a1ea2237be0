"""Everything that a shop may set: each with its meaning, unit, range and a default that works."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import Field, model_validator

from companion.job.loader import JobPaths
from companion.job.setup_files import Float, Model
from companion.record.place import record_path

_SHIPPED = JobPaths()
_Yes = Annotated[bool, Field(strict=True)]
_Whole = Annotated[int, Field(strict=True)]
_Name = Annotated[str, Field(min_length=1, max_length=200)]


def _setting(default: Any, meaning: str, unit: str = "", such_as: str = "", **limits: Any) -> Any:
    extra: dict[str, Any] = {"unit": unit, "such_as": such_as}
    return Field(default, description=meaning, json_schema_extra=extra, **limits)


class Settings(Model):
    """The settings of one box. A relative path in the file counts from the file's own folder."""

    kind: Literal["settings"] = "settings"

    job_file: Path = _setting(_SHIPPED.job, "the job: its stages and steps", such_as="my_job.yaml")
    vehicle_file: Path = _setting(
        _SHIPPED.vehicle, "the vehicle maker's figures", such_as="my_vehicle.yaml"
    )
    mount_file: Path = _setting(
        _SHIPPED.mount, "the radar's mount and screws", such_as="my_mount.yaml"
    )
    bay_file: Path = _setting(_SHIPPED.bay, "the bay and its stand", such_as="my_bay.yaml")
    language: str = _setting(
        "en",
        "what is spoken and shown: a folder of 'grammars', such as en or es",
        such_as="es",
        pattern=r"^[a-z]{2,3}$",
    )
    report_language: str | None = _setting(
        None,
        "what reports are written in; not set: the language that the job was done in",
        such_as="en",
        pattern=r"^[a-z]{2,3}$",
    )
    step_kinds: Path | None = _setting(
        None,
        "folder with kinds of step of your own; it is code that runs as the companion does",
        such_as="my_kinds",
    )
    technician: str = _setting("", "who does the jobs, for the record", max_length=200)

    record: Path = Field(
        default_factory=record_path,
        description="the record of all jobs; recorded voices lie beside it",
        json_schema_extra={"unit": "", "such_as": ""},
    )
    keep_sound: _Yes = _setting(
        True, "keep the sound of answers where the technician agrees; false: never"
    )
    keep_sound_days: _Whole = _setting(
        365, "how long recorded voices are kept; their words stay", "days", ge=1, le=3650
    )

    store: _Name | None = _setting(
        None,
        "the store of many boxes that 'companion ship' sends to; not set: none",
        such_as="postgresql://ROLE@store.example/companion",
    )
    store_password_file: Path | None = _setting(
        None,
        "file with the password of this box at the store, as its keeper gave it",
        such_as="store.pass",
    )
    published_by: Path | None = _setting(
        None,
        "file with the public keys of whoever may publish files to this box; not set: nobody",
        such_as="publishers.pub",
    )
    ship_sound: _Yes = _setting(
        False,
        "send kept sound to the store, too; the technician is told before agreeing; false: never",
    )
    keep_plate: _Yes = _setting(True, "keep the car's registration plate; false: never")
    keep_vin: Literal["whole", "last_six", "never"] = _setting(
        "whole", "how much of the vehicle identification number is kept"
    )
    keep_cars_days: _Whole = _setting(
        1095,
        "how long order, plate, VIN and complaint are kept; the job's record stays",
        "days",
        ge=1,
        le=3650,
    )
    vin_check_digit: _Yes = _setting(
        False, "whether the market's VINs have a check digit at position 9"
    )
    floor_holds_days: _Whole = _setting(
        28, "how long a floor as it was read in this bay holds for later jobs", "days", ge=0, le=366
    )
    overdue_instruments: Literal["say", "refuse"] = _setting(
        "say", "an instrument whose certificate is over: said and on the report, or no job begins"
    )
    heads_hold_days: _Whole = _setting(
        31, "how long what was found of the laser heads holds for later jobs", "days", ge=0, le=366
    )

    ears: Literal["typed", "own", "sphinx", "vosk"] = _setting(
        "typed", "what hears the answers; typed: the keyboard alone"
    )
    vosk_model: Path | None = _setting(
        None, "folder of the Vosk model, for 'ears: vosk'", such_as="ears"
    )
    microphone: _Name | None = _setting(
        None, "the microphone by its name or a part of it; not set: the system's own", such_as="USB"
    )
    deaf_after_speaking_s: Float = _setting(
        0.5, "how long nothing is heard after the companion spoke", "s", ge=0, le=3
    )
    pedal_key: str = _setting(
        "",
        "the pedal's key as the kernel names it, such as KEY_F13 or BTN_0; empty: no pedal",
        such_as="KEY_F13",
        pattern=r"^((KEY|BTN)_[A-Z0-9_]{1,40})?$",
    )

    voice_check: Literal["first_job", "always", "never"] = _setting(
        "first_job", "when to offer to check how well a voice is heard: ten words, by their ears"
    )

    voice: Literal["silent", "speaker"] = _setting(
        "silent", "whether prompts are spoken; silent: they are only shown"
    )
    loudspeaker: _Name | None = _setting(
        None,
        "the loudspeaker by its name or a part of it; not set: the system's own",
        such_as="USB",
    )
    voice_speed_wpm: _Whole = _setting(
        160, "how fast the voice speaks", "words a minute", ge=80, le=300
    )
    loudness_in_quiet_db: Float = _setting(
        -8.0, "how loud the voice is in a quiet room, below its full level", "dB", ge=-40, le=0
    )
    loudness_limit_db: Float = _setting(
        0.0, "how loud it may become in noise or by 'louder'", "dB", ge=-40, le=0
    )
    loudness_follows_noise: _Yes = _setting(True, "whether the voice is louder where it is loud")
    earcons: _Yes = _setting(True, "short quiet tones for: listening, heard, not understood")

    display_host: _Name = _setting(
        "127.0.0.1", "address that the display listens on; any but this opens it to the network"
    )
    display_port: _Whole = _setting(8170, "port that the display listens on", ge=1, le=65535)

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
