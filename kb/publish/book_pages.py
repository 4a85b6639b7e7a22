"""The pages beside the formats: lines, materials, ends, limits, checks, fields, faults, glossary."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache
from typing import Any

import markdown
import yaml

from kb.book.load import Spec
from kb.checks.catalog import RULES
from kb.checks.words import quantity
from kb.folders import shipped
from kb.publish import fields
from kb.publish.edition import Edition
from kb.publish.templates import page
from kb.publish.words import declared, judged
from kb.route.settings import SETTINGS

SOONER = 3
"""Search rank of a page that declares a value, against one of the many that use it."""

KIND_FOLDERS = {"line": "lines", "material": "materials", "end": "ends"}


@cache
def written(name: str) -> dict[str, Any]:
    """The fault guide or the glossary, as written in the site's sources."""
    data: dict[str, Any] = yaml.safe_load((shipped("site") / f"{name}.yaml").read_text(encoding="utf-8"))
    return data


def knowledge(name: str) -> list[dict[str, Any]]:
    """The faults, or the terms of the glossary."""
    entries: list[dict[str, Any]] = written(name)["faults" if name == "faults" else "terms"]
    return entries


# --- lines, materials, ends -------------------------------------------------------------------


def spec_pages(edition: Edition, kind: str) -> Iterator[tuple[str, str]]:
    """An index of one kind and a page for each of its files."""
    folder = KIND_FOLDERS[kind]
    specs = list(edition.book.of(kind).values())
    yield (
        f"{folder}/index.md",
        page(
            "list.html",
            title=folder.capitalize(),
            say="",
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
                "spec.html",
                boost=SOONER,
                title=one.record.title,
                say="",
                state=getattr(one.record, "status", ""),
                kind=kind,
                up="../",
                declared=[row for row in declared(one, "") if not row["anchor"].startswith("machines")],
                tables=[*_machines(one), _formats_table(edition, one)],
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
    rows = [
        [_link(f"../formats/{ident}.html", ident), edition.formats[ident].record.title]
        for ident in _users(edition, spec)
    ]
    return {"id": "formats", "title": "Formats", "heads": ["id", "title"], "rows": rows}


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
    return spec.quantities[key].text if key in spec.quantities else ""


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
    spec, limits = edition.book.only("limits"), edition.book.limits
    told: list[dict[str, Any]] = []
    settings: list[dict[str, Any]] = []
    if spec is not None and limits is not None:
        for name, one in limits.limits.items():
            texts = [
                f"{words} {spec.quantities[f'limits.{name}.{end}'].text}"
                for end, words in (("least", "at least"), ("most", "at most"))
                if f"limits.{name}.{end}" in spec.quantities
            ]
            told.append({"name": name, "value": ", ".join(texts), "from": one})
        for name, setting in limits.settings.items():
            text = spec.quantities[f"settings.{name}.value"].text
            words = SETTINGS[name][1] if name in SETTINGS else ""
            settings.append({"name": name, "value": text, "words": words, "from": setting})
    return page("limits.html", title="Limits and settings", boost=SOONER, limits=told, settings=settings)


def check_pages(edition: Edition) -> Iterator[tuple[str, str]]:
    """An index of the checks, tightest format first, and a page for each."""
    rows = []
    for rule in RULES.values():
        judgements = sorted(edition.of_rule(rule.name), key=lambda one: one[1].margin)
        worst = judgements[0] if judgements else None
        told = f"{worst[0].spec.id}: {judged(worst[1])['margin'].words}" if worst else ""
        rows.append([_link(f"{rule.name}.html", rule.name), rule.title, rule.severity, told])
        yield f"checks/{rule.name}.md", _check_page(edition, rule.name)
    yield (
        "checks/index.md",
        page(
            "list.html",
            title="Checks",
            say="Each check with the format that comes nearest to its limit.",
            heads=["check", "what it asks", "a finding is", "tightest margin"],
            rows=rows,
        ),
    )


def _check_page(edition: Edition, name: str) -> str:
    rule, limits = RULES[name], edition.book.limits
    limit = limits.limits.get(name) if limits and rule.limit == "plant" else None
    rows = sorted(edition.of_rule(name), key=lambda one: one[1].margin)
    ends = []
    if limit:
        for words, value in (("at least", limit.least), ("at most", limit.most)):
            if value is not None:
                ends.append(f"{words} {quantity(float(value), unit=rule.limit_unit, show=_reader(rule))}")
    return page(
        "check.html",
        title=f"{name}: {rule.title}",
        rule=rule,
        parts=rule.sections,
        limit=", ".join(ends) or "stands in the specs: a target, a tolerance or a machine's range",
        source=f"{limit.source} (owner {limit.owner}, review {limit.review})"
        if limit
        else "the spec that declares it",
        rows=[judged(verdict, format=one.spec.id) for one, verdict in rows],
        faults=[
            one for one in knowledge("faults") if any(name in cause["checks"] for cause in one["causes"])
        ],
    )


def _reader(rule: Any) -> str:
    return str(rule.show if rule.limit_unit == rule.unit else rule.limit_unit)


# --- fields, faults, glossary -----------------------------------------------------------------


def field_pages() -> Iterator[tuple[str, str]]:
    """The field reference, one page a kind, generated from the schema."""
    kinds = fields.kinds()
    listed = "\n".join(f"- [{kind}]({kind}.md)" for kind in kinds)
    yield "fields/index.md", f"# Field reference\n\nEvery key of every file, from the schema.\n\n{listed}\n"
    for kind in kinds:
        yield f"fields/{kind}.md", _with_wide_tables(fields.field_reference(kind))


def _with_wide_tables(text: str) -> str:
    """The tables of a Markdown page as HTML that scrolls in a box of its own."""
    blocks = [
        f'<div class="sb-scroll">{_table(block)}</div>' if block.startswith("|") else block
        for block in text.split("\n\n")
    ]
    return "\n\n".join(blocks) + "\n"


def _table(block: str) -> str:
    made = markdown.markdown(block, extensions=["tables"])
    return re.sub(r"\n\s*", "\n", made.replace("<table>", '<table class="sb-table">', 1))


def fault_pages(edition: Edition) -> Iterator[tuple[str, str]]:
    """The fault guide: an index by station and a page for each fault."""
    faults, stations = knowledge("faults"), _stations()
    yield (
        "faults/index.md",
        page(
            "list.html",
            title="Faults",
            say="By station. Sort by pattern first: the same place to the machine mark is tooling, "
            "the same place to the rolling direction is metal.",
            heads=["fault", "station", "class", "where it shows", "also called"],
            rows=[
                [
                    _link(f"{one['id']}.html", one["title"]),
                    stations[one["station"]],
                    one["class"],
                    one["where"],
                    ", ".join(one["also_called"]),
                ]
                for one in faults
            ],
        ),
    )
    for one in faults:
        yield f"faults/{one['id']}.md", _fault_page(edition, one)


def _stations() -> dict[str, str]:
    return {one["id"]: one["title"] for one in written("faults")["stations"]}


def _fault_page(edition: Edition, fault: dict[str, Any]) -> str:
    names = {check for cause in fault["causes"] for check in cause["checks"]}
    found = [
        (verdict.margin, one, verdict) for name in sorted(names) for one, verdict in edition.of_rule(name)
    ]
    found.sort(key=lambda entry: entry[0])
    causes = [{**cause, "keys": [key_link(key) for key in cause["keys"]]} for cause in fault["causes"]]
    return page(
        "fault.html",
        title=fault["title"],
        meaning=written("faults")["classes"][fault["class"]],
        station=_stations()[fault["station"]],
        it={"caution": "", "pattern": "", "do_not": "", **fault, "causes": causes},
        ranked=[judged(verdict, format=one.spec.id) for _, one, verdict in found[:12]],
    )


def key_link(key: str) -> dict[str, str]:
    """A key of the size format, or of another kind named before its first dot, with its reference page."""
    kind, _, rest = key.partition(".")
    if kind in fields.kinds():
        return {"key": key, "page": kind, "anchor": fields.anchor(rest)}
    return {"key": key, "page": "size-format", "anchor": fields.anchor(key)}


def glossary_page() -> str:
    """All terms, each with an anchor that other pages link to."""
    terms = sorted(knowledge("glossary"), key=lambda one: one["term"].casefold())
    names = {one["id"]: one["term"] for one in terms}
    return page("glossary.html", title="Glossary", boost=SOONER, terms=terms, names=names, key_link=key_link)
