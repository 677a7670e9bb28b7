"""Settings: which place wins, and that every fault is found at once."""

from dataclasses import replace
from pathlib import Path

import pytest

from collum.app.chair.kept_hands import KeptHands
from collum.app.environment import default_data_directory
from collum.app.settings import NAMES, SettingFaults, keep_plan, read_settings
from collum.core.heat.pacing_task import HandTimes


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "config.toml").write_text('port = 1001\ndraws = 501\nzone = "Europe/Vienna"\n', encoding="utf-8")
    return tmp_path


def test_flags_win_over_variables_over_the_file_over_defaults(folder: Path) -> None:
    found = read_settings(
        {"port": 3003, "draws": None}, {"COLLUM_DATA": str(folder), "COLLUM_PORT": "2002", "COLLUM_DRAWS": "702"}
    )
    assert (found.port, found.draws, found.zone, found.data) == (3003, 702, "Europe/Vienna", folder)
    said = {"port": "flag", "draws": "environment", "zone": "config.toml", "data": "environment"}
    assert found.origins == {**dict.fromkeys(NAMES, "default"), **said}


def test_what_was_set_on_the_page_gives_way_to_the_file_and_is_held_to_its_names(folder: Path) -> None:
    (folder / "set-on-page.toml").write_text("backups_kept = 9\nbackups_days = 8\n", encoding="utf-8")
    (folder / "config.toml").write_text("backups_kept = 7\n", encoding="utf-8")
    found = read_settings({"data": folder}, {})
    assert (found.backups_kept, found.backups_days) == (7, 8)
    assert (found.origins["backups_kept"], found.origins["backups_days"]) == ("config.toml", "page")
    (folder / "set-on-page.toml").write_text("port = 1\n", encoding="utf-8")
    with pytest.raises(SettingFaults) as faults:
        read_settings({"data": folder}, {})
    assert [fault.where for fault in faults.value.faults] == ["set-on-page.toml: port"]


def test_what_is_set_on_the_page_is_kept_beside_what_was_and_what_is_fixed_elsewhere_stays(tmp_path: Path) -> None:
    (tmp_path / "set-on-page.toml").write_text("backups_kept = 9\n", encoding="utf-8")
    hands = KeptHands.of(read_settings({"data": tmp_path}, {"COLLUM_WIRE_WIPE_S": "5"}))
    assert (hands.now, hands.fixed) == (HandTimes(position_s=8, wipe_s=5, change_s=20), {"wipe_s"})
    hands.keep(position_s=4.5, wipe_s=1, change_s=30)
    assert hands.now == HandTimes(position_s=4.5, wipe_s=5, change_s=30)
    found = read_settings({"data": tmp_path}, {})
    assert (found.backups_kept, found.hands()) == (9, HandTimes(position_s=4.5, wipe_s=3, change_s=30))
    keep_plan(tmp_path, replace(found.backup_plan(), kept=11))
    found = read_settings({"data": tmp_path}, {})
    assert (found.backups_kept, found.hand_position_s) == (11, 4.5)
    with pytest.raises(SettingFaults):
        read_settings({"data": tmp_path}, {"COLLUM_WIRE_CHANGE_S": "nan"})


def test_defaults_hold_where_nothing_is_said() -> None:
    found = read_settings({}, {"PATH": "/bin"})
    assert (found.data, found.port, found.draws) == (default_data_directory(), 8734, 10_000)
    assert (found.backups, found.backups_kept, found.backups_days) == (found.data / "backups", 30, 400)
    assert set(found.origins) == set(NAMES)
    assert set(found.origins.values()) == {"default"}


def test_the_data_flag_decides_which_file_is_read(folder: Path, tmp_path_factory: pytest.TempPathFactory) -> None:
    other = tmp_path_factory.mktemp("other")
    found = read_settings({"data": other}, {"COLLUM_DATA": str(folder)})
    assert (found.data, found.port) == (other, 8734)


def test_every_fault_is_found_at_once(folder: Path) -> None:
    (folder / "config.toml").write_text('prot = 1\nport = "x"\ndata = "/elsewhere"\n', encoding="utf-8")
    variables = {"COLLUM_DATA": str(folder), "COLLUM_DRAWS": "99", "COLLUM_COLOUR": "1", "COLLUM_CHROMIUM": "/usr/bin/chromium"}
    with pytest.raises(SettingFaults) as faults:
        read_settings({"port": 70_000}, variables)
    assert sorted((fault.where, fault.what) for fault in faults.value.faults) == [
        ("--port", "faulty"),
        ("COLLUM_COLOUR", "unknown"),
        ("COLLUM_DRAWS", "faulty"),
        ("config.toml: data", "unknown"),
        ("config.toml: port", "faulty"),
        ("config.toml: prot", "unknown"),
    ]


@pytest.mark.parametrize(
    ("name", "good", "bad"),
    [
        ("port", ["0", "65535"], ["-1", "65536", "8e3", "", "٣"]),
        ("draws", ["100", "100000"], ["99", "100001", "1e4"]),
        ("zone", ["UTC", "Europe/Vienna"], ["", "Z" * 41, "a\nb"]),
        ("data", ["/somewhere"], ["", "  "]),
        ("backups", ["/somewhere"], ["", "  "]),
        ("backups_kept", ["2", "400"], ["1", "401", "x"]),
        ("backups_days", ["0", "4000"], ["-1", "4001", ""]),
    ],
)
def test_limits_of_each_setting(name: str, good: list[str], bad: list[str]) -> None:
    for value in good:
        read_settings({}, {f"COLLUM_{name.upper()}": value})
    for value in bad:
        with pytest.raises(SettingFaults):
            read_settings({}, {f"COLLUM_{name.upper()}": value})


def test_a_file_that_is_not_toml_is_a_fault(folder: Path) -> None:
    (folder / "config.toml").write_bytes(b"port = \xff")
    with pytest.raises(SettingFaults) as faults:
        read_settings({"data": folder}, {})
    assert faults.value.faults[0].what == "unreadable"


def test_true_is_no_number(folder: Path) -> None:
    (folder / "config.toml").write_text("port = true\n", encoding="utf-8")
    with pytest.raises(SettingFaults):
        read_settings({"data": folder}, {})
