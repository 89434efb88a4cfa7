"""What the jobs say to people, found in their code: sentences with holes, for the catalogues.

A job says its sentence in English and the journal keeps it as it was said; pages in another
language recognise it by its words (web/phrases.py). So every sentence has to be in the
catalogue, under the context ``said``. Nothing is marked by hand: a text that somebody adds to a
job is found here, and lacks its translation until it has one.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterable, Iterator
from itertools import product
from pathlib import Path

from asfound.web.phrases import without_commands

UNSEEN = re.compile(
    r"""calc/(branches|draft_|firmware_(conflicts|text)|version_order|calibration|key_|fleet_faults|retake|clock_offset|allowed_texts|drive_limits)"""
    r"""|jobs/(evidence_(about|derive)|bag_(?!verify)|draft_|import_firmware|learn_defaults|cut_clip|drive_test|stick_image|report_(?!verdict|coverage|visit|proof)|report\.py|identity)"""
    r"""|jobs/drive_label|calc/drive_label|model/drive_register|ports/backends/store_drives"""
    r"""|jobs/(rekey_page|strip_drawing|proof_pages|visit_check|footage_strip|prove_clock_words)"""
    r"""|calc/stop_rule|model/rollout|ports/backends/rollout_toml"""
    r"""|ports/backends/(map_|toml_|new_file|remote_|video_av_cut|video_av_remux|workers_dask|ocr_rapid)"""
    r"""|ports/backends/(signatures_|maker_signatures|minisign_|x509_|store_aside|drive_space_|firmware_|fleet_toml|expect_toml|proof_json|results_sqlite|code_version)"""
    r"""|web/app\.py|model/(burned_clock|retake)"""
)
"""Modules that say nothing to whoever looks at pages: drafting, cutting and testing drives are
done on the command line, limits cite their sources as they are, the report on paper speaks
English, retake advice is listed in web/wording_photos.py, and faults of the fleet's files are for
whoever writes them."""

SPOKEN = re.compile(
    r"(jobs|calc|model)/|ports/(workers|video)"
    r"|ports/backends/(store_faults|disk|worker_process|video_av_(units|groups)|video_av\.py)"
    r"|ports/backends/(schedule_toml|pictures_pillow|video_files)|ports/documents"
)
"""Modules whose every text is looked at; of the others, what they raise as an error."""

FILES = "cli/home.py"
"""What the home folder's files are called, and what is wrong with them: pages say it, too."""

ONLY = {
    "jobs/report_coverage.py": ("coverage_point", "_kept", "_lacks", ""),
    "jobs/check_firmware.py": ("catalogue_findings",),
    "jobs/report_proof.py": ("unclear_lines", "_who"),
}
"""Of these modules, the functions that are named."""

ANSWERS = ("Yes", "No", "No.")

PLAIN_WORDS = re.compile(r"[a-z]{2,}( [a-z]+)*")

HOLE = re.compile(r"\{\w+\}")

NOT_SAID = frozenset(
    {
        "left",
        "found",
        "press a number, or t b s u p q",
        "there is no {key}; t types it in",
        "a remembered look",
        "menu map of visit {state_id}",
        "the file's own signature",
        "no drive in use pauses for a year (own choice)",
        "nothing is recorded later than now (one day let pass, own choice)",
        "a visit is closed by",
        "no such table",
        "no such column",
        "Could not decode to UTF-8",
        "system volume information",
        "{cls_name} document",
        "{request_clip_name}: looking for sharp frames",
        "picture {photo}…",
        "visit {entry_visit}, entry 0",
        "expectation: longest gap",
        "ISO/IEC 13818-1 2.4.3.7 and ISO/IEC 14496-12: times ascend",
    }
)
"""Keys of the terminal, names of documents, words by which libraries are understood, and
sources, which are cited as they are."""

SILENT = frozenset({"ValueError", "KeyError", "TypeError", "AssertionError", "RuntimeError"})
"""Errors that are caught by whoever calls, never shown as they are."""

COUNTS = frozenset({"count", "_count"})
"""Functions that say how many: ``count(3, "page")``."""

PLAIN = frozenset(
    {"len", "str", "int", "min", "max", "abs", "sorted", "round", "repr", "join", "ceil", "sum"}
    | {"next", "iter", "self"}
)
"""Names that say nothing about what stands in a hole."""


CODE = re.compile(
    r"^--|\\|\(\?|%[A-Za-z]|^[\w./-]+$|\[0-9|^\W*(SELECT|PRAGMA|INSERT|DELETE|CREATE|BEGIN)\b"
)
"""What looks like words and is none: patterns, formats, names, statements."""


def job_texts(source: Path) -> Iterator[tuple[str, str]]:
    """(module, sentence with holes) of the package at ``source``, each sentence once."""
    known: set[str] = set()
    for path in sorted(source.rglob("*.py")):
        module = path.relative_to(source).as_posix()
        away = module.startswith(("cli/", "demo/")) and module != FILES
        if away or UNSEEN.match(module):
            continue
        for text in _of_module(module, ast.parse(path.read_text(encoding="utf-8"))):
            if text not in known | NOT_SAID:
                known.add(text)
                yield module, text


def _of_module(module: str, tree: ast.Module) -> Iterator[str]:
    silent, filled = _silent(tree), _filled_names(tree)
    for node in _looked_at(module, tree):
        if id(node) in silent:
            continue
        if _is_text(node):
            bare = (without_commands(text).strip() for text in _sentences(node))
            yield from (text for text in bare if _is_said(text))
        elif isinstance(node, ast.Assign) and _name(node.targets[0]) in filled:
            yield from (text for text in _branches(node.value) if PLAIN_WORDS.fullmatch(text))
        elif isinstance(node, ast.Call) and _name(node.func) in COUNTS:
            yield from _counted(node)


def _is_said(text: str) -> bool:
    """True for two words and more, or for a word beside a hole."""
    if text.startswith("asfound "):  # a command alone
        return False
    words = re.findall(r"[^\W\d_]{2,}", HOLE.sub(" ", text))
    if text in ANSWERS:
        return True
    long = any(len(word) > 3 for word in words) or text.startswith(("Yes: ", "No: "))
    enough = len(words) > 1 or (HOLE.search(text) and long)
    return bool(enough) and " " in text and not CODE.search(text)


def _filled_names(tree: ast.Module) -> frozenset[str]:
    """Variables that stand in a hole: "is" or "are" is a text when it stands in a sentence."""
    return frozenset(
        node.value.id
        for node in ast.walk(tree)
        if isinstance(node, ast.FormattedValue) and isinstance(node.value, ast.Name)
    )


def _looked_at(module: str, tree: ast.Module) -> Iterator[ast.AST]:
    if not SPOKEN.match(module):
        raised = (node.exc for node in ast.walk(tree) if isinstance(node, ast.Raise) and node.exc)
        made = (node for node in ast.walk(tree) if _is_error(node))
        yield from {id(one): one for part in (*raised, *made) for one in ast.walk(part)}.values()
        return
    wanted = ONLY.get(module)
    for part in tree.body:
        if wanted is None or getattr(part, "name", "") in wanted:
            yield from ast.walk(part)


def _is_error(node: ast.AST) -> bool:
    """True where an error is made without being raised at once."""
    named = _name(node.func) if isinstance(node, ast.Call) else ""
    return named.endswith(("Error", "Problem", "NotFound")) and named not in SILENT


def _silent(tree: ast.Module) -> frozenset[int]:
    """Docstrings, what stands inside errors that nobody sees, and parts of f-strings, which are
    said as a whole."""
    found: set[int] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
            found.add(id(node.value))
        if isinstance(node, ast.Raise) and node.exc is not None:
            error = node.exc.func if isinstance(node.exc, ast.Call) else node.exc
            if _name(error) in SILENT:
                found.update(id(inside) for inside in ast.walk(node))
        if isinstance(node, ast.JoinedStr):
            parts = [part for part in node.values if isinstance(part, ast.Constant)]
            found.update(id(part) for part in parts)
            for part in node.values:
                if isinstance(part, ast.FormattedValue):
                    found.update(id(one) for one in ast.walk(part.format_spec or part.value)
                                 if part.format_spec)  # fmt: skip
        if isinstance(node, ast.Call) and _name(node.func) in COUNTS:
            found.update(id(item) for item in node.args[1:])
        if isinstance(node, ast.BinOp) and isinstance(node.op, ast.Add):
            found.update(id(side) for side in (node.left, node.right) if _is_text(side))
    return frozenset(found)


def _sentences(node: ast.AST) -> Iterator[str]:
    """The texts that an expression makes: one for each way its plurals may fall out."""
    pieces = list(_pieces(node, {}))
    for chosen in product(*pieces):
        yield "".join(chosen)


def _pieces(node: ast.AST, holes: dict[str, str]) -> Iterator[tuple[str, ...]]:
    if isinstance(node, ast.Constant):
        yield (_escaped(node.value),) if isinstance(node.value, str) else ("",)
    elif isinstance(node, ast.JoinedStr):
        for part in node.values:
            if isinstance(part, ast.FormattedValue):
                yield _filled(part.value, holes)
            else:
                yield from _pieces(part, holes)
    elif isinstance(node, ast.BinOp) and isinstance(node.op, ast.Add):
        for side in (node.left, node.right):
            if _is_text(side):
                yield from _pieces(side, holes)
            else:
                yield (_hole(side, holes),)


def _filled(value: ast.expr, holes: dict[str, str]) -> tuple[str, ...]:
    branches = _branches(value)
    if branches:
        return tuple(_escaped(text) for text in branches)
    if isinstance(value, ast.BinOp) and isinstance(value.op, ast.Mult) and _is_text(value.left):
        return "", str(value.left.value)  # type: ignore[attr-defined] # a constant, as asked
    return (_hole(value, holes),)


def _branches(node: ast.AST) -> tuple[str, ...]:
    """Both texts of ``"a" if … else "b"``."""
    if not isinstance(node, ast.IfExp):
        return ()
    sides = (node.body, node.orelse)
    texts = [side.value for side in sides if isinstance(side, ast.Constant)]
    return tuple(texts) if len(texts) == 2 and all(isinstance(text, str) for text in texts) else ()


def _hole(value: ast.expr, holes: dict[str, str]) -> str:
    """``{name}`` after what stands there; two different things get two names."""
    made = ast.unparse(value)
    if made not in holes:
        name = _spoken(value)
        same = sum(one.rstrip("0123456789") == name for one in holes.values())
        holes[made] = f"{name}{same + 1 if same else ''}"
    return f"{{{holes[made]}}}"


def _spoken(value: ast.expr) -> str:
    called = {id(node.func) for node in ast.walk(value) if isinstance(node, ast.Call)}
    for node in _by_depth(value):
        if isinstance(node, ast.Attribute) and id(node) not in called:
            parts = re.findall(r"[a-z_]+", ast.unparse(node).casefold())
            return "_".join(part.strip("_") for part in parts if part not in PLAIN) or "value"
        if isinstance(node, ast.Name) and id(node) not in called and node.id not in PLAIN:
            return node.id.casefold().strip("_")
    func = value.func if isinstance(value, ast.Call) else None
    return _name(func).strip("_") or "value" if func else "value"


def _by_depth(value: ast.AST) -> Iterator[ast.AST]:
    return ast.walk(value)


def _counted(node: ast.Call) -> Iterable[str]:
    words = [item.value for item in node.args[1:] if isinstance(item, ast.Constant)]
    if not words or not isinstance(words[0], str):
        return ()
    many = words[1] if len(words) > 1 else f"{words[0]}s"
    return f"1 {words[0]}", f"{{number}} {many}"


def _is_text(node: ast.AST) -> bool:
    if isinstance(node, ast.BinOp) and isinstance(node.op, ast.Add):
        return _is_text(node.left) or _is_text(node.right)
    return isinstance(node, ast.JoinedStr) or (
        isinstance(node, ast.Constant) and isinstance(node.value, str)
    )


def _escaped(text: str) -> str:
    return text.replace("{", "{{").replace("}", "}}")


def _name(node: ast.AST | None) -> str:
    if isinstance(node, ast.Attribute):
        return node.attr
    return node.id if isinstance(node, ast.Name) else ""
