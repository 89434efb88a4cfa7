"""Expectation files: what each channel should record, as TOML (docs/expectation.md)."""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

from asfound.errors import InputError
from asfound.model.finding import Expectation, ExpectedChannel
from asfound.ports.backends.toml_checked import Faults, load_checked

SIZE = re.compile(r"([1-9]\d{1,4})x([1-9]\d{1,4})")

Share = Annotated[float, Field(ge=0, le=10, allow_inf_nan=False)]
Amount = Annotated[float, Field(gt=0, allow_inf_nan=False)]


class _Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=False)


class ChannelTable(_Strict):
    """One [[channel]] table."""

    channel: Annotated[int, Field(ge=1, le=99)]
    name: str = ""
    size: str | None = None
    rate_fps: Amount | None = None
    bitrate_bps: Amount | None = None
    codec: str | None = None
    audio: bool | None = None
    key_interval_s: Amount | None = None


class ExpectFile(_Strict):
    """The whole file."""

    format: Literal["asfound-expect/1"]
    rate_tolerance: Share = 0.1
    bitrate_tolerance: Share = 0.5
    max_gap_s: Annotated[float, Field(gt=0, allow_inf_nan=False)] = 2.0
    channel: list[ChannelTable] = []


def load_expectation(path: Path) -> Expectation:
    """The expectation in ``path``. Raises NotFound, StorageError, InputError (file:line: field)."""
    loaded = load_checked(path, ExpectFile, InputError)
    file = loaded.value
    _check_numbers(file.channel, loaded.faults)
    channels = tuple(_channel(at, table, loaded.faults) for at, table in enumerate(file.channel))
    loaded.faults.raise_if_any()
    return Expectation(channels, file.rate_tolerance, file.bitrate_tolerance, file.max_gap_s)


def _check_numbers(tables: Sequence[ChannelTable], faults: Faults) -> None:
    seen: set[int] = set()
    for at, table in enumerate(tables):
        if table.channel in seen:
            text = f"channel {table.channel} stands here twice; keep one"
            faults.add(("channel", at, "channel"), text)
        seen.add(table.channel)


def _channel(at: int, table: ChannelTable, faults: Faults) -> ExpectedChannel:
    width: int | None = None
    height: int | None = None
    if table.size is not None:
        found = SIZE.fullmatch(table.size)
        if found is None:
            text = f'{table.size!r} is no size; write width x height in pixels, "1280x720"'
            faults.add(("channel", at, "size"), text)
        else:
            width, height = int(found[1]), int(found[2])
    return ExpectedChannel(
        channel=table.channel,
        name=table.name,
        width=width,
        height=height,
        rate_fps=table.rate_fps,
        bitrate_bps=table.bitrate_bps,
        codec=table.codec,
        audio=table.audio,
        key_interval_s=table.key_interval_s,
    )
