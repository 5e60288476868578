"""Listing, copying, packing and unpacking cases from the command line."""

from pathlib import Path

from tests.cli.conftest import Call


def test_a_case_goes_round(call: Call, case: str, folder: Path) -> None:
    assert call("archive", case, "--json").data["archived"]
    assert call("cases", "--json").data["cases"] == []
    call("archive", case, "--back")
    (card,) = call("cases", "--json").data["cases"]
    assert card["title"] == "Divider"
    assert call("duplicate", case, "--to", "twin").code == 0
    packed = call("export", case, "--to", "out.zip", "--json").data["file"]
    assert call("import", packed, "--to", "back", "--json").data["case"] == "back.hsplit"
    assert call("import", packed, "--to", "back").code == 2
    assert call("export", case, "--to", "out.zip").code == 2
    assert (folder / "twin.hsplit").is_file()
    assert call("photo", case, "--file", "divider.board").code == 2


def test_the_record_goes_to_a_file(call: Call, case: str, folder: Path) -> None:
    said = call("report", case, "--to", "record.html", "--json").data
    assert said["record"]["title"] == "Divider"
    assert "<h1>Divider" in (folder / "record.html").read_text(encoding="utf-8")
    assert call("report", case, "--to", "record.html").code == 2
    assert "The whole record" in call("report", case).out
