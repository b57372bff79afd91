"""The binder file: what makes it one, how it is refused, and that nothing half-done stays in it."""

from __future__ import annotations

import os
import shutil
import sqlite3
import stat
import subprocess
import sys
from pathlib import Path

import pytest

from binder import migrations
from binder.edit import Editor
from binder.errors import FileError, RequestError
from binder.file import APPLICATION_ID, BinderFile, back_up, create, open_binder
from binder.intake.json_form import dump
from binder.read import client
from binder.verify import verify
from tests.system import as_nobody

HEADER_BYTES = 100


@pytest.fixture
def path(closet: BinderFile) -> Path:
    """The file of a closed binder that holds a clinic's closet."""
    closet.close()
    return closet.path


def refusal(path: Path, **how: bool | float) -> str:
    """The one line with which a file is refused."""
    with pytest.raises(FileError) as refused:
        open_binder(path, **how)  # type: ignore[arg-type]
    assert refused.value.exit_status == 3
    sentence = str(refused.value)
    assert str(path) in sentence
    assert "\n" not in sentence
    return sentence


def pragma(binder: BinderFile, name: str) -> object:
    return binder.connection.execute(f"PRAGMA {name}").fetchone()[0]


class TestMakeUp:
    def test_header_names_the_application_and_the_format(self, path: Path) -> None:
        # SQLite file format 3, section 1.3: magic at 0, user version at 60, application id at 68,
        # four bytes, big-endian.
        header = path.read_bytes()[:HEADER_BYTES]
        assert header[:16] == b"SQLite format 3\x00"
        assert int.from_bytes(header[60:64], "big") == migrations.VERSION
        assert header[68:72] == b"HOBF"
        assert int.from_bytes(header[68:72], "big") == APPLICATION_ID

    def test_journal_is_a_rollback_journal(self, path: Path) -> None:
        # Section 1.3.2: file format versions 1, 1 are rollback journals, 2, 2 is a WAL.
        assert path.read_bytes()[18:20] == b"\x01\x01"

    def test_application_id_is_below_the_sign_bit(self) -> None:
        # From 0x80000000 on SQLite stores 0 (found on SQLite 3.40.1).
        assert 0 < APPLICATION_ID < 0x80000000

    def test_binder_put_into_wal_mode_is_put_back(self, path: Path) -> None:
        # A copied file would not be whole: part of it would be in another (SQLite, WAL, 3).
        other = sqlite3.connect(path)
        assert other.execute("PRAGMA journal_mode = WAL").fetchone()[0] == "wal"
        other.close()
        with open_binder(path) as binder:
            assert pragma(binder, "journal_mode") == "delete"
        assert path.read_bytes()[18:20] == b"\x01\x01"

    def test_only_the_owner_reads_it(self, tmp_path: Path) -> None:
        before = os.umask(0)
        try:
            create(tmp_path / "new.binder", "Quillmere Veterinary Clinic").close()
        finally:
            os.umask(before)
        assert stat.S_IMODE((tmp_path / "new.binder").stat().st_mode) == 0o600

    @pytest.mark.parametrize("read_only", [False, True])
    def test_connection_takes_no_chances(self, path: Path, read_only: bool) -> None:
        # SQLite, "Defense Against The Dark Arts": trusted_schema off, cell_size_check on, no mmap.
        # PRAGMA synchronous: 3 is EXTRA.
        with open_binder(path, read_only=read_only) as binder:
            assert pragma(binder, "journal_mode") == "delete"
            assert pragma(binder, "synchronous") == 3
            assert pragma(binder, "trusted_schema") == 0
            assert pragma(binder, "cell_size_check") == 1
            assert pragma(binder, "mmap_size") == 0
            assert pragma(binder, "foreign_keys") == 1
            assert pragma(binder, "secure_delete") == 1

    def test_new_binder_holds_its_client(self, tmp_path: Path) -> None:
        with create(tmp_path / "new.binder", "Harrow Dental", who="R. Adeyemi") as binder:
            sheet = client(binder)
            assert sheet is not None
            assert sheet.name == "Harrow Dental"
            assert verify(binder) == ()

    def test_existing_file_is_never_overwritten(self, path: Path) -> None:
        before = path.read_bytes()
        with pytest.raises(FileError, match="there is a file of that name"):
            create(path, "Harrow Dental")
        assert path.read_bytes() == before

    def test_new_binder_that_cannot_be_filled_leaves_no_file(self, tmp_path: Path) -> None:
        with pytest.raises(RequestError):
            create(tmp_path / "new.binder", "Harrow Dental", unit_system="furlongs")
        assert list(tmp_path.iterdir()) == []

    def test_new_binder_in_no_folder_is_refused(self, tmp_path: Path) -> None:
        with pytest.raises(FileError, match="cannot be written"):
            create(tmp_path / "nowhere" / "new.binder", "Harrow Dental")


class TestRefusals:
    def test_missing(self, tmp_path: Path) -> None:
        assert "no such file" in refusal(tmp_path / "none.binder")

    def test_folder(self, tmp_path: Path) -> None:
        assert "a folder" in refusal(tmp_path)

    @pytest.mark.parametrize("content", [b"", b"x", b"a text file\n" * 3, b"\x00" * 5000])
    def test_no_database(self, tmp_path: Path, content: bytes) -> None:
        file = tmp_path / "text.binder"
        file.write_bytes(content)
        assert "not a binder" in refusal(file)
        assert file.read_bytes() == content

    def test_database_of_another_program_is_left_as_it_is(self, tmp_path: Path) -> None:
        file = tmp_path / "other.db"
        other = sqlite3.connect(file)
        other.execute("PRAGMA journal_mode = WAL")
        other.execute("CREATE TABLE t (a)")
        other.close()
        before = file.read_bytes()
        assert "an SQLite file of another program" in refusal(file)
        assert file.read_bytes() == before

    def test_newer_format(self, path: Path) -> None:
        newer = migrations.VERSION + 1
        with sqlite3.connect(path) as connection:
            connection.execute(f"PRAGMA user_version = {newer}")
        connection.close()
        sentence = refusal(path)
        assert f"format {newer}" in sentence
        assert "update the program" in sentence

    def test_path_holding_what_a_uri_would_take_apart(self, path: Path) -> None:
        odd = path.with_name("a?mode=memory#b %41.binder")
        path.rename(odd)
        with open_binder(odd) as binder:
            assert client(binder) is not None

    def test_someone_else_holding_the_file(self, path: Path) -> None:
        other = sqlite3.connect(path, isolation_level=None)
        other.execute("BEGIN EXCLUSIVE")
        assert "someone else is writing to it" in refusal(path, wait_s=0.01)
        other.close()
        open_binder(path).close()

    @pytest.mark.parametrize(
        ("mode", "read_only", "says"),
        [
            (0o000, True, "no permission to read"),
            (0o444, False, "no permission to write; open it with --read-only"),
        ],
    )
    def test_no_permission(self, path: Path, mode: int, read_only: bool, says: str) -> None:
        path.chmod(mode)
        assert says in as_nobody(path, lambda file: refusal(file, read_only=read_only))

    def test_one_who_may_only_read_can_read(self, path: Path) -> None:
        def reads(file: Path) -> str:
            with open_binder(file, read_only=True) as binder:
                sheet = client(binder)
                return sheet.name if sheet else ""

        path.chmod(0o444)
        assert as_nobody(path, reads) == "Quillmere Veterinary Clinic"


class TestDamage:
    """Opens whole, or refuses in one line; never another exception."""

    def test_every_byte_of_the_header(self, path: Path) -> None:
        whole = path.read_bytes()
        outcomes = set()
        for at in range(HEADER_BYTES):
            changes = (0xFF, 0x03) if at in (18, 19) else (0xFF,)  # 1 becomes 2: a WAL
            for change in changes:
                path.write_bytes(whole[:at] + bytes([whole[at] ^ change]) + whole[at + 1 :])
                outcomes.add(self.outcome(path))
                path.with_name(f"{path.name}-wal").unlink(missing_ok=True)
                path.with_name(f"{path.name}-shm").unlink(missing_ok=True)
        assert outcomes == {"whole", "refused"}

    def outcome(self, path: Path) -> str:
        try:
            with open_binder(path) as binder:
                return "whole" if verify(binder) == () else "fault"
        except FileError as error:
            return "refused" if len(str(error).splitlines()) == 1 else str(error)

    def test_truncated_anywhere(self, path: Path) -> None:
        whole = path.read_bytes()
        for size in [1, 15, 16, 99, 100, 512, *range(4096, len(whole), len(whole) // 7)]:
            path.write_bytes(whole[:size])
            assert self.outcome(path) == "refused", size

    def test_page_wiped_anywhere(self, path: Path) -> None:
        whole = path.read_bytes()
        size = int.from_bytes(whole[16:18], "big")
        for start in range(size, len(whole), size):
            path.write_bytes(whole[:start] + b"\x00" * size + whole[start + size :])
            assert self.outcome(path) == "refused", start // size

    def test_byte_changed_anywhere(self, path: Path) -> None:
        whole = path.read_bytes()
        outcomes = []
        for at in range(HEADER_BYTES, len(whole), len(whole) // 80):
            path.write_bytes(whole[:at] + bytes([whole[at] ^ 0xFF]) + whole[at + 1 :])
            outcomes.append(self.outcome(path))
        assert "refused" in outcomes
        assert "fault" in outcomes

    @pytest.mark.parametrize("quoted", [b'"a\nb', b'"a\xba'], ids=["two lines", "no text"])
    def test_message_that_quotes_the_damage(self, path: Path, quoted: bytes) -> None:
        connection = sqlite3.connect(path)
        connection.execute("PRAGMA writable_schema = ON")
        connection.execute(
            "UPDATE sqlite_master SET sql = CAST(? AS TEXT) WHERE name = 'contact'",
            (b"CREATE TABLE contact (" + quoted,),
        )
        connection.commit()
        connection.close()
        assert "damaged" in refusal(path)

    def test_table_taken_out(self, path: Path) -> None:
        with sqlite3.connect(path) as connection:
            connection.execute("DROP TABLE info")
        connection.close()
        assert "damaged" in refusal(path)

    def test_binder_whose_making_was_cut_short(self, path: Path) -> None:
        with sqlite3.connect(path) as connection:
            connection.execute("DELETE FROM info")
        connection.close()
        assert "not a whole binder" in refusal(path)

    def test_damage_met_while_reading_is_told_in_one_line(self, path: Path) -> None:
        opened = open_binder(path)
        whole = path.read_bytes()
        path.write_bytes(whole[:4096] + b"\xff" * (len(whole) - 4096))
        opened.connection.execute("PRAGMA shrink_memory")  # pages that were read are forgotten
        with pytest.raises(FileError, match="damaged"), opened:
            opened.connection.execute("SELECT * FROM hardware").fetchall()


class TestReadOnly:
    def test_writing_is_refused_in_one_line(self, path: Path) -> None:
        with open_binder(path, read_only=True) as binder:
            step = Editor(binder, "M. Osei").step("rename")
            with pytest.raises(RequestError, match=r"quillmere\.binder is open read-only"), step:
                pass

    def test_file_itself_is_opened_read_only(self, path: Path) -> None:
        with open_binder(path, read_only=True) as binder:
            with pytest.raises(sqlite3.OperationalError, match="readonly"):
                binder.connection.execute("DELETE FROM info")
            with pytest.raises(FileError, match="no permission to write"), binder.reading():
                binder.connection.execute("DELETE FROM info")


class TestTwoAtOnce:
    def test_writer_waits_and_then_says_who_it_waited_for(self, path: Path) -> None:
        with open_binder(path) as one, open_binder(path, wait_s=0.01) as two:
            with (
                one.writing(),
                pytest.raises(FileError, match="someone else is writing"),
                two.writing(),
            ):
                pass
            with two.writing():
                pass

    def test_change_of_another_connection_is_noticed(self, path: Path) -> None:
        with open_binder(path) as one, open_binder(path) as two:
            before = two.data_version()
            assert two.data_version() == before
            with Editor(one, "M. Osei").step("add") as step:
                step.add("building", {"identifier": "B2"})
            assert two.data_version() != before

    def test_reading_sees_one_state_throughout(self, path: Path) -> None:
        with (
            open_binder(path, wait_s=0.01) as one,
            open_binder(path, wait_s=0.01) as two,
            two.reading(),
        ):
            before = dump(two)
            step = Editor(one, "M. Osei").step("add")
            with pytest.raises(FileError, match="someone else"), step as adding:
                adding.add("building", {"identifier": "B2"})
            assert dump(two) == before

    def test_opening_it_again_keeps_the_lock_of_a_writer(self, path: Path) -> None:
        # SQLite, "How To Corrupt An SQLite Database File", 2.2: close() on any handle drops the
        # POSIX locks that the process holds on the file.
        with open_binder(path) as writer, writer.writing():
            open_binder(path, read_only=True).close()
            program = (
                "import sqlite3, sys\n"
                "c = sqlite3.connect(sys.argv[1], timeout=0, isolation_level=None)\n"
                "c.execute('BEGIN IMMEDIATE')"
            )
            other = subprocess.run(
                [sys.executable, "-c", program, str(path)], capture_output=True, text=True
            )
            assert "database is locked" in other.stderr


KILLED_WRITER = """
import sys, time
from pathlib import Path
from binder.edit import Editor
from binder.file import open_binder

binder = open_binder(Path(sys.argv[1]))
binder.connection.execute("PRAGMA cache_size = 5")  # pages go to the file before the end
with Editor(binder, "M. Osei").step("a step that never ends") as step:
    step.change(int(sys.argv[2]), {"notes": "half done"})
    for number in range(60):
        step.add("building", {"identifier": f"B{number + 10}", "notes": "x" * 3000})
    print("in the middle", flush=True)
    time.sleep(60)
"""


class TestKilledWriter:
    @pytest.fixture
    def killed(self, closet: BinderFile) -> tuple[Path, dict[str, object]]:
        """A file whose writer was killed in the middle of a step, and what it held before."""
        before = dump(closet)
        building = closet.connection.execute("SELECT id FROM building").fetchone()[0]
        closet.close()
        untouched = closet.path.read_bytes()
        writer = subprocess.Popen(
            [sys.executable, "-c", KILLED_WRITER, str(closet.path), str(building)],
            stdout=subprocess.PIPE,
        )
        assert writer.stdout is not None
        assert writer.stdout.readline() == b"in the middle\n"
        writer.kill()
        writer.communicate()
        journal = closet.path.with_name(f"{closet.path.name}-journal")
        assert journal.stat().st_size > 512
        assert closet.path.read_bytes() != untouched
        return closet.path, before

    @pytest.mark.parametrize("read_only", [True, False])
    def test_leaves_the_binder_as_before_the_step(
        self, killed: tuple[Path, dict[str, object]], read_only: bool
    ) -> None:
        path, before = killed
        with open_binder(path, read_only=read_only) as binder:
            assert dump(binder) == before
            assert verify(binder) == ()
        assert not path.with_name(f"{path.name}-journal").exists()


class TestBackup:
    def test_copy_is_whole_and_equal(self, closet: BinderFile, tmp_path: Path) -> None:
        copy = back_up(closet, tmp_path / "copy.binder")
        assert stat.S_IMODE(copy.stat().st_mode) == 0o600
        with open_binder(copy) as opened:
            assert dump(opened) == dump(closet)
            assert verify(opened) == ()

    def test_read_only_binder_can_be_copied(self, path: Path, tmp_path: Path) -> None:
        with (
            open_binder(path, read_only=True) as binder,
            open_binder(back_up(binder, tmp_path / "copy.binder")) as opened,
        ):
            assert dump(opened) == dump(binder)

    def test_existing_file_is_never_overwritten(self, closet: BinderFile, tmp_path: Path) -> None:
        target = tmp_path / "copy.binder"
        target.write_bytes(b"")
        with pytest.raises(FileError, match="there is a file of that name"):
            back_up(closet, target)
        assert target.read_bytes() == b""

    def test_copy_that_fails_leaves_nothing(self, path: Path, tmp_path: Path) -> None:
        with open_binder(path) as binder:
            target = tmp_path / "copy.binder"
            with pytest.raises(sqlite3.OperationalError), binder.writing():  # VACUUM cannot run
                back_up(binder, target)
        assert not target.exists()

    def test_deleted_text_is_gone_from_the_copy(self, closet: BinderFile, tmp_path: Path) -> None:
        # A copy is handed on: what was taken out before is not in it (VACUUM INTO, SQLite).
        marker = "xylophone-of-the-copy"
        with Editor(closet, "M. Osei").step("add") as step:
            building = step.add("building", {"identifier": marker})
        assert marker.encode() in back_up(closet, tmp_path / "one.binder").read_bytes()
        with Editor(closet, "M. Osei").step("remove") as step:
            step.remove(building)
        closet.connection.execute("DROP TRIGGER change_kept_delete")
        closet.connection.execute("DELETE FROM change WHERE record_id = ?", (building,))
        copied = back_up(closet, tmp_path / "two.binder").read_bytes()
        assert marker.encode() not in copied


def test_closed_copy_of_the_file_is_the_whole_binder(path: Path, tmp_path: Path) -> None:
    copied = Path(shutil.copy(path, tmp_path / "copied.binder"))
    with open_binder(path) as one, open_binder(copied) as other:
        assert dump(one) == dump(other)
