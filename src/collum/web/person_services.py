"""The use cases of archives of a person, in wire form."""

import tempfile
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from typing import IO, BinaryIO, cast

from collum.app.cases.person_archive import ENDINGS, give_case_file, give_out, take_in
from collum.app.practice import OpenCase
from collum.app.record.roles import check_allowed
from collum.app.record.vault import Vault
from collum.records import storage_error

Troubles = Callable[[], AbstractContextManager[None]]


class PersonServices:
    """Answers the routes from the practice of a vault; its troubles become those the routes know."""

    def __init__(self, vault: Vault, troubles: Troubles) -> None:
        self._vault = vault
        self._troubles = troubles

    def give_out(self, case_id: str, passphrase: str | None) -> tuple[str, Iterator[bytes]]:
        """Return a name of ours to save the archive under, and the archive. Raises NotAllowed, WeakPassphrase, NoSuchRecord."""
        practice = self._vault.practice
        check_allowed(self._vault.user, "export a person")
        with self._troubles():
            parts = give_out(practice, case_id, passphrase)
        return f"person-{case_id[-8:]}.{ENDINGS[passphrase is not None]}", parts

    def case_file(self, case_id: str, number: int | None) -> OpenCase:
        """Return a case, or a save of it, to be kept as a file in clear. Raises NotAllowed, RecordLocked, NoSuchRecord."""
        practice = self._vault.practice
        check_allowed(self._vault.user, "save a case file")
        with self._troubles():
            return give_case_file(practice, case_id, number)

    @contextmanager
    def arriving(self) -> Iterator[IO[bytes]]:
        """Give a file without a name, in the data directory, for an archive as it comes. Raises NotAllowed, RecordLocked."""
        folder = self._vault.practice.environment.data_directory
        check_allowed(self._vault.user, "take in a person")
        with self._troubles():
            try:
                with tempfile.TemporaryFile(dir=folder) as file:
                    yield file
            except OSError as error:
                raise storage_error(error) from None

    def take_in(self, file: IO[bytes], passphrase: str | None) -> OpenCase:
        """Return the case of an archive. Raises ArchiveFault, CaseFaults, AttachmentRefused, TooManyTries, NotAllowed."""
        practice, user = self._vault.practice, self._vault.user
        check_allowed(user, "take in a person")
        file.seek(0)
        with self._troubles():
            trying = self._vault.open_other
            return take_in(practice, cast(BinaryIO, file), passphrase, sealed_record=user is not None, trying=trying)
