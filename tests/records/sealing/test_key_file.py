"""The key file: who gets in, who does not, and what is said of a file that was damaged or changed."""

import json
import os
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from collum.records.sealing import (
    KEY_FILE,
    KeyFile,
    KeyFileTrouble,
    Keys,
    LastOwner,
    Stretching,
    User,
    WrongPassphrase,
    calibrated,
    new_data_key,
    new_key_file,
    new_recovery_code,
    read_key_file,
    write_key_file,
)
from collum.records.sealing.key_file import key_file_bytes, key_file_of
from collum.records.sealing.stretching import LEAST_MEMORY_KIB, MOST_MEMORY_KIB

OWNER = User(code="AB", role="owner")
HELPER = User(code="CD", role="assistant")
RECOVERY = new_recovery_code()
KEYS = Keys(new_data_key())
CHEAPEST = Stretching(memory_kib=64 * 1024, passes=3, salt=bytes(16))


@pytest.fixture(scope="module")
def file() -> KeyFile:
    made = new_key_file("018f", KEYS, OWNER, "correct horse", RECOVERY, CHEAPEST)
    return made.with_user(KEYS, HELPER, "staple battery", CHEAPEST)


def test_each_user_and_the_recovery_code_open_the_same_key(file: KeyFile) -> None:
    assert file.unlock("AB", "correct horse") == (KEYS, OWNER)
    assert file.unlock("CD", "staple battery") == (KEYS, HELPER)
    assert file.recover(RECOVERY) == KEYS
    assert file.users == (OWNER, HELPER)


@pytest.mark.parametrize(("code", "passphrase"), [("AB", "Correct horse"), ("AB", "staple battery"), ("XY", "correct horse")])
def test_a_wrong_passphrase_or_user_opens_nothing(file: KeyFile, code: str, passphrase: str) -> None:
    with pytest.raises(WrongPassphrase):
        file.unlock(code, passphrase)


def test_another_recovery_code_opens_nothing(file: KeyFile) -> None:
    with pytest.raises(WrongPassphrase):
        file.recover(new_recovery_code())


def test_a_new_passphrase_replaces_the_old_one_and_a_removed_user_is_out(file: KeyFile) -> None:
    changed = file.with_user(KEYS, OWNER, "new words", CHEAPEST).without_user(KEYS, "CD")
    assert changed.unlock("AB", "new words") == (KEYS, OWNER)
    for code, passphrase in (("AB", "correct horse"), ("CD", "staple battery")):
        with pytest.raises(WrongPassphrase):
            changed.unlock(code, passphrase)
    with pytest.raises(LastOwner):
        changed.without_user(KEYS, "AB")


def test_a_new_recovery_code_replaces_the_old_one(file: KeyFile) -> None:
    code = new_recovery_code()
    changed = file.with_recovery(KEYS, code)
    assert changed.recover(code) == KEYS
    with pytest.raises(WrongPassphrase):
        changed.recover(RECOVERY)


def test_the_file_holds_no_key_and_no_passphrase_and_reads_back(file: KeyFile) -> None:
    written = key_file_bytes(file)
    assert key_file_of(written) == file
    for secret in (KEYS.data, KEYS.database, b"correct horse", RECOVERY.encode()):
        assert secret not in written and secret.hex().encode() not in written


def test_a_changed_byte_is_damage(file: KeyFile) -> None:
    written = bytearray(key_file_bytes(file))
    for at in range(0, len(written), 7):
        written[at] ^= 4
        with pytest.raises(KeyFileTrouble) as told:
            key_file_of(bytes(written))
            raise AssertionError(at)
        assert told.value.trouble in ("damaged", "newer_version")
        written[at] ^= 4


def tampered(file: KeyFile, change: Any) -> KeyFile:
    """Return the file changed by somebody who can make the checksum anew but has no key."""
    from collum.records.sealing.key_file import _checksum

    content = json.loads(key_file_bytes(file))
    content.pop("sha256")
    change(content)
    return key_file_of(json.dumps(content | {"sha256": _checksum(content)}).encode())


def test_a_role_or_a_user_put_in_with_the_checksum_made_anew_is_found(file: KeyFile) -> None:
    raised = tampered(file, lambda content: content["wraps"][-1].update(role="owner"))
    with pytest.raises(KeyFileTrouble) as told:
        raised.unlock("CD", "staple battery")
    assert told.value.trouble == "changed"
    renamed = tampered(file, lambda content: content["wraps"][-1].update(user="EF"))
    with pytest.raises(WrongPassphrase):
        renamed.unlock("EF", "staple battery")


@pytest.mark.parametrize(
    ("memory_kib", "passes"), [(LEAST_MEMORY_KIB // 2, 3), (LEAST_MEMORY_KIB, 2), (MOST_MEMORY_KIB * 2, 3)]
)
def test_a_cost_out_of_bounds_is_damage_and_is_never_spent(file: KeyFile, memory_kib: int, passes: int) -> None:
    with pytest.raises(KeyFileTrouble):
        tampered(file, lambda content: content["wraps"][-1].update(argon2id={"memory_kib": memory_kib, "passes": passes}))


def test_a_newer_file_is_named_as_such(file: KeyFile) -> None:
    with pytest.raises(KeyFileTrouble) as told:
        key_file_of(json.dumps(json.loads(key_file_bytes(file)) | {"format": "collum-keys/2"}).encode())
    assert told.value.trouble == "newer_version"


def test_a_written_file_is_for_its_owner_alone_and_one_damaged_copy_does_not_lock_out(file: KeyFile, tmp_path: Path) -> None:
    with pytest.raises(KeyFileTrouble) as told:
        read_key_file(tmp_path)
    assert told.value.trouble == "missing"
    write_key_file(tmp_path, file)
    assert read_key_file(tmp_path) == file
    if os.name == "posix":
        assert {entry.stat().st_mode & 0o777 for entry in tmp_path.iterdir()} == {0o600}
    (tmp_path / KEY_FILE).write_bytes(b"\0" * 100)
    assert read_key_file(tmp_path) == file
    for entry in tmp_path.iterdir():
        entry.write_bytes(b"")
    with pytest.raises(KeyFileTrouble) as told:
        read_key_file(tmp_path)
    assert told.value.trouble == "damaged"


def test_the_cost_is_raised_until_a_guess_takes_long_enough_or_the_bound_is_reached(monkeypatch: pytest.MonkeyPatch) -> None:
    spent: list[tuple[int, int]] = []

    def recorded(self: Stretching, _passphrase: str) -> bytes:
        spent.append((self.memory_kib, self.passes))
        return b""

    monkeypatch.setattr(Stretching, "key_of", recorded)
    still = calibrated(lambda: 0.0)
    assert (still.memory_kib, still.passes) == (MOST_MEMORY_KIB, 12)
    assert spent[0] == (LEAST_MEMORY_KIB, 3) and all(a <= b for a, b in pairwise(spent))
    ticks = iter(range(100))
    slow = calibrated(lambda: float(next(ticks)))
    assert (slow.memory_kib, slow.passes) == (LEAST_MEMORY_KIB, 3)
