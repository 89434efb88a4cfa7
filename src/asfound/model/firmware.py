"""Firmware images, who approved them, how versions are ordered, and the way to the right one."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

EVERY_FLEET = "*"
"""The fleet of an approval that holds everywhere."""


class OrderKind(StrEnum):
    """How versions are ordered (docs/firmware.md)."""

    SEMVER = "semver"
    DOTTED = "dotted"
    DATE_YMD = "date-ymd"
    DATE_DMY = "date-dmy"
    PATTERN = "pattern"


class PartKind(StrEnum):
    """How one named group of a maker's pattern is ordered."""

    NUMBER = "number"
    LETTERS = "letters"
    WORDS = "words"
    DATE_YMD = "date-ymd"
    DATE_DMY = "date-dmy"


@dataclass(frozen=True, slots=True)
class VersionPart:
    """A named group, the most weighty first. ``words``: ascending, for kind WORDS.
    ``missing_last``: a version without this group comes after those with it."""

    group: str
    kind: PartKind
    words: tuple[str, ...] = ()
    missing_last: bool = False


@dataclass(frozen=True, slots=True)
class VersionScheme:
    """An order of versions; ``pattern`` and ``parts`` only for kind PATTERN."""

    name: str
    kind: OrderKind
    pattern: str = ""
    parts: tuple[VersionPart, ...] = ()


@dataclass(frozen=True, slots=True)
class Approval:
    """Who let a fleet have an image, and when."""

    fleet: str
    by: str
    on: date


@dataclass(frozen=True, slots=True)
class Withdrawal:
    """Since when an image must not be used any more, and why."""

    on: date
    why: str


@dataclass(frozen=True, slots=True)
class Image:
    """One firmware image of the recorder model ``map_id`` for the revisions ``hardware``.

    ``size`` [byte]; ``sha256``: 64 hexadecimal figures. ``needs``: installed at least, or "".
    ``stones``: put only over one of these, or over anything when empty. ``not_over``: versions
    over which it must not be put. ``floor``: once it is on, nothing older may follow; or "".
    ``signature``: 64 bytes of the maker over the whole file (RFC 8032, Ed25519), or nothing;
    ``signature_file``: its name beside the image, for the other forms; ``certificate``: the
    signer's in PEM, for X.509.
    """

    map_id: str
    hardware: tuple[str, ...]
    version: str
    file: str
    size: int
    sha256: str
    notes: str = ""
    needs: str = ""
    stones: tuple[str, ...] = ()
    not_over: tuple[str, ...] = ()
    floor: str = ""
    troubles: tuple[str, ...] = ()
    withdrawn: Withdrawal | None = None
    approved: tuple[Approval, ...] = ()
    signature: bytes = b""
    signature_file: str = ""
    certificate: bytes = b""

    def approved_for(self, fleet: str) -> bool:
        """True when ``fleet``, or every fleet, may have it."""
        return any(one.fleet in (fleet, EVERY_FLEET) for one in self.approved)


@dataclass(frozen=True, slots=True)
class Trust:
    """What is trusted of a maker, one of: ``key`` (Ed25519, 32 bytes), ``minisign`` (the base64
    line of its public key file), ``ca`` (certificates in PEM). Nothing: the maker does not sign."""

    key: bytes = b""
    minisign: str = ""
    ca: bytes = b""

    @property
    def signs(self) -> bool:
        """True when the maker signs."""
        return bool(self.key or self.minisign or self.ca)


@dataclass(frozen=True, slots=True)
class ModelFirmware:
    """How the versions of one recorder model are ordered; ``in_field``: versions that vehicles may
    have although no image of them is kept. ``trust``: what checks its maker's signatures."""

    map_id: str
    scheme: VersionScheme
    in_field: tuple[str, ...] = ()
    trust: Trust = Trust()


@dataclass(frozen=True, slots=True)
class Catalogue:
    """The firmware catalogue; ``hardware``: recorder serial -> revision."""

    models: tuple[ModelFirmware, ...]
    images: tuple[Image, ...]
    hardware: tuple[tuple[str, str], ...] = ()

    def model(self, map_id: str) -> ModelFirmware | None:
        """The recorder model, or None."""
        return next((one for one in self.models if one.map_id == map_id), None)

    def images_of(self, map_id: str) -> tuple[Image, ...]:
        """Every image of a recorder model, for whichever hardware."""
        return tuple(image for image in self.images if image.map_id == map_id)


class FileVerdict(StrEnum):
    """What a file of a folder is beside the catalogue."""

    RIGHT = "right"
    WRONG_SIZE = "wrong-size"
    WRONG_HASH = "wrong-hash"
    WRONG_SIGNATURE = "wrong-signature"
    UNSIGNED = "not-signed"
    OTHER_NAME = "other-name"
    UNKNOWN = "unknown"
    NO_FILE = "no-file"
    MISSING = "missing"


@dataclass(frozen=True, slots=True)
class FileChecked:
    """One file; ``note`` says it in words, ``withdrawn`` whether it must not be used."""

    file: str
    verdict: FileVerdict
    note: str
    withdrawn: bool = False


class Rejected(StrEnum):
    """Why an image is not the one."""

    HARDWARE = "wrong-hardware"
    WITHDRAWN = "withdrawn"
    UNAPPROVED = "not-approved"
    INSTALLED = "installed"
    OLDER = "older"
    NOT_ASKED = "not-asked-for"
    NO_WAY = "no-way-there"
    NOT_NEWEST = "not-the-newest"


@dataclass(frozen=True, slots=True)
class RejectedImage:
    """An image that was not chosen, and every reason in words."""

    image: Image
    why: Rejected
    note: str


@dataclass(frozen=True, slots=True)
class FirmwareStep:
    """One image to put on, over the version ``over``; ``reasons`` in words."""

    image: Image
    over: str
    reasons: tuple[str, ...]


class Answer(StrEnum):
    """What is to be done."""

    GO = "put-on"
    STAY = "nothing-to-do"
    NONE = "nothing-fits"


@dataclass(frozen=True, slots=True)
class FirmwareChosen:
    """The answer: ``steps`` in order, the last one is the right image. ``findings`` need a person;
    ``warnings`` say where somebody would have gone wrong."""

    answer: Answer
    steps: tuple[FirmwareStep, ...]
    rejected: tuple[RejectedImage, ...]
    findings: tuple[str, ...]
    warnings: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SheetLine:
    """An image as a sheet names it, in line ``line`` of the sheet; ``sha256`` as the maker gives
    it, or "". Nobody has approved it."""

    line: int
    map_id: str
    order: str
    hardware: tuple[str, ...]
    version: str
    file: str
    notes: str = ""
    needs: str = ""
    stones: tuple[str, ...] = ()
    not_over: tuple[str, ...] = ()
    floor: str = ""
    sha256: str = ""
