"""Settling doubts one key each: what is asked, what a key means, and how to take it back.

Pure: a session is a value; every answer gives a new one, and ``undone`` gives the one before.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace
from typing import Literal

from asfound.calc.open_values import unlisted, value_problem
from asfound.model.kinds import Choice, FieldType, Number, Secret, Switch
from asfound.model.menu_map import Field, MenuMap
from asfound.model.reading import Box, FieldReading, Reading, State
from asfound.model.values import problem, shown

MOST_OFFERS = 9
"""One for each of the keys 1 to 9."""

Act = Literal["answer", "type", "skip", "undo", "picture", "stop", "unknown"]


@dataclass(frozen=True, slots=True)
class Offer:
    """A value on a key of its own. ``read``: it was recognised; else it is only allowed.
    ``unlisted``: the drafted map does not list it yet."""

    value: str
    text: str
    read: bool
    unlisted: bool = False


@dataclass(frozen=True, slots=True)
class Question:
    """One field without a certain value. ``number`` of ``pages``: its page in menu order.

    ``secret``: its picture must not be shown. ``box`` is in pixels of ``photo`` (SHA-256).
    ``drafted`` is the field's own: what a draft leaves open.
    """

    id: str
    label: str
    kind: FieldType
    page: str
    number: int
    pages: int
    state: State
    reason: str
    offers: tuple[Offer, ...]
    box: Box | None
    photo: str
    drafted: tuple[str, ...] = ()

    @property
    def secret(self) -> bool:
        """True for passwords and codes."""
        return isinstance(self.kind, Secret)


@dataclass(frozen=True, slots=True)
class Given:
    """What was done at question ``at``: the value given, None when it was skipped."""

    at: int
    value: str | None


@dataclass(frozen=True, slots=True)
class Settling:
    """A session: its questions, where it stands, and what was done, oldest first."""

    questions: tuple[Question, ...]
    at: int = 0
    past: tuple[Given, ...] = ()

    @property
    def current(self) -> Question | None:
        """The question that is asked now; None when all were."""
        return self.questions[self.at] if self.at < len(self.questions) else None

    def values(self) -> dict[str, str]:
        """Field id -> the value that a person gave."""
        return {self.questions[one.at].id: one.value for one in self.past if one.value is not None}

    def left(self) -> tuple[Question, ...]:
        """Questions without an answer, skipped ones among them."""
        known = self.values()
        return tuple(one for one in self.questions if one.id not in known)


@dataclass(frozen=True, slots=True)
class KeyPress:
    """What a key asks for; ``value`` is an answer's, ``hint`` says why a key does nothing."""

    act: Act
    value: str = ""
    hint: str = ""


def answered(session: Settling, value: str) -> Settling:
    """The session after ``value`` was given. Raises ValueError when it is none of the field."""
    asked = session.current
    if asked is None:
        raise ValueError("nothing is asked any more")
    if (wrong := value_problem(asked.kind, asked.drafted, value)) is not None:
        raise ValueError(wrong)
    return _on(session, value)


def skipped(session: Settling) -> Settling:
    """The session after the question was passed over. Raises ValueError when none is asked."""
    if session.current is None:
        raise ValueError("nothing is asked any more")
    return _on(session, None)


def undone(session: Settling) -> Settling:
    """The session before the last answer or skip; as it is when there was none."""
    if not session.past:
        return session
    return replace(session, at=session.past[-1].at, past=session.past[:-1])


def _on(session: Settling, value: str | None) -> Settling:
    past = (*session.past, Given(session.at, value))
    return replace(session, at=session.at + 1, past=past)


def key_press(session: Settling, key: str) -> KeyPress:
    """What ``key`` means now. A key that fits nothing changes nothing: Enter, too, because a
    value that is taken without looking is a guess."""
    asked, low = session.current, key.casefold()
    if low == "q":
        return KeyPress("stop")
    if low == "u":
        return KeyPress("undo") if session.past else KeyPress("unknown", hint="nothing to undo")
    if asked is None:
        return KeyPress("stop")
    if low in ("t", "s", "p"):
        acts: dict[str, Act] = {"t": "type", "s": "skip", "p": "picture"}
        return KeyPress(acts[low])
    if low == "b":
        empty = "blank" if asked.secret else ""
        wrong = problem(asked.kind, empty)
        return KeyPress("unknown", hint=f"not blank: {wrong}") if wrong else _answer(empty)
    if len(key) == 1 and key in "123456789":
        place = int(key) - 1
        if place < len(asked.offers):
            return _answer(asked.offers[place].value)
        return KeyPress("unknown", hint=f"there is no {key}; t types it in")
    return KeyPress("unknown", hint="press a number, or t b s u p q")


def _answer(value: str) -> KeyPress:
    return KeyPress("answer", value)


def questions(
    reading: Reading, settled: Collection[str], menu_map: MenuMap
) -> tuple[Question, ...]:
    """What a person has to settle, in menu order: doubts, unread values.

    Fields in ``settled`` are known. Those of a page that was not photographed are left out: a
    photograph answers them all.
    """
    shown_pages = [page for page in menu_map.pages if menu_map.page_fields(page, reading.firmware)]
    number = {page.id: count for count, page in enumerate(shown_pages, 1)}
    made = []
    for seen in reading.fields:
        if seen.id in settled or (seen.state is State.SURE and seen.value is not None):
            continue
        field, page = menu_map.field(seen.id), menu_map.page_of(seen.id)
        if page.id in reading.missing_pages:
            continue
        title = f"{page.group}: {page.title}" if page.group else page.title
        place = (title, number.get(page.id, 0), len(shown_pages))
        made.append(_question(seen, field, place))
    return tuple(made)


def _question(seen: FieldReading, field: Field, place: tuple[str, int, int]) -> Question:
    title, number, pages = place
    return Question(
        seen.id,
        seen.label,
        field.type,
        title,
        number,
        pages,
        seen.state,
        seen.reason,
        offers(field.type, seen, field.drafted),
        seen.box,
        seen.photo,
        field.drafted,
    )


def offers(kind: FieldType, seen: FieldReading, drafted: tuple[str, ...] = ()) -> tuple[Offer, ...]:
    """What was recognised, likeliest first, then what else a fixed list allows, while all of
    it has a key."""
    read = dict.fromkeys((*seen.candidates, *((seen.value,) if seen.value is not None else ())))
    good = [value for value in read if value_problem(kind, drafted, value) is None]
    made = [
        replace(_offer(kind, value, read=True), unlisted=unlisted(kind, drafted, value))
        for value in good[:MOST_OFFERS]
    ]
    more = [value for value in _allowed(kind) if value not in good]
    if len(made) + len(more) <= MOST_OFFERS:
        made += [_offer(kind, value, read=False) for value in more]
    return tuple(made)


def _offer(kind: FieldType, value: str, *, read: bool) -> Offer:
    text = value if isinstance(kind, Secret) else shown(kind, value)
    return Offer(value, text or "(blank)", read)


def _allowed(kind: FieldType) -> tuple[str, ...]:
    match kind:
        case Choice(options=options):
            return options
        case Switch():
            return ("on", "off")
        case Secret():
            return ("set", "blank")
        case Number(words=words):
            return words
        case _:
            return ()
