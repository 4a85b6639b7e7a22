"""From the bytes of a spec to a tree that knows where everything is (kb/book/tree.py).

The tree is built from the parser's events, never from loaded values: scalars stay the text that was
written, because YAML 1.1 would turn `010`, `12:30` and `no` into something else. What makes positions or
values ambiguous is refused with a line; a text written in several lines is read as one line. Names of the
findings, all of them errors:

    reading.file            missing, unreadable, or not an ordinary file
    reading.size            larger than a spec has reason to be
    reading.encoding        not UTF-8
    reading.character       a control character or an invisible one
    reading.syntax          YAML cannot read on from here
    reading.conflict        marks of a merge that was not finished
    reading.tab             a tab where spaces belong
    reading.empty           nothing written
    reading.top-level       no keys at the top level
    reading.key             a key that is not plain text
    reading.duplicate-key   a key written twice in one group
    reading.merge-key       `<<`
    reading.anchor          `&name`
    reading.alias           `*name`
    reading.tag             `!!str` and its like
    reading.directive       a line that begins with `%`
    reading.documents       more than one document in the file
    reading.nesting         groups within groups beyond reason
    reading.nodes           more values than a spec has reason to hold
    reading.length          one value longer than a spec has reason to hold
    reading.many-faults     the reading stopped, having found enough

Positions leave this file as 1-based spans and are made by one function, `_span`.
"""

from __future__ import annotations

import os
import re
import stat
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, NamedTuple

import yaml

from kb.book.finding import Finding, Place, Span, one_line
from kb.book.tree import Document, Entry, Mapping, Node, Scalar, Sequence

MOST_BYTES = 256 * 1024
MOST_NODES = 20_000
MOST_NESTING = 16
LONGEST_VALUE = 4_000
LONGEST_KEY = 120
MOST_FAULTS = 50

DIRECTIVE = "a line that begins with % is a YAML directive, which is not allowed"

# Control characters other than tab and line end; a carriage return is one unless a line ends with it.
_CONTROL = r"\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f"
_INVISIBLE = (
    "\u00ad\u034f\u061c\u115f\u1160\u17b4\u17b5\u180b-\u180f\u200b-\u200f\u2028-\u202e\u2060-\u206f"
    "\u3164\ufe00-\ufe0f\ufeff\uffa0\ufff0-\ufffb\ufffe\uffff"
    "\U0001bca0-\U0001bca3\U0001d173-\U0001d17a\U000e0000-\U000e0fff"
)
_REFUSED = re.compile(rf"[{_CONTROL}{_INVISIBLE}\ud800-\udfff]|\r(?![\n]|\Z)")
_CONFLICT = re.compile(r"<{7}(?: |\r?\Z)")
_TURNING = frozenset("\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")


@dataclass(frozen=True, slots=True)
class Reading:
    """The outcome of reading a file: a document, or the findings that say why there is none."""

    document: Document | None
    findings: tuple[Finding, ...]


def read(path: Path, shown: str) -> Reading:
    """Read one spec: a document, or every fault of the reading stage that could be found."""
    raw = raw_bytes(path, shown)
    return raw if isinstance(raw, Reading) else read_bytes(raw, shown)


def raw_bytes(path: Path, shown: str) -> bytes | Reading:
    """The bytes of a file, or the finding that says why they cannot be read."""
    reader = _Reader(shown)
    raw = reader.bytes_of(path)
    return reader.finish(None) if raw is None else raw


def read_bytes(raw: bytes, shown: str) -> Reading:
    reader = _Reader(shown)
    text = reader.decode(raw)
    return reader.finish(None if text is None else reader.parse(text))


def read_text(text: str, shown: str) -> Reading:
    reader = _Reader(shown)
    return reader.finish(reader.parse(text.removeprefix("\ufeff")))


class _Enough(Exception):  # noqa: N818 - not an error: the reading ends here on purpose
    """No use in reading on."""


class _PureLoader(yaml.BaseLoader):
    """PyYAML without its C library, for an installation that lacks it."""

    def get_event(self) -> Any:
        try:
            return super().get_event()  # type: ignore[no-untyped-call]
        except (ValueError, OverflowError) as error:  # an escape for a character that does not exist
            problem = "found unknown escape character"
            raise yaml.scanner.ScannerError("in a quoted scalar", None, problem, self.get_mark()) from error


_LOADER: Any = getattr(yaml, "CBaseLoader", _PureLoader)


@dataclass(slots=True)
class _Open:
    collection: Mapping | Sequence
    key: str | None = None
    key_span: Span | None = None
    awaits_value: bool = False
    last: Span | None = None

    def closed(self, end: Span) -> Mapping | Sequence:
        """The finished collection; where nothing visible closes it, it ends with its last member."""
        begin = self.collection.span
        if end.column == end.end_column and end.line == end.end_line:
            end = self.last or begin
        self.collection.span = Span(begin.line, begin.column, end.end_line, end.end_column)
        return self.collection


@dataclass(slots=True)
class _Reader:
    shown: str
    text: str = ""
    last_line: int = 0
    findings: list[Finding] = field(default_factory=list)

    def finish(self, root: Mapping | None) -> Reading:
        if self.findings or root is None:
            return Reading(None, tuple(sorted(self.findings, key=lambda finding: finding.order)))
        return Reading(Document(self.shown, self.text, root), ())

    def fault(self, name: str, span: Span, message: str, *fixes: str) -> None:
        place = Place(self.shown, "", span)
        if len(self.findings) >= MOST_FAULTS:
            enough = f"{MOST_FAULTS} findings are the maximum for one reading; fix these and check again"
            self.findings.append(Finding("reading.many-faults", "error", place, enough))
            raise _Enough
        self.findings.append(Finding(f"reading.{name}", "error", place, message, fixes))

    # --- from the disk to text ---

    def bytes_of(self, path: Path) -> bytes | None:
        try:
            status = os.stat(path)
            if not stat.S_ISREG(status.st_mode):
                self.fault(
                    "file", _TOP, f"this is {_sort_of_file(status.st_mode)}, not a file with a spec in it"
                )
                return None
            if status.st_size <= MOST_BYTES:
                with open(path, "rb") as file:
                    raw = file.read(MOST_BYTES + 1)
                if len(raw) <= MOST_BYTES:
                    return raw
            most = f"{MOST_BYTES // 1024} KiB"
            self.fault("size", _TOP, f"the file is larger than {most}", "split it into several specs")
        except FileNotFoundError:
            self.fault("file", _TOP, "the file does not exist")
        except OSError as error:
            self.fault(
                "file", _TOP, f"the file cannot be read: {(error.strerror or 'no reason given').lower()}"
            )
        except ValueError:
            self.fault("file", _TOP, "a file cannot have this name")
        return None

    def decode(self, raw: bytes) -> str | None:
        if raw[:2] in (b"\xff\xfe", b"\xfe\xff"):
            self.fault("encoding", _TOP, "the file is saved as UTF-16", "save it as UTF-8")
            return None
        try:
            return raw.decode("utf-8").removeprefix("\ufeff")
        except UnicodeDecodeError as error:
            before = raw[: error.start].decode("utf-8").removeprefix("\ufeff")
            line, column = before.count("\n"), len(before) - before.rfind("\n") - 1
            self.fault(
                "encoding",
                _span(line, column, line, column + 1),
                f"byte 0x{raw[error.start]:02X} at offset {error.start} on line {line + 1} is not UTF-8",
                "save the file as UTF-8",
            )
            return None

    # --- from text to a tree ---

    def parse(self, text: str) -> Mapping | None:
        self.text = text
        self.last_line = text.count("\n")
        try:
            if self.in_conflict(text):
                return None
            clean = self.without_refused(text) if _REFUSED.search(text) else text
            try:
                return self.build(_LOADER(clean))
            except yaml.YAMLError as error:
                if clean == text:  # else the refused characters may be its cause
                    self.syntax(error)
        except _Enough:
            pass
        return None

    def in_conflict(self, text: str) -> bool:
        """Report marks of a merge that was not finished; what is between them is not read."""
        for number, line in enumerate(text.split("\n")):
            if _CONFLICT.match(line):
                span = _span(number, 0, number, len(line.rstrip("\r")))
                message = "an unresolved merge conflict begins here"
                self.fault(
                    "conflict",
                    span,
                    message,
                    "keep one version, and delete the lines <<<<<<<, ======= and >>>>>>>",
                )
        return bool(self.findings)

    def without_refused(self, text: str) -> str:
        """Report characters that do not show, and put a dot in their place so that reading can go on."""
        for number, line in enumerate(text.split("\n")):
            if found := _REFUSED.search(line):
                span = _span(number, found.start(), number, found.end())
                self.fault("character", span, f"{_what_character(found[0])} is here", "delete it")
        return _REFUSED.sub("\u00b7", text)

    def build(self, parser: Any) -> Mapping | None:
        """Follow the parser's events and build the tree; no recursion, however deep the text nests."""
        root: Node | None = None
        documents = nodes = 0
        stack: list[_Open] = []
        while True:
            event = parser.get_event()
            kind = type(event)
            if kind is yaml.ScalarEvent:
                node: Node | None = self.scalar(event)
            elif kind is yaml.MappingStartEvent or kind is yaml.SequenceStartEvent:
                stack.append(self.opened(event, len(stack)))
                continue
            elif kind is yaml.MappingEndEvent or kind is yaml.SequenceEndEvent:
                node = stack.pop().closed(self.span(event.start_mark, event.end_mark))
            elif kind is yaml.AliasEvent:
                self.alias(event)
                node = None
            elif kind is yaml.DocumentStartEvent:
                documents += 1
                self.document_start(event, documents)
                continue
            elif kind is yaml.StreamEndEvent:
                return self.top_level(root)
            else:
                continue
            nodes += 1
            if nodes > MOST_NODES:
                span = self.span(event.start_mark, event.end_mark)
                self.fault("nodes", span, f"the file has more than {MOST_NODES} keys and values", "split it")
                raise _Enough
            if stack:
                self.attach(stack[-1], node)
            else:
                root = node

    def scalar(self, event: Any) -> Scalar:
        span = self.span(event.start_mark, event.end_mark)
        text, style = event.value, event.style
        if event.anchor or event.tag:
            self.properties(event, span)
        if len(text) > LONGEST_VALUE:
            self.fault(
                "length", span, f"the value has {len(text)} characters; at most {LONGEST_VALUE} are allowed"
            )
        if "\n" in text:
            text = " ".join(text.split())  # no value has lines: what is written in several is one text
        if style == '"' and (found := _REFUSED.search(text)):
            self.fault(
                "character",
                span,
                f"{_what_character(found[0])} is not allowed; it is shown by its code",
                "delete it",
            )
        return Scalar(text, bool(style), span)

    def opened(self, event: Any, depth: int) -> _Open:
        span = self.span(event.start_mark, event.end_mark)
        self.properties(event, span)
        if depth >= MOST_NESTING:
            words = f"groups and lists are nested more than {MOST_NESTING} deep"
            self.fault("nesting", span, words, "use fewer levels")
            raise _Enough
        return _Open(Mapping(span, {}) if type(event) is yaml.MappingStartEvent else Sequence(span, []))

    def attach(self, frame: _Open, node: Node | None) -> None:
        if node is not None:
            frame.last = node.span
        collection = frame.collection
        if isinstance(collection, Sequence):
            if node is not None:
                collection.items.append(node)
        elif not frame.awaits_value:
            frame.awaits_value = True
            frame.key = None if node is None else self.key(collection, node)
            frame.key_span = frame.last
        else:
            frame.awaits_value = False
            if frame.key is not None and frame.key_span is not None and node is not None:
                collection.entries[frame.key] = Entry(frame.key_span, node)

    def key(self, group: Mapping, node: Node) -> str | None:
        """The text of a key, or None when it is refused."""
        span = node.span
        if not isinstance(node, Scalar):
            self.fault("key", span, "a group or list is in place of a key", "write the key as plain text")
            return None
        text = node.text
        if text == "<<" and not node.quoted:
            self.fault("merge-key", span, "<< copies keys from another place", "write the keys in full")
        elif not text:
            self.fault("key", span, "the key before the colon is missing", "write a key")
        elif len(text) > LONGEST_KEY or span.line != span.end_line:
            self.fault(
                "key", span, f"the key is too long; one line of at most {LONGEST_KEY} characters is allowed"
            )
        elif text != text.strip() or not text.isprintable():
            self.fault(
                "key",
                span,
                f"the key {one_line(text)} contains unusual spaces",
                "use ordinary spaces, or none",
            )
        elif text in group.entries:
            first = group.entries[text].key_span.line
            words = f"the key {one_line(text)} is used twice; the first is in line {first}"
            self.fault("duplicate-key", span, words, "keep one of the two")
        else:
            return text
        return None

    def properties(self, event: Any, span: Span) -> None:
        if event.anchor:
            words = f"&{one_line(event.anchor, 40)} is an anchor, which is not allowed"
            self.fault("anchor", span, words, "delete the anchor and write each value in full")
        if event.tag:
            self.fault(
                "tag", span, "the value has a tag (!)", "write the value without the tag; put text in quotes"
            )

    def alias(self, event: Any) -> None:
        span = self.span(event.start_mark, event.end_mark)
        words = f"*{one_line(event.anchor, 40)} is an alias, which is not allowed"
        self.fault("alias", span, words, "write the value in full")

    def document_start(self, event: Any, number: int) -> None:
        start = event.start_mark
        if event.explicit and self.text[start.index : start.index + 1] == "%":
            span = self.span(start, start)
            self.fault("directive", span, DIRECTIVE, "delete it")
        if number > 1:
            span = self.span(start, event.end_mark)
            self.fault("documents", span, "a second document begins here", "keep one spec per file")
            raise _Enough

    def top_level(self, root: Node | None) -> Mapping | None:
        if isinstance(root, Mapping):
            return root
        if root is None and self.findings:
            return None
        if root is None or (isinstance(root, Scalar) and not root.quoted and not root.text):
            self.fault("empty", _TOP, "the file is empty", "begin with `kind:`")
            return None
        what = "a list" if isinstance(root, Sequence) else "a single value"
        words = f"the file contains {what} in place of keys"
        self.fault("top-level", root.span, words, "begin with a key, such as `kind: size-format`")
        return None

    def syntax(self, error: yaml.YAMLError) -> None:
        lines = self.text.split("\n")
        syntax_fault = reworded(error, lines)
        end = min(syntax_fault.column + 1, len(lines[syntax_fault.line]))
        self.fault(
            syntax_fault.name,
            _span(syntax_fault.line, syntax_fault.column, syntax_fault.line, end),
            syntax_fault.message,
            *syntax_fault.fixes,
        )

    def span(self, start: Any, end: Any) -> Span:
        """Span between two marks of the parser, whose end of file may be a line below the last."""
        if end.line <= self.last_line:
            return _span(start.line, start.column, end.line, end.column)
        width = len(self.text) - self.text.rfind("\n") - 1
        if start.line <= self.last_line:
            return _span(start.line, start.column, self.last_line, width)
        return _span(self.last_line, width, self.last_line, width)


def _span(line: int, column: int, end_line: int, end_column: int) -> Span:
    """The one place where counting from 0 becomes counting from 1."""
    return Span(line + 1, column + 1, end_line + 1, end_column + 1)


_TOP = _span(0, 0, 0, 0)


def _what_character(letter: str) -> str:
    code = f"U+{ord(letter):04X}"
    if letter == "\x00":
        return f"a NUL character ({code})"
    if letter == "\r":
        return f"a carriage return without a line end ({code})"
    if letter in _TURNING:
        return f"a bidirectional control character ({code})"
    return f"{'a control' if ord(letter) < 0xA0 else 'an invisible'} character ({code})"


def _sort_of_file(mode: int) -> str:
    sorts = {"d": "a folder", "p": "a pipe", "s": "a socket", "c": "a device", "b": "a device"}
    return sorts.get(stat.filemode(mode)[0], "something else")


class SyntaxProblem(NamedTuple):
    """An error of YAML in plain words, at the parser's own position, which counts from 0."""

    name: str
    line: int
    column: int
    message: str
    fixes: tuple[str, ...]


_AT_BEGINNING = "^"

# Words common to PyYAML's two parsers; the first that fits is taken. Then our name, our words, what to write.
# With ^ the place is where the parser's complaint began.
_CASES = (
    ("scanning an anchor", "^anchor", "a value begins with &", "quote text that begins with &"),
    ("scanning an alias", "^alias", "a value begins with *", "quote text that begins with *"),
    (" tag", "^tag", "a value begins with !", "quote text that begins with !"),
    ("directive", "^directive", DIRECTIVE, "delete it"),
    ("incompatible", "^directive", DIRECTIVE, "delete it"),
    (
        "mapping values are not allowed",
        "syntax",
        "a colon with a space after it is where no key can be",
        "give each key its own line, indented like its neighbours; quote text that holds ': '",
    ),
    (
        "could not find expected ':'",
        "^syntax",
        "this line is neither a key with a colon nor the rest of a value",
        "write `key: value`",
    ),
    (
        "',' or ']'",
        "^syntax",
        "the list that opens here with [ is not closed, or lacks a comma",
        "write a comma between items and ] after the last",
    ),
    (
        "',' or '}'",
        "^syntax",
        "the group that opens here with { is not closed, or lacks a comma",
        "write a comma between keys and } after the last",
    ),
    (
        "quoted scalar; found unexpected",
        "^syntax",
        "the quoted text that begins here has no closing quote",
        "write the closing quote on the same line",
    ),
    (
        "quoted scalar",
        "syntax",
        "a backslash in double quotes begins a code, and this one is unknown",
        "use single quotes for text with a backslash",
    ),
    (
        "block scalar",
        "^syntax",
        "the text after | or > cannot be read",
        "begin it on the next line, indented deeper than its key",
    ),
    (
        "block mapping",
        "syntax",
        "a key is expected here; the line is indented unlike its neighbours, or something follows a value",
        "indent keys of one group alike; quote a value that holds quotes or brackets",
    ),
    (
        "block collection",
        "syntax",
        "the next item of the list is expected here",
        "begin each item with '- ' at one indentation; indent what follows the list like its key",
    ),
    (
        "sequence entries are not allowed",
        "syntax",
        "a list cannot begin here",
        "put the first '- ' on a line of its own below the key",
    ),
    (
        "node content",
        "syntax",
        "a value is expected here",
        "write the value, or delete the stray comma, bracket or dash",
    ),
    (
        "<document start>",
        "syntax",
        "the spec has ended above; this line is indented less than the first, or follows a closing bracket",
        "begin all keys of the top level in the first column",
    ),
)


def reworded(error: Any, lines: list[str]) -> SyntaxProblem:
    """Say in plain words what the YAML parser found wrong."""
    problem = str(getattr(error, "problem", None) or "no reason given")
    said = f" {getattr(error, 'context', None) or ''}; {problem}"
    mark = getattr(error, "problem_mark", None)
    at = _within(mark, lines)
    line = lines[at[0]]
    indent = line[: len(line) - len(line.lstrip())]
    if "\t" in indent and at[1] <= len(indent):
        return SyntaxProblem(
            "tab", at[0], line.index("\t"), "a tab is where spaces belong", ("indent with spaces",)
        )
    if "cannot start any token" in said:
        first = line[at[1] : at[1] + 1] or "this"
        first = "a tab" if first == "\t" else first
        return SyntaxProblem(
            "syntax", *at, f"a value cannot begin with {first}", ("put the value in quotes",)
        )
    for words, name, message, fix in _CASES:
        if words in said:
            beginning = getattr(error, "context_mark", None) if name.startswith(_AT_BEGINNING) else None
            where = _within(beginning or mark, lines)
            fixes = (*_odd_blanks(lines[where[0]]), fix)
            return SyntaxProblem(name.removeprefix(_AT_BEGINNING), *where, message, fixes)
    return SyntaxProblem("syntax", *at, f"YAML cannot read on from here ({problem})", ())


def _odd_blanks(line: str) -> tuple[str, ...]:
    """A hint at blanks that look like spaces and are none to YAML."""
    odd = sorted({f"U+{ord(letter):04X}" for letter in line if letter.isspace() and letter not in " \t\r"})
    return (f"replace the unusual blanks on this line ({', '.join(odd)}) by spaces",) if odd else ()


def _within(mark: Any, lines: list[str]) -> tuple[int, int]:
    """A mark's line and column, brought back into the text: the end of file may be a line below the last."""
    if mark is None:
        return 0, 0
    if mark.line >= len(lines):
        return len(lines) - 1, len(lines[-1])
    return mark.line, min(mark.column, len(lines[mark.line]))
