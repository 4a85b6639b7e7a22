"""The demo book: a plant that closes, a trial under a waiver, and a draft that shows findings."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterator, Mapping

import pytest
import yaml
from jsonschema import Draft202012Validator
from referencing import Registry

from kb.book import keys
from kb.book.compose import values_of
from kb.book.load import Book
from kb.book.records import SizeFormat
from kb.checks import check_book
from kb.checks.report import Report
from kb.folders import shipped
from kb.process import pallet
from kb.route.assemble import Assembled
from kb.route.stations.filled import end_displaces
from kb.sheet.content import content
from kb.sheet.issue import digest
from tests.conftest import TODAY

DRAFT, TRIAL = "b211-440-light", "b204-355"
LOW = "b204-330-ferry"
"""The one format whose filler takes pallets lower than the plant's."""


@pytest.fixture
def released(demo: Book) -> list[SizeFormat]:
    """The released formats."""
    records: Iterator[SizeFormat] = (spec.record for spec in demo.of("size-format").values())
    return [one for one in records if one.status == "released"]


def test_the_book_reads_without_a_fault(demo: Book) -> None:
    """Every file of the demo book is valid as text, shape and units, and refers to what is there."""
    assert demo.findings == []
    assert demo.broken == {}


def test_the_book_has_no_errors(demo_report: Report) -> None:
    """Judged whole, the demo book has no error, and every stage of every format was run."""
    assert demo_report.counts()["error"] == 0
    assert demo_report.skipped == []


def test_released_formats_have_no_finding_at_all(demo_report: Report, released: list[SizeFormat]) -> None:
    """What is released passes every check at every corner, without a waiver."""
    listed = {one.subject for one in demo_report.findings}
    assert listed == {DRAFT, TRIAL}
    for one in released:
        assert all(verdict.passed for verdict in demo_report.verdicts[one.id]), one.id


def test_the_book_is_wide_enough_to_show_a_plant(demo: Book, released: list[SizeFormat]) -> None:
    """At least eight released sizes from 200 to 568 ml, in three diameters, for three ends, on two lines."""
    contents = [one.fill.contents / 1000 for one in released]
    assert len(released) >= 8
    assert (min(contents), max(contents)) == (200.0, 568.0)
    assert len({one.punch.wall_diameter for one in released}) >= 3
    assert len({one.body for one in released}) >= 3
    ends = {one.end for one in released}
    assert ends == set(demo.of("end"))
    assert len({demo.of("end")[end].record.code for end in ends}) == 3
    assert len({line for one in released for line in one.lines}) == 2 == len(demo.of("line"))


def reach(one: SizeFormat, other: SizeFormat) -> str:
    """How far apart two formats are on a line: the first thing down the line that both do not share."""
    blocks = ("stock", "blank", "cup", "redraw", "punch", "ironing", "dome", "trim", "end", "label")
    apart = [name for name in blocks if getattr(one, name) != getattr(other, name)]
    if one.punch.wall_diameter != other.punch.wall_diameter:
        return "body diameter"
    if {"stock", "blank"} & set(apart):
        return "metal"
    if {"trim", "end", "ironing"} & set(apart):
        return " and ".join(name for name in apart if name != "label")
    return " and ".join(apart) or "settings"


def test_lines_have_a_pair_for_each_way_of_changing_over(demo: Book, released: list[SizeFormat]) -> None:
    """Each line has a pair for every class, another body diameter where its bodymakers take more than one.

    Packs alone and settings alone are each shown on one of the lines.
    """
    alone = {"heron": "ironing", "plover": "settings"}
    for line, spec in demo.of("line").items():
        made = [one for one in released if line in one.lines]
        found = {reach(one, other) for one in made for other in made if one is not other}
        takes = next(one.can_diameter for one in spec.record.machines if one.kind == "bodymaker")
        several = {"body diameter"} if takes.high - takes.low > 2 else set()
        assert found == {"label", "end", "trim", "trim and end", "metal", alone[line]} | several, line


def test_every_format_has_a_label_of_its_own(demo: Book) -> None:
    """Each format names its label design, and no two share one but for the low pallets' can and its twin."""
    labels = {ident: spec.record.label for ident, spec in demo.of("size-format").items()}
    assert all(labels.values())
    assert labels.pop(LOW) == labels["b204-330"]
    assert len(set(labels.values())) == len(labels)


def test_the_book_has_two_body_stocks_and_one_end_stock(demo: Book) -> None:
    """Two body stocks are bought, one of them for the light draft; the ends have a metal of their own."""
    uses = {ident: spec.record.use for ident, spec in demo.of("material").items()}
    assert sorted(uses.values()) == ["body", "body", "end"]
    stocks = {spec.record.stock.material for spec in demo.of("size-format").values()}
    assert stocks == {ident for ident, use in uses.items() if use == "body"}


def test_the_draft_shows_what_findings_look_like(demo: Book, demo_report: Report) -> None:
    """The draft has four or five findings, warnings that would be errors, most with a number that fixes."""
    assert demo.of("size-format")[DRAFT].record.status == "draft"
    found = [one for one in demo_report.findings if one.subject == DRAFT]
    assert len(found) in {4, 5}
    assert {one.severity for one in found} == {"warning"}
    assert "trim.allowance" in {one.name for one in found}
    assert sum(one.fixes[0].startswith("set ") for one in found) >= 3


def test_the_trial_has_one_waived_finding(demo: Book, demo_report: Report) -> None:
    """The trial has the one finding that its waiver covers, as a note."""
    assert demo.of("size-format")[TRIAL].record.status == "trial"
    (found,) = [one for one in demo_report.findings if one.subject == TRIAL]
    assert (found.name, found.severity, found.waiver) == ("redraw.draw-ratio", "note", "waivers[0]")
    assert len(demo.waivers.waivers) == 1


# --- numbers that must agree ------------------------------------------------------------------


@pytest.fixture
def ready(formats: Mapping[str, Assembled], released: list[SizeFormat]) -> list[Assembled]:
    """The released formats, ready to be routed."""
    return [formats[one.id] for one in released]


def test_metal_balances(ready: list[Assembled]) -> None:
    """At nominal sizes blank and rings give the same body weight as walls and height, within 1 %."""
    for one in ready:
        flanged = one.study.nominal.flanged
        assert flanged.mass / flanged.mass_declared == pytest.approx(1.0, abs=0.01), one.case.format.id
        assert flanged.mass == pytest.approx(one.case.format.targets.body_mass, abs=0.25)


def test_cans_hold_their_contents(ready: list[Assembled]) -> None:
    """Every can takes its contents under the end with 2 to 8 % to spare, the end taking what is missing."""
    for one in ready:
        filled, contents = one.study.nominal.filled, one.case.format.fill.contents
        assert 1.02 * contents < filled.sealed < 1.08 * contents, one.case.format.id
        assert filled.sealed + end_displaces(one.case) == pytest.approx(filled.brimful)
        low, high = one.case.band("format.fill.headspace")
        assert low < filled.headspace < high


def test_necks_reach_the_plug(ready: list[Assembled]) -> None:
    """The last neck stage is the plug diameter, the flanged rim is on it, at the finished height."""
    for one in ready:
        route, spec = one.study.nominal, one.case.format
        assert route.necked[-1].diameter == pytest.approx(spec.neck.plug_diameter)
        assert route.flanged.flange_diameter == pytest.approx(spec.neck.plug_diameter + 2 * spec.flange.width)
        assert route.flanged.height == pytest.approx(spec.flange.finished_height, abs=0.1)
        assert route.flanged.straight > 2.4


def test_walls_are_the_targets(ready: list[Assembled]) -> None:
    """Rings and punch give the thin and thick wall that are required, to half a micron."""
    for one in ready:
        last, targets = one.study.nominal.ironed[-1], one.case.format.targets
        assert float(last.thin) == pytest.approx(targets.thin_wall, abs=0.0005), one.case.format.id
        assert float(last.thick) == pytest.approx(targets.thick_wall, abs=0.0010), one.case.format.id


def test_pallets_are_whole(ready: list[Assembled]) -> None:
    """The layer declared is the best that fits the pallet; one more would be too high, but on low pallets."""
    for one in ready:
        spec, board = one.case.format, one.case.plant.pallet
        sides = {"length": board.length + 2 * board.overhang, "width": board.width + 2 * board.overhang}
        fits, _ = pallet.best_layer(diameter=spec.ironing.rings[-1].bore, **sides)
        assert 0.97 * fits <= spec.pallet.per_layer <= fits, spec.id
        layer = spec.flange.finished_height + board.sheet
        stack = board.base + board.sheet + spec.pallet.layers * layer
        assert stack <= board.height, spec.id
        assert (board.height < stack + layer) == (spec.id != LOW), spec.id


def test_every_limit_names_its_source(demo: Book) -> None:
    """Each limit and setting says where its number comes from; one without a source says just that."""
    assert demo.limits is not None
    for name, one in (*demo.limits.limits.items(), *demo.limits.settings.items()):
        assert len(one.source) > 8, name
        assert one.review > "2026-11-02", name
    assert [name for name, one in demo.limits.settings.items() if one.calibrated] == ["dome-calibration"]


# --- the book as it is shipped: standards, short formats and label variants -------------------


VARIANTS = {"b204-250-regatta": "b204-250", "b211-330-lantern": "b211-330"}
"""The formats that differ from another in their label only."""


@pytest.fixture(scope="module")
def short_report(short_demo: Book) -> Report:
    """The shipped book as checked."""
    return check_book(short_demo, today=TODAY)


def test_the_shipped_book_reads_without_a_fault(short_demo: Book) -> None:
    """Every file of the shipped book is valid, and the formats are those of the book in full."""
    assert short_demo.findings == []
    assert short_demo.broken == {}


def test_each_body_has_one_standard(short_demo: Book) -> None:
    """There is one standard for each body, and every format is built on that of its body."""
    records = [spec.record for spec in short_demo.of("size-format").values()]
    assert {one.body for one in records} == set(short_demo.of("body-standard"))
    assert all(one.standard == one.body for one in records)


def test_short_formats_have_the_values_of_the_full_ones(short_demo: Book, demo: Book) -> None:
    """Each effective value, text and tolerance is that of the format in full."""
    for ident, spec in short_demo.of("size-format").items():
        assert values_of(spec.record) == values_of(demo.of("size-format")[ident].record), ident


def test_checks_of_short_formats_are_those_of_full_ones(short_report: Report, demo_report: Report) -> None:
    """Each check measures the same value, and each finding has the same name, words, severity and format."""
    assert short_report.verdicts.keys() == demo_report.verdicts.keys()
    for ident, verdicts in short_report.verdicts.items():
        assert [(one.rule.name, one.at, one.spread, one.passed) for one in verdicts] == [
            (one.rule.name, one.at, one.spread, one.passed) for one in demo_report.verdicts[ident]
        ]
    short, full = (
        {(one.name, one.subject, one.message, one.severity, one.waiver) for one in report.findings}
        for report in (short_report, demo_report)
    )
    assert short == full


def test_a_format_writes_only_what_is_its_own(short_demo: Book) -> None:
    """No format writes a value that its standard has too, and none is longer than 60 lines."""
    for ident, spec in short_demo.of("size-format").items():
        assert [one.key for one in spec.document.overrides if one.text == one.other] == [], ident
        assert len(spec.document.text.splitlines()) <= 60, ident


def test_a_standard_has_what_most_formats_of_its_body_share(short_demo: Book) -> None:
    """No value of a standard is overridden by more than a quarter of its formats."""
    for ident, standard in short_demo.of("body-standard").items():
        users = [
            one
            for one in short_demo.of("size-format").values()
            if one.record.standard == ident and not one.record.variant_of
        ]
        assert len(users) >= 2
        own = Counter(each.key for one in users for each in one.document.overrides)
        assert all(count <= len(users) / 4 for count in own.values()), standard.id


def test_the_overrides_are_those_of_real_exceptions(short_demo: Book) -> None:
    """Another end, another coil, a fill of its own and a longer can replace values of the standard."""
    own = {
        ident: [one.key for one in spec.document.overrides]
        for ident, spec in short_demo.of("size-format").items()
        if spec.document.overrides
    }
    assert own == {
        "b204-330-200": ["neck.stages", "neck.plug_diameter", "flange.width", "end", "seam.thickness"],
        "b204-330-ferry": ["fill.temperature", "targets.axial_load"],
        "b211-440-light": ["stock.material", "stock.earing"],
        "b211-568-206": ["ironing.rings[1].distance", "ironing.rings[2].distance"],
    }


def test_label_variants_write_identity_and_label(short_demo: Book) -> None:
    """The variants are the formats that share every value but the label, and write nothing more."""
    formats = short_demo.of("size-format")
    assert {
        ident: one.record.variant_of for ident, one in formats.items() if one.record.variant_of
    } == VARIANTS
    for ident in VARIANTS:
        text = formats[ident].document.text
        written = {line.partition(":")[0] for line in text.splitlines() if not line.startswith("#")}
        assert written == {
            *("kind", "id", "title", "label", "variant_of"),
            *("revision", "status", "effective", "owner", "why"),
        }


def test_each_value_is_at_its_place_in_one_of_the_files(short_demo: Book) -> None:
    """What the standard gives is in the standard, all else in the format, or in its base format."""
    for ident, spec in short_demo.of("size-format").items():
        files = Counter(spec.place(key).file for key, _ in keys.quantities(spec.record))
        own, base = f"specs/formats/{ident}.yaml", f"specs/formats/{VARIANTS.get(ident, ident)}.yaml"
        assert set(files) == {base, f"specs/standards/{spec.record.body}.yaml"}
        assert spec.place("label").file == own


def test_setup_sheets_of_short_formats_have_the_codes_of_full_ones(short_demo: Book, demo: Book) -> None:
    """What a setup sheet says does not depend on the file that a value is in."""
    for ident, spec in demo.of("size-format").items():
        for line in spec.record.lines:
            short, full = (digest(content(book, ident, line)) for book in (short_demo, demo))
            assert short == full, ident


def test_an_editor_finds_each_short_file_valid(short_demo: Book) -> None:
    """By the schema that its first line names, and without its base file, no key is missing."""
    schemas = {
        path: json.loads(path.read_text(encoding="utf-8"))
        for path in [*shipped("schema").glob("*.json"), *shipped("schema").glob("design/*.json")]
    }
    registry = Registry().with_contents([(one["$id"], one) for one in schemas.values()])
    for kind in ("size-format", "body-standard"):
        for spec in short_demo.of(kind).values():
            file = short_demo.root.parent / spec.document.file
            named = spec.document.text.partition("$schema=")[2].partition("\n")[0]
            schema = schemas[(file.parent / named).resolve()]
            validator = Draft202012Validator(schema, registry=registry)
            data = yaml.safe_load(spec.document.text)
            assert [one.message for one in validator.iter_errors(data)] == [], spec.id
            assert not validator.is_valid({**data, "domee": {}})
            assert kind == "body-standard" or not validator.is_valid({**data, "blank": {"diameter": [1]}})
