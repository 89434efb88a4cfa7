"""The part of a visit's fold that keeps account of photographs with passwords on them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from asfound.model.journal import Entry
from asfound.model.reading import Reading
from asfound.model.visit import HiddenPicture, SecretPicture, VisitState


def with_secrets_of(state: VisitState, reading: Reading, entry: Entry) -> VisitState:
    """The state after ``reading`` was recorded: its photographs that may show secrets are
    outstanding, also those hidden before whose original was read in, and so stored, again."""
    fresh = [
        SecretPicture(photo.sha256, photo.file, photo.page, photo.secrets, damaged=photo.damaged)
        for photo in reading.photos
        if photo.secrets and photo.sha256 and not photo.original
    ]
    shown = {photo.sha256 for photo in reading.photos}
    fresh += [
        SecretPicture(name, "", None, (), spare=True) for name in reading.spare if name not in shown
    ]
    known = {item.sha256 for item in state.secret_pictures}
    added = {item.sha256: item for item in fresh if item.sha256 not in known}
    return replace(
        state,
        secret_pictures=(*state.secret_pictures, *added.values()),
        hidden=tuple(item for item in state.hidden if item.old not in added),
        secrets_entry=entry.seq if added else state.secrets_entry,
    )


def secrets_hidden(state: VisitState, entry: Entry) -> VisitState:
    """The state after copies with the secrets painted over took the photographs' places."""
    pairs = {item["old"]: item["new"] for item in entry.data["pictures"]}
    made = [HiddenPicture(old, new, entry.by, entry.at) for old, new in pairs.items()]
    rounds = tuple(replace(item, reading=with_copies(item.reading, pairs)) for item in state.rounds)
    return replace(
        state,
        as_found=with_copies(state.as_found, pairs) if state.as_found else None,
        rounds=rounds,
        secret_pictures=_without(state.secret_pictures, pairs),
        hidden=(*(item for item in state.hidden if item.old not in pairs), *made),
    )


def originals_removed(state: VisitState, entry: Entry) -> VisitState:
    """The state after originals, and frames that nobody needs, were deleted."""
    gone = set(entry.data["pictures"])
    return replace(
        state,
        secret_pictures=tuple(
            item for item in state.secret_pictures if not (item.spare and item.sha256 in gone)
        ),
        hidden=tuple(
            replace(item, removed=item.removed or item.old in gone) for item in state.hidden
        ),
    )


def outstanding(state: VisitState) -> tuple[SecretPicture, ...]:
    """Stored photographs that show, or may show, a secret."""
    return tuple(item for item in state.secret_pictures if not item.spare)


def pending_removals(state: VisitState) -> tuple[str, ...]:
    """Blobs that are still to be deleted: originals with a copy, and spare frames of clips."""
    readings = (state.as_found, *(item.reading for item in state.rounds))
    inside = {photo.sha256 for reading in readings if reading for photo in reading.photos}
    waiting = [item.old for item in state.hidden if not item.removed]
    spare = [item.sha256 for item in state.secret_pictures if item.spare]
    return tuple(name for name in (*waiting, *spare) if name not in inside)


def unplaced_text(item: SecretPicture) -> str:
    """Why it is not known what of a photograph to paint over."""
    if item.damaged:
        return "could not be opened whole, so its readable part may show any secret"
    if any(not spot.field for spot in item.spots):
        return "shows no page of the map, so it may show any secret"
    lost = ", ".join(spot.field for spot in item.spots if spot.outline is None)
    return f"shows {lost}, but where could not be told"


def with_copies(reading: Reading, pairs: Mapping[str, str]) -> Reading:
    """The reading on the copies: old SHA-256 -> new. Nothing else of it changes."""
    photos = tuple(
        replace(
            photo,
            sha256=pairs[photo.sha256],
            original=photo.sha256,
            fields=tuple(
                replace(field, photo=pairs.get(field.photo, field.photo)) for field in photo.fields
            ),
        )
        if photo.sha256 in pairs
        else photo
        for photo in reading.photos
    )
    fields = tuple(
        replace(field, photo=pairs.get(field.photo, field.photo)) for field in reading.fields
    )
    return replace(reading, photos=photos, fields=fields)


def _without(
    pictures: tuple[SecretPicture, ...], names: Mapping[str, str]
) -> tuple[SecretPicture, ...]:
    return tuple(item for item in pictures if item.sha256 not in names)
