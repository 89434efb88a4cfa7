"""The firmware catalogue (``asfound-firmware/1``, docs/firmware.md), with faults by line."""

from __future__ import annotations

import hashlib
import unicodedata
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Annotated

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, ValidationInfo, field_validator

from asfound.calc.firmware_conflicts import conflicts
from asfound.calc.plain_text import code, unseen
from asfound.calc.version_order import pattern_fault, version_key
from asfound.errors import InputError
from asfound.model.firmware import (
    Approval,
    Catalogue,
    Image,
    ModelFirmware,
    OrderKind,
    PartKind,
    Trust,
    VersionPart,
    VersionScheme,
    Withdrawal,
)
from asfound.ports.backends.disk import storage_error
from asfound.ports.backends.minisign_file import key_fault
from asfound.ports.backends.toml_checked import Faults, load_checked

BUILT_IN = {
    kind.value: VersionScheme(kind.value, kind)
    for kind in OrderKind
    if kind is not OrderKind.PATTERN
}
"""Orders that need no scheme of one's own."""


def _seen(text: str) -> str:
    if bad := unseen(text):
        raise ValueError(f"holds the unseen character {code(bad)}; write it without")
    if not text.strip():
        raise ValueError("is empty; write something")
    return text


def _bare(text: str) -> str:
    if "/" in text or "\\" in text or text in (".", ".."):
        raise ValueError(f"{text!r} is no name of a file alone; write it without a folder")
    return unicodedata.normalize("NFC", text)


Name = Annotated[str, Field(min_length=1, max_length=120), AfterValidator(_seen)]
Line = Annotated[str, Field(min_length=1, max_length=1000), AfterValidator(_seen)]
FileName = Annotated[
    str, Field(min_length=1, max_length=255), AfterValidator(_seen), AfterValidator(_bare)
]
Versions = list[Name]


class _Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True)


class PartTable(_Strict):
    """One of a scheme's ``parts``."""

    group: Annotated[str, Field(pattern=r"^[a-z][a-z0-9_]*$", max_length=40)]
    kind: str = Field(alias="as")
    words: list[Annotated[str, Field(max_length=40)]] = []
    missing: str = "first"

    @field_validator("kind")
    @classmethod
    def _kind(cls, value: str) -> str:
        return _one_of(value, [kind.value for kind in PartKind])

    @field_validator("missing")
    @classmethod
    def _missing(cls, value: str) -> str:
        return _one_of(value, ["first", "last"])


def _one_of(value: str, known: list[str]) -> str:
    if value not in known:
        raise ValueError(f"{value!r} is not known; use one of {', '.join(known)}")
    return value


class SchemeTable(_Strict):
    """One ``[[scheme]]``."""

    id: Name
    pattern: Annotated[str, Field(min_length=1, max_length=200)]
    parts: list[PartTable] = Field(min_length=1, max_length=12)

    @field_validator("parts")
    @classmethod
    def _groups(cls, parts: list[PartTable], info: ValidationInfo) -> list[PartTable]:
        if fault := pattern_fault(info.data.get("pattern", ""), [part.group for part in parts]):
            raise ValueError(f"the pattern {fault}")
        return parts


class ModelTable(_Strict):
    """One ``[[model]]``."""

    map: Name
    order: Name
    in_field: Versions = []
    key: Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")] = ""
    minisign: Annotated[str, Field(max_length=200)] = ""
    ca: FileName | None = None


class FittedTable(_Strict):
    """One ``[[fitted]]``: the hardware revision of one recorder."""

    serial: Name
    hardware: Name


class ApprovalTable(_Strict):
    """One of an image's ``approved``."""

    fleet: Name
    by: Name
    on: date


class WithdrawalTable(_Strict):
    """An image's ``withdrawn``."""

    on: date
    why: Line


class ImageTable(_Strict):
    """One ``[[image]]``."""

    map: Name
    hardware: list[Name] = Field(min_length=1, max_length=64)
    version: Name
    file: FileName
    size: int = Field(gt=0)
    sha256: Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]
    notes: Annotated[str, Field(max_length=4000)] = ""
    needs: Name | None = None
    stones: Versions = []
    not_over: Versions = []
    floor: Name | None = None
    troubles: list[Line] = []
    withdrawn: WithdrawalTable | None = None
    approved: list[ApprovalTable] = []
    signature: Annotated[str, Field(pattern=r"^[0-9a-f]{128}$")] = ""
    signature_file: FileName | None = None
    certificate: FileName | None = None


class CatalogueFile(_Strict):
    """The whole file."""

    format: str
    scheme: list[SchemeTable] = []
    model: list[ModelTable] = Field(min_length=1)
    fitted: list[FittedTable] = []
    image: list[ImageTable] = []

    @field_validator("format")
    @classmethod
    def _format(cls, value: str) -> str:
        return _one_of(value, ["asfound-firmware/1"])


def load_catalogue(path: Path) -> Catalogue:
    """The catalogue in ``path``. Raises InputError (file, line, field), NotFound, StorageError."""
    loaded = load_checked(path, CatalogueFile, InputError)
    file, faults = loaded.value, loaded.faults
    _check_twice(file, faults)
    schemes = BUILT_IN | {table.id: _scheme(table) for table in file.scheme}
    for at, table in enumerate(file.model):
        if table.order not in schemes:
            known = ", ".join(schemes)
            faults.add(("model", at, "order"), f"{table.order!r} is no order; use one of {known}")
    faults.raise_if_any()
    papers = _Papers(path, faults)
    made = Catalogue(
        tuple(
            ModelFirmware(
                table.map,
                schemes[table.order],
                tuple(table.in_field),
                papers.trust(at, table),
            )
            for at, table in enumerate(file.model)
        ),
        tuple(_image(table, papers.certificate(at, table)) for at, table in enumerate(file.image)),
        tuple((table.serial, table.hardware) for table in file.fitted),
    )
    _check_versions(made, faults)
    _check_signed(made, faults)
    faults.raise_if_any()
    for at, key, text in conflicts(made):
        faults.add(("image", at, key), text)
    faults.raise_if_any()
    return made


def catalogue_and_hash(path: Path) -> tuple[Catalogue, str]:
    """The catalogue in ``path`` and the SHA-256 of the file. Raises as ``load_catalogue``."""
    made = load_catalogue(path)
    try:
        return made, hashlib.sha256(path.read_bytes()).hexdigest()
    except OSError as error:
        raise storage_error(error, path) from None


def _scheme(table: SchemeTable) -> VersionScheme:
    parts = tuple(
        VersionPart(part.group, PartKind(part.kind), tuple(part.words), part.missing == "last")
        for part in table.parts
    )
    return VersionScheme(table.id, OrderKind.PATTERN, table.pattern, parts)


class _Papers:
    """Keys and certificates that lie beside the catalogue."""

    def __init__(self, catalogue: Path, faults: Faults) -> None:
        self._folder = catalogue.parent
        self._faults = faults

    def trust(self, at: int, table: ModelTable) -> Trust:
        """What a model trusts; two forms at once, or none that can be read, are faults."""
        if sum(map(bool, (table.key, table.minisign, table.ca))) > 1:
            text = "key, minisign and ca are three ways to check; keep one of them"
            self._faults.add(("model", at, "map"), text)
        if table.minisign and (fault := key_fault(table.minisign)):
            self._faults.add(("model", at, "minisign"), f"{fault}; copy its second line")
        return Trust(
            bytes.fromhex(table.key), table.minisign, self._pem(table.ca, ("model", at, "ca"))
        )

    def certificate(self, at: int, table: ImageTable) -> bytes:
        """The signer's certificate."""
        return self._pem(table.certificate, ("image", at, "certificate"))

    def _pem(self, name: str | None, place: tuple[str | int, ...]) -> bytes:
        if name is None:
            return b""
        try:
            data = (self._folder / name).read_bytes()
        except OSError as error:
            self._faults.add(place, f"{name}: {error.strerror}; put it beside the catalogue")
            return b""
        if b"-----BEGIN CERTIFICATE-----" not in data:
            self._faults.add(place, f"{name}: is no certificate in PEM; convert it")
        return data


def _check_signed(made: Catalogue, faults: Faults) -> None:
    """What an image gives is what its maker's form takes."""
    for at, image in enumerate(made.images):
        owner = made.model(image.map_id)
        trust = owner.trust if owner else Trust()
        if image.signature_file and not (trust.minisign or trust.ca):
            text = f"{image.map_id} has neither minisign nor ca to check it by; add one"
            faults.add(("image", at, "signature_file"), text)
        if image.certificate and not trust.ca:
            faults.add(("image", at, "certificate"), f"{image.map_id} has no ca; add it")
        if trust.ca and image.signature_file and not image.certificate:
            text = "the certificate of who signed is missing; add certificate"
            faults.add(("image", at, "signature_file"), text)


def _image(table: ImageTable, certificate: bytes) -> Image:
    gone = table.withdrawn
    return Image(
        map_id=table.map,
        hardware=tuple(table.hardware),
        version=table.version,
        file=table.file,
        size=table.size,
        sha256=table.sha256,
        notes=table.notes,
        needs=table.needs or "",
        stones=tuple(table.stones),
        not_over=tuple(table.not_over),
        floor=table.floor or "",
        troubles=tuple(table.troubles),
        withdrawn=Withdrawal(gone.on, gone.why) if gone else None,
        approved=tuple(Approval(one.fleet, one.by, one.on) for one in table.approved),
        signature=bytes.fromhex(table.signature),
        signature_file=table.signature_file or "",
        certificate=certificate,
    )


def _check_twice(file: CatalogueFile, faults: Faults) -> None:
    """Schemes, models, serials and file names stand once."""
    listed: tuple[tuple[str, str, list[str]], ...] = (
        ("scheme", "id", [*BUILT_IN, *(table.id for table in file.scheme)]),
        ("model", "map", [table.map for table in file.model]),
        ("fitted", "serial", [table.serial for table in file.fitted]),
        # Sticks are FAT: names that differ in capitals only are one file there.
        ("image", "file", [table.file.casefold() for table in file.image]),
    )
    for table, key, values in listed:
        before = len(BUILT_IN) if table == "scheme" else 0
        known: set[str] = set()
        for at, value in enumerate(values):
            if value in known:
                faults.add((table, at - before, key), f"{value!r} stands twice; keep one of them")
            known.add(value)


def _check_versions(made: Catalogue, faults: Faults) -> None:
    """Every image has a model, and every version is one of its model's order."""
    for at, model in enumerate(made.models):
        for number, version in enumerate(model.in_field):
            if why := _no_version(model, version):
                faults.add(("model", at, "in_field", number), why)
    for at, image in enumerate(made.images):
        owner = made.model(image.map_id)
        if owner is None:
            faults.add(("image", at, "map"), f"{image.map_id!r} has no [[model]]; add one")
            continue
        if image.signature and not owner.trust.key:
            faults.add(
                ("image", at, "signature"), f"{image.map_id} has no key to check it by; add the key"
            )
        for key, version in _versions(image):
            if why := _no_version(owner, version):
                faults.add(("image", at, *key), why)


def _versions(image: Image) -> Iterator[tuple[tuple[str | int, ...], str]]:
    yield ("version",), image.version
    for name, one in (("needs", image.needs), ("floor", image.floor)):
        if one:
            yield (name,), one
    for name, many in (("stones", image.stones), ("not_over", image.not_over)):
        for number, version in enumerate(many):
            yield (name, number), version


def _no_version(model: ModelFirmware, version: str) -> str:
    try:
        version_key(model.scheme, version)
    except ValueError as error:
        return f"{error}; correct it, or the order of {model.map_id}"
    return ""
