"""Argon2id (RFC 9106): turns a passphrase into a key at a cost that a guesser pays for every guess."""

import os
from collections.abc import Callable
from dataclasses import dataclass

from cryptography.hazmat.primitives.kdf.argon2 import Argon2id

from collum.records.sealing.keys import KEY_BYTES

LEAST_MEMORY_KIB = 64 * 1024
MOST_MEMORY_KIB = 256 * 1024
LEAST_PASSES = 3
MOST_PASSES = 12
LANES = 4
SALT_BYTES = 16
_ENOUGH_S = 0.4  # half of it on a machine twice as fast; unlocking stays well under two seconds


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretching:
    """The cost of one derivation and its salt. Raises ValueError outside the accepted bounds.

    The upper bounds keep a changed key file from asking for more memory than a machine has.
    """

    memory_kib: int
    passes: int
    salt: bytes
    lanes: int = LANES

    def __post_init__(self) -> None:
        bounded = LEAST_MEMORY_KIB <= self.memory_kib <= MOST_MEMORY_KIB and LEAST_PASSES <= self.passes <= MOST_PASSES
        if not bounded or self.lanes != LANES or len(self.salt) != SALT_BYTES:
            raise ValueError("cost of the passphrase out of bounds")

    def key_of(self, passphrase: str) -> bytes:
        """Return the key of a passphrase."""
        made = Argon2id(salt=self.salt, length=KEY_BYTES, iterations=self.passes, lanes=self.lanes, memory_cost=self.memory_kib)
        return made.derive(passphrase.encode())

    def with_new_salt(self) -> "Stretching":
        """Return the same cost with a new random salt."""
        return Stretching(memory_kib=self.memory_kib, passes=self.passes, salt=os.urandom(SALT_BYTES))


def calibrated(monotonic_s: Callable[[], float]) -> Stretching:
    """Return a cost of about half a second on this machine: more memory first, then more passes, never below the floor."""
    memory_kib, passes = LEAST_MEMORY_KIB, LEAST_PASSES
    while True:
        cost = Stretching(memory_kib=memory_kib, passes=passes, salt=os.urandom(SALT_BYTES))
        began_s = monotonic_s()
        cost.key_of("calibration")
        if monotonic_s() - began_s >= _ENOUGH_S:
            return cost
        if memory_kib < MOST_MEMORY_KIB:
            memory_kib *= 2
        elif passes < MOST_PASSES:
            passes += 1
        else:
            return cost
