"""The log says what happened and never about whom."""

from __future__ import annotations

import logging

import pytest

from app.base.log import Line, log, to_stderr


def line(record: logging.LogRecord) -> str:
    return Line().format(record)


def test_a_line_carries_only_fields_that_are_safe() -> None:
    record = logging.makeLogRecord({"levelname": "WARNING", "msg": "stored", "case": "c1", "count": 3, "body": "Ada"})
    assert line(record).endswith("WARNING stored case=c1 count=3")
    assert "Ada" not in line(record)


def test_an_error_leaves_its_class_and_its_places_but_not_its_words() -> None:
    try:
        raise ValueError("refused value: Ada Example, born 1950")
    except ValueError as error:
        record = logging.makeLogRecord(
            {"msg": "failed", "levelname": "ERROR", "exc_info": (type(error), error, error.__traceback__)}
        )
    assert "ValueError in test_an_error_leaves" in line(record)
    assert "Ada" not in line(record)


def test_a_time_is_utc() -> None:
    record = logging.makeLogRecord({"msg": "x", "levelname": "INFO", "created": 0.0})
    assert line(record).startswith("1970-01-01T00:00:00Z INFO")


def test_asking_for_the_log_twice_writes_each_line_once(capsys: pytest.CaptureFixture[str]) -> None:
    before, propagate = list(log.handlers), log.propagate
    try:
        log.handlers = []
        to_stderr()
        to_stderr()
        log.warning("once", extra={"case": "c1"})
        said = capsys.readouterr()
        assert said.err.count("once case=c1") == 1
        assert said.out == ""
    finally:
        log.handlers, log.propagate = before, propagate
