"""`sizebook explain`."""

from __future__ import annotations

import contextlib
import difflib
import math
from typing import TYPE_CHECKING

import click

from kb.cli.common import Refusal, safe

if TYPE_CHECKING:
    from kb.publish.fields import FieldEntry


@click.command(
    short_help="Explain a check, a setting or a key of a spec.",
    epilog="Example: sizebook explain ironing.ring-reduction",
)
@click.argument("name", required=False)
def explain(name: str | None) -> None:
    """Explain NAME: a check, a setting or a key of a spec. Without NAME: list all checks.

    For a check: reason, formula, limit and fix. The limit is that of the book that contains the current
    folder, with source, owner and review date.
    """
    from kb.book.load import around
    from kb.output import explain as pages
    from kb.output import io

    lines = pages.explained(name, around()) if name else pages.listing()
    for entry in _fields(name) if name else ():
        lines += ([""] if lines else []) + _field_lines(entry)
    if not lines:
        raise Refusal(_unknown(name or ""))
    io.write_stdout("\n".join(lines) + "\n")


def _fields(name: str) -> list[FieldEntry]:
    """Entries of a key, in every kind of spec that has it; its kind may stand before it."""
    from kb.publish import fields

    kind, _, key = name.partition(".")
    asked = [(kind, key)] if kind in fields.kinds() and key else []
    found = []
    for one, path in asked + [(one, name) for one in fields.kinds()]:
        with contextlib.suppress(KeyError):
            found.append(fields.field(one, path))
    return found


def _field_lines(entry: FieldEntry) -> list[str]:
    """What the schema says of a key, in lines."""
    from kb.output.explain import keys, part

    lines = [f"{entry.kind}.{entry.key} – {entry.title}", *part("Meaning", entry.meaning)]
    lines += part("Written as", _form(entry))
    if entry.shown_band is not None:
        low, high = entry.shown_band
        ends = f"{low:g} or more" if math.isinf(high) else f"{low:g} to {high:g}"
        lines += part("Plausible", f"{ends} {entry.show}".removesuffix(" -").rstrip())
    lines += part("Choices", ", ".join(entry.choices))
    lines += part("Names", f"a spec of kind {entry.reference}" if entry.reference else "")
    if not entry.required:
        lines += part("Needed", f"by {', '.join(entry.needed_by)}" if entry.needed_by else "no, optional")
    lines += part("Example", "; ".join(entry.examples))
    inner = [one for one in keys(entry.kind) if one.startswith(f"{entry.key}.")] if entry.group else []
    return lines + list(part("Keys in it", ", ".join(inner)))


def _form(entry: FieldEntry) -> str:
    if not entry.unit:
        return entry.form
    unit = "a number" if entry.unit == "-" else f"a {entry.form} in {entry.unit} or another unit of its kind"
    shown = "" if entry.show in {entry.unit, "-"} else f", shown in {entry.show}"
    return f"{unit}{shown}; tolerance {entry.tolerance or 'allowed'}"


def _unknown(name: str) -> str:
    from kb.output.explain import keys, known
    from kb.publish import fields

    names = list(known())
    for kind in fields.kinds():
        names += [key for one in keys(kind) for key in (one, f"{kind}.{one}")]
    near = difflib.get_close_matches(name, names, n=1)
    hint = f"did you mean {near[0]}?" if near else "`sizebook explain` lists the checks"
    return f"{safe(name) or 'an empty name'} is not a check, setting or key; {hint}"
