import json
from pathlib import Path

import jsonschema  # type: ignore[import-untyped,unused-ignore]
import pytest
from scenario_texts import QUEUE, SMALL, changed

from twin.scenario import json_schema, loads
from twin.scenario.reading import read_tree

FOLDER = Path(__file__).parent / "broken"


@pytest.fixture(scope="module")
def validator() -> jsonschema.Draft202012Validator:
    return jsonschema.Draft202012Validator(json_schema())


def test_the_schema_is_a_json_schema_of_draft_2020_12() -> None:
    """Independent: the meta-schema of JSON Schema draft 2020-12, by the jsonschema library."""
    jsonschema.Draft202012Validator.check_schema(json_schema())
    assert json.loads(json.dumps(json_schema())) == json_schema()


@pytest.mark.parametrize("text", [SMALL, QUEUE], ids=["small", "queue"])
def test_sound_texts_are_valid(validator: jsonschema.Draft202012Validator, text: str) -> None:
    assert list(validator.iter_errors(loads(text).raw)) == []


def test_the_plants_of_the_project_are_valid(validator: jsonschema.Draft202012Validator, root: Path) -> None:
    for path in sorted((root / "scenarios").glob("*.yaml")):
        raw = read_tree(path.read_text(encoding="utf-8"), path.name).value
        assert [error.message for error in validator.iter_errors(raw)] == [], path.name


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("change_after: 57 km", "change_aftr: 57 km"),
        ("kind: slitter", "kind: sliter"),
        ("thickness: 8 mm", "thicknes: 8 mm"),
        ("sold: coil", "sold: cole"),
        ("passline: 1", "passline: 2"),
        ("{exponential: {mean: 26 h}}", "{exponentiel: {mean: 26 h}}"),
        ("{exponential: {mean: 26 h}}", "{exponential: {means: 26 h}}"),
        ("rings: {gutter 333: 3}", "rings: [gutter 333]"),
        ("metal: zinc\n", ""),
    ],
)
def test_faults_of_form_are_marked(validator: jsonschema.Draft202012Validator, old: str, new: str) -> None:
    raw = read_tree(changed(SMALL, old, new), "x").value

    assert list(validator.iter_errors(raw))


def test_all_forms_of_the_grammar_are_valid(validator: jsonschema.Draft202012Validator) -> None:
    text = changed(SMALL, "rolls: {sets: 5", "rolls: {rule: [at limit, {at: [Wed 14:00]}], sets: unlimited")
    text = changed(text, "  day shift:", "  nights: always\n  day shift:")
    text = changed(text, "options:", "plan: [{from: 2026-03-05, pattern: A, coils: 6}]\nstart: empty\noptions:")

    assert list(validator.iter_errors(loads(text).raw)) == []
