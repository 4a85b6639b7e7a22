"""What the YAML parser complains about, said in plain words with what to write instead."""

from __future__ import annotations

from typing import Any, NamedTuple


class SyntaxProblem(NamedTuple):
    """An error of YAML in plain words, at the parser's own position, which counts from 0."""

    name: str
    line: int
    column: int
    message: str
    fixes: tuple[str, ...]


class _Case(NamedTuple):
    """One complaint: words of the parser, our name and words, and whether to point at where it began."""

    says: str
    name: str
    message: str
    fix: str
    at_beginning: bool = False


# Words common to PyYAML's two parsers; the first case that fits is taken.
_CASES = (
    _Case(
        "scanning an anchor",
        "anchor",
        "a value begins with &",
        "quote text that begins with &",
        at_beginning=True,
    ),
    _Case(
        "scanning an alias",
        "alias",
        "a value begins with *",
        "quote text that begins with *",
        at_beginning=True,
    ),
    _Case(" tag", "tag", "a value begins with !", "quote text that begins with !", at_beginning=True),
    _Case(
        "directive",
        "directive",
        "a line that begins with % is a YAML directive, which is not allowed",
        "delete it",
        at_beginning=True,
    ),
    _Case(
        "incompatible",
        "directive",
        "a line that begins with % is a YAML directive, which is not allowed",
        "delete it",
        at_beginning=True,
    ),
    _Case(
        "mapping values are not allowed",
        "syntax",
        "a colon with a space after it stands where no key can stand",
        "give each key its own line, indented like its neighbours; quote text that holds ': '",
    ),
    _Case(
        "could not find expected ':'",
        "syntax",
        "this line is neither a key with a colon nor the rest of a value",
        "write `key: value`",
        at_beginning=True,
    ),
    _Case(
        "',' or ']'",
        "syntax",
        "the list that opens here with [ is not closed, or lacks a comma",
        "write a comma between items and ] after the last",
        at_beginning=True,
    ),
    _Case(
        "',' or '}'",
        "syntax",
        "the group that opens here with { is not closed, or lacks a comma",
        "write a comma between keys and } after the last",
        at_beginning=True,
    ),
    _Case(
        "quoted scalar; found unexpected",
        "syntax",
        "the quoted text that begins here has no closing quote",
        "write the closing quote on the same line",
        at_beginning=True,
    ),
    _Case(
        "quoted scalar",
        "syntax",
        "a backslash in double quotes begins a code, and this one is unknown",
        "use single quotes for text with a backslash",
    ),
    _Case(
        "block scalar",
        "syntax",
        "the text after | or > cannot be read",
        "begin it on the next line, indented deeper than its key",
        at_beginning=True,
    ),
    _Case(
        "block mapping",
        "syntax",
        "a key is expected here; the line is indented unlike its neighbours, or something follows a value",
        "indent keys of one group alike; quote a value that holds quotes or brackets",
    ),
    _Case(
        "block collection",
        "syntax",
        "the next item of the list is expected here",
        "begin each item with '- ' at one indentation; indent what follows the list like its key",
    ),
    _Case(
        "sequence entries are not allowed",
        "syntax",
        "a list cannot begin here",
        "put the first '- ' on a line of its own below the key",
    ),
    _Case(
        "node content",
        "syntax",
        "a value is expected here",
        "write the value, or delete the stray comma, bracket or dash",
    ),
    _Case(
        "<document start>",
        "syntax",
        "the spec has ended above; this line is indented less than the first, or follows a closing bracket",
        "begin all keys of the top level in the first column",
    ),
)


def reworded(error: Any, lines: list[str]) -> SyntaxProblem:
    """Say in plain words what the YAML parser found wrong.

    Args:
        error: what the parser raised.
        lines: the lines of the text.

    Returns:
        Name, position, message and what to write instead.
    """
    problem = str(getattr(error, "problem", None) or "no reason given")
    said = f" {getattr(error, 'context', None) or ''}; {problem}"
    mark = getattr(error, "problem_mark", None)
    at = _within(mark, lines)
    line = lines[at[0]]
    indent = line[: len(line) - len(line.lstrip())]
    if "\t" in indent and at[1] <= len(indent):
        return SyntaxProblem(
            "tab", at[0], line.index("\t"), "a tab stands where spaces belong", ("indent with spaces",)
        )
    if "cannot start any token" in said:
        first = line[at[1] : at[1] + 1] or "this"
        first = "a tab" if first == "\t" else first
        return SyntaxProblem(
            "syntax", *at, f"a value cannot begin with {first}", ("put the value in quotes",)
        )
    for case in _CASES:
        if case.says in said:
            where = _within(getattr(error, "context_mark", None) or mark, lines) if case.at_beginning else at
            return SyntaxProblem(case.name, *where, case.message, (*_odd_blanks(lines[where[0]]), case.fix))
    return SyntaxProblem("syntax", *at, f"YAML cannot read on from here ({problem})", ())


def _odd_blanks(line: str) -> tuple[str, ...]:
    """A hint at blanks that look like spaces and are none to YAML."""
    odd = sorted({f"U+{ord(letter):04X}" for letter in line if letter.isspace() and letter not in " \t\r"})
    return (f"replace the unusual blanks on this line ({', '.join(odd)}) by spaces",) if odd else ()


def _within(mark: Any, lines: list[str]) -> tuple[int, int]:
    """A mark's line and column, brought back into the text: the end of file may lie a line below the last."""
    if mark is None:
        return 0, 0
    if mark.line >= len(lines):
        return len(lines) - 1, len(lines[-1])
    return mark.line, min(mark.column, len(lines[mark.line]))
