"""What is no school file at all is refused at once, in one sentence."""

import io
import json
import sys
import time
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from teamroom.dates.models import School
from teamroom.school_file.faults import FileRefused, json_path
from teamroom.school_file.reading import LARGEST, document_in
from tests.school_file.files import whole, write

HEAD = b'{"format": "teamroom school file", "version": 1'


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "line 1, column 1"),
        (HEAD + b',\n "school": {"name" "x"}}', "line 2, column 20"),
        (b'{"format": "teamroom school file",\n\xff}', "not in UTF-8 (line 2)"),
        (HEAD + b', "school": NaN}', "it holds NaN"),
        (HEAD + b', "school": -Infinity}', "it holds -Infinity"),
        (b"[]", "$: A school file is one JSON object"),
        (b'"teamroom school file"', "$: A school file is one JSON object"),
        (b'{"format": "another file", "version": 1}', "$.format: This is no school file"),
        (b"{}", "$.format: This is no school file"),
        (b'{"format": "teamroom school file", "version": 2}', "$.version: This Teamroom reads version 1"),
        (b'{"format": "teamroom school file"}', "$.version: This Teamroom reads version 1"),
        (b'{"format": "teamroom school file", "version": true}', "$.version: This Teamroom reads version 1"),
        (b"[" * 200_000, "nested deeper"),
        (b" " * (LARGEST + 1), "larger than 32 MiB"),
    ],
)
def test_what_is_no_school_file_is_refused_in_one_sentence(data: bytes, words: str) -> None:
    with pytest.raises(FileRefused) as refused:
        document_in(data)
    (fault,) = refused.value.faults
    assert words in str(fault)


def test_a_file_may_begin_with_a_byte_order_mark() -> None:
    assert document_in(b"\xef\xbb\xbf" + HEAD + b"}") == {"format": "teamroom school file", "version": 1}


@pytest.mark.parametrize(
    ("written", "read"),
    [("200.0", 200), ("2e2", 200), ("1e5", 100000), ("-0", 0), ("20.5", 20.5), ("1e400", float("inf"))],
)
def test_whole_numbers_are_whole_however_they_are_written(written: str, read: float) -> None:
    found = document_in(HEAD + b', "x": ' + written.encode() + b"}")["x"]
    assert found == read
    assert type(found) is type(read)


@pytest.mark.parametrize("written", ["9" * 5000, "1e999999999", "1e-999999999", "1e9999999999999999999"])
def test_numbers_beyond_reason_take_neither_time_nor_memory(written: str) -> None:
    started = time.monotonic()
    assert isinstance(document_in(HEAD + b', "x": ' + written.encode() + b"}")["x"], float)
    assert time.monotonic() - started < 1


@pytest.mark.django_db
def test_a_key_given_twice_is_told_together_with_the_other_faults(tmp_path: Path) -> None:
    text = json.dumps(whole()).replace('"name": "Fernhollow Elementary"', '"name": "A", "name": "B", "nmae": "C"', 1)
    (tmp_path / "twice.json").write_text(text, encoding="utf-8")
    said = io.StringIO()
    with pytest.raises(CommandError, match="2 faults"):
        call_command("load_school", str(tmp_path / "twice.json"), stderr=said)
    assert said.getvalue().splitlines()[0] == '$.school.name: "name" is given twice here: keep one.'
    assert not School.objects.exists()


def test_a_file_of_50_megabytes_is_refused_quickly(tmp_path: Path) -> None:
    path = tmp_path / "large.json"
    with path.open("wb") as file:
        file.truncate(50 * 1024 * 1024)
    said = io.StringIO()
    started = time.monotonic()
    with pytest.raises(CommandError, match="1 fault: nothing was loaded"):
        call_command("load_school", str(path), stderr=said)
    assert time.monotonic() - started < 2
    assert said.getvalue() == "$: The file is larger than 32 MiB: no school file is.\n"


def test_deep_nesting_inside_a_file_is_a_fault(tmp_path: Path) -> None:
    text = json.dumps(whole()).replace('"school": {', '"school": ' + '{"name":' * 300 + "1" + "}" * 300 + ', "x": {', 1)
    (tmp_path / "deep.json").write_text(text, encoding="utf-8")
    said = io.StringIO()
    with pytest.raises(CommandError, match="1 fault"):
        call_command("load_school", str(tmp_path / "deep.json"), stderr=said)
    assert "nested deeper" in said.getvalue()


def test_a_file_that_is_not_there_is_one_sentence(tmp_path: Path) -> None:
    with pytest.raises(CommandError, match="cannot be read: No such file"):
        call_command("load_school", str(tmp_path / "none.json"))


@pytest.mark.django_db
def test_a_dash_reads_standard_input(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with write(tmp_path / "school.json", whole()).open(encoding="utf-8") as stdin:
        monkeypatch.setattr(sys, "stdin", stdin)
        call_command("load_school", "-", stdout=io.StringIO())
    assert School.objects.get().name == "Fernhollow Elementary"


def test_paths_quote_the_keys_that_need_it() -> None:
    assert json_path(("weeks", 0, "columns", 1)) == "$.weeks[0].columns[1]"
    assert json_path(("school", 'a "b"', "")) == r'$.school["a \"b\""][""]'
