"""A short run of each kind, other cases than the long ones have; and runs that do fail are told."""

from __future__ import annotations

import time
from pathlib import Path

import pytest
from hostile import trial
from hostile.kills import kill_builds, kill_mailings
from hostile.run import KINDS
from hostile.trial import Kind, assert_told, case_of, try_all

from playalong.errors import PlayalongError

KILLED_BUILDS, KILLED_MAILINGS = 4, 2
SHORT = {"drills": 200, "banks": 8, "records": 100, "lists": 30, "scores": 16}


@pytest.mark.parametrize(("name", "count"), SHORT.items(), ids=SHORT)
def test_nothing_hostile_leads_to_a_traceback_a_hang_or_a_long_message(
    name: str, count: int, tmp_path: Path
) -> None:
    tally = try_all(KINDS[name], name, seed=2, numbers=range(count), folder=tmp_path)
    assert tally.faults == {}
    assert sum(tally.outcomes.values()) == count
    assert len(tally.outcomes) > 1  # some are refused, and some are not


def test_a_build_killed_at_any_moment_goes_on_and_ends_with_the_same_bytes(tmp_path: Path) -> None:
    seen = kill_builds(KILLED_BUILDS, seed=2, folder=tmp_path)
    assert seen["killed"] == KILLED_BUILDS


def test_mailings_that_are_killed_go_on_and_serve_nobody_twice(tmp_path: Path) -> None:
    seen = kill_mailings(KILLED_MAILINGS, seed=2, folder=tmp_path)
    assert seen["killed"] >= KILLED_MAILINGS
    assert seen["ended"] > 0


@pytest.mark.parametrize("name", KINDS)
def test_a_case_is_the_same_whenever_it_is_made(name: str) -> None:
    cases = [case_of(KINDS[name], name, 2, number) for number in range(20)]
    assert [case_of(KINDS[name], name, 2, number) for number in reversed(range(20))] == cases[::-1]
    assert len(set(cases)) > 15


def test_a_fault_a_hang_and_hunger_are_seen(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    used_bytes = [0]
    monkeypatch.setattr(trial, "_most_bytes", lambda: used_bytes[0])

    def attempt(raw: bytes, folder: Path) -> str:
        match raw:
            case b"1":
                raise ZeroDivisionError
            case b"2":
                while True:
                    pass
            case b"3":
                while True:
                    time.sleep(0.01)
            case b"4":
                used_bytes[0] += 301 * 1024**2
        return "fine"

    said = {}
    for by_the_clock, cases in ((False, b"0124"), (True, b"034")):
        each = iter(cases)
        kind = Kind(lambda chance, each=each: bytes([next(each)]), attempt, 0.2, by_the_clock)
        tally = try_all(kind, "trial", 1, range(len(cases)), tmp_path)
        said |= {chr(cases[at]): fault.splitlines()[-1] for at, fault in tally.faults.items()}
        assert tally.outcomes["fine"] == 2
    assert said == {
        "1": "ZeroDivisionError",
        "2": "hostile.trial.SlowError",
        "3": "hostile.trial.SlowError",
        "4": f"the memory grew by {301 * 1024**2:,} bytes",
    }


@pytest.mark.parametrize(
    ("said", "fault"),
    [
        ("bank.sf2" + "x" * 451, "a line of 451"),
        ("bank.sf2" + "x\n" * 5000, "10000 characters"),
        ("x", "does not say where"),
    ],
)
def test_a_message_that_is_too_long_or_says_nothing_is_seen(said: str, fault: str) -> None:
    with pytest.raises(AssertionError, match=fault):
        assert_told(PlayalongError(said), "bank.sf2")
