"""`manage.py estimate`: a file in, a readable estimate or a message that names the field out."""

import json
from decimal import Decimal
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from firm.measure.money import format_money

GOLDEN = Path(__file__).parents[1] / "golden"


def run(path: Path, *options: str) -> str:
    out = StringIO()
    call_command("estimate", str(path), *options, stdout=out)
    return out.getvalue()


def write(folder: Path, document: object) -> Path:
    path = folder / "site.json"
    path.write_text(json.dumps(document), encoding="utf-8")
    return path


def simple(**line: Any) -> dict[str, Any]:
    fields = {
        "id": "A",
        "name": "Back",
        "system": "vinyl_privacy_6ft",
        "legs": [{"length_in": 384}],
        "start": {"kind": "post", "measured_at": "post_centre"},
        "end": {"kind": "post", "measured_at": "post_centre"},
    }
    return {
        "format": "firm-footing-site",
        "version": 1,
        "name": "Elm Street",
        "lines": [fields | line],
    }


def refusal(path: Path, *options: str) -> str:
    with pytest.raises(CommandError) as caught:
        run(path, *options)
    assert caught.value.returncode == 2
    return str(caught.value)


def test_a_file_that_is_silent_on_prices_is_estimated_with_the_starter_set(
    tmp_path: Path,
) -> None:
    text = run(write(tmp_path, simple()))

    # 384 in: four bays of 96, five posts, 91 in between faces.
    for words in ("Elm Street", "Vinyl privacy 6 ft", "Section", "Quantities", "Labour hours"):
        assert words in text
    assert text.count("  full ") == 4
    assert "91" in text


def test_a_file_with_its_own_prices_is_complete_in_itself() -> None:
    result = json.loads(run(GOLDEN / "straight_vinyl.json", "--json"))
    text = run(GOLDEN / "straight_vinyl.json")

    for amount in (result["money"]["price"], result["money"]["break_even"]):
        assert format_money(Decimal(amount)) in text
    for quantity in result["quantities"]:
        assert quantity["name"] in text


def test_the_text_shows_hand_digging_removal_options_and_findings() -> None:
    text = run(GOLDEN / "closed_and_shared.json")

    for words in ("dig by hand", "taking out 40.0 ft", "options", "$180.00", "$11.25", "Findings"):
        assert words in text
    # Worked beside the file: 19 holes and one by hand, all to the local rule.
    assert text.count("local rule") == 2


def test_the_proposal_is_written_as_a_pdf(tmp_path: Path) -> None:
    target = tmp_path / "proposal.pdf"
    run(write(tmp_path, simple()), "--pdf", str(target))

    assert target.read_bytes().startswith(b"%PDF-")


def test_a_pdf_that_can_t_be_written_is_said(tmp_path: Path) -> None:
    words = refusal(write(tmp_path, simple()), "--pdf", str(tmp_path / "no" / "such.pdf"))

    assert "No such file" in words


def test_typed_lines_and_figures_set_by_hand_stand_in_the_file(tmp_path: Path) -> None:
    document = simple() | {
        "typed_lines": [{"key": "dump", "description": "Dump fee", "unit_cost": "40.00"}],
        "overrides": [{"target": "price", "value": "4000.00", "reason": "So agreed"}],
    }
    result = json.loads(run(write(tmp_path, document), "--json"))

    assert result["money"]["typed"] == "40.00"
    assert result["money"]["price_before_tax"] == "4000.00"


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"legs": [{"length_in": -4}]}, "lines[0].legs[0].length_in"),
        ({"legs": [{"length_in": "long"}]}, "lines[0].legs[0].length_in"),
        ({"legs": []}, "lines[0].legs"),
        ({"system": "bamboo"}, "lines[0].system"),
        ({"scope": "painting"}, "lines[0].scope"),
        ({"colour": "red"}, "colour"),
    ],
)
def test_a_wrong_file_is_refused_by_the_name_of_its_field(
    tmp_path: Path, changes: dict[str, Any], words: str
) -> None:
    assert words in refusal(write(tmp_path, simple(**changes)))


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"{", "It is not JSON"),
        (b"[]", "one JSON object"),
        (b"\xff\xfe", "UTF-8"),
        pytest.param(b"[" * 100_000, "nested too deeply", id="nested too deeply"),
        (b"{}", "format"),
    ],
)
def test_what_is_no_site_document_is_refused(tmp_path: Path, content: bytes, words: str) -> None:
    path = tmp_path / "site.json"
    path.write_bytes(content)

    assert words in refusal(path)


def test_an_unknown_item_is_counted_and_named_as_without_a_price(tmp_path: Path) -> None:
    document = json.loads((GOLDEN / "straight_vinyl.json").read_text(encoding="utf-8"))
    document["fence_systems"]["plank_vinyl_6ft"]["materials"][3]["item"] = "raill"

    result = json.loads(run(write(tmp_path, document), "--json"))
    (found,) = [each for each in result["findings"] if each["code"] == "missing-price"]

    assert (found["severity"], found["place"], found["figure"]) == (
        "stop",
        "prices.raill",
        "line A",
    )
    assert any(each["item"] == "raill" for each in result["quantities"])


def test_a_missing_file_is_refused(tmp_path: Path) -> None:
    assert "No such file" in refusal(tmp_path / "nothing.json")


def test_a_figure_set_by_hand_without_a_reason_is_refused(tmp_path: Path) -> None:
    document = simple() | {"overrides": [{"target": "price", "value": "1", "reason": " "}]}

    assert "overrides[0].reason" in refusal(write(tmp_path, document))


@pytest.mark.django_db
def test_the_firm_s_own_figures_are_used_when_asked_for(tmp_path: Path) -> None:
    # Nothing is in the firm's price book yet, so its systems are not there either.
    assert "lines[0].system" in refusal(write(tmp_path, simple()), "--firm")
