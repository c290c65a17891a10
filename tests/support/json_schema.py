# SPDX-License-Identifier: GPL-3.0-or-later
"""Holds JSON documents against the schema of their format, and each of them spoiled: a member left
out that the schema requires, one too many, another version. usage: json_schema.py SHARED DOCUMENT..."""

import copy
import json
import sys
import warnings
from pathlib import Path

import jsonschema

# Its successor is not in the version that Debian 12 has.
warnings.simplefilter("ignore", DeprecationWarning)

OWN = ("plan", "order", "quote", "takeoff")  # documents with a schema of their own


def load(shared):
    """A validator for each format."""
    found = {path.name: json.loads(path.read_text()) for path in Path(shared).glob("*.schema.json")}
    outputs = found["output.schema.json"]
    resolver = jsonschema.RefResolver("", outputs, store=found)
    validators = {}
    for name, schema in outputs["$defs"].items():
        form = schema.get("properties", {}).get("format", {}).get("const")
        if form:
            validators[form] = jsonschema.Draft202012Validator(schema, resolver=resolver)
    for name in OWN:
        validators["dropwise " + name] = jsonschema.Draft202012Validator(found[name + ".schema.json"])
    for schema in found.values():
        jsonschema.Draft202012Validator.check_schema(schema)
    return validators


def spoiled(document, required):
    for member in required:
        worse = copy.copy(document)
        del worse[member]
        yield f"without {member}", worse
    yield "with a member too many", {**document, "something": 1}
    yield "of another version", {**document, "version": 99}


def main(shared, paths):
    validators, seen, wrong = load(shared), {}, 0
    for path in paths:
        text = Path(path).read_text()
        if not text:  # the command refused, and said so elsewhere
            continue
        document = json.loads(text)
        form = document.get("format")
        validator = validators.get(form)
        if not validator:
            print(f"{form}: no schema")
            wrong += 1
            continue
        seen[form] = seen.get(form, 0) + 1
        for error in validator.iter_errors(document):
            print(f"{form}, {'/'.join(map(str, error.absolute_path))}: {error.message[:300]}")
            wrong += 1
        for how, worse in spoiled(document, validator.schema["required"]):
            if validator.is_valid(worse):
                print(f"{form} {how} is not refused")
                wrong += 1
    for form in sorted(set(validators) - set(seen)):
        print(f"{form}: nothing prints it in the tests")
        wrong += 1
    return 1 if wrong else 0


sys.exit(main(sys.argv[1], sys.argv[2:]))
