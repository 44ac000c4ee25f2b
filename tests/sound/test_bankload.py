"""Strange banks: each gets its sentence, and none takes the process with it."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from sinebank import sine_bank_bytes, write_sine_bank

from playalong import aside
from playalong.shipped import own_bank
from playalong.sound import bankload
from playalong.sound.bankload import check_bank
from playalong.sound.fluid import BankError, MemoryShortError

posix = pytest.mark.skipif(sys.platform == "win32", reason="shell scripts and limits of POSIX")


@pytest.fixture
def bank(tmp_path: Path) -> Path:
    return write_sine_bank(tmp_path / "sine.sf2")


def test_a_sound_bank_passes(bank: Path) -> None:
    check_bank(bank)


def test_a_missing_file_is_said_to_be_missing(tmp_path: Path) -> None:
    with pytest.raises(BankError, match=r"none\.sf2 cannot be found\.$"):
        check_bank(tmp_path / "none.sf2")


def test_a_folder_is_said_to_be_one(tmp_path: Path) -> None:
    with pytest.raises(BankError, match=r"is a folder; name the \.sf2 file in it\.$"):
        check_bank(tmp_path)


def test_an_empty_file_is_said_to_be_empty(tmp_path: Path) -> None:
    (tmp_path / "empty.sf2").touch()
    with pytest.raises(BankError, match=r"is empty; copy or download it again\.$"):
        check_bank(tmp_path / "empty.sf2")


@pytest.mark.parametrize("content", [b"once upon a time", b"RIFF\4\0\0\0WAVE", b"RIFF"])
def test_another_kind_of_file_is_no_soundfont(tmp_path: Path, content: bytes) -> None:
    (tmp_path / "story.sf2").write_bytes(content)
    with pytest.raises(BankError, match=r"is not a SoundFont; such a file ends in \.sf2"):
        check_bank(tmp_path / "story.sf2")


def test_a_bank_cut_short_says_by_how_much(tmp_path: Path) -> None:
    whole = sine_bank_bytes()
    (tmp_path / "cut.sf2").write_bytes(whole[:5000])
    with pytest.raises(BankError, match=rf"is cut short: {len(whole):,} bytes .* 5,000 in fact"):
        check_bank(tmp_path / "cut.sf2")


def test_a_damaged_bank_is_told_in_fluidsynths_words(
    tmp_path: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    damaged = sine_bank_bytes().replace(b"phdr", b"phdx")
    (tmp_path / "damaged.sf2").write_bytes(damaged)
    with pytest.raises(BankError, match=r"is damaged: FluidSynth will not load it \(.+\)\.$"):
        check_bank(tmp_path / "damaged.sf2")
    assert capfd.readouterr() == ("", "")


@posix
def test_a_bank_that_crashes_the_synthesizer_crashes_a_child_only(
    bank: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    crash = tmp_path / "crash"
    crash.write_text("#!/bin/sh\nkill -SEGV $$\n")
    crash.chmod(0o755)
    monkeypatch.setattr(bankload.sys, "executable", str(crash))
    with pytest.raises(BankError, match=r"is damaged: it crashes the synthesizer\.$"):
        check_bank(bank)


@posix
def test_a_bank_that_takes_for_ever_is_given_up(
    bank: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    endless = tmp_path / "endless"
    endless.write_text("#!/bin/sh\nexec sleep 60\n")
    endless.chmod(0o755)
    monkeypatch.setattr(bankload.sys, "executable", str(endless))
    monkeypatch.setattr(bankload, "LIMIT_SECONDS", 0.2)
    with pytest.raises(BankError, match=r"keeps the synthesizer busy for more than 0\.2 seconds"):
        check_bank(bank)


@pytest.mark.parametrize("key", [36, 61])
def test_a_bank_in_which_one_key_starts_a_million_voices_is_given_up(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, key: int
) -> None:
    bank = write_sine_bank(tmp_path / "crowd.sf2", zones=2000, only_key=key)
    monkeypatch.setattr(bankload, "LIMIT_SECONDS", 2)
    with pytest.raises(BankError, match="keeps the synthesizer busy for more than 2 seconds"):
        check_bank(bank)


@posix
@pytest.mark.parametrize(
    "end",
    ["kill -KILL $$", "echo MemoryError >&2; exit 1", "echo x: Cannot allocate memory >&2; exit 1"],
)
def test_a_computer_without_memory_is_no_fault_of_the_bank(
    bank: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path, end: str
) -> None:
    (tmp_path / "short").write_text(f"#!/bin/sh\n{end}\n")
    (tmp_path / "short").chmod(0o755)
    monkeypatch.setattr(bankload.sys, "executable", str(tmp_path / "short"))
    with pytest.raises(MemoryShortError, match=r"not enough memory to try the sound bank .*sine"):
        check_bank(bank)


@pytest.mark.skipif(sys.platform != "linux", reason="the limit on memory is Linux's")
@pytest.mark.parametrize("megabytes", [20, 1000])
def test_a_limit_set_from_outside_is_told_as_memory_or_does_no_harm(
    bank: Path, tmp_path: Path, megabytes: int
) -> None:
    """In the child that loads the bank, wherever it runs out of memory."""
    limited = tmp_path / "python"
    limited.write_text(f'#!/bin/sh\nulimit -v {megabytes}000\nexec {sys.executable} "$@"\n')
    limited.chmod(0o755)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(bankload.sys, "executable", str(limited))
        try:
            check_bank(bank)
        except MemoryShortError as error:
            assert "not enough memory" in str(error)  # noqa: PT017


@pytest.mark.skipif(sys.platform != "linux", reason="the limit on memory is Linux's")
def test_a_bank_that_eats_the_memory_is_given_up(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    gigabyte = 1024**3
    bank = tmp_path / "huge.sf2"
    small = sine_bank_bytes()
    at = small.index(b"smpl") + 8
    size = int.from_bytes(small[at - 4 : at], "little")
    sdta_size = int.from_bytes(small[at - 16 : at - 12], "little")
    with bank.open("wb") as file:  # the samples grown by a gigabyte of nothing, sparse
        file.write(b"RIFF" + (len(small) - 8 + gigabyte).to_bytes(4, "little"))
        file.write(small[8 : at - 16] + (sdta_size + gigabyte).to_bytes(4, "little"))
        file.write(small[at - 12 : at - 4] + (size + gigabyte).to_bytes(4, "little"))
        file.write(small[at : at + size])
        file.seek(gigabyte, os.SEEK_CUR)
        file.write(small[at + size :])
    monkeypatch.setattr(bankload, "LIMIT_BYTES", gigabyte)
    with pytest.raises(BankError, match=r"needs more than 1 GB of memory; use a smaller one\.$"):
        check_bank(bank)


def test_scrambled_banks_never_take_the_process_down(tmp_path: Path) -> None:
    random = np.random.default_rng(11)
    whole = sine_bank_bytes()
    tables = whole.index(b"pdta")
    for number in range(6):
        scrambled = bytearray(whole)
        for at in random.integers(tables, len(whole), 20):
            scrambled[at] = random.integers(256)
        path = tmp_path / f"{number}.sf2"
        path.write_bytes(scrambled)
        try:
            check_bank(path)
        except BankError as error:
            assert "is damaged" in str(error)  # noqa: PT017


class TestVerdictIsKept:
    @pytest.fixture
    def children(self, monkeypatch: pytest.MonkeyPatch) -> list[object]:
        started: list[object] = []
        run = subprocess.run

        def counted(command: object, **options: object) -> object:
            started.append(command)
            return run(command, **options)  # type: ignore[call-overload]

        monkeypatch.setattr(aside.subprocess, "run", counted)
        return started

    def test_until_the_file_changes(self, bank: Path, children: list[object]) -> None:
        check_bank(bank)
        check_bank(bank)
        assert len(children) == 1
        os.utime(bank, ns=(1, 1))
        check_bank(bank)
        assert len(children) == 2

    def test_the_bank_that_ships_is_trusted(self, children: list[object]) -> None:
        check_bank(own_bank())
        assert not children


CHUNKS = (b"RIFF", b"LIST", b"ifil", b"smpl", b"phdr", b"pbag", b"pgen", b"inst", b"ibag",
          b"igen", b"shdr")  # fmt: skip


@pytest.mark.parametrize("claimed_bytes", [0, 1, 2**31 - 1, 2**32 - 1])
@pytest.mark.parametrize("chunk", CHUNKS)
def test_a_chunk_that_claims_an_absurd_size_is_an_error_or_harmless(
    tmp_path: Path, chunk: bytes, claimed_bytes: int
) -> None:
    raw = bytearray(sine_bank_bytes())
    at = raw.index(chunk) + 4
    raw[at : at + 4] = claimed_bytes.to_bytes(4, "little")
    (tmp_path / "liar.sf2").write_bytes(raw)
    try:
        check_bank(tmp_path / "liar.sf2")
    except BankError as error:
        assert "liar.sf2" in str(error)  # noqa: PT017
        assert "crashes" not in str(error)  # noqa: PT017
