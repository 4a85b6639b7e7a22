"""Specs held against schemas: kinds, quantities, codes, ids and days, and where each fault is."""

from __future__ import annotations

import pytest

from kb.book.schema import Schemas, judge, shipped_schemas
from kb.book.source import read_text
from tests.book.sample import LENGTH, SCHEMAS, judged, named, only

# --- kind -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "column", "says", "fix"),
    [
        ("kind: simple\n", 7, "simple is not a kind of spec", "did you mean sample?"),
        ("kind: zzz\n", 7, "zzz is not a kind of spec", "choose one of end, sample"),
        ("kind:\n", 6, "empty text is not a kind of spec", "choose one of end, sample"),
        ("kind: [sample]\n", 7, "a group or list is not a kind of spec", "choose one of end, sample"),
        ("id: x\n", 1, "the spec has no `kind:`", "begin with `kind:` and one of end, sample"),
        ("{}\n", 1, "the spec has no `kind:`", "begin with `kind:` and one of end, sample"),
    ],
)
def test_a_spec_without_a_known_kind_is_judged_no_further(
    text: str, column: int, says: str, fix: str
) -> None:
    """An unknown kind is the one thing reported, with a guess or the choices."""
    document = read_text(text, "spec.yaml").document
    assert document is not None
    shape = judge(document, SCHEMAS)
    finding = only(shape)
    assert (finding.name, finding.place.span.column) == ("shape.kind", column)
    assert (finding.message, finding.fixes) == (says, (fix,))
    assert shape.kind == ""


def test_the_vocabulary_is_no_kind_of_spec() -> None:
    """The shipped kinds are those of the schema files, and no other is in their folder."""
    assert shipped_schemas().kinds == (
        "body-standard", "changeover", "end", "floor", "limits", "line", "material", "plant", "sheet-codes",
        "size-format", "trial", "waivers", "week",
    )  # fmt: skip


# --- quantities -------------------------------------------------------------------------------


UNITS = [
    ("width: 66.04", "quantity", (8, 13), "the unit is missing", "write 66.04 mm"),
    ("width: 2.6", "quantity", (8, 11), "the unit is missing", "write 2.6 in"),
    ("width: 9000000", "quantity", (8, 15), "unit is missing; a length is required, such as 66.04 mm", ""),
    ("width: 1e9999", "quantity", (8, 14), "the unit is missing; a length is required, such as 66.04 mm", ""),
    ("width: 66 to 67", "quantity", (8, 16), "the unit is missing", "write 66 to 67 mm"),
    ("reversal: 620", "quantity", (11, 14), "the unit is missing", "write 620 kPa"),
    ("reversal: 90", "quantity", (11, 13), "the unit is missing", "write 90 psi"),
    (
        "width: wide",
        "quantity",
        (8, 12),
        "wide is not a quantity; a length is required, such as 66.04 mm",
        "",
    ),
    ("width: true", "quantity", (8, 12), "true is not a quantity; a length is required", ""),
    ("width: '66.04 inch'", "unknown", (15, 20), "inch is not a unit in the list", "did you mean in?"),
    ("width: 66.04 kPa", "dimension", (14, 17), "kPa is a pressure; a length is required", ""),
    (
        "width: 66.04 mm (2.7 in)",
        "dual",
        (18, 25),
        "the two halves disagree",
        "in the brackets write 2.6 in",
    ),
    (
        "width: 2.6 mm",
        "slip",
        (8, 14),
        "20 to 200 mm; it looks like inches written as mm",
        "if so, write 2.6 in",
    ),
    ("gauge: 2.60 ±0.01 mm", "slip", (8, 21), "looks like inches", "if so, write 2.60 ±0.01 in"),
    ("rings: [{bore: 11 mm}]", "slip", (16, 21), "looks like a radius in place of a diameter", ""),
    ("width: 11.5 mm", "slip", (8, 15), "looks like cm written as mm", "if so, write 11.5 cm"),
    ("width: 9000000 mm", "band", (8, 18), "width of web 9000000 mm is outside the plausible 20", ""),
    ("width: 199 ±2 mm", "band", (8, 17), "199 ±2 mm is outside the plausible 20 to 200 mm", ""),
    (
        "reversal: 90 kPa",
        "slip",
        (11, 17),
        "outside the plausible 400 to 1000 kPa",
        "if so, write 90 psi",
    ),
    ("share: 20 %", "slip", (8, 12), "the plausible 0.1 to 12 %; it looks like a decimal point", ""),
    ("share: 0.02", "quantity", (8, 12), "a number without a unit is not allowed here", "write 2 %"),
    ("share: '0.02'", "quantity", (8, 14), "a number without a unit is not allowed here", "write 2 %"),
    ("share: 2.0", "slip", (8, 11), "percent written as a plain fraction", "if so, write 2.0 %"),
    (
        "gauge: 66.04 mm",
        "tolerance",
        (8, 16),
        "the tolerance is missing",
        "write ± and the tolerance after 66.04",
    ),
    ("bare: 66.04 ±0.02 mm", "tolerance", (7, 21), "no tolerance is allowed here", "write 66.04 mm"),
    ("taken: 90 mm", "range", (8, 13), "a range with two limits is required here", "write both limits"),
    ("taken: 90 ±10 mm", "range", (8, 17), "a range with two limits is required here", "write 80 to 100 mm"),
    ("limit: 5 ±1 %", "tolerance", (8, 14), "no tolerance is allowed here", "write 5 %"),
    ("rings: [{bore: 66.2 mn}]", "unknown", (21, 23), "mn is not a unit in the list", "did you mean"),
    ("either: [66 mm, 67]", "quantity", (17, 19), "the unit is missing", "write 67 mm"),
    ("either: {bore: 5 xx}", "unknown", (18, 20), "xx is not a unit in the list", ""),
]


@pytest.mark.parametrize(("text", "name", "span", "says", "fix"), UNITS)
def test_a_fault_of_units_is_named_at_its_columns(
    text: str, name: str, span: tuple[int, int], says: str, fix: str
) -> None:
    """Grammar, unit, dimension, tolerance and band each have a name, a place and a fix."""
    finding = only(judged(text))
    assert finding.name == f"units.{name}"
    assert says in finding.message
    assert fix in "; ".join(finding.fixes)
    assert (finding.place.span.column, finding.place.span.end_column) == span


@pytest.mark.parametrize(
    "text", ["width: [66 mm]", "width: {a: 66 mm}", "width:", "body: [1]", "effective:", "metal:"]
)
def test_a_group_list_or_nothing_where_a_value_belongs_is_one_fault_of_type(text: str) -> None:
    """Our words want one written value, and say so once."""
    assert only(judged(text)).name == "shape.type"


def test_a_quantity_is_judged_wherever_the_schema_describes_it() -> None:
    """Behind a reference, in a list, by any name or in a branch, a wrong quantity is found at its key."""
    right = (
        "metal: aa3104-h19\nlines: [line-1, line-2]\nwidth: 66.04 mm\nfriction: 0.05\nlimit: 8 %\n"
        "rings: [{bore: 66.268 ±0.001 mm}, {bore: 66.034 mm, land: 20 mm}]\n"
        "by_name: {a.b: {owner: me, most: 42 mm}}\neither: {bore: 66 mm}\n"
    )
    assert judged(right).findings == []
    assert judged(right).kind == "sample"
    wrong = judged(right.replace(" mm", " xx").replace("0.05", "0.05 xx").replace("8 %", "8 xx"))
    assert [(finding.name, finding.place.key) for finding in wrong.findings] == [
        ("units.unknown", key)
        for key in (
            *("width", "friction", "limit", "rings[0].bore", "rings[1].bore", "rings[1].land"),
            *("by_name.a.b.most", "either.bore"),
        )
    ]


def test_our_keywords_do_not_choose_the_branch() -> None:
    """A choice is decided by structure alone: a wrong quantity does not make another branch the one meant."""
    both = {"anyOf": [{"type": "string", "quantity": LENGTH}, {"type": "string", "maxLength": 9}]}
    only_one = {"oneOf": [{"type": "string", "quantity": LENGTH}, {"type": "integer"}]}
    never = {"not": {"type": "string", "quantity": LENGTH}}
    properties = {"a": both, "b": only_one, "c": never}
    document = read_text("kind: odd\na: 66\nb: 67 xx\nc: 68 xx", "spec.yaml").document
    assert document is not None
    found = judge(document, Schemas({"odd": {"properties": properties}})).findings
    assert [(one.name, one.place.key) for one in found] == [
        ("units.quantity", "a"),
        ("units.unknown", "b"),
        ("shape.form", "c"),
    ]


def test_every_name_of_units_at_the_head_of_the_module_is_shown_by_a_test() -> None:
    """The names under units are those of the table above."""
    assert {name for name in named() if name.startswith("units.")} == {
        f"units.{name}" for _, name, *_ in UNITS
    }


# --- codes, ids, days -------------------------------------------------------------------------


@pytest.mark.parametrize("code", ['"202"', "'211'", '"200"', '"215"', '"1004"'])
def test_a_size_code_is_quoted_inches_and_sixteenths(code: str) -> None:
    """Three or four digits in quotes, the last two below 16."""
    assert judged(f"body: {code}").findings == []


@pytest.mark.parametrize(
    ("code", "says", "fix"),
    [
        ("211", "a size code is text, not a number", 'write "211" with quotes'),
        ("0211", "a size code is text, not a number", 'write "0211" with quotes'),
        ('"216"', "216 is not a size code", 'such as "202"'),
        ('"21"', "21 is not a size code", 'such as "202"'),
        ('"21100"', "21100 is not a size code", 'such as "202"'),
        ('"٢١١"', "is not a size code", 'such as "202"'),
        ('"2 11"', "is not a size code", 'such as "202"'),
        ('""', "empty text is not a size code", 'such as "202"'),
        ("2.11", "2.11 is not a size code", 'such as "202"'),
    ],
)
def test_what_is_no_size_code_is_refused(code: str, says: str, fix: str) -> None:
    """An unquoted code gets the fix to quote it; anything else gets the form of a code."""
    finding = only(judged(f"body: {code}"))
    assert finding.name == "shape.code"
    assert says in finding.message
    assert fix in finding.fixes[0]


@pytest.mark.parametrize("name", ["tall-330", "a", "330-ml", "x" * 64, '"330"'])
def test_a_plain_name_is_an_id(name: str) -> None:
    """Lower-case words and digits joined by hyphens, up to 64 characters."""
    assert judged(f"metal: {name}").findings == []


@pytest.mark.parametrize(
    ("name", "fix"),
    [
        ("Tall 330", "write tall-330"),
        ("tall_330", "write tall-330"),
        ("tall--330", "write tall-330"),
        ("-tall", "write tall"),
        ("../../etc/passwd", "write etc-passwd"),
        ("x" * 65, f"write {'x' * 64}"),
        ("täll", "write t-ll"),
        ("ß", ""),
        ('""', ""),
        ("CON", ""),
        ("con", ""),
        ("lpt1", ""),
        ("330", 'write "330" with quotes'),
        ("true", 'write "true" with quotes'),
    ],
)
def test_what_is_no_plain_name_is_refused(name: str, fix: str) -> None:
    """A name that a file or an address could stumble over is refused, with a plain one where there is one."""
    finding = only(judged(f"metal: {name}"))
    assert finding.name == "shape.id"
    assert "; ".join(finding.fixes) == fix


@pytest.mark.parametrize(
    ("day", "fix"),
    [
        ("2026-09-14", 'write "2026-09-14" with quotes'),
        ('"2026-02-30"', 'such as "2026-09-14"'),
        ('"14.09.2026"', 'such as "2026-09-14"'),
        ('"20260914"', 'such as "2026-09-14"'),
        ('"2026-W37-1"', 'such as "2026-09-14"'),
        ('"2026-9-14"', 'such as "2026-09-14"'),
        ('"2026-09-14T10:00"', 'such as "2026-09-14"'),
        ("2026", 'such as "2026-09-14"'),
    ],
)
def test_what_is_no_day_in_quotes_is_refused(day: str, fix: str) -> None:
    """A day is year-month-day in quotes, and one that the calendar has."""
    finding = only(judged(f"effective: {day}"))
    assert finding.name == "shape.date"
    assert fix in finding.fixes[0]


def test_a_day_in_quotes_is_accepted() -> None:
    """The calendar is asked: the 29th of February is there in a leap year."""
    assert judged('effective: "2028-02-29"').findings == []
