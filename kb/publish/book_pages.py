"""The pages beside the formats: lines, materials, ends, standards, limits, checks, spec keys, glossary."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import groupby
from typing import Any

import markdown

from kb.book.keys import quantity_at
from kb.book.load import Spec
from kb.checks.catalog import RULES
from kb.checks.rule import Rule
from kb.checks.words import limit_ends, limit_source
from kb.publish import fields
from kb.publish.edition import Edition
from kb.publish.fields import declared, key_link
from kb.publish.page import Context, Pages, Rendered, page
from kb.publish.terms import head_row, knowledge
from kb.publish.words import judged
from kb.route.settings import SETTINGS

KIND_FOLDERS = {"line": "lines", "material": "materials", "end": "ends", "body-standard": "standards"}
_TITLES = {"standards": "Body standards"}


# --- lines, materials, ends, body standards ---------------------------------------------------


def _titled(kind: str, title: str) -> str:
    """A title that says what it is the title of."""
    words = kind.replace("-", " ")
    return title if words in title.lower() else f"{words.capitalize()}: {title}"


def spec_pages(edition: Edition, kind: str) -> Iterator[tuple[str, str]]:
    """An index of one kind and a page for each of its files."""
    folder = KIND_FOLDERS[kind]
    specs = list(edition.book.of(kind).values())
    yield (
        f"{folder}/index.md",
        page(
            "list.md",
            title=_TITLES.get(folder, folder.capitalize()),
            say="" if specs else "This book has none.",
            heads=["id", "title", "formats"],
            rows=[
                [_link(f"{one.id}.html", one.id), one.record.title, len(_users(edition, one))]
                for one in specs
            ],
        ),
    )
    for one in specs:
        yield (
            f"{folder}/{one.id}.md",
            page(
                "spec.md",
                title=_titled(kind, one.record.title),
                say="",
                state=getattr(one.record, "status", ""),
                kind=kind,
                up="../",
                declared=[row for row in declared(one, "") if not row["anchor"].startswith("machines")],
                tables=[*_machines(one), _formats_table(edition, one), *_changeovers(edition, one)],
                file=one.document.file,
            ),
        )


def _link(href: str, text: str) -> dict[str, str]:
    return {"href": href, "text": text}


def _users(edition: Edition, spec: Spec) -> list[str]:
    wanted = (spec.kind, spec.id)
    direct = [
        one.spec.id
        for one in edition.formats.values()
        if wanted in {(kind, ident) for _, kind, ident in one.spec.references}
    ]
    if direct or spec.kind != "material":
        return direct
    ends = {end.id for end in edition.book.of("end").values() if end.record.material == spec.id}
    return [one.spec.id for one in edition.formats.values() if one.record.end in ends]


def _formats_table(edition: Edition, spec: Spec) -> dict[str, Any]:
    users = [edition.formats[ident] for ident in _users(edition, spec)]
    rows = [[_link(f"../formats/{one.spec.id}.html", one.spec.id), one.record.title] for one in users]
    heads = ["id", "title"]
    if spec.kind == "body-standard":
        heads.append("own values in place of those here")
        for row, one in zip(rows, users, strict=True):
            row.append("; ".join(f"{own.key}: {own.text}" for own in one.spec.document.overrides) or "none")
    return {"id": "formats", "title": "Formats", "heads": heads, "rows": rows}


def _changeovers(edition: Edition, spec: Spec) -> Iterator[dict[str, Any]]:
    """Where the changeovers of a line are."""
    made = edition.changes.get(spec.id) if spec.kind == "line" else None
    if made is None or not made.crews:
        return
    rows = [[_link(f"../changeovers/{spec.id}.html", "matrix"), "minutes and class of every pair of formats"]]
    for week in made.weeks:
        rows.append([_link(f"../changeovers/week-{week}.html", week), "the order of its runs"])
    rows.append([_link("../changeovers/index.html", "choose"), "what runs now, what comes next"])
    yield {"id": "changeovers", "title": "Changeovers", "heads": ["page", "what it shows"], "rows": rows}


RANGES = (
    "can_height",
    "can_diameter",
    "plug_diameter",
    "strip_width",
    "force",
    "stroke",
    "ram_speed",
)


def _text(spec: Spec, key: str) -> str:
    found = quantity_at(spec.record, key)
    return found.text if found else ""


def _machines(spec: Spec) -> Iterator[dict[str, Any]]:
    if spec.kind != "line":
        return
    rows = []
    for i, machine in enumerate(spec.record.machines):
        ranges = [
            f"{fields.field('line', f'machines[].{key}').title}: {text}"
            for key in RANGES
            if (text := _text(spec, f"machines[{i}].{key}"))
        ]
        stages = [f"{machine.stages} stages"] if machine.stages else []
        rows.append([machine.title, machine.kind, machine.count, "; ".join([*ranges, *stages])])
    yield {
        "id": "machines",
        "title": "Machines, in the order the can meets them",
        "heads": ["machine", "kind", "count", "ranges"],
        "rows": rows,
    }


# --- limits and checks ------------------------------------------------------------------------


def limits_page(edition: Edition) -> str:
    """Every limit and setting with source, owner and review date."""
    limits = edition.book.limits
    limit_rows: list[dict[str, Any]] = []
    settings: list[dict[str, Any]] = []
    if limits is not None:
        for name, one in limits.limits.items():
            texts = [
                f"{words} {written.text}"
                for written, words in ((one.written("least"), "at least"), (one.written("most"), "at most"))
                if written is not None
            ]
            limit_rows.append({"name": name, "value": ", ".join(texts), "from": one})
        for name, setting in limits.settings.items():
            words = SETTINGS[name].words if name in SETTINGS else ""
            settings.append({"name": name, "value": setting.value.text, "words": words, "from": setting})
    return page("limits.md", title="Limits and settings", up="", limits=limit_rows, settings=settings)


def check_pages(context: Context) -> Rendered:
    """An index of the checks, tightest format first, and a page for each."""
    edition = context.edition
    rows = []
    for rule in RULES.values():
        margins = [one for one in edition.of_rule(rule.name) if one[1].has_margin]
        worst = min(margins, key=lambda one: one[1].margin, default=None)
        tightest = f"{worst[0].spec.id}: {judged(worst[1])['margin'].words}" if worst else ""
        rows.append([_link(f"{rule.name}.html", rule.name), rule.title, rule.severity, tightest])
        yield f"checks/{rule.name}.md", _check_page(edition, rule.name)
    yield (
        "checks/index.md",
        page(
            "list.md",
            title="Checks",
            say="Each check with the format that comes nearest to its limit.",
            heads=["check", "what it asks", "a finding is", "tightest margin"],
            rows=rows,
        ),
    )


def _check_page(edition: Edition, name: str) -> str:
    rule, limits = RULES[name], edition.book.limits
    limit = rule.limit_in(limits.limits if limits else {})
    rows = sorted(edition.of_rule(name), key=lambda one: one[1].margin)
    ends = limit_ends(limit, unit=rule.limit_unit, show=rule.limit_show) if limit else ""
    return page(
        "check.md",
        title=f"Check: {name}: {rule.title}",
        rule=rule,
        parts=rule.sections,
        limit=ends or _no_limit(rule),
        source=limit_source(limit) if limit else "the spec that declares it",
        rows=[judged(verdict, format=one.spec.id) for one, verdict in rows],
        faults=[
            one for one in knowledge("faults") if any(name in cause["checks"] for cause in one["causes"])
        ],
    )


def _no_limit(rule: Rule) -> str:
    if rule.limit == "plant":
        return "none in limits.yaml, and no default: the check does not run"
    return "is in the specs: a target, a tolerance or a machine's range"


# --- fields, faults, glossary -----------------------------------------------------------------


def field_pages(_: Context) -> Rendered:
    """The spec keys, a page for each kind, from the schema."""
    kinds = fields.kinds()
    listed = "\n".join(f"- [{kind}]({kind}.md)" for kind in kinds)
    yield "keys/index.md", f"# Spec keys\n\nEvery key of every file, from the schema.\n\n{listed}\n"
    for kind in kinds:
        yield f"keys/{kind}.md", _with_wide_tables(fields.field_reference(kind))


def _with_wide_tables(text: str) -> str:
    """The tables of a Markdown page as HTML that scrolls in a box of its own."""
    explained: set[str] = set()
    blocks = [
        f'<div class="sb-scroll">{_table(block, explained)}</div>' if block.startswith("|") else block
        for block in text.split("\n\n")
    ]
    title, *rest = blocks  # named, so that no key of the same name shares its anchor
    return "\n\n".join([f"{title} {{#top}}", *rest]) + "\n"


def _table(block: str, explained: set[str]) -> str:
    first, rest = block.split("\n", 1)
    made = markdown.markdown(head_row(first, "../", explained) + rest, extensions=["tables"])
    return made.replace("<table>", '<table class="sb-table">', 1)


def glossary_page() -> str:
    """All terms, each with an anchor that other pages link to."""
    terms = sorted(knowledge("glossary"), key=lambda one: one["term"].casefold())
    names = {one["id"]: one["term"] for one in terms}
    letters = {letter: list(its) for letter, its in groupby(terms, lambda one: one["term"][0].upper())}
    return page(
        "glossary.md",
        title="Glossary",
        up="",
        hide=("toc",),
        terms=list(letters.items()),
        letters=list(letters),
        names=names,
        key_link=key_link,
    )


def _specs(kind: str) -> Callable[[Context], Rendered]:
    return lambda context: spec_pages(context.edition, kind)


PAGES = (
    *(
        Pages(_TITLES.get(folder, folder.capitalize()), f"{folder}/index.md", _specs(kind), under="Reference")
        for kind, folder in KIND_FOLDERS.items()
    ),
    Pages("Limits", "limits.md", lambda one: iter([("limits.md", limits_page(one.edition))]), "Reference"),
    Pages("Checks", "checks/index.md", check_pages, under="Reference"),
    Pages("Spec keys", "keys/index.md", field_pages, under="Reference"),
    Pages("Glossary", "glossary.md", lambda _: iter([("glossary.md", glossary_page())]), "Reference"),
)
