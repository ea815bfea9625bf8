"""The systemd unit starts the command as the settings know it."""

from pathlib import Path

from app.base.settings import load


def values(checkout: Path, key: str) -> list[str]:
    lines = (checkout / "deploy" / "doorside.service").read_text(encoding="utf-8").splitlines()
    return [line.removeprefix(f"{key}=") for line in lines if line.startswith(f"{key}=")]


def test_the_service_sets_only_settings_that_exist(checkout: Path) -> None:
    environment = dict(value.split("=", 1) for value in values(checkout, "Environment"))
    assert str(load(environment).data) == "/var/lib/doorside"


def test_the_service_keeps_its_data_in_the_one_folder_it_may_write(checkout: Path) -> None:
    assert values(checkout, "StateDirectory") == ["doorside"]
    assert values(checkout, "ProtectSystem") == ["strict"]
    assert values(checkout, "ExecStart") == ["/opt/doorside/bin/doorside serve"]
