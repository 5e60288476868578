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
