"""The import of a table as text: the result for each row and cell."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from kb.book.finding import one_line
from kb.table.drafts import CellFate, ImportedDraft

LONGEST = 60
"""Characters shown of a cell."""


def import_as_text(drafts: Sequence[ImportedDraft], fates: Sequence[str], *, every_cell: bool) -> str:
    """The report of an import.

    Args:
        drafts: the draft of each row
        fates: what became of each of them, in words
        every_cell: whether each cell is shown, and not only those with a doubt
    """
    lines: list[str] = []
    for one, fate in zip(drafts, fates, strict=True):
        cells = [cell for cell in one.cells if every_cell or cell.doubt]
        lines.append(f"row {one.row}: {fate}")
        lines += [f"  doubt: {one_line(doubt)}" for doubt in one.doubts]
        lines += [f"  {words}" for cell in cells for words in _cell(cell)]
        if one.text and one.missing:
            lines.append(f"  missing: {', '.join(one.missing)}")
    of_rows = [cell for one in drafts for cell in one.cells]
    skipped = dict.fromkeys(cell.column for cell in of_rows if not cell.key and not cell.doubt)
    if skipped and not every_cell:
        lines.append(f"columns without a key: {', '.join(map(one_line, skipped))}")
    return "".join(f"{line}\n" for line in lines)


def _cell(cell: CellFate) -> Iterator[str]:
    begin = f"{one_line(cell.column, LONGEST)} ({one_line(cell.cell, LONGEST)}): "
    if cell.doubt:
        yield f"{begin}doubt: {one_line(cell.doubt)}" + (f" [{cell.key}]" if cell.key else "")
    elif cell.value:
        yield f"{begin}{cell.key} = {one_line(cell.value, LONGEST)}"
    else:
        yield f"{begin}{'a draft has its own' if cell.key else 'no key'}"
