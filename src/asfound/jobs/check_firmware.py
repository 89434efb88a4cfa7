"""A folder of firmware images beside the catalogue, and what the catalogue itself makes doubt."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass, replace

from asfound.model.firmware import Catalogue, FileChecked, FileVerdict, Image
from asfound.ports.firmware_files import FileSeen, FirmwareFiles
from asfound.ports.signatures import Signatures


@dataclass(frozen=True, slots=True)
class CheckFirmware:
    """``map_id`` "": images of every model are looked for."""

    catalogue: Catalogue
    map_id: str = ""


def check_firmware(
    request: CheckFirmware, *, files: FirmwareFiles, signatures: Signatures
) -> tuple[FileChecked, ...]:
    """Every file of the folder by name, then what is missing. Raises NotFound, StorageError."""
    images = [image for image in request.catalogue.images if request.map_id in ("", image.map_id)]
    by_name = {image.file: image for image in images}
    checked = []
    for seen in files.listing():
        name = unicodedata.normalize("NFC", seen.name)
        image = by_name.pop(name, None)
        one = _checked(seen, image, images, files)
        if image and one.verdict is FileVerdict.RIGHT:
            one = _signed(one, seen, image, _Proof(request.catalogue, files, signatures))
        checked.append(one)
    checked.extend(
        FileChecked(image.file, FileVerdict.MISSING, f"{image.map_id} {image.version} is not here")
        for image in by_name.values()
        if image.withdrawn is None
    )
    return tuple(checked)


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
    catalogue: Catalogue
    files: FirmwareFiles
    signatures: Signatures


def _signed(one: FileChecked, seen: FileSeen, image: Image, proof: _Proof) -> FileChecked:
    """A file with the right hash, by its maker's signature where the maker has a key."""
    model = proof.catalogue.model(image.map_id)
    if model is None or not model.key:
        return one
    if not image.signature:
        note = f"{one.note}; its maker signs, and this image has no signature"
        return replace(one, verdict=FileVerdict.UNSIGNED, note=note)
    if proof.signatures.verify(model.key, proof.files.content(seen.name), image.signature):
        return replace(one, note=f"{one.note}; signed by its maker")
    note = f"{one.note}; its maker did not sign this file"
    return replace(one, verdict=FileVerdict.WRONG_SIGNATURE, note=note)


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
