"""Loading a pack's rules: the files of its folder ``rules/`` become one checked ``Rules``."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path as FilePath

from sortiewright.pack import (
    Document,
    InputError,
    LoadedPack,
    Problem,
    digest_of_files,
    parse_yaml,
    read_record,
    read_text_file,
    shown,
)
from sortiewright.recording.rule_checks import RuleChecks
from sortiewright.recording.rule_limits import pack_numbers
from sortiewright.recording.rule_names import rule_vocabulary
from sortiewright.recording.rule_schema import RuleFile
from sortiewright.recording.rules import CheckedMeasurement, CheckedRule, Rules

FOLDER = "rules"
Checked = CheckedRule | CheckedMeasurement


def has_rules(loaded: LoadedPack) -> bool:
    """Return whether a pack has a folder of rules."""
    return (loaded.folder / FOLDER).is_dir()


def load_rules(loaded: LoadedPack) -> Rules:
    """Return the rules and measurements of a pack; a pack without the folder has none.

    Raises ``InputError`` with every fault of every file: unreadable, not YAML, not the schema, or names,
    conditions and values that lead nowhere.
    """
    folder = loaded.folder / FOLDER
    vocabulary = rule_vocabulary(loaded.pack)
    texts: dict[str, str] = {}
    rules: dict[str, CheckedRule] = {}
    measurements: dict[str, CheckedMeasurement] = {}
    problems: list[Problem] = []
    for path in sorted(folder.glob("*.yaml")):
        name = f"{FOLDER}/{path.name}"
        try:
            texts[name] = read_text_file(path, name=name)
            # Words only: limits such as 0 and conditions such as true stay as they are written.
            document = parse_yaml(texts[name], name, numbers=False)
            found, sources = read_record(document, RuleFile)
        except InputError as error:
            problems += error.problems
            continue
        checks = RuleChecks(loaded.pack, vocabulary, document, sources)
        problems += _twice(document, "rules", found.rules, rules)
        problems += _twice(document, "measurements", found.measurements, measurements)
        rules |= {key: checked for key, one in found.rules.items() if (checked := checks.rule(key, one))}
        measurements |= {
            key: checked
            for key, one in found.measurements.items()
            if (checked := checks.measurement(key, one))
        }
        problems += checks.problems
    if problems:
        raise InputError(sorted(problems, key=lambda problem: (problem.file, problem.line or 0)))
    return Rules(
        pack_name=loaded.pack.name,
        rules=rules,
        measurements=measurements,
        vocabulary=vocabulary,
        numbers=pack_numbers(loaded.pack),
        digest=digest_of_files(texts),
        remarks=tuple(_stray_files(folder)),
    )


def _twice(
    document: Document, part: str, found: Iterable[str], known: Mapping[str, Checked]
) -> list[Problem]:
    return [
        document.problem((part, name), shown(name), "stands in another file too", f"See {known[name].place}")
        for name in found
        if name in known
    ]


def _stray_files(folder: FilePath) -> Iterator[str]:
    """Yield a remark for each file whose name looks like a slip: it is not read."""
    for path in sorted(folder.glob("*.yml")):
        yield f"{FOLDER}/{path.name}  this file is not read. Name it {path.stem}.yaml"
