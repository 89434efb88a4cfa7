"""A folder of firmware images beside the catalogue, and what the catalogue itself makes doubt."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import datetime

from asfound.model.firmware import Catalogue, FileChecked, FileVerdict, Image
from asfound.ports.firmware_files import FileSeen, FirmwareFiles
from asfound.ports.maker_signatures import MakerSignatures, Signed

MOST_SIGNATURE = 1 << 20
"""Bytes; no signature is larger."""


@dataclass(frozen=True, slots=True)
class CheckFirmware:
    """``map_id`` "": images of every model are looked for. ``now`` (aware): when certificates
    must be valid."""

    catalogue: Catalogue
    map_id: str
    now: datetime


def check_firmware(
    request: CheckFirmware, *, files: FirmwareFiles, makers: MakerSignatures
) -> tuple[FileChecked, ...]:
    """Every file of the folder by name, then what is missing. Raises NotFound, StorageError."""
    images = [image for image in request.catalogue.images if request.map_id in ("", image.map_id)]
    by_name = {image.file: image for image in images}
    checked = []
    signatures = {image.signature_file for image in images}
    for seen in files.listing():
        name = _named(seen.name)
        if name in signatures:
            # Looked at with its image.
            continue
        image = by_name.pop(name, None)
        one = _checked(seen, image, images, files)
        if image and one.verdict is FileVerdict.RIGHT:
            one = _signed(one, image, _Proof(request, files, makers))
        checked.append(one)
    checked.extend(
        FileChecked(image.file, FileVerdict.MISSING, f"{image.map_id} {image.version} is not here")
        for image in by_name.values()
        if image.withdrawn is None
    )
    return tuple(checked)


def check_image(
    request: CheckFirmware, image: Image, *, files: FirmwareFiles, makers: MakerSignatures
) -> FileChecked:
    """One image of the catalogue, in the folder. Raises NotFound, StorageError."""
    seen = next((one for one in files.listing() if _named(one.name) == image.file), None)
    if seen is None:
        note = f"{image.map_id} {image.version} is not here"
        return FileChecked(image.file, FileVerdict.MISSING, note)
    one = _checked(seen, image, [image], files)
    if one.verdict is not FileVerdict.RIGHT:
        return one
    return _signed(one, image, _Proof(request, files, makers))


def _named(name: str) -> str:
    return unicodedata.normalize("NFC", name)


def _checked(
    seen: FileSeen, image: Image | None, images: list[Image], files: FirmwareFiles
) -> FileChecked:
    if seen.size is None:
        return FileChecked(seen.name, FileVerdict.NO_FILE, "a folder, link or device: not read")
    if image is None:
        return _stranger(seen, images, files)
    if seen.size != image.size:
        note = f"{seen.size} bytes, {image.size} by the catalogue"
        return FileChecked(seen.name, FileVerdict.WRONG_SIZE, note)
    found = files.sha256(seen.name)
    if found != image.sha256:
        note = f"SHA-256 {found}, {image.sha256} by the catalogue"
        return FileChecked(seen.name, FileVerdict.WRONG_HASH, note)
    gone = image.withdrawn
    note = f"{image.map_id} {image.version}, hardware {', '.join(image.hardware)}"
    if gone:
        note += f"; withdrawn on {gone.on}: {gone.why}"
    return FileChecked(seen.name, FileVerdict.RIGHT, note, gone is not None)


@dataclass(frozen=True, slots=True)
class _Proof:
    request: CheckFirmware
    files: FirmwareFiles
    makers: MakerSignatures


def _signed(one: FileChecked, image: Image, proof: _Proof) -> FileChecked:
    """A file with the right hash, by its maker's signature where the maker signs."""
    model = proof.request.catalogue.model(image.map_id)
    if model is None or not model.trust.signs:
        return one
    signature = image.signature
    if not model.trust.key and image.signature_file:
        there = {_named(seen.name): seen for seen in proof.files.listing()}
        seen = there.get(image.signature_file)
        if seen is None or seen.size is None or seen.size > MOST_SIGNATURE:
            note = f"{one.note}; its signature {image.signature_file} is not here"
            return replace(one, verdict=FileVerdict.UNSIGNED, note=note)
        signature = proof.files.content(seen.name)
    if not signature:
        note = f"{one.note}; its maker signs, and this image has no signature"
        return replace(one, verdict=FileVerdict.UNSIGNED, note=note)
    signed = Signed(proof.files.content(one.file), signature, image.certificate)
    fault = proof.makers.fault(model.trust, signed, proof.request.now)
    if not fault:
        return replace(one, note=f"{one.note}; signed by its maker")
    return replace(one, verdict=FileVerdict.WRONG_SIGNATURE, note=f"{one.note}; {fault}")


def _stranger(seen: FileSeen, images: list[Image], files: FirmwareFiles) -> FileChecked:
    """A file that the catalogue does not name; read only where its size is that of an image."""
    alike = [image for image in images if image.size == seen.size]
    found = files.sha256(seen.name) if alike else ""
    for image in alike:
        if image.sha256 == found:
            note = f"holds {image.map_id} {image.version}, which is called {image.file}"
            return FileChecked(seen.name, FileVerdict.OTHER_NAME, note, image.withdrawn is not None)
    return FileChecked(seen.name, FileVerdict.UNKNOWN, "the catalogue does not know this file")


def catalogue_findings(catalogue: Catalogue) -> Iterator[str]:
    """What a person should look at in a sound catalogue."""
    for image in catalogue.images:
        gone, name = image.withdrawn, f"{image.map_id} {image.version}"
        if gone and image.approved:
            fleets = ", ".join(one.fleet for one in image.approved)
            yield f"{name} was approved for {fleets} and withdrawn on {gone.on}: {gone.why}"
