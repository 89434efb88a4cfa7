"""The contact sheet's cards: each recording with its pictures, those to look at first."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from asfound.jobs.footage_strip import PICTURE_PX
from asfound.jobs.report_pictures import Album
from asfound.jobs.report_texts import Row, seconds_text
from asfound.model.finding import Proof, Recording

MOST_CARDS = 240
"""Recordings shown with pictures: a page of about 12 MB; the others are counted."""


@dataclass(frozen=True, slots=True)
class Card:
    """One recording: its row of facts (jobs/report_proof.py) and its pictures."""

    facts: Row
    shots: tuple[Row, ...]


@dataclass(frozen=True, slots=True)
class ChannelCards:
    """All cards of one channel; ``channel`` is "?" where it is not known."""

    channel: str
    name: str
    cards: tuple[Card, ...]


def cards(proof: Proof, section: Row, album: Album) -> tuple[list[ChannelCards], int]:
    """Channels with their cards, and how many recordings are left out.

    Where there are too many, recordings with findings or doubts come before the others.
    """
    by_key = {(_channel(item), item.file): item for item in proof.recordings}
    rows = section["facts"]
    pairs = [
        (row, by_key.get((row["channel"], row.get("file"))))
        for row in (rows if isinstance(rows, list) else [])
    ]
    chosen = _chosen([recording for _, recording in pairs])
    by_channel: dict[str, list[Card]] = {}
    names: dict[str, str] = {}
    for number, (row, recording) in enumerate(pairs):
        if number in chosen:
            shots = () if recording is None else _shots(recording, album)
            by_channel.setdefault(row["channel"], []).append(Card(row, shots))
            names[row["channel"]] = row["name"]
    # "?" comes last, the numbers in their order.
    order = sorted(by_channel, key=lambda channel: (not channel.isdigit(), channel.zfill(4)))
    made = [ChannelCards(name, names[name], tuple(by_channel[name])) for name in order]
    return made, len(pairs) - len(chosen)


def _chosen(recordings: Sequence[Recording | None]) -> frozenset[int]:
    order = sorted(
        range(len(recordings)),
        key=lambda n: (recordings[n] is not None and not _odd(recordings[n]), n),
    )
    return frozenset(order[:MOST_CARDS])


def _odd(recording: Recording | None) -> bool:
    return recording is not None and bool(recording.findings or recording.unclear)


def _shots(recording: Recording, album: Album) -> tuple[Row, ...]:
    return tuple(
        {"at": seconds_text(second), "shot": album.whole(sha256, PICTURE_PX)}
        for second, sha256 in recording.thumbnails
    )


def _channel(recording: Recording) -> str:
    return "?" if recording.channel is None else str(recording.channel)
