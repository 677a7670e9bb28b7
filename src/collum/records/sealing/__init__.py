"""Sealing of the record: keys and their file, sealed payloads and sealed files. Knows no table and no use case."""

from collum.records.sealing.faults import KeyFileTrouble, KeyTrouble, LastOwner, SealBroken, WrongPassphrase
from collum.records.sealing.key_file import (
    KEY_FILE,
    KEY_FILES,
    KeyFile,
    Role,
    User,
    mend_key_files,
    new_key_file,
    read_key_file,
    write_key_file,
)
from collum.records.sealing.keys import Keys, new_case_key, new_data_key
from collum.records.sealing.passphrase_seal import opened_under, sealed_under
from collum.records.sealing.payload import Place, open_payload, seal_payload, unwrap_key, wrap_key
from collum.records.sealing.recovery import RecoveryCodeFault, new_recovery_code, recovery_secret
from collum.records.sealing.stream import open_stream, seal_stream
from collum.records.sealing.stretching import Stretching, calibrated

__all__ = [
    "KEY_FILE",
    "KEY_FILES",
    "KeyFile",
    "KeyFileTrouble",
    "KeyTrouble",
    "Keys",
    "LastOwner",
    "Place",
    "RecoveryCodeFault",
    "Role",
    "SealBroken",
    "Stretching",
    "User",
    "WrongPassphrase",
    "calibrated",
    "mend_key_files",
    "new_case_key",
    "new_data_key",
    "new_key_file",
    "new_recovery_code",
    "open_payload",
    "open_stream",
    "opened_under",
    "read_key_file",
    "recovery_secret",
    "seal_payload",
    "seal_stream",
    "sealed_under",
    "unwrap_key",
    "wrap_key",
    "write_key_file",
]
