"""The verdict box: what an operator wants to know, in plain words, never better than known."""

from __future__ import annotations

from collections.abc import Sequence

from asfound.jobs.report_coverage import coverage_point
from asfound.jobs.report_proof import unclear_lines
from asfound.jobs.report_sums import sums_point
from asfound.jobs.report_texts import KIND_WORDS, Row, count, sentences
from asfound.model.difference import OPEN, Verdict
from asfound.model.finding import Proof
from asfound.model.visit import VisitState

MOST_LINES = 10
"""As many cameras or files the verdict names; the rest is counted."""

GOOD, BAD, UNCLEAR, NOTE = "good", "bad", "unclear", "note"


def verdict_data(state: VisitState, channels: Sequence[int]) -> Row:
    """{"tone", "headline", "points": [{"tone", "question", "answer"}]}.

    The headline is good only when the visit is closed and every point is good.
    """
    points = [_settings(state), _recording(state.proof, channels)]
    hours = coverage_point(state)
    points += [hours] if hours is not None else []
    promised = sums_point(state)
    points += [promised] if promised is not None else []
    points += [_doubts(state), _overrides(state), _holds(state), _steps(state)]
    tones = [point["tone"] for point in points]
    if BAD in tones:
        tone, headline = BAD, "Not everything is as agreed."
    elif UNCLEAR in tones:
        tone, headline = UNCLEAR, "Some things could not be told."
    elif not state.closed:
        tone, headline = UNCLEAR, "Nothing is amiss so far."
    elif NOTE in tones:
        tone, headline = NOTE, "Everything is as agreed, with the exceptions stated here."
    else:
        tone, headline = GOOD, "Everything is as agreed."
    if not state.closed:
        headline += " The visit is still open, so this is a draft."
    return {"tone": tone, "headline": headline, "points": points}


def _point(tone: str, question: str, answer: str) -> Row:
    return {"tone": tone, "question": question, "answer": answer}


def _settings(state: VisitState) -> Row:
    ask = "Are all settings as agreed?"
    last = state.rounds[-1] if state.rounds else None
    if last is None:
        return _point(UNCLEAR, ask, "Not known: the settings were not photographed as left.")
    if last.difference is None:
        return _point(UNCLEAR, ask, "Not known: the last photographs were not compared.")
    counts = last.difference.counts()
    wrong = sum(counts[verdict] for verdict in OPEN if verdict is not Verdict.DOUBT)
    doubt, free = counts[Verdict.DOUBT], counts[Verdict.NO_TARGET]
    clocks = counts[Verdict.CLOCK]
    tail = f" For {count(free, 'setting')} nothing was agreed." if free else ""
    if clocks:
        noun = (
            "The clock runs by itself and was"
            if clocks == 1
            else "Clocks run by themselves and were"
        )
        tail += f" {noun} not compared."
    if wrong:
        more = f", and {doubt} could not be told" if doubt else ""
        text = (
            f"No: {count(wrong, 'setting')} {'is' if wrong == 1 else 'are'} not as agreed"
            f"{more}.{tail}"
        )
        return _point(BAD, ask, text)
    if doubt:
        return _point(UNCLEAR, ask, f"Not known for {count(doubt, 'setting')}.{tail}")
    same = counts[Verdict.SAME]
    if not same:
        return _point(UNCLEAR, ask, f"Not known: no setting has an agreed value.{tail}")
    rounds = len(state.rounds)
    again = f", after {rounds} rounds of photographs" if rounds > 1 else ""
    if same > 1:
        text = f"Yes: all {same} settings with an agreed value are so{again}.{tail}"
    else:
        text = f"Yes: the only setting with an agreed value is so{again}.{tail}"
    return _point(GOOD, ask, text)


def _recording(proof: Proof | None, channels: Sequence[int]) -> Row:
    ask = "Does each camera record?"
    if proof is None:
        return _point(
            UNCLEAR, ask, "Not known: no recording made since the last change was looked at."
        )
    faults = _fault_lines(proof)
    unclear = unclear_lines(proof, channels)
    more = f"For {count(len(unclear), 'point')} it could not be told." if unclear else ""
    if faults:
        return _point(BAD, ask, sentences(f"No: {'; '.join(faults)}.", more))
    if proof.verdict.value == "faults":
        return _point(BAD, ask, sentences("No: the proof found faults.", more))
    if unclear or not proof.recordings:
        return _point(UNCLEAR, ask, sentences("Not known for sure.", more))
    seen = {recording.channel for recording in proof.recordings}
    which = f"all {len(seen)} cameras record" if len(seen) > 1 else "the camera records"
    return _point(GOOD, ask, f"Yes: {which}, and no fault was found in the recordings.")


def _fault_lines(proof: Proof) -> list[str]:
    """One phrase a channel: "camera 6: no camera signal, picture stands still"."""
    kinds: dict[str, list[str]] = {}
    for recording, finding in proof.findings():
        who = recording.file if recording.channel is None else f"camera {recording.channel}"
        kinds.setdefault(who, []).append(KIND_WORDS[finding.kind])
    lines = [f"{who}: {', '.join(dict.fromkeys(words))}" for who, words in kinds.items()]
    lines += [f"camera {channel}: no recording found" for channel in proof.missing_channels]
    if len(lines) > MOST_LINES:
        more = len(lines) - MOST_LINES
        lines = [*lines[:MOST_LINES], f"and {count(more, 'more place')}, listed below"]
    return lines


def _doubts(state: VisitState) -> Row:
    ask = "Was everything read before it was touched?"
    if state.as_found is None:
        return _point(UNCLEAR, ask, "No: the settings were not photographed as found.")
    settled = {item.id for item in state.settled}
    left = [item for item in state.as_found.doubts() if item.id not in settled]
    missing = len(state.as_found.missing_pages)
    if left or missing:
        text = f"Not wholly: {count(len(left), 'setting')} not known as found"
        if missing:
            text += f", {count(missing, 'page')} not photographed"
        return _point(UNCLEAR, ask, text + ".")
    total = len(state.as_found.fields)
    if not total:
        return _point(UNCLEAR, ask, "No: the photographs as found show no settings.")
    by_person = f"; a person settled {count(len(settled), 'value')}" if settled else ""
    return _point(GOOD, ask, f"Yes: {count(total, 'setting')} read from photographs{by_person}.")


def _overrides(state: VisitState) -> Row:
    ask = "Was any safeguard passed over?"
    if not state.overrides:
        return _point(GOOD, ask, "No.")
    names = ", ".join(dict.fromkeys(item.by for item in state.overrides))
    times = count(len(state.overrides), "time")
    return _point(NOTE, ask, f"Yes, {times}, by {names}; the reasons are given below.")


def _holds(state: VisitState) -> Row:
    ask = "Does footage have to be kept?"
    active = sum(hold.active for hold in state.holds)
    if active:
        return _point(
            NOTE,
            ask,
            f"Yes: {count(active, 'hold')} {'is' if active == 1 else 'are'} in force. "
            "Do not wipe or swap.",
        )
    if state.holds:
        return _point(GOOD, ask, f"No longer: {count(len(state.holds), 'hold')} released.")
    return _point(GOOD, ask, "No hold is known for this vehicle.")


def _steps(state: VisitState) -> Row:
    ask = "Were all steps done?"
    steps = state.procedure.steps
    open_steps = [step.title for step in steps if not state.is_done(step.id)]
    if not steps:
        return _point(UNCLEAR, ask, "Not known: the procedure has no steps.")
    if open_steps:
        text = f"No: {count(len(open_steps), 'step')} of {len(steps)} open, next “{open_steps[0]}”."
        return _point(UNCLEAR, ask, text)
    return _point(GOOD, ask, f"Yes: all {len(steps)} steps of “{state.procedure.title}”.")
