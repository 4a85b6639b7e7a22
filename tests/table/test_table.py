"""Formats as a table: drafts from the table of a plant, and a book as a table that makes the same formats."""

from __future__ import annotations

import csv
import io
import shutil
import time
import zipfile
from collections.abc import Callable
from pathlib import Path

import openpyxl
import pytest
from click.testing import CliRunner

from kb.book import keys
from kb.book.compose import composed, values_of
from kb.book.load import Book, load
from kb.book.quantity import Quantity
from kb.cli import main
from kb.folders import shipped
from kb.table.drafts import ImportedDraft, drafts
from kb.table.export import table_of
from kb.table.grid import MOST_BYTES, MOST_ROWS, TableFault, as_csv, as_workbook, read_grid
from kb.table.mapping import map_of_columns, read_map
from tests.conftest import MakeBook

HERE = Path(__file__).parent
THIRTY, MAP = HERE / "thirty.csv", HERE / "thirty.yaml"


@pytest.fixture
def book(make_book: MakeBook) -> Path:
    """A copy of the demo book with one format."""
    return make_book(["b211-330"])


@pytest.fixture(scope="module")
def thirty(demo: Book) -> list[ImportedDraft]:
    """The drafts of a table of 30 invented sizes."""
    return drafts(demo, read_grid(THIRTY, separator=";"), read_map(MAP), "thirty.csv")


def run(*words: object) -> tuple[int, str, str]:
    """Exit code, standard output and standard error of a command."""
    found = CliRunner().invoke(main, [str(one) for one in words])
    return found.exit_code, found.stdout, found.stderr


# --- a plant's table of 30 sizes --------------------------------------------------------------


def test_thirty_sizes_have_their_doubts_listed(thirty: list[ImportedDraft]) -> None:
    """Each wrong cell of the table is listed with its row, column and reason; right ones are not."""
    found = {(one.row, cell.column): cell.doubt for one in thirty for cell in one.cells if cell.doubt}
    expected = {
        (2, "Trim height"): "outside the plausible",
        (2, "Finished height"): "outside the plausible",
        (4, "Gauge"): "write 0.260 ±0.004 mm",
        (6, "Contents"): "the cell has l, its column ml",
        (8, "Gauge"): "the cell has in, its column mm",
        (9, "Thin wall"): "looks like µm written as mm",
        (10, "Blank dia."): "formula",
        (11, "Dome depth"): "kPa",
        (13, "Weight"): "not a quantity",
        (20, "Size"): "250-slim-bay is used",
        (23, "Trim height"): "outside the plausible",
        (26, "Name"): "formula",
        (30, "Body"): "not a size code",
    }
    assert found.keys() == expected.keys()
    for place, words in expected.items():
        assert words in found[place], place


def test_rows_without_a_plain_id_give_no_draft(thirty: list[ImportedDraft]) -> None:
    """A row without an id, and rows that share one, give no draft; all other rows give one."""
    assert [one.row for one in thirty if not one.text] == [14, 15, 18]
    assert [one.row for one in thirty if one.exists] == [22]
    assert len(thirty) == 30


def test_a_value_of_the_table_is_never_that_of_the_other_format(thirty: list[ImportedDraft]) -> None:
    """A doubtful cell is written as it is; what the table does not say is marked as another format's."""
    text = thirty[8].text
    assert '  diameter: "=2*SQRT(A1)"  # doubt: this is a formula, not a value' in text
    assert "  corner_radius: 1.60 mm  # from b211-330, not in the table" in text
    assert "status: draft\n" in text
    assert 'why: "Imported from thirty.csv, row 10."' in text


def test_a_cell_with_its_own_tolerance_keeps_it(thirty: list[ImportedDraft]) -> None:
    """A tolerance in the cell goes before that of the column."""
    assert "  height: 101.3 ±0.15 mm\n" in thirty[26].text


def test_the_command_writes_the_drafts_and_lists_the_doubts(book: Path) -> None:
    """26 of 30 rows become files; the book has the drafts without doubt as records; nothing is replaced."""
    before = (book / "formats/b211-330.yaml").read_bytes()
    code, out, err = run("import", THIRTY, "--map", MAP, "--book", book)
    assert code == 1
    assert "26 drafts written, 4 rows not imported, 16 doubts" in err
    assert "row 22: b211-330 is in the book; --replace overwrites it" in out
    assert "columns without a key: Remark" in out
    assert (book / "formats/b211-330.yaml").read_bytes() == before
    formats = load(book, shown="specs").of("size-format")
    assert {"b204-187-p2", "b211-222-p4", "250-slim-bay"} <= set(formats)
    assert formats["b211-222-p4"].record.fill.contents == 222_000.0
    assert formats["b211-222-p4"].record.status == "draft"


def test_a_dry_run_shows_each_cell_and_writes_nothing(book: Path) -> None:
    """Every cell that is not empty is in the report with its key and value, or that it has no key."""
    code, out, _ = run("import", THIRTY, "--map", MAP, "--book", book, "--dry-run")
    assert code == 1
    assert [one.name for one in (book / "formats").iterdir()] == ["b211-330.yaml"]
    with open(THIRTY, encoding="utf-8") as file:
        cells = sum(bool(one) for row in list(csv.reader(file, delimiter=";"))[1:] for one in row)
    assert sum(line.startswith("  ") and " (" in line for line in out.splitlines()) == cells
    assert "  Gauge (0.260): stock.gauge = 0.260 ±0.004 mm" in out
    assert "  Remark (Ask the customer, no order since spring): no key" in out


def test_replace_is_needed_to_write_over_a_format(book: Path) -> None:
    """With --replace the row that has the id of a format takes its place, as a draft."""
    run("import", THIRTY, "--map", MAP, "--book", book, "--replace")
    text = (book / "formats/b211-330.yaml").read_text(encoding="utf-8")
    assert "Imported from thirty.csv, row 22." in text


# --- there and back ---------------------------------------------------------------------------


@pytest.mark.parametrize("kind", ["csv", "xlsx"])
def test_a_book_comes_back_from_its_table(kind: str, demo: Book, tmp_path: Path) -> None:
    """Export and import give every value of every format again, but for the status."""
    table = tmp_path / f"all.{kind}"
    columns, rows = table_of(demo)
    if kind == "csv":
        table.write_text(as_csv(columns, rows), encoding="utf-8")
    else:
        table.write_bytes(as_workbook(columns, rows, "formats"))
    root = tmp_path / "book"
    shutil.copytree(demo.root, root)
    shutil.rmtree(root / "formats")
    code, _, err = run("import", table, "--book", root)
    assert (code, err.strip()) == (0, "20 rows: 20 drafts written, 0 rows not imported, 0 doubts")
    back = load(root, shown="specs").of("size-format")
    for ident, spec in demo.of("size-format").items():
        old, new = (dict(keys.values(one.record)) for one in (spec, back[ident]))
        assert old.keys() == new.keys()
        assert {key for key in old if old[key] != new[key]} <= {"status"}
        for key, one in old.items():
            if isinstance(one, Quantity):
                assert (new[key].low, new[key].high) == pytest.approx((one.low, one.high), rel=1e-12)


def test_a_short_book_comes_back_on_its_standards(short_demo: Book, tmp_path: Path) -> None:
    """Imported into a book with standards, each format is built on that of its body, with the same values."""
    table = tmp_path / "all.csv"
    table.write_text(as_csv(*table_of(short_demo)), encoding="utf-8")
    root = Path(shutil.copytree(shipped("specs"), tmp_path / "book"))
    shutil.rmtree(root / "formats")
    assert run("import", table, "--book", root)[0] == 0
    back = load(root, shown="specs").of("size-format")
    for ident, spec in short_demo.of("size-format").items():
        old, new = values_of(spec.record), values_of(back[ident].record)
        assert {key for key in old if old[key] != new.get(key)} <= {"status"}, ident
        assert back[ident].record.standard == spec.record.body
        assert [one.key for one in back[ident].document.overrides if one.text == one.other] == []
        assert len(back[ident].document.text.splitlines()) <= 60


def test_a_row_takes_what_it_lacks_from_the_standard_of_its_body(tmp_path: Path) -> None:
    """A table without tool columns gives whole drafts where the standard has the tools."""
    root = Path(shutil.copytree(shipped("specs"), tmp_path / "book"))
    full = load(root, shown="").of("size-format")["b204-330"]
    own = {key for key, _ in keys.values(full.record) if not full.document.inherits(key)}
    columns, (row,) = table_of(load(root, shown=""), ["b204-330"])
    kept = [i for i, one in enumerate(columns) if one.split(" ")[0] in own or "." not in one]
    table = tmp_path / "one.csv"
    text = as_csv([columns[i] for i in kept], [[row[i] for i in kept]])
    table.write_text(text.replace("b204-330,", "b204-331,"), encoding="utf-8")
    code, out, _ = run("import", table, "--book", root)
    assert (code, out.count("missing:")) == (0, 0), out
    record = load(root, shown="").of("size-format")["b204-331"].record
    assert (record.standard, record.dome) == ("204", full.record.dome)


def test_a_doubt_stays_beside_its_value_on_a_standard(tmp_path: Path) -> None:
    """A doubtful cell is written, even if the standard has the same value; `like` names the standard."""
    root = Path(shutil.copytree(shipped("specs"), tmp_path / "book"))
    (tmp_path / "map.yaml").write_text(
        "like: b211-330\ncolumns:\n  id: Size\n  fill.contents: {column: Fill, unit: ml}\n"
        "  dome.depth: {column: Depth, unit: cm, tolerance: ±0.10}\n",
        encoding="utf-8",
    )
    table = tmp_path / "one.csv"
    table.write_text("Size,Fill,Depth\nb211-300,300,10.60 ±0.10 mm\n", encoding="utf-8")
    assert run("import", table, "--map", tmp_path / "map.yaml", "--book", root)[0] == 1
    text = (root / "formats/b211-300.yaml").read_text(encoding="utf-8")
    assert '\nstandard: "211"\n' in text
    assert "  depth: 10.60 ±0.10 mm  # doubt: the cell has mm, its column cm" in text
    assert "corner_radius: 1.60" not in text


def test_a_flat_format_is_the_same_format(demo: Book, book: Path) -> None:
    """A format written in full has the same values, texts and tolerances, in the order of the schema."""
    _, out, _ = run("export", "b211-330", "--flat", "--book", book)
    record = demo.of("size-format")["b211-330"].record
    assert out == composed(values_of(record))
    (book / "formats/b211-330.yaml").write_text(out, encoding="utf-8")
    again = load(book, shown="specs").of("size-format")["b211-330"].record
    assert values_of(again) == values_of(record)


def test_no_text_of_a_table_is_a_formula(book: Path, tmp_path: Path) -> None:
    """A title like a formula is text in both outputs and comes back as it was; numbers are numbers."""
    file = book / "formats/b211-330.yaml"
    text = file.read_text(encoding="utf-8")
    file.write_text(text.replace("title: 330 ml, 211 body, 202 end", 'title: "=1+1"'), encoding="utf-8")
    _, out, _ = run("export", "--book", book)
    head, row = list(csv.reader(io.StringIO(out)))
    assert row[head.index("title")] == "'=1+1"
    target = tmp_path / "all.xlsx"
    assert run("export", "--xlsx", "--to", target, "--book", book)[0] == 0
    sheet = openpyxl.load_workbook(target).active
    cells = dict(zip(next(sheet.values), list(sheet.rows)[1], strict=True))
    assert (cells["title"].data_type, cells["title"].value) == ("s", "'=1+1")
    assert (cells["stock.gauge [mm]"].data_type, cells["stock.gauge [mm]"].value) == ("n", 0.262)
    assert run("import", target, "--book", book, "--replace")[0] == 0
    assert load(book, shown="").of("size-format")["b211-330"].record.title == "=1+1"


def test_the_same_book_gives_the_same_bytes(demo: Book) -> None:
    """A workbook has no time of its own, and can be read."""
    table = table_of(demo)
    first = as_workbook(*table, "formats")
    time.sleep(1.1)  # the times of a workbook are in seconds
    assert as_workbook(*table, "formats") == first
    assert openpyxl.load_workbook(io.BytesIO(first)).properties.modified.year == 2000


# --- tables that are not as they should be ----------------------------------------------------


def _bomb(path: Path) -> None:
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("xl/workbook.xml", b" " * (80 * 1024 * 1024))


def _entities(path: Path) -> None:
    good = io.BytesIO(as_workbook(["id"], [["x"]], "s"))
    with zipfile.ZipFile(good) as old, zipfile.ZipFile(path, "w") as new:
        for one in old.namelist():
            raw = old.read(one)
            if one == "xl/workbook.xml":
                raw = b'<!DOCTYPE x [<!ENTITY a "aaaa">]>' + raw
            new.writestr(one, raw)


WRONG: dict[str, tuple[str, Callable[[Path], object], str]] = {
    "empty": ("t.csv", lambda path: path.write_bytes(b""), "has no column names"),
    "header only": ("t.csv", lambda path: path.write_text("id,title\n"), "has no rows"),
    "huge": ("t.csv", lambda path: path.write_bytes(b"x" * (MOST_BYTES + 1)), "larger than"),
    "many rows": ("t.csv", lambda path: path.write_text("id\n" + "a\n" * MOST_ROWS), "more than 2000 rows"),
    "many columns": ("t.csv", lambda path: path.write_text("id" + "," * 500 + "\n"), "more than 400 columns"),
    "encoding": ("t.csv", lambda path: path.write_bytes(b"id\n\xff\xfe\n"), "line 2 is not UTF-8"),
    "zero bytes": ("t.csv", lambda path: path.write_bytes(b"id\0\n"), "zero bytes"),
    "quotes": ("t.csv", lambda path: path.write_text('id\n"a\n'), "cannot be read as CSV"),
    "column twice": ("t.csv", lambda path: path.write_text("id,a,a\nx,1,2\n"), "column a appears twice"),
    "no id": ("t.csv", lambda path: path.write_text("name\nx\n"), "no column is named `id`"),
    "another kind": ("t.ods", lambda path: path.write_bytes(b"x"), "ends in .csv or .xlsx"),
    "no file": ("t.csv", lambda path: None, "does not exist"),
    "a folder": ("t.csv", lambda path: path.mkdir(), "is not a file"),
    "no workbook": ("t.xlsx", lambda path: path.write_bytes(b"PK not"), "cannot be read as a workbook"),
    "unpacks too far": ("t.xlsx", _bomb, "unpacks to more than 64 MB"),
    "entities": ("t.xlsx", _entities, "cannot be read as a workbook"),
}


@pytest.mark.parametrize("what", WRONG)
def test_a_wrong_table_is_one_line_and_two(what: str, book: Path, tmp_path: Path) -> None:
    """A table that cannot be read ends with exit code 2 and one line that says why; nothing is written."""
    name, make, words = WRONG[what]
    make(tmp_path / name)
    code, out, err = run("import", tmp_path / name, "--book", book)
    assert (code, out, err.count("\n")) == (2, "", 1)
    assert words in err
    assert len(list((book / "formats").iterdir())) == 1


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("columns: {id: Size, stock.gage: Gauge}", "did you mean stock.gauge?"),
        ("columns: {id: Sise}", "id: column Sise is not in the table; did you mean Size?"),
        ("columns: {stock.gauge: Gauge}", "no column has the id"),
        ("columns: {id: {unit: mm}}", "column is missing"),
        ("columns: {id: Size}\nlike: b211-999", "format b211-999 is not in the book"),
        ("columns: {id: Size}\ndecimal: x", 'decimal is "." or ","'),
        ("columns: {id: Size}\ncolums: 1", "did you mean columns?"),
        ("columns: [id]", "columns is a group of keys"),
        ("columns: {id: Size, neck: Body}", "a size format has no key neck"),
        ("", "the file is empty"),
    ],
)
def test_a_wrong_map_names_its_line(text: str, words: str, book: Path, tmp_path: Path) -> None:
    """A map that names what is not there ends with exit code 2 and one line."""
    (tmp_path / "map.yaml").write_text(text, encoding="utf-8")
    code, _, err = run("import", THIRTY, "--map", tmp_path / "map.yaml", "--book", book)
    assert (code, err.count("\n")) == (2, 1)
    assert words in err


def test_a_formula_of_a_workbook_is_a_doubt(demo: Book, tmp_path: Path) -> None:
    """A formula without a stored value gives no value and is listed, and so is an error value."""
    made = openpyxl.Workbook()
    made.active.append(["id", "stock.gauge [mm]", "punch.wall_diameter [mm]"])
    made.active.append(["x-1", "=1/4", "#DIV/0!"])
    made.save(tmp_path / "t.xlsx")
    grid = read_grid(tmp_path / "t.xlsx")
    (one,) = drafts(demo, grid, map_of_columns(grid), "t.xlsx")
    assert {cell.column: cell.doubt for cell in one.cells if cell.doubt} == {
        "stock.gauge [mm]": "a formula without a stored value",
        "punch.wall_diameter [mm]": "an error of the spreadsheet",
    }


def test_decimal_commas_are_read_where_the_map_says_so(demo: Book, tmp_path: Path) -> None:
    """With `decimal: ","` a number with a comma is that number, and a point sets thousands apart."""
    (tmp_path / "t.csv").write_text("Size;Gauge;Vol\nx-1;0,262;1.330,5\n", encoding="utf-8")
    (tmp_path / "m.yaml").write_text(
        'decimal: ","\ncolumns:\n  id: Size\n  stock.gauge: {column: Gauge, unit: mm, tolerance: ±0.004}\n'
        "  fill.contents: {column: Vol, unit: ml}\n",
        encoding="utf-8",
    )
    (one,) = drafts(demo, read_grid(tmp_path / "t.csv"), read_map(tmp_path / "m.yaml"), "t.csv")
    assert "gauge: 0.262 ±0.004 mm" in one.text
    assert "contents: 1330.5 ml" in one.text
    assert "blank" in one.missing


def test_harmful_cells_stay_one_value(demo: Book, tmp_path: Path) -> None:
    """Line breaks, quotes, braces and comment signs in a cell cannot make a second key."""
    out = io.StringIO()
    csv.writer(out).writerows([["id", "title"], ["x-1", 'a"\nowner: me # {x: [\u202e']])
    (tmp_path / "t.csv").write_text(out.getvalue(), encoding="utf-8")
    grid = read_grid(tmp_path / "t.csv")
    (one,) = drafts(demo, grid, map_of_columns(grid), "t.csv")
    assert one.text.count("\nowner:") == 0
    assert one.text.count("\n") == len(one.text.splitlines())


def test_a_sheet_and_header_are_those_of_the_map(tmp_path: Path) -> None:
    """A sheet that is not there is named with those that are."""
    (tmp_path / "t.xlsx").write_bytes(as_workbook(["id"], [["x"]], "sizes"))
    assert read_grid(tmp_path / "t.xlsx", sheet="sizes").columns == ("id",)
    with pytest.raises(TableFault, match="has no sheet Other; it has sizes"):
        read_grid(tmp_path / "t.xlsx", sheet="Other")
