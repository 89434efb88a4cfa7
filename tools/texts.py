"""Brings the pages' catalogues up to date: every text that templates, code, procedures and
cautions hold, and every sentence of the jobs (job_texts.py), goes into asfound.pot and from
there into each language, translations kept.

    .venv/bin/python tools/texts.py          write
    .venv/bin/python tools/texts.py --check  say what is missing, and fail
"""

from __future__ import annotations

import io
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.extract import extract_from_dir
from babel.messages.pofile import read_po, write_po

sys.path.insert(0, str(Path(__file__).parent))
from job_texts import job_texts

from asfound.web.phrases import CONTEXT

SOURCE = Path(__file__).parents[1] / "src" / "asfound"
LOCALE = SOURCE / "web" / "locale"
LANGUAGES = ("en", "de")
METHODS = [("**/templates/**.j2", "jinja2"), ("**.py", "python")]
KEYWORDS = {"_": None, "N_": None, "gettext": None, "ngettext": (1, 2)}
WIDTH = 110
VOLTAGE_TEXTS = {
    "reading": ("short", "title", "when"),
    "cause": ("title", "advice"),
    "rule": ("says", "source"),
}
"""Of the rules about voltages, what pages show."""
FAULTS = "data/faults.toml"


def template() -> Catalog:
    """Every text there is to translate."""
    made = Catalog(project="asfound", charset="utf-8", fuzzy=False)
    found = extract_from_dir(
        str(SOURCE / "web"),
        METHODS,
        {"**/templates/**.j2": {"trimmed": "true", "newstyle_gettext": "true"}},
        KEYWORDS,
    )
    for name, line, message, comments, _ in found:
        made.add(message, None, [(f"web/{name}", line)], auto_comments=comments)
    for path, message in data_texts():
        made.add(message, None, [(path, 0)])
    for path, message in job_texts(SOURCE):
        made.add(message, None, [(path, 0)], context=CONTEXT)
    return made


def data_texts() -> Iterator[tuple[str, str]]:
    """Texts of shipped procedures, cautions and rules, each in one line as pages show it."""
    yield from ((FAULTS, text) for text in fault_texts())
    for path in sorted((SOURCE / "data" / "procedures").glob("*.toml")):
        made = tomllib.loads(path.read_text(encoding="utf-8"))
        yield f"data/procedures/{path.name}", made["title"]
        for step in made["step"]:
            yield f"data/procedures/{path.name}", _flat(step["title"])
            yield f"data/procedures/{path.name}", _flat(step["text"])
    made = tomllib.loads((SOURCE / "data" / "cautions.toml").read_text(encoding="utf-8"))
    for caution in made["caution"]:
        for key in ("title", "text", "defers_to"):
            yield "data/cautions.toml", _flat(caution[key])
    made = tomllib.loads((SOURCE / "data" / "voltage_rules.toml").read_text(encoding="utf-8"))
    for table, keys in VOLTAGE_TEXTS.items():
        for one in made[table]:
            for key in keys:
                yield "data/voltage_rules.toml", _flat(one[key])


def fault_texts() -> Iterator[str]:
    """Texts of the shipped fault guide, and those that every guide has."""
    made = tomllib.loads((SOURCE / FAULTS).read_text(encoding="utf-8"))
    yield from ("Something else", "yes", "no", "could not tell", "repaired in vain")
    yield from (made["source"], made["something-else"]["repair"])
    for kind in ("place", "tool", "cause", "symptom", "check"):
        for item in made[kind]:
            yield from (item[key] for key in ("title", "how", "repair") if key in item)
            yield from (outcome["title"] for outcome in item.get("outcomes", ()))


def missing(language: str, wanted: Catalog) -> list[str]:
    """Texts without a translation into ``language``."""
    kept = load(language)
    found = []
    for message in wanted:
        if not message.id:
            continue
        own = kept.get(message.id, message.context)
        texts = own.string if own is not None else ""
        whole = all(texts) if isinstance(texts, list | tuple) else bool(texts)
        if own is None or own.fuzzy or not whole:
            found.append(str(message.id))
    return found


def load(language: str) -> Catalog:
    """A language's catalogue as it stands."""
    path = LOCALE / language / "asfound.po"
    return read_po(io.BytesIO(path.read_bytes()), locale=language)


def main() -> int:
    """Write, or check."""
    wanted = template()
    if "--check" in sys.argv:
        left = [text for tag in LANGUAGES[1:] for text in missing(tag, wanted)]
        sys.stderr.writelines(f"texts: not translated: {text}\n" for text in left)
        return 1 if left else 0
    _write(LOCALE / "asfound.pot", wanted)
    for tag in LANGUAGES:
        kept = load(tag)
        kept.update(wanted, no_fuzzy_matching=True)
        _write(LOCALE / tag / "asfound.po", kept)
    return 0


def _write(path: Path, catalog: Catalog) -> None:
    packed = io.BytesIO()
    write_po(
        packed, catalog, width=WIDTH, omit_header=True, ignore_obsolete=True, include_lineno=False
    )
    head = b'msgid ""\nmsgstr ""\n'
    tag = path.parent.name if path.suffix == ".po" else ""
    if tag:
        head += f'"Language: {tag}\\n"\n'.encode()
    head += b'"Content-Type: text/plain; charset=utf-8\\n"\n'
    head += b'"Plural-Forms: nplurals=2; plural=(n != 1);\\n"\n\n'
    path.write_bytes(head + packed.getvalue())


def _flat(text: str) -> str:
    return " ".join(text.split())


if __name__ == "__main__":
    sys.exit(main())
