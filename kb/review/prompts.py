"""What usually moves together, and did not. Keys and words only; no number stands here."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

from kb.checks.catalog import NAMES
from kb.history.change_types import term, under
from kb.review.model import ChangedFile, Prompt

PRACTICE = "common practice, no source"
DERIVED = "follows from volume constancy"


class Together(NamedTuple):
    """Keys that usually move together.

    Attributes:
        moved: keys one of which moved, behind the kind of file.
        usually: keys of the format that usually move with it.
        beside: what no file of the book holds.
        why: the reason.
        source: where that is known from.
    """

    moved: tuple[str, ...]
    usually: tuple[str, ...]
    beside: tuple[str, ...]
    why: str
    source: str = PRACTICE


TOGETHER: tuple[Together, ...] = (
    Together(
        ("size-format.stock.gauge",),
        ("blank.diameter", "blank.die_clearance", "cup.die_bore", "redraw.die_bore", "trim.height"),
        ("cupper and redraw hold pressure", "gauge masters for walls and rim"),
        "Less metal gives a lower wall, and the clearances depend on the gauge.",
        DERIVED,
    ),
    Together(
        ("size-format.stock.material", "material"),
        ("stock.gauge", "stock.earing", "cup.die_radius", "redraw.die_radius", "targets.dome_reversal"),
        ("first-coil trial", "lubricant", "hold pressures"),
        "Another metal changes draw, earing and spring-back.",
    ),
    Together(
        ("size-format.blank.diameter",),
        ("stock.gauge", "trim.height"),
        ("coil width ordered", "cupper hold pressure"),
        "The blank sets the untrimmed height.",
        DERIVED,
    ),
    Together(
        ("size-format.cup.punch_diameter",),
        ("cup.die_bore", "blank.diameter"),
        ("redraw sleeve", "cup track and infeed"),
        "Die and sleeve must fit the cup punch.",
    ),
    Together(
        ("size-format.punch.wall_diameter",),
        ("ironing.rings", "redraw.die_bore", "punch.neck_diameter"),
        ("stripper", "dome tooling nose"),
        "The wall is the gap between ring and punch.",
        "Definition",
    ),
    Together(
        ("size-format.ironing.rings", "size-format.punch.neck_diameter"),
        ("targets.thin_wall", "targets.thick_wall", "neck.pilot_clearance", "targets.body_mass"),
        ("wall gauge master",),
        "The gap sets the walls, and the thick wall sets the pilots of the necker.",
        "Definition",
    ),
    Together(
        ("size-format.punch.step_height", "size-format.punch.step_length"),
        ("neck.shoulder_height", "trim.height"),
        (),
        "The thick wall must reach from below the shoulder to the flange.",
    ),
    Together(
        ("size-format.trim.height",),
        ("punch.step_height", "neck.shoulder_height", "flange.finished_height", "pallet.layers"),
        ("necker height setting", "spray lances"),
        "Settings measured from the open end change with the trimmed height.",
    ),
    Together(
        ("size-format.dome.depth", "size-format.dome.stand_diameter", "size-format.dome.radius"),
        ("fill.headspace", "trim.height", "targets.dome_reversal"),
        ("dome master", "stacking on the end"),
        "A dome change moves capacity and wall height.",
    ),
    Together(
        ("size-format.neck.plug_diameter", "size-format.neck.stages"),
        ("end", "neck.shoulder_height", "flange.width"),
        ("plug gauge rings", "pilots of every stage"),
        "The stages share the reduction down to the plug diameter.",
    ),
    Together(
        ("size-format.flange.width", "size-format.flange.radius"),
        ("seam.body_hook",),
        ("flange master", "test seam"),
        "The flange becomes the body hook.",
        "Definition",
    ),
    Together(
        ("size-format.flange.finished_height",),
        ("trim.height", "pallet.layers", "fill.headspace"),
        ("height post of the format", "seamer lift"),
        "Pallet and fill level depend on the finished height.",
    ),
    Together(
        ("size-format.end", "end"),
        (
            "seam.length",
            "seam.thickness",
            "seam.body_hook",
            "seam.end_hook",
            "neck.plug_diameter",
            "flange.width",
        ),
        ("seaming rolls and chuck of the test seamer", "agreement with the fillers"),
        "Seam, plug diameter and flange must fit the end.",
    ),
    Together(
        ("size-format.seam",),
        ("flange.width",),
        ("test seam", "agreement with the fillers"),
        "Flange and end set hooks and seam thickness.",
    ),
    Together(
        ("size-format.fill.contents", "size-format.label"),
        ("fill.headspace", "trim.height", "flange.finished_height", "label"),
        ("printing plates", "agreement with the fillers"),
        "The printed contents must match the fill.",
    ),
)
"""Dependencies that a reviewer looks for; a row that asks too often is shortened here."""


def prompts(files: Sequence[ChangedFile], reached: Mapping[str, Sequence[str]]) -> Iterator[Prompt]:
    """Rows of the table of which something moved and something did not.

    Args:
        files: files that changed
        reached: formats that each changed file reaches, by kind and id behind one another

    Yields:
        A prompt for each row and each set of keys that stayed, with the formats in which they did.
    """
    keys = {one.id: [change.key for change in one.changes] for one in files if one.kind == "size-format"}
    for row in TOGETHER:
        found: dict[tuple[tuple[str, ...], tuple[str, ...]], list[str]] = {}
        for file in files:
            moved = _moved_values(row, file)
            formats = [file.id] if file.kind == "size-format" else reached.get(f"{file.kind} {file.id}", ())
            for ident in formats if moved and "changed" in file.states else ():
                still = tuple(key for key in row.usually if not _among(key, keys.get(ident, ())))
                still = tuple(key for key in still if f"size-format.{key}" not in row.moved)
                if still:
                    found.setdefault((moved, still), []).append(ident)
        for (moved, still), formats in found.items():
            named = tuple(term("size-format", key.split("."), names=NAMES).words for key in still)
            yield Prompt(tuple(sorted(formats)), moved, named, row.beside, row.why, row.source)


def _moved_values(row: Together, file: ChangedFile) -> tuple[str, ...]:
    """What of a row moved in a file, in words."""
    changes = [change for change in file.changes if change.kinds != ("re-expressed",)]
    named = [change.words for change in changes if under(f"{file.kind}.{change.key}", row.moved)]
    if named and file.kind != "size-format" and file.kind in row.moved:
        if all("editorial" in change.kinds or "document" in change.kinds for change in file.changes):
            return ()
        return (f"{file.kind} {file.id}",)
    return tuple(named)


def _among(key: str, keys: Sequence[str]) -> bool:
    return any(under(one, (key,)) for one in keys)
