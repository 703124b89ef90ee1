"""Rules that the readers of the files hold: what a text must be before anything can be looked up in it."""

from __future__ import annotations

from configopt.files.yaml_source import FINDING_LIMIT
from configopt.guard.rule import Example, Rule

_QUOTES = "Put a text with a colon and a space, a # or a leading special character in quotes; check the indentation."


def _error(name: str, title: str, about: str, of: str = "", fails: str = "", passes: str = "") -> Rule:
    return Rule(name, "error", title, about, Example(of, fails, passes) if of else None)


RULES = (
    _error("YAML-FILE", "a file that cannot be read", "The file is missing, is a folder or no plain file, or may not "
           "be read. Check its name and where it lies."),
    _error("YAML-ENCODING", "a file that is not UTF-8", "Every file is UTF-8 without byte order mark. Save it so."),
    _error("YAML-SYNTAX", "a text that is no YAML", f"The text breaks YAML or holds what is not used here. {_QUOTES}",
           "yaml", "title: [open", "title: open"),
    _error("YAML-EMPTY", "an empty file", "There is nothing in the file. Write its keys.",
           "yaml", "# nothing yet", "title: something"),
    _error("YAML-LIMIT", "a file, text, number or nesting that is too large", "Limits on bytes, values, depth, length "
           "of texts and digits of numbers keep a stranger's file from using up the machine. Split or shorten it.",
           "yaml", "ratio: 0.1234567890123456789012345678901", "ratio: 0.123"),
    _error("YAML-ALIAS", "an anchor, alias or merge key", "A value stands where it is used, so that a line shows all "
           "that it says and no text can grow when it is read. Write it out.",
           "yaml", "one: &a 1\ntwo: *a", "one: 1\ntwo: 1"),
    _error("YAML-TAG", "a tag", "Tags ask the reader to make something other than text, numbers, lists and groups. "
           "Remove it.", "yaml", "title: !!python/name:print x", "title: x"),
    _error("YAML-NUMBER", "a number that is not finite or out of range", "No figure is infinite or no number.",
           "yaml", "ratio: .inf", "ratio: 0.3"),
    _error("YAML-DUPLICATE", "a key that is there twice", "One of the two values would be lost. Keep one.",
           "yaml", "mass: 1 kg\nmass: 2 kg", "mass: 1 kg"),
    _error("JSON-SYNTAX", "a text that is no JSON", "Write the file again from the command that made it."),
    _error("PATH", "a path that leads out of the project", "A check reads files below the working folder and below the "
           "paths it is given, and no others, so that a stranger's file cannot show what lies elsewhere."),
    _error("MORE", "more findings than are shown; a warning or a note where those are", f"Of each file {FINDING_LIMIT} "
           "errors, warnings and notes each are shown, and how many there are beyond; that line is an error, a warning "
           "or a note as those that it counts. Correct the findings listed before it first: often one mistake makes "
           "many."),
    Rule("UNCHECKED-VARIANTS", "note", "variants that were not looked at", "A check makes as many variants of a "
         "scenario as take some seconds, and stops where very many are wrong. The command whatif looks at all."),
    _error("TYPE", "a value of another kind", "Text stands where a number belongs, or the other way round.",
           "rims", "holes: thirty-six", "holes: 36"),
    _error("QUANTITY", "a figure without unit, or with one of another dimension", "A figure with a dimension carries "
           "its unit, so that nobody has to guess.", "tires", "mass: 2.58", "mass: 2.58 kg"),
    _error("RANGE", "a value outside what is allowed", "The message states the range.",
           "tires", "mass: -2.58 kg", "mass: 2.58 kg"),
    _error("CHOICE", "a word that is not one of those allowed", "The message lists them.",
           "tires", "tread: opem", "tread: open"),
    _error("VALUE", "a value that cannot be, or values that contradict each other", "The message says what was found "
           "and what is allowed.", "tires", "size: 70/100/19", "size: 70/100-19"),
    _error("MISSING-KEY", "a key that is not there", "Add it.", "tires", "lug_depth: null", "lug_depth: 12.5 mm"),
    _error("UNKNOWN-KEY", "a key that is not known here", "Correct its spelling or remove it; the message lists what "
           "is known.", "tires", "lug_dept: 12.5 mm", "lug_depth: 12.5 mm"),
    _error("CATALOG", "a catalog folder that is not there", "Correct the path."),
    _error("FAMILY", "a file of another family", "The file's name and its key family name the same family."),
    _error("EMPTY-FAMILY", "a family without parts", "Add at least one."),
    _error("CURRENCY", "prices in two currencies", "One currency for the whole catalog and its scenarios, or sums "
           "mean nothing."),
    _error("DUPLICATE-ID", "an id that stands twice", "Every part has an id of its own: files name parts by it."),
    _error("REFERENCE", "a name that nothing has", "Something is named that is not there: a source, surface, part or "
           "terrain. Where a part was renamed or removed, correct what names it.",
           "tires", "source: nobody-knows", "source: parts-estimate"),
    _error("LIMIT", "a limit that holds nowhere or contradicts another", "A limit that no place of the scenario could "
           "meet or miss looks as if it guarded something.", "vehicle",
           "limits: [{limit: trail, at_least: 90 mm}, {limit: trail_most, at_most: 80 mm}]",
           "limits: [{limit: trail, at_least: 70 mm}, {limit: trail_most, at_most: 80 mm}]"),
)  # fmt: skip
