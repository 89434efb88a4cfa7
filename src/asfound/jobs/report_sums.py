"""What the sums say of the agreed settings: a point of the verdict, and a list."""

from __future__ import annotations

from asfound.jobs.report_texts import Row, count
from asfound.model.menu_map import MenuMap
from asfound.model.sums import SettingFault
from asfound.model.visit import VisitState

ASK = "Do the agreed settings keep what was promised?"
BROKEN = frozenset(
    {
        SettingFault.TOO_FEW_DAYS, SettingFault.MAY_BE_TOO_FEW_DAYS,
        SettingFault.MORE_DAYS_THAN_LAWFUL, SettingFault.PROMISED_MORE_THAN_LAWFUL,
        SettingFault.EVENT_RESERVE_TOO_SMALL, SettingFault.EVENTS_KEPT_TOO_LONG,
        SettingFault.DELETED_TOO_SOON, SettingFault.STOPS_WHEN_FULL, SettingFault.EVENTS_ONLY,
        SettingFault.CAMERA_OFF,
    }
)  # fmt: skip
"""What breaks a promise or the law; the others are advice."""


def sums_point(state: VisitState) -> Row | None:
    """The point; None where no sums were made (no plan, or one from before there were any)."""
    if state.sums is None:
        return None
    broken = [one.note for one in state.sums.findings if one.kind in BROKEN]
    advice = len(state.sums.findings) - len(broken)
    more = f" There is advice on {count(advice, 'setting')} (chapter 3)." if advice else ""
    if broken:
        return _point("bad", f"No: {'; '.join(broken)}.{more}")
    if not any(name == "days kept" for name in state.sums.held):
        return _point("unclear", f"Not known: how many days are kept could not be told.{more}")
    if advice:
        return _point("note", f"Yes, as far as sums can tell.{more}")
    return _point("good", "Yes, as far as sums can tell.")


def _point(tone: str, answer: str) -> Row:
    return {"tone": tone, "question": ASK, "answer": answer}


def sums_data(state: VisitState, menu_map: MenuMap) -> Row:
    """{"made", "rows": [{"note", "settings", "source", "tone"}], "held", "left_out"}."""
    sums = state.sums
    if sums is None:
        return {"made": False, "rows": [], "held": "", "left_out": []}
    labels = {field.id: field.label for field in menu_map.fields}
    rows = []
    for one in sums.findings:
        names = list(dict.fromkeys(labels.get(name, name) for name in one.fields))
        rows.append(
            {
                "note": one.note,
                "settings": ", ".join(names),
                "source": one.source,
                "tone": "bad" if one.kind in BROKEN else "note",
            }
        )
    return {
        "made": True, "rows": rows, "held": ", ".join(sums.held), "left_out": list(sums.left_out),
    }  # fmt: skip
