"""What a command says, as one text: exit code, both streams, and every file that it writes, a page as its text."""

import contextlib
import io
import json
import os
import re
from collections.abc import Iterator, Mapping
from html.parser import HTMLParser
from pathlib import Path

from explorer.cli import main

#: Numbers of two texts are the same within a step of the last digit written, or within this share of themselves.
SHARE = 1e-5

#: Commands that answer in short unless all is asked for; the short answer stands in `answer.txt`.
QUESTIONS = {"solve", "propagate", "rank", "optimize", "compare", "scale", "flight"}

_NUMBER = re.compile(r"(?<![\w.])[-+]?\d+(?:\.\d+)?(?:e[-+]?\d+)?")
_BLOCKS = {"p", "h1", "h2", "h3", "tr", "pre", "figcaption", "title", "section", "summary", "li", "div"}


class _PageText(HTMLParser):
    """The words of a page, a block a line, without style and drawings."""

    def __init__(self) -> None:
        super().__init__()
        self.lines: list[str] = [""]
        self._hidden = 0

    def handle_starttag(self, tag: str, attrs: object) -> None:
        self._hidden += tag in ("style", "svg", "script")
        if tag in _BLOCKS:
            self.lines.append("")
        elif tag in ("td", "th"):
            self.lines[-1] += " | "

    def handle_endtag(self, tag: str) -> None:
        self._hidden -= tag in ("style", "svg", "script")

    def handle_data(self, data: str) -> None:
        if not self._hidden:
            self.lines[-1] += data


def page_text(html: str) -> str:
    """Return the words of a page."""
    reader = _PageText()
    reader.feed(html)
    return "\n".join(" ".join(line.split()) for line in reader.lines if line.strip())


def said(arguments: list[str], files: Mapping[str, str], folder: Path) -> str:
    """Return all that a command says, run in a folder with some studies in it."""
    for name, text in files.items():
        (folder / name).write_text(text, encoding="utf-8")
    out, err = io.StringIO(), io.StringIO()
    with _inside(folder), contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        code = main([*arguments, *(["--all"] if arguments[0] in QUESTIONS else [])])
    parts = [f"=== {' '.join(arguments)}", f"exit code {code}", "=== printed", out.getvalue()]
    parts += ["=== complained", err.getvalue()]
    for path in sorted(folder.rglob("*")):
        if path.is_file() and path.name != ".files" and path.name not in files:
            content = _content(path)
            if path.name == "designs.csv":  # all that a search tried on its way
                content = content.partition("\n")[0]
            parts += [f"=== {path.relative_to(folder).as_posix()}", content]
    return _without_way(_without_origin("\n".join(parts).rstrip() + "\n", folder))


@contextlib.contextmanager
def _inside(folder: Path) -> Iterator[None]:
    before = Path.cwd()
    os.chdir(folder)
    try:
        yield
    finally:
        os.chdir(before)


def _content(path: Path) -> str:
    text = path.read_text(encoding="utf-8")
    if path.suffix == ".html":
        return page_text(text)
    if path.suffix == ".json":
        found = json.loads(text)
        text = json.dumps({key: found[key] for key in found if key not in ("version", "commit")}, indent=1)
        return re.sub(r"[\[{][^\[\]{}]*[\]}]", lambda leaf: " ".join(leaf[0].split()), text)
    return text


def _without_origin(text: str, folder: Path) -> str:
    """Leave out what differs from checkout to checkout."""
    text = text.replace(str(folder), "FOLDER")
    text = re.sub(r"""(?m)^( *(?:\| )?"?(?:version|commit)\b).*$""", r"\1", text)
    return re.sub(r"mhdstage \d\S* \([^)]*\)", "mhdstage", text)


def _without_way(text: str) -> str:
    """Leave out how many designs a search tried: its way hangs on the last digits that a processor gives it."""
    text = re.sub(r"\b\d+(?= were tried| designs on the search's|,? of which met)", "N", text)
    text = re.sub(r"(?m)^(\| (?:different )?designs tried in .*\| )\d+$", r"\1N", text)
    return re.sub(
        r'("search": {[^}]*})',
        lambda found: re.sub(r'("(?:designs|met|searched|tried)": )\d+', r"\1N", found[1]),
        text,
    )


def differences(golden: str, now: str, share: float = SHARE) -> list[str]:
    """Return the lines in which two texts differ, numbers apart that are the same within a share of themselves."""
    first, second = _lines(golden), _lines(now)
    found = [f"- {a}\n+ {b}" for a, b in zip(first, second, strict=False) if not _same(a, b, share)]
    if len(first) != len(second):
        found.append(f"{len(first)} lines were expected, {len(second)} came")
    return found


def _lines(text: str) -> list[str]:
    return [" ".join(line.split()) for line in text.splitlines() if line.strip(" -")]


def _same(first: str, second: str, share: float) -> bool:
    if first == second:
        return True
    if _NUMBER.split(first) != _NUMBER.split(second):
        return False
    pairs = zip(_NUMBER.findall(first), _NUMBER.findall(second), strict=True)
    return all(_near(a, b, share) for a, b in pairs)


def _near(first: str, second: str, share: float) -> bool:
    mantissa, _, exponent = first.partition("e")
    step = 10.0 ** (int(exponent or 0) - len(mantissa.partition(".")[2]))
    a, b = float(first), float(second)
    return abs(a - b) <= max(1.01 * step if "." in mantissa else 0.0, share * abs(a), 1e-12)
