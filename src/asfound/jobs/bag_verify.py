"""Verify a bag (RFC 8493) from itself alone: what was changed, added, missing, renamed, cut."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Mapping
from dataclasses import dataclass, field

from asfound.calc.bag_names import name_fault, parse_line, same_key, twin_word
from asfound.calc.plain_text import plain
from asfound.model.bag import BagFault, BagFaultKind, BagVerified
from asfound.ports.bags import Entry, EntryKind, OpenBag
from asfound.ports.progress import Progress, silent
from asfound.ports.signatures import Signatures

VERSIONS = ("0.93", "0.94", "0.95", "0.96", "0.97", "1.0")
RECORD = "evidence.json"
SIZES_MOST = 1 << 24
SIGNATURE = "signature-ed25519.txt"
TAG_MANIFEST = "tagmanifest-sha256.txt"
ALGORITHMS = ("sha512", "sha256", "sha1", "md5")
LINE_MOST = 1 << 16
SMALL = 1 << 16
TAG_MOST = 1 << 26
DECLARED = re.compile(r"BagIt-Version: (\d+\.\d+)\r?\nTag-File-Character-Encoding: (\S+)\r?\n?")
OXUM = re.compile(r"[0-9]{1,20}\.[0-9]{1,20}")
SIGNED = re.compile(rb"public: ([0-9a-f]{64})\nsignature: ([0-9a-f]{128})\n")


@dataclass(slots=True)
class _Look:
    """What is known so far: sizes of files by name, faults; as the bag says them: ``sizes`` as they
    were packed, and ``most``, bytes of the whole payload (None: it does not say)."""

    bag: OpenBag
    files: dict[str, int] = field(default_factory=dict)
    faults: list[BagFault] = field(default_factory=list)
    version: str = ""
    sizes: dict[str, int] = field(default_factory=dict)
    most: int | None = None

    def fault(self, kind: BagFaultKind, path: str, note: str) -> None:
        self.faults.append(BagFault(kind, plain(path), note))


@dataclass(frozen=True, slots=True)
class Glance:
    """What is known of a bag without reading its payload: sizes [bytes] by name, SHA-256 of the
    payload's files as they were packed, whose signature holds ("": nobody's), and faults."""

    files: Mapping[str, int]
    sums: Mapping[str, str]
    signed_by: str
    faults: tuple[BagFault, ...]


def glance_at(bag: OpenBag, *, signatures: Signatures) -> Glance:
    """Names, kinds, signature, tag files and the payload's size: cheap, so that a bag that is not
    believed, or is far too large, is refused at once. Raises as ``verify_bag``."""
    look = _Look(bag)
    _gather(look)
    _declaration(look)
    signed_by, sums = "", {}
    large = [name for name, size in look.files.items() if size > TAG_MOST and _is_tag(name)]
    for name in large:
        look.fault(BagFaultKind.CHANGED, name, f"holds {look.files[name]} bytes; not read")
    if look.version and not large:
        signed_by = _signature(look, signatures, None)
        tags = _manifests(look, "tagmanifest-")
        sums = _manifests(look, "manifest-").get("sha256", {})
        _all_signed(look, tags)
        for name, digest in tags.get("sha256", {}).items():
            if name not in look.files:
                look.fault(BagFaultKind.MISSING, name, "is listed and not there")
            elif _is_tag(name):
                _held(look, name, {"sha256": digest})
        _oxum(look)
    return Glance(look.files, sums, signed_by, tuple(look.faults))


def _is_tag(name: str) -> bool:
    return not name.startswith("data/")


def verify_bag(
    bag: OpenBag, *, signatures: Signatures, key: bytes | None = None, progress: Progress = silent
) -> BagVerified:
    """Hold a bag against its manifests and its signature; ``key``: the public key it must be
    signed with. Nothing is believed before it was hashed; files are streamed.

    Raises NotFound, UsageError, StorageError, IntegrityError (something was put in another's place
    meanwhile), Interrupted.
    """
    look = _Look(bag)
    _gather(look)
    _declaration(look)
    signed_by = ""
    if look.version:
        signed_by = _signature(look, signatures, key)
        payload = _manifests(look, "manifest-")
        tags = _manifests(look, "tagmanifest-")
        if not payload:
            look.fault(BagFaultKind.MANIFEST, "", "there is no manifest of the payload")
        if signed_by:
            _all_signed(look, tags)
        _oxum(look)
        _compare(look, payload, tags, progress)
    data = [size for name, size in look.files.items() if name.startswith("data/")]
    known = bool(signed_by) and key is not None and signed_by == key.hex()
    return BagVerified(look.version, len(data), sum(data), signed_by, known, tuple(look.faults))


def _gather(look: _Look) -> None:
    seen: dict[str, str] = {}
    for entry in look.bag.entries():
        why = name_fault(entry.name)
        if why:
            look.fault(BagFaultKind.NAME, entry.name, f"{why}; such a name is refused")
            continue
        if _strange(look, entry):
            continue
        other = seen.setdefault(same_key(entry.name), entry.name)
        if other != entry.name:
            how = twin_word(entry.name, other)
            look.fault(BagFaultKind.TWIN, entry.name, f"differs {how} from {plain(other)}")
        look.files[entry.name] = entry.size


def _strange(look: _Look, entry: Entry) -> bool:
    if entry.kind is EntryKind.LINK:
        look.fault(BagFaultKind.LINK, entry.name, "is a link; a bag holds files alone")
    elif entry.kind is EntryKind.OTHER:
        look.fault(BagFaultKind.DEVICE, entry.name, "is a device, pipe or socket; not opened")
    return entry.kind is not EntryKind.FILE


def _declaration(look: _Look) -> None:
    """bagit.txt, RFC 8493 2.1.1: two lines, UTF-8, no byte order mark."""
    if "bagit.txt" not in look.files:
        look.fault(BagFaultKind.MISSING, "bagit.txt", "is not there: this is no bag")
        return
    try:
        text = look.bag.read("bagit.txt", SMALL).decode("utf-8")
    except UnicodeDecodeError:
        look.fault(BagFaultKind.ENCODING, "bagit.txt", "is not UTF-8")
        return
    found = DECLARED.fullmatch(text)
    if found is None:
        look.fault(BagFaultKind.VERSION, "bagit.txt", "is not the two lines of RFC 8493 2.1.1")
    elif found[1] not in VERSIONS:
        look.fault(
            BagFaultKind.VERSION, "bagit.txt", f"version {found[1]} is not known here; update"
        )
    elif found[2].upper() != "UTF-8":
        look.fault(BagFaultKind.ENCODING, "bagit.txt", f"tag files in {plain(found[2])}, not UTF-8")
    else:
        look.version = found[1]


def _signature(look: _Look, signatures: Signatures, key: bytes | None) -> str:
    """The public key whose signature over the tag manifest holds, or ""."""
    if SIGNATURE not in look.files:
        if key is not None:
            look.fault(BagFaultKind.SIGNATURE, SIGNATURE, "is not there: the bag is not signed")
        return ""
    found = SIGNED.fullmatch(look.bag.read(SIGNATURE, SMALL))
    if found is None or TAG_MANIFEST not in look.files:
        look.fault(BagFaultKind.SIGNATURE, SIGNATURE, f"is no signature of a {TAG_MANIFEST}")
        return ""
    public, signed = (bytes.fromhex(one.decode("ascii")) for one in found.groups())
    if key is not None and public != key:
        look.fault(BagFaultKind.KEY, SIGNATURE, "was made with another key than the one given")
        return ""
    # A digest of it would not do: Ed25519 signs the text itself. It names a few tag files.
    text = look.bag.read(TAG_MANIFEST, SMALL)
    if look.files[TAG_MANIFEST] > SMALL or not signatures.verify(public, text, signed):
        look.fault(BagFaultKind.SIGNATURE, TAG_MANIFEST, "is not what was signed")
        return ""
    return public.hex()


def _manifests(look: _Look, begins: str) -> dict[str, dict[str, str]]:
    """Sums by algorithm and name, of manifests whose names begin so."""
    found: dict[str, dict[str, str]] = {}
    for name in sorted(look.files):
        if "/" in name or not name.startswith(begins) or not name.endswith(".txt"):
            continue
        algorithm = name.removeprefix(begins).removesuffix(".txt")
        if algorithm in ALGORITHMS:
            found[algorithm] = _lines(look, name, algorithm, begins == "manifest-")
        else:
            look.fault(BagFaultKind.MANIFEST, name, "its kind of checksum is not known here")
    return found


def _lines(look: _Look, manifest: str, algorithm: str, payload: bool) -> dict[str, str]:
    sums: dict[str, str] = {}
    keys: dict[str, str] = {}
    for number, raw in enumerate(look.bag.lines(manifest, LINE_MOST), start=1):
        at = f"line {number}"
        try:
            line = raw.decode("utf-8").rstrip("\r\n")
        except UnicodeDecodeError:
            look.fault(BagFaultKind.ENCODING, manifest, f"{at} is not UTF-8; nothing after it read")
            break
        parsed = parse_line(line, look.version == "1.0")
        if parsed is None or len(parsed[0]) != 2 * hashlib.new(algorithm).digest_size:
            look.fault(
                BagFaultKind.MANIFEST, manifest, f"{at} is no checksum and name; nothing after read"
            )
            break
        digest, name = parsed
        why = name_fault(name)
        if why:
            look.fault(BagFaultKind.NAME, name, f"{manifest}, {at}: {why}; refused")
        elif payload != name.startswith("data/"):
            look.fault(BagFaultKind.MANIFEST, name, f"{manifest}, {at}: does not belong there")
        elif keys.setdefault(same_key(name), name) != name:
            look.fault(BagFaultKind.TWIN, name, f"{manifest}, {at}: twin of an earlier line")
        elif name in sums:
            look.fault(BagFaultKind.DUPLICATE, name, f"{manifest}, {at}: is listed twice")
        else:
            sums[name] = digest
    return sums


def _all_signed(look: _Look, tags: Mapping[str, Mapping[str, str]]) -> None:
    """A signature covers what its manifest names: every other tag file must be in it, and another
    tag manifest, which none may list, was not there when it was signed."""
    covered = tags.get("sha256", {})
    for name in sorted(look.files):
        outside = name.startswith("data/") or name in (SIGNATURE, TAG_MANIFEST)
        if not outside and name not in covered:
            look.fault(BagFaultKind.ADDED, name, "is not among the files that were signed")


def _oxum(look: _Look) -> None:
    """Payload-Oxum of bag-info.txt (RFC 8493 2.2.2): bytes and files of the payload."""
    if "fetch.txt" in look.files:
        look.fault(BagFaultKind.FETCH, "fetch.txt", "names files elsewhere; nothing is fetched")
    if "bag-info.txt" not in look.files:
        return
    data = [size for name, size in look.files.items() if name.startswith("data/")]
    real = f"{sum(data)}.{len(data)}"
    for raw in look.bag.lines("bag-info.txt", LINE_MOST):
        if not raw.lower().startswith(b"payload-oxum:"):
            continue
        said = plain(raw[13:].decode("utf-8", "replace").strip())
        if OXUM.fullmatch(said):
            look.most = int(said.partition(".")[0])
        if said != real:
            look.fault(BagFaultKind.OXUM, "bag-info.txt", f"Payload-Oxum {said}, but it is {real}")


def _compare(
    look: _Look,
    payload: Mapping[str, Mapping[str, str]],
    tags: Mapping[str, Mapping[str, str]],
    progress: Progress,
) -> None:
    listed: dict[str, dict[str, str]] = {}
    for algorithm, sums in (*payload.items(), *tags.items()):
        for name, digest in sums.items():
            listed.setdefault(name, {})[algorithm] = digest
    missing = {name: sums for name, sums in listed.items() if name not in look.files}
    added: list[str] = []
    look.sizes = _sizes(look)
    for number, name in enumerate(sorted(look.files)):
        progress(number, len(look.files), name)
        if name in listed:
            _held(look, name, listed[name])
            if look.version == "1.0":
                _in_all(look, name, payload)
        elif name.startswith("data/"):
            added.append(name)
    _moved(look, missing, added)
    progress(len(look.files), len(look.files), "")


def _held(look: _Look, name: str, sums: Mapping[str, str]) -> None:
    """A file that has another size than it was packed with, or is larger than all were together,
    is not read: 10 GB of zeros cost nothing."""
    size, packed = look.files[name], look.sizes.get(name)
    short = f"holds {size} bytes" if packed is None else f"holds {size} of {packed} bytes"
    if packed is None and name.startswith("data/") and look.most is not None and size > look.most:
        note = f"holds {size} bytes, more than Payload-Oxum says of all files; not read"
        look.fault(BagFaultKind.CHANGED, name, note)
    elif packed is not None and size > packed:
        look.fault(BagFaultKind.CHANGED, name, f"holds {size} bytes, and {packed} were packed")
    elif packed is not None and size < packed:
        look.fault(BagFaultKind.TRUNCATED, name, short)
    elif look.bag.hashes(name, tuple(sums)) != tuple(sums.values()):
        if size:
            look.fault(BagFaultKind.CHANGED, name, "is not what was packed")
        else:
            look.fault(BagFaultKind.TRUNCATED, name, short)


def _sizes(look: _Look) -> dict[str, int]:
    """Sizes of files as they were packed, where the bag says them. A bag whose record says another
    size than its file has is not whole, whichever of the two was changed."""
    size = look.files.get(RECORD, SIZES_MOST)
    if size >= SIZES_MOST:
        return {}
    try:
        made = json.loads(look.bag.read(RECORD, size))
        return {str(one["path"]): int(one["bytes"]) for one in made["files"]}
    except (ValueError, LookupError, TypeError, RecursionError):
        return {}


def _in_all(look: _Look, name: str, payload: Mapping[str, Mapping[str, str]]) -> None:
    """From version 1.0 on every payload manifest lists every file (RFC 8493 2.1.3)."""
    lacking = [kind for kind, sums in payload.items() if name not in sums]
    if name.startswith("data/") and lacking:
        look.fault(BagFaultKind.MANIFEST, name, f"manifest-{lacking[0]}.txt does not list it")


def _moved(look: _Look, missing: Mapping[str, Mapping[str, str]], added: list[str]) -> None:
    """Files that are not listed, and listed ones that are not there; the same bytes: renamed."""
    kinds = tuple({kind for sums in missing.values() for kind in sums})
    left = dict(missing)
    for name in added:
        like = any(look.sizes.get(one, look.files[name]) == look.files[name] for one in left)
        small = look.most is None or look.files[name] <= look.most
        worth = like and small
        have = dict(zip(kinds, look.bag.hashes(name, kinds), strict=True)) if worth else {}
        was = next((one for one, sums in left.items() if sums.items() <= have.items()), None)
        if was is None:
            look.fault(BagFaultKind.ADDED, name, "is in no manifest")
        else:
            del left[was]
            look.fault(BagFaultKind.RENAMED, name, f"was packed as {plain(was)}")
    for name in left:
        look.fault(BagFaultKind.MISSING, name, "is listed and not there")
