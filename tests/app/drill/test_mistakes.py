"""Every mistake in a file is one sentence that names the line."""

from __future__ import annotations

from pathlib import Path

import pytest

from app.drill.grammar import ScenarioMistake
from app.drill.scenario import LARGEST_BYTES, read, read_file
from tests.app.drill.lines import CASE, STAFF

HEAD = f"{CASE}\n{STAFF}\n"


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("00:00 | DOC | romm.in | p=P1", "Line 3: there is no kind of entry called 'romm.in'. .* Did you mean room.in"),
        ("00:00 | DOK | room.in | p=P1", "Line 3: 'DOK' is no role. .* Did you mean DOC"),
        ("00:00 | DOC | vitals | sp02=94", "vitals has no field 'sp02'. Did you mean spo2?"),
        ("00:00 | DOC | vitals | spo2=94%", "Line 3: vitals: spo2"),
        ("00:00 | DOC | vitals | spo2=140", "Line 3: vitals: spo2"),
        ("00:00 | DOC | room.in | p=", "Line 3: p has no value"),
        ("00:00 | DOC | room.in | P1", "Line 3: 'P1' is no key=value"),
        ("00:00 | DOC | room.in | p=P1; p=P2", "Line 3: p is given twice"),
        ("00:00 | DOC | room.in | p=P1,,P2", "Line 3: 'P1,,P2' names nobody"),
        ("00:00 | DOC | room.in | p=P1,P1", "Line 3: 'P1,P1' names somebody twice"),
        ("00:00 | DOC | room.in", "Line 3: room.in needs the field 'p'"),
        ("0:75 | DOC | note | text=x", "Line 3: '0:75' is no offset"),
        ("1:00:00 | DOC | note | text=x", "Line 3: '1:00:00' is no offset"),
        ("00:00 | DOC | note | text=x; recv=later", "Line 3: 'later' is no offset"),
        ("00:00 | DOC", "Line 3: an entry is written as"),
        ("nothing at all", "Line 3: 'nothing at all' has no columns"),
        ("stuff | P2 | job=nurse", "Line 3: a line cannot begin with 'stuff'. .* Did you mean staff"),
        ("00:00 | DOC | note | text=x; start=00:10", "Line 3: note has no start="),
        ("00:00 | DOC | doff.done | p=P1; seal=pass", "Line 3: doff.done has no seal="),
        ("05:00 | DOC | doff.done | p=P1; start=06:00", "Line 3: start=06:00 lies after"),
        ("00:00 | DOC | note | text=x; case=C", "Line 3: there is no case 'C'"),
        ("00:00 | DOC | tap.void | ref=x9", "Line 3: ref=x9 names no entry"),
        ("00:00 | DOC | tap.void", "Line 3: ref= names no entry"),
        ("00:00 | DOC | note | id=two words; text=x", "Line 3: 'two words' cannot name an entry"),
        ("staff | P1 | job=nurse", "Line 3: person P1 is set up a second time"),
        ("staff | P2 | jop=nurse", "Line 3: staff knows no 'jop'. .* Did you mean job"),
        ("staff | P2 | fit=K2", "Line 3: fit=K2 is no fit test"),
        ("staff | P2 | fit=K2:10.2.2026", "Line 3: fit=10.2.2026 is no date"),
        ("staff | P2 | immune=maybe", "Line 3: immune=maybe is not known"),
        (CASE, "Line 3: case A is set up a second time"),
        ("case | B | date=2026-11-03; t0=14:10; patogen=TB", "knows no 'patogen'. .* Did you mean pathogen"),
        ("case | B | date=2026-11-03", "Line 3: a case needs t0="),
        ("case | B | date=2026-13-03; t0=14:10", "Line 3: date=2026-13-03 is no date"),
        ("case | B | date=2026-11-03; t0=25:10", "Line 3: t0=25:10 is no time of day"),
        ("case | B | date=1926-11-03; t0=14:10", "Line 3: date=1926-11-03 is too far off"),
        ("case | B | date=2026-11-03; t0=14:10; tz=Europe/Viena", "tz=Europe/Viena is no time zone. .* Europe/Vienna"),
        ("case | B | date=2026-03-29; t0=02:30; tz=Europe/Vienna", "clocks were put forward"),
        ("case | B | date=2026-11-03; t0=14:10; ach=twelve", "Line 3: ach=twelve is no figure"),
        ("case | B | date=2026-11-03; t0=14:10; pbw=heavy", "Line 3: case.open: pbw"),
        ("case | B C | date=2026-11-03; t0=14:10", "Line 3: 'B C' cannot name a case"),
        ("expect | life | none", "nothing called 'life' can be expected. .* Did you mean live"),
        ("expect | live | 05:00 | R61 | C | x", "Line 3: 'R61' is no rule"),
        ("expect | live | 05:00 | R32 | X | x", "Line 3: 'X' is no severity"),
        ("expect | live | 05:00 | R32", "Line 3: a notice is written as"),
        ("expect | live | as live", "Line 3: a notice is written as"),
        ("expect | interval | A | I27 x | 01:00", "Line 3: 'I27 x' is no interval"),
        ("expect | interval | C | I01 x | 01:00", "Line 3: there is no case 'C'"),
        ("expect | interval | A | I01 x | soon", "Line 3: 'soon' is no value of an interval"),
        ("expect | interval | A | I01 x", "Line 3: an interval is written as"),
    ],
)
def test_a_mistake_names_its_line_and_what_was_probably_meant(line: str, says: str) -> None:
    with pytest.raises(ScenarioMistake, match=says) as refused:
        read(f"{HEAD}{line}\n00:00 | CA | case.open")
    assert refused.value.line == 3


@pytest.mark.parametrize(
    ("lines", "line", "says"),
    [
        (("01:00 | DOC | note | id=x; text=a", "02:00 | DOC | note | id=x; text=b"), 4, "id=x was given to line 3"),
        (("01:00 | DOC | room.in | id=x; p=P1", "02:00 | DOC | tap.fix | ref=x; set_q=1"), 4, "no field 'q'"),
        (("01:00 | DOC | vitals | id=x; spo2=90", "02:00 | DOC | tap.fix | ref=x; set_spo2=high"), 4, "vitals: spo2"),
        (("01:00 | DOC | note | id=x; text=a", "02:00 | DOC | tap.fix | ref=x; at=now"), 4, "'now' is no offset"),
        (("expect | final | none", "expect | final | as live", "00:00 | CA | case.open"), 4, "said in two ways"),
        (("expect | live | none", "expect | live | 01:00 | R32 | C | x", "00:00 | CA | case.open"), 4, "in two ways"),
    ],
)
def test_a_mistake_between_lines_names_the_second(lines: tuple[str, ...], line: int, says: str) -> None:
    with pytest.raises(ScenarioMistake, match=says) as refused:
        read(HEAD + "\n".join(lines))
    assert refused.value.line == line


def test_a_correction_of_another_case_is_refused() -> None:
    two = f"{HEAD}{CASE.replace('| A |', '| B |')}\n"
    with pytest.raises(ScenarioMistake, match="Line 5: ref=x belongs to another case"):
        read(f"{two}01:00 | DOC | note | id=x; text=a\n02:00 | DOC | tap.void | ref=x; case=B")


def test_a_file_without_a_case_or_without_entries_is_refused() -> None:
    with pytest.raises(ScenarioMistake, match="no `case` line"):
        read("00:00 | CA | case.open")
    with pytest.raises(ScenarioMistake, match="no line in which anything happens"):
        read(HEAD)
    with pytest.raises(ScenarioMistake, match="no `case` line"):
        read("")


def test_a_file_that_cannot_be_opened_is_refused_by_name(tmp_path: Path) -> None:
    with pytest.raises(ScenarioMistake, match=r"missing\.scenario cannot be read: No such file"):
        read_file(tmp_path / "missing.scenario")
    with pytest.raises(ScenarioMistake, match="cannot be read"):
        read_file(tmp_path)


def test_a_file_that_is_no_text_is_refused_with_the_line(tmp_path: Path) -> None:
    path = tmp_path / "x.scenario"
    path.write_bytes(b"# fine\n# \xff\xfe")
    with pytest.raises(ScenarioMistake, match="Line 2: is not UTF-8 text"):
        read_file(path)


def test_a_file_that_is_far_too_large_is_not_read(tmp_path: Path) -> None:
    path = tmp_path / "x.scenario"
    path.write_bytes(b"#" * (LARGEST_BYTES + 1))
    with pytest.raises(ScenarioMistake, match="larger than 4 MB"):
        read_file(path)


def test_characters_that_no_database_keeps_are_refused_with_the_line() -> None:
    with pytest.raises(ScenarioMistake, match=r"Line 3: .*NUL"):
        read(f"{HEAD}00:00 | DOC | note | text=a\x00b")
