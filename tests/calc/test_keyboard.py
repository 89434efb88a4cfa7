"""Fewest presses on the on-screen keyboard: against a search over single presses."""

from __future__ import annotations

from collections import deque

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests.small_maps import keyboards, typed_characters

from asfound.calc.key_values import Presses
from asfound.calc.keyboard import neighbour, types, typing, walks
from asfound.model.menu_map import Keyboard

State = tuple[int, int, bool, str]
LONGEST = 3


def moved(board: Keyboard, row: int, column: int, key: str) -> tuple[int, int]:
    """Written apart from the planner: one press of a direction key."""
    rows = board.rows
    if key in "LR":
        column += 1 if key == "R" else -1
        if not 0 <= column < len(rows[row]):
            column = column % len(rows[row]) if board.wrap else (0 if column < 0 else column - 1)
        return row, column
    row += 1 if key == "D" else -1
    if not 0 <= row < len(rows):
        row = row % len(rows) if board.wrap else (0 if row < 0 else row - 1)
    return row, min(column, len(rows[row]) - 1)


def pressed(board: Keyboard, state: State) -> State:
    row, column, shift, text = state
    cap = board.rows[row][column]
    if cap == "SHIFT":
        return row, column, not shift, text
    if cap == "DELETE":
        return row, column, shift, text[:-1]
    if cap == "CLEAR":
        return row, column, shift, ""
    char = " " if cap == "SPACE" else cap.swapcase() if shift else cap
    return row, column, shift, (text + char)[:LONGEST]


def searched(board: Keyboard, present: str, wanted: str) -> int | None:
    """Fewest presses by breadth-first search, the opening one included."""
    start: State = (*board.start, False, "" if board.opens_empty else present)
    far = {start: 1}
    queue = deque([start])
    while queue:
        state = queue.popleft()
        row, column, shift, text = state
        if board.rows[row][column] == "DONE":
            if text == wanted:
                return far[state] + 1
            nexts = []
        else:
            nexts = [pressed(board, state)]
        nexts += [(*moved(board, row, column, key), shift, text) for key in "UDLR"]
        for there in nexts:
            if there not in far:
                far[there] = far[state] + 1
                queue.append(there)
    return None


def typed_by(board: Keyboard, present: str, presses: Presses) -> str | None:
    """What stands in the field after ``presses``; None when the keyboard is still open."""
    assert presses[0][0] == "ok"
    state: State = (*board.start, False, "" if board.opens_empty else present)
    singles = [name for name, times in presses for _ in range(times)][1:]
    for number, name in enumerate(singles):
        row, column, shift, text = state
        if name != "ok":
            letter = {"up": "U", "down": "D", "left": "L", "right": "R"}[name]
            state = (*moved(board, row, column, letter), shift, text)
        elif board.rows[row][column] == "DONE":
            return text if number == len(singles) - 1 else None
        else:
            state = pressed(board, state)
    return None


@settings(max_examples=120, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.data())
def test_typing_takes_as_few_presses_as_a_search_finds(data: st.DataObject) -> None:
    board = data.draw(keyboards())
    texts = st.text(typed_characters(board) or "a", max_size=LONGEST)
    present, wanted = data.draw(texts), data.draw(texts)
    presses = typing(board, present, wanted)
    fewest = searched(board, present, wanted)
    if presses is None:
        assert fewest is None
        return
    assert typed_by(board, present, presses) == wanted
    assert sum(times for _, times in presses) == fewest


QWERTY = Keyboard(
    (
        tuple("1234567890"),
        tuple("qwertyuiop"),
        tuple("asdfghjkl-"),
        tuple("zxcvbnm._/"),
        ("SPACE", "SHIFT", "DELETE", "CLEAR", "DONE"),
    )
)


def presses_in(presses: Presses | None) -> int:
    assert presses is not None
    return sum(times for _, times in presses)


def test_texts_worked_out_by_hand() -> None:
    # Open, one down to q and press, one right to w and press, three right and three down to
    # DONE, press.
    assert presses_in(typing(QWERTY, "", "qw")) == 1 + 2 + 2 + 6 + 1
    # Open, four down and two right to DELETE, press, back up left and one on to 2, press, then
    # four down and three right to DONE, press.
    assert presses_in(typing(QWERTY, "Depot 1", "Depot 2")) == 1 + 6 + 1 + 5 + 1 + 7 + 1
    # CLEAR is one further than DELETE, but one press there instead of 23.
    kept = typing(QWERTY, "Depot 1 behind the hall", "1")
    assert presses_in(kept) == 1 + 7 + 1 + 7 + 1 + 8 + 1
    # SHIFT stays on: to SHIFT and press, up to A, S on the right of it, then DONE.
    assert presses_in(typing(QWERTY, "", "AS")) == 1 + (5 + 1) + (3 + 1) + (1 + 1) + (5 + 1)


def test_what_has_no_cap_cannot_be_typed() -> None:
    assert typing(QWERTY, "", "ä") is None
    assert typing(Keyboard((("a", "DONE"),)), "b", "a") is None
    assert typing(Keyboard((("a", "DONE"),), opens_empty=True), "b", "a") is not None
    assert typing(Keyboard((("a", "DONE"),)), "", " A") is None


@pytest.mark.parametrize(
    ("cap", "shift", "char"),
    [("a", True, "A"), ("A", True, "a"), ("1", True, "1"), ("ß", True, "ß"), ("SPACE", True, " ")],
)
def test_shift_types_the_other_case(cap: str, shift: bool, char: str) -> None:
    assert types(cap, shift) == char
    assert types("DONE", shift) == ""


@given(keyboards())
def test_walks_lead_where_they_say(board: Keyboard) -> None:
    for cell, presses in walks(board, board.start).items():
        at = board.start
        for name, times in presses:
            for _ in range(times):
                at = neighbour(board, at, name)
        assert at == cell
