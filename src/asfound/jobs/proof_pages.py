"""A proof to look at: a strip as one SVG, a contact sheet as one web page.

Both need nothing else: pictures are inside, nothing is fetched, no script runs.
"""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from functools import cache
from os.path import commonpath
from pathlib import PurePath

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from asfound.jobs.footage_strip import StripLook, length_of, strips
from asfound.jobs.proof_cards import cards
from asfound.jobs.report_pictures import Album
from asfound.jobs.report_proof import proof_data
from asfound.jobs.report_texts import Row, count, when, zone
from asfound.jobs.strip_drawing import NARROW, WIDE, Layout, drawing, millimetres
from asfound.model.finding import Expectation, Proof, ProofVerdict
from asfound.ports.blobs import Blobs
from asfound.ports.pictures import Pictures
from asfound.version import VERSION

MOST_EVIDENCE = 300
"""Findings shown with a picture: a page of about 10 MB; the others are told in words."""

SENTENCES = {
    ProofVerdict.RECORDS: "Every channel records as it should.",
    ProofVerdict.FAULTS: "There are faults.",
    ProofVerdict.UNCLEAR: "Not everything could be judged: somebody has to look.",
}


@dataclass(frozen=True, slots=True)
class ShowProof:
    """A proof, what was expected, when it is shown (aware), and the IANA zone of its times."""

    proof: Proof
    made_at: datetime
    expectation: Expectation | None = None
    zone: str = "UTC"


@cache
def _environment() -> Environment:
    made = Environment(
        loader=PackageLoader("asfound", "data"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters["mm"] = millimetres
    return made


def strip_svg(request: ShowProof, *, blobs: Blobs, pictures: Pictures) -> str:
    """The strip of channels by time, with findings and pictures. Raises InputError (zone)."""
    request, folder = shortened(request)
    album = Album(blobs, pictures)
    drawn = drawing(_axes(request, album, WIDE), WIDE)
    data = _head(request, folder) | {"drawing": drawn, "images": _images(album)}
    return _environment().get_template("strip.svg.j2").render(data)


def proof_sheet(request: ShowProof, *, blobs: Blobs, pictures: Pictures) -> str:
    """The contact sheet as HTML, for phone, desk and paper. Raises InputError (zone)."""
    request, folder = shortened(request)
    proof, bare = _fewer_pictures(request.proof)
    request = replace(request, proof=proof)
    album = Album(blobs, pictures)
    look = _look(request, album, WIDE)
    section = proof_data(request.proof, request.expectation, (), look)
    drawings = [drawing(_axes(request, album, layout), layout) for layout in (WIDE, NARROW)]
    channels, more = cards(request.proof, section, album)
    data = _head(request, folder) | {
        "section": section,
        "drawings": drawings,
        "channels": channels,
        "more": more,
        "bare": bare,
        "facts": _facts(request.proof, section),
        "images": _images(album),
    }
    return _environment().get_template("proof-sheet.html.j2").render(data)


def shortened(request: ShowProof) -> tuple[ShowProof, str]:
    """The same with names of files counted from the folder that holds all of them, and it."""
    parents = {str(PurePath(item.file).parent) for item in request.proof.recordings}
    try:
        folder = commonpath(parents) if parents else ""
    except ValueError:  # some begin at the root and some do not: nothing in common
        folder = ""
    if folder in ("", ".", "/"):
        return request, ""
    prefix = folder + "/"
    recordings = tuple(
        replace(
            item,
            file=item.file.removeprefix(prefix),
            findings=tuple(
                replace(found, note=found.note.replace(prefix, "")) for found in item.findings
            ),
            unclear=tuple(line.replace(prefix, "") for line in item.unclear),
        )
        for item in request.proof.recordings
    )
    return replace(request, proof=replace(request.proof, recordings=recordings)), folder


def _fewer_pictures(proof: Proof) -> tuple[Proof, int]:
    """The proof with at most MOST_EVIDENCE pictures of findings, and how many it had more."""
    left, bare = MOST_EVIDENCE, 0
    recordings = []
    for item in proof.recordings:
        findings = []
        for found in item.findings:
            keep = found.evidence if left > 0 else ""
            bare += bool(found.evidence) - bool(keep)
            left -= bool(keep)
            findings.append(replace(found, evidence=keep))
        recordings.append(replace(item, findings=tuple(findings)))
    return replace(proof, recordings=tuple(recordings)), bare


def _look(request: ShowProof, album: Album, layout: Layout) -> StripLook:
    return StripLook(zone(request.zone), _names(request), album, layout.strip, layout.scale)


def _axes(request: ShowProof, album: Album, layout: Layout) -> Sequence[Row]:
    return strips(request.proof.recordings, _look(request, album, layout))


def _names(request: ShowProof) -> dict[int, str]:
    expected = request.expectation.channels if request.expectation else ()
    return {item.channel: item.name for item in expected if item.name}


def _head(request: ShowProof, folder: str) -> Row:
    proof = request.proof
    return {
        "verdict": proof.verdict.value,
        "folder": folder,
        "sentence": SENTENCES[proof.verdict],
        "missing": list(proof.missing_channels),
        "undrawn": sum(length_of(item) is None for item in proof.recordings),
        "made": when(request.made_at, zone(request.zone)),
        "version": VERSION,
    }


def _facts(proof: Proof, section: Row) -> list[Row]:
    hours = sum(item.duration_s or 0.0 for item in proof.recordings) / 3600
    length = f"{hours:.1f} h" if hours >= 1 else f"{hours * 60:.1f} min"
    known = {item.channel for item in proof.recordings if item.channel is not None}
    found = len(proof.findings())
    unclear = section["unclear"]
    doubts = len(unclear) if isinstance(unclear, list) else 0
    return [
        {"figure": str(len(proof.recordings)), "word": _noun(len(proof.recordings), "recording")},
        {"figure": str(len(known)), "word": _noun(len(known), "channel")},
        {"figure": length, "word": "in all"},
        {"figure": str(found), "word": _noun(found, "finding")},
        {"figure": str(doubts), "word": _noun(doubts, "doubt")},
    ]


def _noun(number: int, one: str) -> str:
    return count(number, one).partition(" ")[2]


def _images(album: Album) -> dict[str, Markup]:
    """The album's pictures as data URIs (RFC 2397), by name."""
    return {
        name: Markup("data:image/jpeg;base64," + b64encode(data).decode("ascii"))
        for name, data in album.files.items()
    }
