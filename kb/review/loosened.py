"""Findings on what a change is checked against: limits loosened, sources unchanged, targets moved to pass."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from kb.book.conversion import alike
from kb.book.finding import Finding, Severity
from kb.book.load import Spec
from kb.book.quantity import Quantity, as_quantity
from kb.book.records import Limit, Waiver
from kb.checks.catalog import NAMES, RULES
from kb.checks.words import plural, some
from kb.history.change_types import re_expressed, term
from kb.history.value_diff import ChangedFile, ValueChange
from kb.review.former import AGREED, Pairs
from kb.review.model import FormerFails, FormerPart

MOST_NAMED = 3
"""Formats that one finding names with their numbers; the others are named only."""

_ENDS = (("least", -1), ("most", 1))
"""Each end of a limit with the direction that loosens it."""

_GUARDS = ("design_pressure", "warmest")
"""Numbers of the plant that every can is checked against."""

_CHECKED_AGAINST = ("limits", "waivers", "plant", "material", "end", "line")
"""Kinds of file that sizes are checked against."""

_SUPPLY = ("gauge", "coil_width")
"""Keys of a metal that say what can be bought, which no certificate does."""

_MOVED_TO_PASS: dict[FormerPart, tuple[str, str]] = {
    "setting": ("limits", "setting.moved-to-pass"),
    "material": ("material", "material.moved-to-pass"),
    "end": ("end", "supply.moved-to-pass"),
    "plant": ("plant", "plant.moved-to-pass"),
    "line": ("line", "range.moved-to-pass"),
}
"""Parts of which a finding is made only where something passes by their move: kind of file, and name."""


def loosened(pairs: Pairs, files: Sequence[ChangedFile], former: Sequence[FormerFails]) -> Iterator[Finding]:
    """Findings on limits, settings, waivers, targets and metals that a change moved."""
    both = pairs.spec("limits")
    if both is not None:
        yield from _limits(*both, former)
        yield from _settings(*both)
    yield from _not_compared(pairs, files)
    plants = pairs.spec("plant")
    if plants is not None:
        yield from _plant(*plants, [one for one in former if "plant" in one.because])
    new = pairs.new.only("waivers")
    if new is not None:
        yield from _waiver_findings(pairs, new)
    yield from _targets(pairs, files, former)
    yield from _certificates(pairs, files)
    for part in _MOVED_TO_PASS:
        fails = [one for one in former if part in one.because]
        if fails:
            yield from _moved_to_pass(pairs, part, files, fails)


def _not_compared(pairs: Pairs, files: Sequence[ChangedFile]) -> Iterator[Finding]:
    """Files that sizes are checked against and that the older version could not read."""
    for file in files:
        spec = pairs.new.of(file.kind).get(file.id)
        if file.kind in _CHECKED_AGAINST and "readable again" in file.states and spec is not None:
            message = f"the former {file.kind} file cannot be read; its values are not compared"
            fix = "compare with the last version that can be read, or have its owners approve every value"
            yield _finding("limit.not-compared", spec, "kind", message, fix)


# --- limits and settings ----------------------------------------------------------------------


def _limits(old: Spec, new: Spec, former: Sequence[FormerFails]) -> Iterator[Finding]:
    for name, was in old.record.limits.items():
        if name not in RULES:
            continue
        now = new.record.limits.get(name)
        ends = [
            end
            for end, outward in _ENDS
            if _looser(was, now, end, outward)
            and not (now and _only_rewritten(getattr(was, end), getattr(now, end)))
        ]
        if not ends:
            continue
        fails = [one for one in former if one.check == name and "limit" in one.because]
        key = f"limits.{name}" if now else "limits"
        at = f"{key}.{ends[0]}" if now and getattr(now, ends[0]) is not None else key
        edits = "; ".join(f"{end} {_end_text(was, end)} → {_end_text(now, end)}" for end in ends)
        before = "; ".join(f"{end} {_end_text(was, end)}" for end in ends)
        yield _finding(
            "limit.loosened",
            new,
            at,
            f"{name}: {edits}; {_fails_words(fails, 'at the former limit')}",
            f"restore {before}, or have {was.owner} approve the new limit with its source",
            severity=_gravity(name),
            source=f"{was.source} (owner {was.owner})",
        )
        if now and _papers(was) == _papers(now):
            message = f"{name}: {edits}; source, owner and review date are unchanged"
            fix = "add the source of the new value, and set its review date"
            yield _finding("limit.source-unchanged", new, f"{key}.source", message, fix)


def _looser(was: Limit, now: Limit | None, end: str, outward: int) -> bool:
    before, after = getattr(was, end), getattr(now, end) if now else None
    if before is None:
        return False
    return after is None or ((after - before) * outward > 0 and not alike(before, after))


def _only_rewritten(before: Quantity | None, after: Quantity | None) -> bool:
    """Whether a number is only written in another unit."""
    return before is not None and after is not None and re_expressed(before, after)


def _end_text(limit: Limit | None, end: str) -> str:
    written: Quantity | None = getattr(limit, end, None)
    return "none" if written is None else written.text


def _gravity(name: str) -> Severity:
    """An error where the check guards seal or pressure; a shape that does not close is another matter."""
    rule = RULES[name]
    return "warning" if rule.waivable or rule.reads == "case" else "error"


def _papers(one: object) -> tuple[str, ...]:
    return tuple(getattr(one, name) for name in ("source", "owner", "review"))


def _settings(old: Spec, new: Spec) -> Iterator[Finding]:
    for name, was in old.record.settings.items():
        now = new.record.settings.get(name)
        if now is None or _papers(was) != _papers(now):
            continue
        same = alike(was.value, now.value) or _only_rewritten(was.value, now.value)
        if same and was.calibrated == now.calibrated:
            continue
        key = f"settings.{name}"
        before, after = was.value.text, now.value.text
        edits = "calibrated changed" if same else f"value {before} → {after}"
        message = f"{name}: {edits}; source, owner and review date are unchanged"
        fix = f"add the source of the new value, or restore value {before}"
        yield _finding("limit.source-unchanged", new, f"{key}.source", message, fix)


def _plant(old: Spec, new: Spec, fails: Sequence[FormerFails]) -> Iterator[Finding]:
    """Numbers of the plant that guard every can: a lower warmest day, another design pressure."""
    for key in _GUARDS:
        before, after = (as_quantity(getattr(one.record, key)) for one in (old, new))
        moved = not alike(before, after) and not re_expressed(before, after)
        if moved and (key != "warmest" or after < before):
            words = term("plant", (key,), names=NAMES).words
            message = f"{words}: {before.text} → {after.text}; {_fails_words(fails, 'at the former number')}"
            fix = f"restore {before.text}, or have the owner of pressure safety approve the new value"
            yield _finding("limit.loosened", new, key, message, fix)


# --- waivers ----------------------------------------------------------------------------------


def _waiver_findings(pairs: Pairs, new: Spec) -> Iterator[Finding]:
    names = {spec.id: ident for (kind, ident), spec in pairs.before.items() if kind == "size-format"}
    before = {
        (one.check, names.get(one.format, one.format), one.at): one for one in pairs.old.waivers.waivers
    }
    for i, now in enumerate(new.record.waivers):
        if now.check not in RULES:
            continue
        was = before.get((now.check, now.format, now.at))
        ceiling = now.ceiling.text
        edits = [] if was else [f"added, until {now.expires}, up to {ceiling}"]
        at = "check"
        if was and now.expires > was.expires:
            edits.append(f"extended from {was.expires} to {now.expires}")
            at = "expires"
        if was and was.approver != now.approver:
            edits.append(f"approver {was.approver} → {now.approver}")
            at = "approver"
        if was and (was.ceiling.canonical != now.ceiling.canonical or _wider(pairs, was, now)):
            edits.append(f"ceiling {was.ceiling.text} → {ceiling}")
            at = "ceiling"
        if edits:
            message = f"waiver of {now.check} for {now.format}: {'; '.join(edits)}"
            fix = f"have {now.approver} approve it, or remove the change"
            yield _finding("waiver.loosened", new, f"waivers[{i}].{at}", message, fix)


def _wider(pairs: Pairs, was: Waiver, now: Waiver) -> bool:
    """Whether a ceiling lets more pass; where the limit has two ends, whether it is another one."""
    limit = pairs.new.limits.limits.get(now.check) if pairs.new.limits else None
    before, after = float(was.ceiling), float(now.ceiling)
    if alike(before, after):
        return False
    if limit is not None and limit.most is None and limit.least is not None:
        return after < before
    if limit is not None and limit.least is None and limit.most is not None:
        return after > before
    return True


# --- targets, metals and the rest -------------------------------------------------------------


def _targets(pairs: Pairs, files: Sequence[ChangedFile], former: Sequence[FormerFails]) -> Iterator[Finding]:
    by_format: dict[tuple[str, str], list[FormerFails]] = {}
    for one in former:
        if "target" in one.because:
            moved = _target_of(one, files)
            by_format.setdefault((one.format, moved.key if moved else "targets"), []).append(one)
    for (ident, key), fails in by_format.items():
        spec = pairs.new.of("size-format")[ident]
        change = next((one for one in _changes(files, "size-format", ident) if one.key == key), None)
        edits = f"{change.words} {change.old} → {change.new}" if change else "the targets moved"
        checks = "; ".join(f"{_measured(one)} [{one.check}]" for one in fails)
        message = f"{edits}: at the former target {ident} fails, {checks}"
        was = change.old if change else "the former target"
        fix = f"restore {was} and change the can, or have the filler or customer agree the new target"
        yield _finding("target.moved-to-pass", spec, key, message, fix, subject=ident)


def _target_of(one: FormerFails, files: Sequence[ChangedFile]) -> ValueChange | None:
    """The target that moved: the one that the check points to, or the first."""
    changes = _changes(files, "size-format", one.format)
    moved = [each for each in changes if each.key.startswith("targets.") or each.key in AGREED]
    own = [each for each in moved if one.key == f"format.{each.key}"]
    return next(iter(own or moved), None)


def _certificates(pairs: Pairs, files: Sequence[ChangedFile]) -> Iterator[Finding]:
    for file in files:
        old, new = pairs.before.get(("material", file.id)), pairs.new.of("material").get(file.id)
        if file.kind != "material" or old is None or new is None or old.record.source != new.record.source:
            continue
        moved = [
            one
            for one in file.changes
            if one.now and one.key not in _SUPPLY and one.kinds != ("re-expressed",)
        ]
        if moved:
            edits = "; ".join(f"{one.words} {one.old} → {one.new}" for one in moved[:MOST_NAMED])
            more = f"; {len(moved) - MOST_NAMED} more" if len(moved) > MOST_NAMED else ""
            message = f"{edits}{more}; the source is unchanged: {new.record.source}"
            fix = "name the certificate of the new values in source, or restore the former values"
            yield _finding("material.certificate-unchanged", new, "source", message, fix)


def _moved_to_pass(
    pairs: Pairs, part: FormerPart, files: Sequence[ChangedFile], fails: Sequence[FormerFails]
) -> Iterator[Finding]:
    """One finding for each changed file of a part, with the formats that fail at its former numbers."""
    kind, name = _MOVED_TO_PASS[part]
    changed = [one for one in files if one.kind == kind and (part != "setting" or _settings_of(one))]
    for file in changed:
        here = [one for one in fails if _uses(pairs, one.format, kind, file.id)]
        spec = pairs.new.of(kind).get(file.id)
        guards = part == "plant" and any(one.key in _GUARDS for one in file.changes)
        if not here or spec is None or guards:  # a guard has a finding of its own
            continue
        moved = [one for one in _settings_of(file) or file.changes if one.new_place and one.now] or [
            one for one in file.changes if one.new_place
        ]
        edits = "; ".join(f"{one.words} {one.old} → {one.new}" for one in moved[:MOST_NAMED])
        words = f"{edits}: {_fails_words(here, 'at the former numbers')}"
        fix = f"restore the former values, or have {_owner(spec, moved)} approve the new ones"
        key = moved[0].key if moved else ""
        yield _finding(name, spec, key, words, fix)


def _settings_of(file: ChangedFile) -> list[ValueChange]:
    return [one for one in file.changes if one.key.startswith("settings.") and one.key.endswith(".value")]


def _uses(pairs: Pairs, ident: str, kind: str, name: str) -> bool:
    record = pairs.new.of("size-format")[ident].record
    if kind == "material":
        end = pairs.new.of("end").get(record.end)
        return name == record.stock.material or (end is not None and name == end.record.material)
    if kind == "end":
        return bool(name == record.end)
    return name in record.lines if kind == "line" else True


def _owner(spec: Spec, moved: Sequence[ValueChange]) -> str:
    if spec.kind == "limits":
        names = [one.key.split(".")[1] for one in moved if one.key.startswith("settings.")]
        owners = dict.fromkeys(
            spec.record.settings[name].owner for name in names if name in spec.record.settings
        )
        return " and ".join(owners) or "its owner"
    return str(getattr(spec.record, "owner", "")) or "its owner"


# --- words ------------------------------------------------------------------------------------


def _fails_words(fails: Sequence[FormerFails], where: str) -> str:
    """How many formats fail at former numbers, the first of them with their values."""
    formats = list(dict.fromkeys(one.format for one in fails))
    if not formats:
        return f"no format fails {where}"
    verb = "fails" if len(formats) == 1 else "fail"
    first = {ident: next(one for one in fails if one.format == ident) for ident in formats}
    named = [f"{ident} ({_measured(first[ident])})" for ident in formats[:MOST_NAMED]]
    return f"{plural(len(formats), 'format')} {verb} {where}: {some([*named, *formats[MOST_NAMED:]])}"


def _measured(one: FormerFails) -> str:
    return f"{one.what} {one.value}; {one.limit}"


def _changes(files: Sequence[ChangedFile], kind: str, ident: str) -> list[ValueChange]:
    return [change for file in files if (file.kind, file.id) == (kind, ident) for change in file.changes]


def _finding(
    name: str,
    spec: Spec,
    key: str,
    message: str,
    fix: str,
    *,
    severity: Severity = "warning",
    source: str = "",
    subject: str = "",
) -> Finding:
    return Finding(name, severity, spec.place(key), message, (fix,), source=source, subject=subject)
