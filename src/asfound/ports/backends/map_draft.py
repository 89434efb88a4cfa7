"""Drafted menu maps as files: read as they stand, written new, or changed where they were
drafted while everything a person wrote stays, comments included."""

from __future__ import annotations

import json
import os
import re
import tempfile
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from asfound.errors import MapError
from asfound.model.draft import Draft, DraftPage
from asfound.model.kinds import (
    Choice,
    Date,
    FieldType,
    Host,
    IPv4,
    Level,
    Number,
    ReadOnly,
    Secret,
    Switch,
    Text,
    Time,
)
from asfound.model.menu_map import Field
from asfound.ports.backends import map_file as file
from asfound.ports.backends.disk import storage_error
from asfound.ports.backends.map_toml import field_of, keys_of, load_map
from asfound.ports.backends.toml_checked import load_toml

_HEADER = re.compile(r"\s*\[")
_PAGE = re.compile(r"\s*\[\[\s*page\s*\]\]")
_FIELD = re.compile(r"\s*\[\[\s*page\s*\.\s*field\s*\]\]")


def load_draft(path: Path) -> Draft:
    """The map in ``path`` with pages for each camera unrepeated. Raises what ``load_map`` does."""
    load_map(path)
    table = load_toml(path, file.MapFile, MapError)
    pages = tuple(
        DraftPage(
            page.id,
            page.title,
            tuple(field_of(entry, None) for entry in page.field),
            page.group,
            page.for_each_camera,
            tuple(page.drafted),
            page.check,
            page.seen,
        )
        for page in table.page
    )
    return Draft(
        table.id, table.maker, table.model, table.cameras, tuple(table.firmware),
        keys_of(table.keys), pages,
    )  # fmt: skip


def save_draft(draft: Draft, path: Path, onto: Path | None = None) -> None:
    """Write the map to ``path``, whole or not at all. With ``onto`` that file's text is kept
    wherever it says the same. Raises StorageError, and what ``load_draft`` does."""
    text = draft_text(draft) if onto is None else changed_text(draft, onto)
    try:
        handle, name = tempfile.mkstemp(".toml", "asfound-", path.parent)
        with os.fdopen(handle, "w", encoding="utf-8") as out:
            out.write(text)
            out.flush()
            os.fsync(out.fileno())
        Path(name).chmod(0o644)
        _checked(Path(name), onto)
        Path(name).replace(path)
    except OSError as error:
        raise storage_error(error, path) from None


def _checked(written: Path, onto: Path | None) -> None:
    """The new text must be a map before it takes the old one's place."""
    try:
        load_map(written)
    except MapError as error:
        written.unlink()
        if onto is None:
            raise
        first = str(error).replace(str(written), "it would have")
        raise MapError(f"{onto}: cannot be added to as it is written: {first}") from None


def draft_text(draft: Draft) -> str:
    """The map as a new file."""
    keys = draft.keys
    names = [f"{name} = {_quoted(getattr(keys, name))}" for name in _KEY_NAMES]
    names = [line for line in names if not line.endswith('""')]
    head = [
        "# Drafted by asfound from photographs. What `drafted` names is nobody's word yet:",
        "# look at it, correct it, and take `drafted` (with `check` and `seen`) out.",
        'format = "asfound-map/1"',
        f"id = {_quoted(draft.id)}",
        f"maker = {_quoted(draft.maker)}",
        f"model = {_quoted(draft.model)}",
        f"cameras = {draft.cameras}",
        f"firmware = {_listed(draft.firmware)}",
        "",
        "[keys]",
        *(["drafted = true    # placeholders: try the keys, see docs/menu-map.md"] * keys.drafted),
        f"layout = {_quoted(keys.layout)}",
        *names,
        f"save = {_quoted(keys.save)}",
    ]
    body = [line for page in draft.pages for line in _page_lines(page)]
    return "\n".join([*head, *body]) + "\n"


_KEY_NAMES = (
    "up", "down", "left", "right", "ok", "back", "minus", "plus", "next_page", "previous_page",
    "next_part", "previous_part",
)  # fmt: skip


def _page_lines(page: DraftPage) -> list[str]:
    lines = ["", *_page_head(page)]
    for item in page.fields:
        lines += ["", *field_lines(item)]
    return lines


def _page_head(page: DraftPage) -> list[str]:
    lines = ["[[page]]", f"id = {_quoted(page.id)}", f"title = {_quoted(page.title)}"]
    if page.group is not None:
        lines.append(f"group = {_quoted(page.group)}")
    if page.for_each_camera:
        lines.append("for_each_camera = true")
    if page.drafted:
        lines.append(f"drafted = {_listed(page.drafted)}")
    if page.check:
        lines.append(f"check = {_quoted(page.check)}")
    if page.seen:
        lines.append(f"seen = {page.seen}")
    return lines


def field_lines(item: Field) -> list[str]:
    """One row as TOML, its header first."""
    lines = ["[[page.field]]", f"id = {_quoted(item.id)}", f"label = {_quoted(item.label)}"]
    lines += [f'type = "{item.type.kind}"', *_kind_lines(item.type)]
    if item.default is not None:
        lines.append(f"default = {_quoted(item.default)}")
    if item.defaults:
        lines.append(f"defaults = {_table(item.defaults)}")
    for key in ("since", "until", "was", "means"):
        value = getattr(item, key)
        if value is not None:
            lines.append(f"{key} = {_quoted(value)}")
    if item.camera is not None:
        lines.append(f"camera = {item.camera}")
    if item.volatile:
        lines.append("volatile = true")
    if item.drafted:
        lines.append(f"drafted = {_listed(item.drafted)}")
    if item.check:
        lines.append(f"check = {_quoted(item.check)}")
    if item.seen:
        inner = ", ".join(f"{_quoted(value)} = {count}" for value, count in item.seen)
        lines.append(f"seen = {{ {inner} }}")
    return lines


def _kind_lines(kind: FieldType) -> list[str]:  # noqa: C901 (one plain case for each type)
    match kind:
        case Choice():
            lines = [f"options = {_listed(kind.options)}"]
            return [*lines, f"amounts = {_table(kind.amounts)}"] if kind.amounts else lines
        case Switch():
            return [f"on = {_quoted(kind.on)}", f"off = {_quoted(kind.off)}"]
        case Number():
            return list(_number_lines(kind))
        case Level():
            return [f"minimum = {kind.minimum}", f"maximum = {kind.maximum}"]
        case Time():
            return ["seconds = true"] if kind.seconds else []
        case Date():
            return [f"layout = {_quoted(kind.layout)}"]
        case IPv4():
            return ["padded = true"] if kind.padded else []
        case Host():
            return [f"max_length = {kind.max_length}"]
        case Text():
            lines = [f"max_length = {kind.max_length}"]
            return [*lines, f"alphabet = {_quoted(kind.alphabet)}"] if kind.alphabet else lines
        case Secret():
            return [f"max_length = {kind.max_length}", f"mask = {_quoted(kind.mask)}"]
        case ReadOnly():
            return [f"what = {_quoted(kind.what)}"]


def _number_lines(kind: Number) -> Iterator[str]:
    yield f"minimum = {kind.minimum}"
    yield f"maximum = {kind.maximum}"
    yield f"step = {kind.step}"
    if kind.decimals:
        yield f"decimals = {kind.decimals}"
    if kind.unit:
        yield f"unit = {_quoted(kind.unit)}"
    if kind.words:
        yield f"words = {_listed(kind.words)}"


def _quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def _listed(texts: Sequence[str]) -> str:
    return f"[{', '.join(_quoted(text) for text in texts)}]"


def _table(pairs: Sequence[tuple[str, str]]) -> str:
    return f"{{ {', '.join(f'{_quoted(a)} = {_quoted(b)}' for a, b in pairs)} }}"


@dataclass
class _Block:
    """Lines from one header to the next; ``added`` come behind its last key."""

    lines: list[str]
    added: list[str] = field(default_factory=list)

    def text(self) -> list[str]:
        """The lines; comments and blanks at the end belong to what follows."""
        end = len(self.lines)
        while end and (not self.lines[end - 1].strip() or self.lines[end - 1].startswith("#")):
            end -= 1
        return [*self.lines[:end], *self.added, *self.lines[end:]]


def changed_text(draft: Draft, onto: Path) -> str:
    """The text of ``onto`` with what ``draft`` has otherwise or more."""
    before = load_draft(onto)
    text = onto.read_text("utf-8-sig")
    blocks = _blocks(text)
    pages = [block for block in blocks if _PAGE.match(block.lines[0])]
    rows = [block for block in blocks if _FIELD.match(block.lines[0])]
    if len(pages) != len(before.pages) or len(rows) != sum(len(p.fields) for p in before.pages):
        raise MapError(f"{onto}: pages are not written as [[page]] tables; write them so to add")
    _head(blocks[0], before, draft)
    row = iter(rows)
    spots = {
        page.id: (block, [next(row) for _ in page.fields])
        for page, block in zip(before.pages, pages, strict=True)
    }
    known = {page.id: page for page in before.pages}
    last = blocks[-1] if not pages else spots[before.pages[0].id][0]
    for page in draft.pages:
        if page.id not in known:
            last.added += _page_lines(page)
            continue
        last = _change_page(known[page.id], page, spots[page.id])
    return "\n".join(line for block in blocks for line in block.text()) + "\n"


def _blocks(text: str) -> list[_Block]:
    blocks = [_Block([""])]
    for line in text.replace("\r\n", "\n").rstrip("\n").split("\n"):
        if _HEADER.match(line) and _is_header(line):
            blocks.append(_Block([line]))
        else:
            blocks[-1].lines.append(line)
    blocks[0].lines.pop(0)
    return blocks


def _is_header(line: str) -> bool:
    """A table's header, not a line inside a list that runs over several lines."""
    return re.fullmatch(r"\s*\[{1,2}\s*[A-Za-z0-9_.\s-]+\]{1,2}\s*(?:#.*)?", line) is not None


def _head(block: _Block, before: Draft, draft: Draft) -> None:
    text = "\n".join(block.lines)
    if draft.cameras != before.cameras:
        text = re.sub(r"(?m)^cameras\s*=\s*\d+", f"cameras = {draft.cameras}", text)
    if draft.firmware != before.firmware:
        new = f"firmware = {_listed(draft.firmware)}"
        text = re.sub(r"(?m)^firmware\s*=\s*\[[^\]]*\]", lambda _: new, text)
    block.lines = text.split("\n")


def _change_page(old: DraftPage, new: DraftPage, spot: tuple[_Block, list[_Block]]) -> _Block:
    """Write what changed; returns the page's last block, behind which a new page goes."""
    head, rows = spot
    if _page_head(old) != _page_head(new):
        head.lines = _rewritten(head.lines, _page_head(new))
    ids = {item.id: block for item, block in zip(old.fields, rows, strict=True)}
    was = {item.id: item for item in old.fields}
    last = head
    for item in new.fields:
        if item.id not in was:
            last.added += ["", *field_lines(item)]
            continue
        last = ids[item.id]
        old_item = was[item.id]
        if replace(old_item, default=item.default, defaults=item.defaults) == item:
            last.lines = _new_defaults(last.lines, old_item, item)
        elif item != old_item:
            last.lines = _rewritten(last.lines, field_lines(item))
    return rows[-1] if rows else head


def _new_defaults(lines: Sequence[str], old: Field, new: Field) -> list[str]:
    """The lines with other factory values; all else stays as a person wrote it."""
    kept, added = list(lines), []
    for key in ("default", "defaults"):
        if getattr(old, key) == getattr(new, key):
            continue
        kept = [line for line in kept if not re.match(rf"\s*{key}\s*=", line)]
        added += [line for line in field_lines(new) if line.startswith(f"{key} = ")]
    end = len(kept)
    while end and (not kept[end - 1].strip() or kept[end - 1].startswith("#")):
        end -= 1
    return [*kept[:end], *added, *kept[end:]]


def _rewritten(old: Sequence[str], new: Sequence[str]) -> list[str]:
    """The new lines with the old ones' header, comments, and what stood behind the last key."""
    end = len(old)
    while end and (not old[end - 1].strip() or old[end - 1].startswith("#")):
        end -= 1
    comments = [line for line in old[1:end] if line.lstrip().startswith("#")]
    return [old[0], *comments, *new[1:], *old[end:]]
