"""The fixed words of a sheet, once for both faces."""

from __future__ import annotations

from collections.abc import Mapping

SETUP = "Setup sheet"

HEADS: Mapping[str, str] = {
    "current": "Is this sheet current?",
    "changed": "What is new",
    "waivers": "Waivers in force",
    "dangers": "Dangers",
    "material": "Metal and end",
    "pack": "Tool pack, as stacked",
    "makes": "What this pack makes",
    "machines": "Machines, in line order",
    "first_offs": "First-off checks",
    "gauges": "Gauges",
    "out_of_limits": "A reading is out",
    "reactions": "Reaction plans",
    "release": "Release",
    "notes": "Notes from the floor",
}

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

PREDICTED = (
    "Predicted from the sizes above, worst corners of their windows. Walls: an aim for this pack, no limit."
)

BOXES = "in: fitted.  2nd: checked by a second person.  set: what you have set."

NOTHING_CHANGED = "Nothing recorded beyond this."
NO_WAIVERS = "None."
UNRECORDED = "This code is not in the register of codes yet."
FIXED_ORDER = "Words in capitals grade a hazard: DANGER kills, WARNING can, CAUTION injures, NOTICE spoils."
