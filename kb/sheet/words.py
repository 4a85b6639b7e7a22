"""The fixed words of a sheet, once for both faces."""

from __future__ import annotations

from collections.abc import Mapping

SETUP = "Setup sheet"

HEADS: Mapping[str, str] = {
    "current": "Is it current?",
    "changed": "What is new",
    "waivers": "Waivers in force",
    "dangers": "Dangers",
    "material": "Metal and end",
    "pack": "Tool pack, as stacked",
    "makes": "What this pack makes",
    "machines": "Machines, in line order",
    "gauges": "Gauges",
    "first_offs": "First-off checks",
    "out_of_limits": "A reading is out",
    "reactions": "Reaction plans",
    "release": "Release",
    "notes": "Notes from the floor",
}
"""Parts in the order of the sheet; `makes` belongs to the pack."""

GROUPS: Mapping[str, str] = {
    "paper": "Paper and parts",
    "cup": "Cup",
    "can": "Can, from bodymaker and trimmer",
    "strength": "Strength, once a start",
    "neck": "Neck and flange",
    "seam": "Seam, with the customer's end",
}

SHAPES: Mapping[str, str] = {"critical": "◆", "key": "■", "ordinary": "○"}
"""What stands before the word, for whoever looks before reading."""

RANKS = "◆ critical: safety or seal.  ■ key: fit and running.  ○ ordinary."

PREDICTED = "Predicted, with the corners of these windows; not limits."

MAKES: Mapping[str, str] = {
    "gap": "cold gap",
    "thin": "thin wall",
    "thick": "thick wall",
    "reduction": "reduction",
}

BOXES = "in: fitted.  2nd: checked by a second person.  set: what you have set."

ALWAYS = "Every hazard"
"""Before the precautions that all cautions share."""

MASTER = "set with"

NO_WAIVERS = "None."
UNRECORDED = "This code is not in the register of codes yet."

CODES = "Current setup sheets"
CODES_USE = "Use a sheet only if its code is on this list. If it is not, stop and get a new sheet."
CODE_HEADS = ("sheet", "code today", "issued", "no longer")

MARKS: Mapping[str, str] = {
    "DRAFT": "being written; for no machine",
    "TRIAL": "only with engineering present",
}
"""What a mark means, beside the reasons a sheet gives itself."""

INCOMPLETE = (
    "NOT FOR USE: this page is not complete. Its shared parts did not load: scripts are off, or a file of the "
    "site is missing. Make the sheet with the command: sizebook changeover FROM TO --line LINE --pdf"
)
"""Across a page of the site until its shared parts are in."""
