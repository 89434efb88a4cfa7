"""Proofs as `asfound prove --json` writes them (asfound-proof/1, docs/proof.md), read again."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Literal

from pydantic import AwareDatetime, BaseModel, ConfigDict, Field, ValidationError

from asfound.errors import InputError, NotFound, StorageError
from asfound.model.finding import Finding, Kind, Proof, ProofVerdict, Recording

MAX_BYTES = 512 * 1024 * 1024
"""100,000 recordings take about 100 MB."""

Number = Annotated[float, Field(allow_inf_nan=False)]
Length = Annotated[float, Field(ge=0, allow_inf_nan=False)]


class _Table(BaseModel):
    # Keys may be added within the format: those not known are passed over.
    model_config = ConfigDict(extra="ignore")


class FindingTable(_Table):
    """One finding."""

    kind: Kind
    start_s: Number
    end_s: Number
    measured: Number | None = None
    limit: Number | None = None
    unit: str = ""
    source: str = ""
    evidence: str = ""
    note: str = ""


class ShotTable(_Table):
    """One thumbnail."""

    second: Number
    picture: str


class RecordingTable(_Table):
    """One recording."""

    file: str
    channel: int | None
    codec: str
    width: int
    height: int
    rate_fps: Number | None
    duration_s: Length | None
    bitrate_bps: Number | None
    start: AwareDatetime | None
    findings: list[FindingTable]
    unclear: list[str] = []
    thumbnails: list[ShotTable] = []


class ProofFile(_Table):
    """The whole file."""

    format: Literal["asfound-proof/1"]
    verdict: ProofVerdict
    missing_channels: list[int] = []
    recordings: list[RecordingTable]


def load_proof(path: Path) -> Proof:
    """The proof in ``path``. Raises NotFound, StorageError, InputError (file: field)."""
    try:
        with path.open("rb") as file:
            raw = file.read(MAX_BYTES + 1)
    except (FileNotFoundError, NotADirectoryError):
        raise NotFound(f"{path}: there is no such file; check the name and the folder") from None
    except OSError as error:
        raise StorageError(f"{path}: cannot be read ({error.strerror}); check the file") from None
    if len(raw) > MAX_BYTES:
        raise InputError(f"{path}: larger than {MAX_BYTES // 1024**2} MiB; prove it in parts")
    try:
        made = ProofFile.model_validate_json(raw)
    except ValidationError as error:
        first = error.errors(include_url=False, include_context=False, include_input=False)[0]
        place = ".".join(str(part) for part in first["loc"]) or "file"
        reason = " ".join(str(first["msg"]).split())
        raise InputError(
            f"{path}: {place}: {reason}; write it with `asfound prove --json`"
        ) from None
    recordings = tuple(_recording(table) for table in made.recordings)
    return Proof(made.verdict, recordings, tuple(made.missing_channels))


def _recording(table: RecordingTable) -> Recording:
    return Recording(
        file=table.file,
        channel=table.channel,
        codec=table.codec,
        width=table.width,
        height=table.height,
        rate_fps=table.rate_fps,
        duration_s=table.duration_s,
        bitrate_bps=table.bitrate_bps,
        start=table.start,
        findings=tuple(Finding(**dict(found)) for found in table.findings),
        unclear=tuple(table.unclear),
        thumbnails=tuple((shot.second, shot.picture) for shot in table.thumbnails),
    )
