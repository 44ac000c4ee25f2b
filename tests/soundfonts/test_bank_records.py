"""The file keeps the rules of SoundFont 2.04; numbers in brackets are sections of that standard."""

from __future__ import annotations

import struct

import numpy as np
import pytest
from bank_parser import LAYOUTS, PDTA, Parsed, text

KEY_RANGE, INSTRUMENT, SAMPLE_ID, SAMPLE_MODES = 43, 41, 53, 54
ATTACK, RELEASE, VIB_LFO_TO_PITCH = 34, 38, 6
ATTENUATION, FINE_TUNE, SCALE_TUNING = 48, 52, 56
FULL = 6  # voices under General MIDI numbers; then the bare ones
BOWED = (1, 2, 3, 4, 6, 7, 8, 9)  # places of the voices that have the noise of a bow
SIZES = [38, 4, 10, 4, 22, 4, 10, 4, 46]  # bytes of a record, 7.2 to 7.10
PRESETS = {
    (0, 20): "Drone",
    (0, 40): "Violin",
    (0, 41): "Viola",
    (0, 42): "Cello",
    (0, 43): "Contrabass",
    (0, 79): "Ghost",
    (1, 40): "Violin bare",
    (1, 41): "Viola bare",
    (1, 42): "Cello bare",
    (1, 43): "Contrabass bare",
    (128, 0): "Clicks",
}


def keys_of(generators: list) -> tuple[int, int]:
    amount = dict(generators)[KEY_RANGE] & 0xFFFF
    return amount & 0xFF, amount >> 8  # the low byte is the lowest key, whatever 8.1.2 says


def test_lists_and_chunks_stand_in_the_order_of_the_standard_4_2(bank: Parsed) -> None:
    assert bank.lists == ["INFO", "sdta", "pdta"]
    assert list(bank.pdta) == PDTA


def test_info_names_version_engine_and_bank_5(bank: Parsed) -> None:
    assert bank.info["ifil"] == b"\x02\x00\x04\x00"
    assert {"isng", "INAM"} <= set(bank.info)
    for name, body in bank.info.items():
        assert len(body) % 2 == 0
        assert len(body) <= (65_536 if name == "ICMT" else 256)
        if name != "ifil":
            assert body.endswith(b"\0")
            assert text(body).isprintable()


def test_info_dedicates_the_bank_to_the_public_domain(bank: Parsed) -> None:
    assert text(bank.info["ICOP"]).startswith("CC0 1.0")


@pytest.mark.parametrize(("name", "size"), list(zip(PDTA, SIZES, strict=True)))
def test_chunk_is_a_whole_number_of_records_7_2_to_7_10(bank: Parsed, name: str, size: int) -> None:
    assert len(bank.pdta[name]) % size == 0
    assert len(bank.pdta[name]) >= size


@pytest.mark.parametrize(("name", "last"), [("phdr", "EOP"), ("inst", "EOI"), ("shdr", "EOS")])
def test_headers_end_with_the_terminal_record(bank: Parsed, name: str, last: str) -> None:
    assert text(bank.records(name)[-1].name) == last


@pytest.mark.parametrize("name", ["pmod", "pgen", "imod", "igen"])
def test_lists_end_with_a_record_of_zeros(bank: Parsed, name: str) -> None:
    assert set(bank.records(name)[-1]) == {0}


@pytest.mark.parametrize("side", ["p", "i"])
def test_sizes_tie_up_and_indices_never_decrease_7_2_7_3(bank: Parsed, side: str) -> None:
    owners = bank.records("phdr" if side == "p" else "inst")
    bags = bank.records(side + "bag")
    assert len(bags) == owners[-1].bag + 1
    assert len(bank.records(side + "gen")) == bags[-1].gen + 1
    assert len(bank.records(side + "mod")) == bags[-1].mod + 1
    for row in ([o.bag for o in owners], [b.gen for b in bags], [b.mod for b in bags]):
        assert row == sorted(row)
        assert row[0] == 0


def test_presets_carry_their_general_midi_numbers_in_rising_order(bank: Parsed) -> None:
    headers = bank.records("phdr")[:-1]
    assert [(h.bank, h.preset) for h in headers] == list(PRESETS)
    assert [text(h.name) for h in headers] == list(PRESETS.values())
    assert all(h[4:] == (0, 0, 0) for h in headers)


def test_each_preset_plays_its_own_instrument_and_only_that(bank: Parsed) -> None:
    zones = bank.zones("p")
    assert zones == [[([(INSTRUMENT, index)], [])] for index in range(len(PRESETS))]
    names = [text(instrument.name) for instrument in bank.records("inst")[:-1]]
    assert names == list(PRESETS.values())


def test_zone_starts_with_its_keys_and_ends_with_its_sample_8_1_2(bank: Parsed) -> None:
    for first, *rest in bank.zones("i"):
        assert SAMPLE_ID not in dict(first[0])  # the global zone
        assert KEY_RANGE not in dict(first[0])
        assert rest
        for generators, _ in rest:
            first, *between, mode, sample = [number for number, _ in generators]
            assert (first, mode, sample) == (KEY_RANGE, SAMPLE_MODES, SAMPLE_ID)
            assert between in ([], [SCALE_TUNING], [ATTENUATION, SCALE_TUNING])


def test_every_sample_is_used_and_full_voices_share_none(bank: Parsed) -> None:
    used = [dict(g)[SAMPLE_ID] for zones in bank.zones("i") for g, _ in zones[1:]]
    assert set(used) == set(range(len(bank.samples())))
    full = [dict(g)[SAMPLE_ID] for zones in bank.zones("i")[:FULL] for g, _ in zones[1:]]
    assert len(set(full)) == len(full)


def test_every_key_of_a_voice_has_one_zone_around_its_root(bank: Parsed) -> None:
    for zones in bank.zones("i")[:-1]:
        tones = [gens for gens, _ in zones[1:] if SCALE_TUNING not in dict(gens)]
        spans = [keys_of(generators) for generators in tones]
        covered = [key for low, high in spans for key in range(low, high + 1)]
        assert covered == list(range(128))
        for (low, high), generators in zip(spans, tones, strict=True):
            assert low <= bank.samples()[dict(generators)[SAMPLE_ID]].root_key <= high


def test_every_key_of_a_bowed_voice_has_its_noise_which_no_key_and_no_bend_moves(
    bank: Parsed,
) -> None:
    # The default modulator of 8.4.10 with an amount of 0; FluidSynth knows it by fine tune.
    still = (0x020E, FINE_TUNE, 0, 0x0010, 0)
    bowed = [zones for place, zones in enumerate(bank.zones("i")) if place in BOWED]
    for zones in bowed:
        noise = [(g, m) for g, m in zones[1:] if SCALE_TUNING in dict(g)]
        covered = [k for g, _ in noise for low, high in [keys_of(g)] for k in range(low, high + 1)]
        assert covered == list(range(128))
        for generators, modulators in noise:
            assert dict(generators)[SCALE_TUNING] == 0
            assert [tuple(modulator) for modulator in modulators] == [still]
    others = [zones for place, zones in enumerate(bank.zones("i")) if place not in BOWED]
    assert not any(m for zones in others for _, m in zones[1:])


def test_voices_loop_and_taps_do_not(bank: Parsed) -> None:
    *voices, taps = bank.zones("i")
    assert {dict(g)[SAMPLE_MODES] for zones in voices for g, _ in zones[1:]} == {1}
    assert {dict(g)[SAMPLE_MODES] for g, _ in taps[1:]} == {0}


def test_taps_sit_on_their_own_keys(bank: Parsed) -> None:
    found = {}
    for generators, _ in bank.zones("i")[-1][1:]:
        low, high = keys_of(generators)
        assert low == high
        found[low] = text(bank.samples()[dict(generators)[SAMPLE_ID]].name)
    assert found == {64: "Low tap", 75: "Sweep", 76: "High click", 77: "Low click"}


def test_envelopes_are_those_promised(bank: Parsed) -> None:
    # timecents = 1200 log2 s (8.1.2): 45 ms -5368.6, 70 ms -4603.7, 150 ms -3284.4,
    # 200 ms -2786.3, 2 s 1200.
    bowed = {ATTACK: -5369, RELEASE: -4604}
    drone = {ATTACK: -3284, RELEASE: -2786}
    found = [dict(zones[0][0]) for zones in bank.zones("i")]
    assert found == [drone, *9 * [bowed], {RELEASE: 1200}]


def test_controllers_shape_attack_and_release_and_nothing_wavers_8_2(bank: Parsed) -> None:
    # A source is type << 10 | bipolar << 9 | falling << 8 | controller << 7 | number.
    expected = [
        (0x02C9, ATTACK, 2400, 0, 0),
        (0x02C8, RELEASE, 3600, 0, 0),
        (0x0081, VIB_LFO_TO_PITCH, 0, 0, 0),
        (0x000D, VIB_LFO_TO_PITCH, 0, 0, 0),
    ]
    for zones in bank.zones("i")[:-1]:
        assert [tuple(modulator) for modulator in zones[0][1]] == expected
    assert bank.zones("i")[-1][0][1] == []


def test_no_generator_but_those_named_so_tuning_and_bend_stay_as_they_are(bank: Parsed) -> None:
    known = {ATTACK, RELEASE, KEY_RANGE, SAMPLE_MODES, SAMPLE_ID, ATTENUATION, SCALE_TUNING}
    assert {g.number for g in bank.records("igen")[:-1]} == known


def test_samples_follow_each_other_with_46_zeros_between_6_1(bank: Parsed) -> None:
    at = 0
    for header in bank.samples():
        assert header.start == at
        at = header.end + 46
        assert not bank.points[header.end : at].any()
    assert at == len(bank.points)


def test_samples_and_loops_keep_their_margins_7_10(bank: Parsed) -> None:
    for header in bank.samples():
        assert header.end - header.start >= 48
        assert header.start < header.loop_start - 7
        assert header.loop_start < header.loop_end - 31
        assert header.loop_end < header.end - 7


def test_points_match_on_each_side_of_a_loop_6_3(bank: Parsed) -> None:
    for header in bank.loops():
        before = bank.points[header.loop_start - 8 : header.loop_start + 8]
        after = bank.points[header.loop_end - 8 : header.loop_end + 8]
        assert np.array_equal(before, after), text(header.name)


def test_sample_headers_are_mono_unlinked_and_need_no_correction_7_10(bank: Parsed) -> None:
    for header in bank.samples():
        assert (header.kind, header.link, header.correction) == (1, 0, 0)
        assert 400 <= header.rate <= 50_000
        assert 0 <= header.root_key <= 127
    names = [header.name for header in bank.samples()]
    assert len(set(names)) == len(names)


def test_no_sample_is_clipped(bank: Parsed) -> None:
    assert np.abs(bank.points.astype(np.int32)).max() < 32_767


def test_parser_reads_every_record_layout_at_its_size() -> None:
    assert [struct.calcsize(LAYOUTS[name][0]) for name in PDTA] == SIZES
