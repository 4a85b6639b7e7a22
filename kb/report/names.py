"""The names of findings that no measuring check stands behind: how files read, how a book hangs together.

A measuring check tells its own title and reason (kb/checks/catalog.py). The names here come from reading,
shape, units, the book, its limits and its waivers; `sizebook explain` and the SARIF rules take their words.
"""

from __future__ import annotations

from dataclasses import dataclass

from kb.book.finding import Severity
from kb.report.names_changeover import CHANGEOVER_NAMES
from kb.report.names_floor import FLOOR_NAMES
from kb.report.names_review import REVIEW_NAMES


@dataclass(frozen=True, slots=True)
class Name:
    """One name with its explanation.

    Attributes:
        title: what holds when there is no finding, or what the finding is, in one line.
        why: the reason, one paragraph.
        fix: what to do.
        severity: what a finding of this name is.
    """

    title: str
    why: str
    fix: str
    severity: Severity = "error"


NAMES: dict[str, Name] = {
    # --- reading: from bytes to keys and values ---
    "reading.file": Name(
        "The file is there and can be read.",
        "A spec is an ordinary file that the account running the check may read.",
        "Correct the path, or give read permission.",
    ),
    "reading.size": Name(
        "The file is no larger than specs are.",
        "A spec is a page or two of text; a file many times larger was put here by mistake.",
        "Take the file out of the book, or split it.",
    ),
    "reading.encoding": Name(
        "The file is saved as UTF-8.",
        "Other encodings turn ± and µ into something else without saying so.",
        "Save the file as UTF-8 in the editor.",
    ),
    "reading.character": Name(
        "The file holds no characters that do not show.",
        "Control characters, invisible blanks and marks that turn the direction of writing make a line read "
        "otherwise than it is.",
        "Delete the character at the place shown; typing the line anew is the surest way.",
    ),
    "reading.syntax": Name(
        "The file can be read as YAML.",
        "From this place on the reader cannot tell keys from values, so nothing after it is judged.",
        "Look at the line shown and the one above it: a missing colon, quote, bracket or indent.",
    ),
    "reading.conflict": Name(
        "The file holds no unresolved merge conflict.",
        "Between the marks the file has two versions of the same lines; nobody decided which one holds.",
        "Keep one side, and delete the lines that begin with `<<<<<<<`, `=======` and `>>>>>>>`.",
    ),
    "reading.tab": Name(
        "Lines are indented with spaces.",
        "A tab has no fixed width, so YAML cannot tell which group a line belongs to.",
        "Replace the tab by spaces; most editors can be set to write spaces.",
    ),
    "reading.empty": Name(
        "The file says something.",
        "An empty file in the book is one that was never filled in or was emptied by mistake.",
        "Write the spec, or take the file out.",
    ),
    "reading.top-level": Name(
        "The file begins with keys.",
        "A spec is a group of keys with values; a list or a lone value at the top is something else.",
        "Write `kind:` and the other keys at the left margin.",
    ),
    "reading.key": Name(
        "Every key is plain text.",
        "A key that is empty, very long, or itself a group cannot be named in a finding or on a sheet.",
        "Write the key as the field reference has it.",
    ),
    "reading.duplicate-key": Name(
        "No key is written twice in one group.",
        "YAML readers keep one of the two and drop the other without a word.",
        "Keep the one that is meant and delete the other.",
    ),
    "reading.merge-key": Name(
        "No `<<` takes over keys from elsewhere.",
        "A value that stands in another place than where it counts cannot be pointed at or reviewed.",
        "Write the keys themselves.",
    ),
    "reading.anchor": Name(
        "No value is given a name with `&`.",
        "A value that is used in several places cannot be changed for one of them alone.",
        "Delete the `&name`; quote text that begins with `&`.",
    ),
    "reading.alias": Name(
        "No `*name` stands for a value.",
        "The number on the line must be the number that counts.",
        "Write the value itself; quote text that begins with `*`.",
    ),
    "reading.tag": Name(
        "No value carries a `!` tag.",
        "Tags tell a YAML reader to turn text into something else; here text stays what was written.",
        "Write the value alone; quote text that begins with `!`.",
    ),
    "reading.directive": Name(
        "No line speaks to the YAML reader with `%`.",
        "Such a line changes how all following lines are read.",
        "Delete the line.",
    ),
    "reading.documents": Name(
        "One file holds one spec.",
        "A second spec behind `---` would be overlooked by everyone who opens the file.",
        "Move the second spec into a file of its own.",
    ),
    "reading.nesting": Name(
        "Groups are not nested beyond reason.",
        "No spec needs groups so deep; an indent has gone astray.",
        "Check the indents above the line shown.",
    ),
    "reading.nodes": Name(
        "The file holds no more values than specs do.",
        "A file with so many values is no spec.",
        "Take the file out of the book, or split it.",
    ),
    "reading.length": Name(
        "No value is longer than values are.",
        "A very long value is most often a quote that was never closed.",
        "Close the quote, or shorten the text.",
    ),
    "reading.many-faults": Name(
        "Reading stopped because enough was found.",
        "When so many lines fail, one early slip is usually behind them all.",
        "Mend the first few findings of the file and check again.",
    ),
    "reading.link": Name(
        "Links stay within the book.",
        "A link that leads out makes the book depend on a file that is not versioned with it.",
        "Put the file itself into the book.",
    ),
    # --- shape: the keys a kind of file has ---
    "shape.kind": Name(
        "The file says what kind of spec it is.",
        "The kind decides which keys belong in the file.",
        "Begin the file with `kind:` and one of the kinds named in the finding.",
    ),
    "shape.unknown-key": Name(
        "Every key is one that this kind of file has.",
        "A key that nothing reads looks as if it counted.",
        "Correct the spelling, or take the key out.",
    ),
    "shape.missing-key": Name(
        "Every key that must be there is there.",
        "Nothing is assumed for a key that was left out: an assumed tool size is a wrong tool size.",
        "Add the key; the finding shows an example.",
    ),
    "shape.key": Name(
        "Names that serve as keys are well formed.",
        "Limits and settings are found by their names.",
        "Write the name as the finding's example has it.",
    ),
    "shape.type": Name(
        "Each value is of the form its key asks for.",
        "A list where one value belongs, or a number where text belongs, is a slip of writing.",
        "Write the value as the finding's example has it.",
    ),
    "shape.choice": Name(
        "A value is one of the choices.",
        "Where only some words are allowed, another word would be understood by nobody.",
        "Write one of the words the finding lists.",
    ),
    "shape.length": Name(
        "Texts and lists are neither too short nor too long.",
        "A title must fit its place on the sheet; a list that must say something cannot be empty.",
        "Shorten or complete the value.",
    ),
    "shape.number": Name(
        "Counts are within what is possible.",
        "A count below the least or above the most cannot be meant.",
        "Correct the count.",
    ),
    "shape.form": Name(
        "A text has the form its key asks for.",
        "Some texts are taken apart later and must be written one way.",
        "Write the value as the finding's example has it.",
    ),
    "shape.repeated": Name(
        "No item stands in a list twice.",
        "The second one says nothing, or something else was meant.",
        "Delete it, or write what was meant.",
    ),
    "shape.code": Name(
        "Size codes are written in quotes, as whole inches and sixteenths.",
        "Without quotes 0211 is a number; sixteenths go from 00 to 15.",
        'Write three or four digits in quotes, such as "202".',
    ),
    "shape.id": Name(
        "Ids are lower-case words and digits joined by hyphens.",
        "An id becomes a file name and an address, on every system alike.",
        "Write the id as the finding suggests, and name the file after it.",
    ),
    "shape.date": Name(
        "Dates are real days, written in quotes as year-month-day.",
        "Without quotes or in another order a date is read differently by different readers.",
        'Write it like "2026-09-14".',
    ),
    # --- units: written quantities ---
    "units.quantity": Name(
        "A quantity is a number, perhaps a tolerance, and a unit.",
        "One way of writing leaves no room for guessing what a number means.",
        "Write it like 66.04 mm, 0.270 ±0.005 mm, 115.20 +0.25/-0.15 mm or 115.05 to 115.45 mm.",
    ),
    "units.unknown": Name(
        "The unit is one of those the book knows.",
        "A unit that is not in the list cannot be converted.",
        "Write one of the units the finding lists.",
    ),
    "units.dimension": Name(
        "The unit measures what the key asks for.",
        "A pressure cannot stand where a length belongs.",
        "Correct the unit, or move the value to the key it belongs to.",
    ),
    "units.dual": Name(
        "The two halves of a dual value agree.",
        "A value given in millimetres and in inches is read by some crews in one and by others in the other.",
        "Correct the half that is wrong, within the decimals written.",
    ),
    "units.tolerance": Name(
        "A tolerance stands where one is wanted, and only there.",
        "A toleranced size without its tolerance cannot be taken to its worst corner.",
        "Add the tolerance from the drawing, or take it out.",
    ),
    "units.range": Name(
        "A range is written with both its ends.",
        "What a machine takes, or what can be bought, goes from one size to another; one "
        "number leaves an end open.",
        "Write both ends, like 90 to 190 mm.",
    ),
    "units.slip": Name(
        "A value is plausible; this one looks like a known slip.",
        "The value is far outside what such sizes are, and would be inside it in another unit, as a radius "
        "or with the decimal point moved.",
        "Write the value that was meant; the finding says which slip fits.",
    ),
    "units.band": Name(
        "A value is plausible.",
        "The value is outside what such sizes are anywhere in the trade; it is not a limit of the plant.",
        "Correct the value.",
    ),
    # --- book: files beside one another ---
    "book.file-name": Name(
        "Each file stands where its kind and id say.",
        "A file that is named after its id is found at once, and no id is there twice.",
        "Rename or move the file as the finding says.",
    ),
    "book.missing-file": Name(
        "The book has its plant and its limits.",
        "Without them there is nothing to judge a format against.",
        "Add the file; `sizebook new DIR` makes a small book that has one.",
    ),
    "book.unknown-id": Name(
        "Every id that is referred to is in the book.",
        "A format without its end, metal or line cannot be computed.",
        "Correct the id, or add the file.",
    ),
    "book.unknown-owner": Name(
        "Every owner is one of those in plant.yaml.",
        "An owner whom nobody knows answers no question.",
        "Correct the owner, or add the role to `owners` in plant.yaml.",
    ),
    "book.unreleased-end": Name(
        "A released format uses a released end.",
        "A format cannot be in force on an end that is not.",
        "Release the end, or choose another.",
    ),
    "book.same-title": Name(
        "No two formats have the same title.",
        "Two formats told apart by their ids alone are how wrong change parts get pulled.",
        "Say in the titles what differs.",
        "warning",
    ),
    "book.same-tools": Name(
        "No two formats are the same in label and every value.",
        "One format written twice will be changed once. The same can with other fill, targets or pallet is "
        "another format: its sheets say something else.",
        "Make it one format, other names under `also_called`; or say under `label` what tells them apart.",
        "warning",
    ),
    "book.wrong-stock": Name(
        "A body is made of body stock, an end of end stock.",
        "The two alloys differ in strength, and every figure of the can rests on them.",
        "Name a material of the right use.",
    ),
    "book.machine-twice": Name(
        "Each machine is in a line once.",
        "A machine that is listed twice is set, counted and planned twice.",
        "Take one of the two out, or give it its own id.",
    ),
    "floor.within": Name(
        "A tolerance in floor.yaml is smaller than the value it is for.",
        "A sheet would print a smallest size of zero or less, and any part would pass.",
        "Write the tolerance in the right unit and size.",
    ),
    "book.unused": Name(
        "Every material, end and line is used.",
        "What nothing refers to is out of date before anyone notices.",
        "Take the file out, or use it.",
        "note",
    ),
    # --- limits: the plant's own numbers ---
    "limits.missing": Name(
        "Every check has a limit of this plant in limits.yaml.",
        "The default of a check is a published or common limit that nobody at the plant has confirmed.",
        "Add the limit with its source, owner and review date.",
        "note",
    ),
    "limits.not-judged": Name(
        "Every check without a default has a limit in limits.yaml.",
        "No publication gives a limit for it, and without a limit the check is not judged.",
        "Add the limit with its source, owner and review date.",
        "note",
    ),
    "limits.unguarded": Name(
        "Every check of seal or pressure that has no default has a limit in limits.yaml.",
        "Without a limit the check is not judged, and a can that leaks or bursts passes.",
        "Add the limit with its source, owner and review date.",
    ),
    "limits.no-setting": Name(
        "Every formula finds its setting in limits.yaml.",
        "A formula has no default for a number of the plant's own.",
        "Add the setting with its source, owner and review date.",
    ),
    "limits.unknown": Name(
        "Every limit and setting is read by something.",
        "A misspelt limit looks as if it were in force.",
        "Correct the spelling, or take it out; `sizebook explain` lists the checks.",
    ),
    "limits.unit": Name(
        "A limit has the unit of its check.",
        "A limit in another unit cannot be compared.",
        "Write it in the unit the finding names.",
    ),
    "limits.order": Name(
        "The least allowed is not above the most allowed.",
        "Between the two nothing would pass.",
        "Exchange the two, or correct the one that is wrong.",
    ),
    "limits.review": Name(
        "Limits and settings are looked at again by their date.",
        "A limit that nobody has looked at for years is a habit, not a limit.",
        "The owner confirms or changes the value and sets a new review date.",
        "warning",
    ),
    # --- waivers: leave to be outside a limit ---
    "waiver.unknown-check": Name(
        "A waiver names a check there is.",
        "A waiver of a misspelt check covers nothing.",
        "Correct the name; `sizebook explain` lists the checks.",
    ),
    "waiver.not-allowed": Name(
        "Checks that guard seal and pressure are not waived.",
        "A can that may leak or burst is not a matter of leave.",
        "Take the waiver out and mend the format.",
    ),
    "waiver.lapsed": Name(
        "A waiver is within its end date.",
        "Leave is given until a day; after it the finding counts again.",
        "Mend the format and take the waiver out, or have it approved anew.",
    ),
    "waiver.dates": Name(
        "A waiver ends after it was made.",
        "One of the two dates is wrong, so nobody can say whether it is in force.",
        "Correct the date.",
    ),
    "waiver.unit": Name(
        "A waiver's ceiling is in the unit of its check.",
        "A ceiling in another unit would be compared as a bare number, and cover anything.",
        "Write the ceiling in the check's own unit.",
    ),
    "waiver.approver": Name(
        "A waiver is approved by another role than the one that asks for it.",
        "Nobody gives leave to themselves.",
        "Have another role approve it.",
    ),
    "waiver.unused": Name(
        "A waiver is needed.",
        "A waiver of something that passes hides the day on which it fails again.",
        "Take the waiver out.",
    ),
    "waiver.worsened": Name(
        "The value is no worse than its waiver covers.",
        "Leave is given up to a ceiling; the value has drifted past it.",
        "Bring the value back under the ceiling, or have a new ceiling approved.",
    ),
    **{name: Name(*told) for name, told in (FLOOR_NAMES | CHANGEOVER_NAMES | REVIEW_NAMES).items()},
}

GROUPS: dict[str, str] = {
    "reading": "reading the files",
    "shape": "keys and values",
    "units": "quantities and units",
    "book": "the book as a whole",
    "limits": "the plant's limits",
    "waiver": "waivers",
    "floor": "what the floor needs",
    "sheet": "setup sheets",
    "changeover": "changeovers and weeks",
    "revision": "revisions, between two versions",
    "limit": "limits and settings, between two versions",
    "target": "targets, between two versions",
    "setting": "settings that a format needs, between two versions",
    "material": "metals, between two versions",
    "supply": "ends, between two versions",
    "plant": "the plant, between two versions",
    "range": "ranges of machines, between two versions",
}
"""What the first parts of these names stand for, in the order in which the stages run."""
